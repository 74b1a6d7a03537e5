//! The best arc for a head: the run of directions whose gains sum to most.

use super::field::{BINS, Gains, Sweep};

/// Greatest sweep short of a full circle, bins: a sector's two stops need some room between them.
const MOST_BINS: usize = 165;

/// The best sweep and its gain. `least_bins` is the least a head can be set to.
///
/// A run round the circle of greatest sum, in one pass (Kadane, after Bentley 1984, from memory); by prefix sums where
/// it would be too short or too long: no shorter than `least_bins` and no longer than the stops allow; or the full circle, which is preferred
/// when within `full_bonus` of the best.
pub fn best(gains: &Gains, least_bins: usize, full_bonus: f32) -> (Sweep, f32) {
    let full = Sweep {
        first: 0,
        count: BINS,
    };
    let all: f64 = gains[..BINS].iter().map(|&gain| f64::from(gain)).sum();
    let mut best = (full, all + f64::from(full_bonus));
    let (sweep, sum) = match best_run(gains, all) {
        _ if least_bins > MOST_BINS => best,
        found if (least_bins..=MOST_BINS).contains(&found.0.count) => found,
        _ => best_run_within(gains, least_bins),
    };
    if sum > best.1 + 1e-6 {
        best = (sweep, sum);
    }
    let bonus = if best.0.count == BINS {
        full_bonus
    } else {
        0.0
    };
    (best.0, best.1 as f32 - bonus + gains[255])
}

/// The run of greatest sum whatever its length: along the bins, or all of them less the run of least sum.
fn best_run(gains: &Gains, all: f64) -> (Sweep, f64) {
    let (mut greatest, mut least) = ((0, 0, 0.0f64), (0, 0, 0.0f64));
    // Sums of the best run and of the worst one that end here, and where they began.
    let (mut high, mut high_first, mut low, mut low_first) = (0.0f64, 0, 0.0f64, 0);
    for (bin, &gain) in gains[..BINS].iter().enumerate() {
        // In f64: forbidden directions are so bad that f32 would lose the others beside them.
        let gain = f64::from(gain);
        if high <= 0.0 {
            (high, high_first) = (0.0, bin);
        }
        if low >= 0.0 {
            (low, low_first) = (0.0, bin);
        }
        high += gain;
        low += gain;
        if high > greatest.2 {
            greatest = (high_first, bin + 1, high);
        }
        if low < least.2 {
            least = (low_first, bin + 1, low);
        }
    }
    if all - least.2 > greatest.2 {
        let count = BINS - (least.1 - least.0);
        let first = least.1 % BINS;
        (Sweep { first, count }, all - least.2)
    } else {
        let (first, end, sum) = greatest;
        let count = end - first;
        (Sweep { first, count }, sum)
    }
}

/// The run of greatest sum, no shorter than `least_bins` and no longer than the stops allow.
fn best_run_within(gains: &Gains, least_bins: usize) -> (Sweep, f64) {
    let mut prefix = [0.0f64; 2 * BINS + 1];
    for i in 0..2 * BINS {
        prefix[i + 1] = prefix[i] + f64::from(gains[i % BINS]);
    }
    let mut best = (Sweep { first: 0, count: 0 }, f64::NEG_INFINITY);
    // A window of starts slides along: the least prefix among those far enough back and not too far. Those that may
    // still be the least lie in `starts[front..back]`, their prefixes rising.
    let mut starts = [0usize; 2 * BINS + 1];
    let (mut front, mut back) = (0, 0);
    for end in least_bins..=2 * BINS {
        let start = end - least_bins;
        while back > front && prefix[starts[back - 1]] >= prefix[start] {
            back -= 1;
        }
        starts[back] = start;
        back += 1;
        while end - starts[front] > MOST_BINS {
            front += 1;
        }
        let first = starts[front];
        let sum = prefix[end] - prefix[first];
        if sum > best.1 + 1e-6 {
            let count = end - first;
            let first = first % BINS;
            best = (Sweep { first, count }, sum);
        }
    }
    best
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
