//! The best arc for a head: the run of directions whose gains sum to most.

use super::field::{BINS, Gains, Sweep};

/// Greatest sweep short of a full circle, bins: a sector's two stops need some room between them.
const MOST_BINS: usize = 165;

/// The best sweep and its gain. `least_bins` is the least a head can be set to.
///
/// A run round the circle of greatest sum, by prefix sums and the least prefix so far (Kadane, after Bentley 1984, from
/// memory), no shorter than `least_bins` and no longer than the stops allow; or the full circle, which is preferred
/// when within `full_bonus` of the best.
pub fn best(gains: &Gains, least_bins: usize, full_bonus: f32) -> (Sweep, f32) {
    // In f64: forbidden directions are so bad that f32 would lose the others beside them.
    let mut prefix = [0.0f64; 2 * BINS + 1];
    for i in 0..2 * BINS {
        prefix[i + 1] = prefix[i] + f64::from(gains[i % BINS]);
    }
    let full = prefix[BINS];
    let mut best = (
        Sweep {
            first: 0,
            count: BINS,
        },
        full + f64::from(full_bonus),
    );
    // A window of starts slides along: the least prefix among those far enough back and not too far.
    let mut starts: std::collections::VecDeque<usize> = std::collections::VecDeque::new();
    for end in least_bins..=2 * BINS {
        let start = end - least_bins;
        while starts.back().is_some_and(|&s| prefix[s] >= prefix[start]) {
            starts.pop_back();
        }
        starts.push_back(start);
        while starts.front().is_some_and(|&s| end - s > MOST_BINS) {
            starts.pop_front();
        }
        let Some(&first) = starts.front() else {
            continue;
        };
        let sum = prefix[end] - prefix[first];
        if sum > best.1 + 1e-6 {
            best = (
                Sweep {
                    first: first % BINS,
                    count: end - first,
                },
                sum,
            );
        }
    }
    let bonus = if best.0.count == BINS {
        full_bonus
    } else {
        0.0
    };
    (best.0, best.1 as f32 - bonus + gains[255])
}

/// The best sweep that a mirror along `line_deg` leaves as it is: centred on the line, or a full circle.
pub fn best_mirrored(
    gains: &Gains,
    line_deg: f64,
    least_bins: usize,
    full_bonus: f32,
) -> (Sweep, f32) {
    let full: f32 = gains[..BINS].iter().sum();
    let mut best = (
        Sweep {
            first: 0,
            count: BINS,
        },
        full + full_bonus,
    );
    for towards_deg in [line_deg, line_deg + 180.0] {
        // The line runs between two bins: a degree count of an even number.
        let middle = (towards_deg * BINS as f64 / 360.0).round() as usize;
        let mut sum = 0.0;
        for half in 1..=MOST_BINS / 2 {
            let first = (middle + BINS - half) % BINS;
            sum += gains[first] + gains[(middle + half - 1) % BINS];
            if 2 * half >= least_bins && sum > best.1 + 1e-6 {
                best = (
                    Sweep {
                        first,
                        count: 2 * half,
                    },
                    sum,
                );
            }
        }
    }
    let bonus = if best.0.count == BINS {
        full_bonus
    } else {
        0.0
    };
    (best.0, best.1 - bonus + gains[255])
}

/// Gain of one given sweep.
pub fn gain_of(gains: &Gains, sweep: Sweep) -> f32 {
    let run: f32 = (0..sweep.count)
        .map(|i| gains[(sweep.first + i) % BINS])
        .sum();
    run + gains[255]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_run_agrees_with_trying_all() {
        let mut state = 7u64;
        for _ in 0..50 {
            let mut gains = [0.0f32; 256];
            for gain in gains.iter_mut().take(BINS) {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(99);
                *gain = ((state >> 40) as f32 / 1e7) - 0.9;
            }
            let (sweep, sum) = best(&gains, 20, 0.0);
            let mut greatest = gain_of(
                &gains,
                Sweep {
                    first: 0,
                    count: BINS,
                },
            );
            for first in 0..BINS {
                for count in 20..=MOST_BINS {
                    greatest = greatest.max(gain_of(&gains, Sweep { first, count }));
                }
            }
            assert!((sum - greatest).abs() < 1e-3, "{sum} {greatest}");
            assert!((gain_of(&gains, sweep) - sum).abs() < 1e-3);
        }
    }
}
