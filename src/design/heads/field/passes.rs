//! The inner loops: one pass over the cells of a throw, in as wide lanes as the machine has.
//!
//! Every sum is kept in lanes of its own and added up in one order, and nothing is fused: results are the same on all of them.

use super::disc::Disc;
use super::{BINS, CENTRE, Gains, Sweep};
use pulp::{Simd, WithSimd};

/// Sums side by side.
const LANES: usize = 8;

/// What J falls by in each direction, in cells.
pub struct ByDirection<'s> {
    /// The throw.
    pub disc: Disc<'s>,
    /// Depth less the wanted one.
    pub excess: &'s [f32],
    /// What the cells want.
    pub want: &'s [f32],
    /// Weight of harm.
    pub harm: f32,
    /// Weight of water held back by a wall.
    pub wall: f32,
    /// Room for a row.
    pub row_gain: &'s mut Vec<f32>,
}

impl WithSimd for ByDirection<'_> {
    type Output = Gains;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Gains {
        // Four sums side by side: neighbouring cells share a bin, and one sum would wait for the other.
        let mut sums = [[0.0f32; 256]; 4];
        self.row_gain.resize(2 * self.disc.stencil.reach + 1, 0.0);
        for row in self.disc.rows() {
            let depth = self.disc.depth(&row);
            let excess = &self.excess[row.start..][..row.count];
            let want = &self.want[row.start..][..row.count];
            let out = &mut self.row_gain[..row.count];
            for (((o, &d), &e), &w) in out.iter_mut().zip(depth).zip(excess).zip(want) {
                *o = cell_gain(d, e, w, self.harm);
            }
            for (i, bin) in self.disc.stopped(&row) {
                out[i] = -self.wall * self.harm * depth[i];
                debug_assert!(bin != CENTRE);
            }
            let (fours, rest) = self.disc.bins(&row).as_chunks::<4>();
            let (gains, rest_gains) = out.as_chunks::<4>();
            for (bin, gain) in fours.iter().zip(gains) {
                for i in 0..4 {
                    sums[i][bin[i] as usize] += gain[i];
                }
            }
            for (&bin, &gain) in rest.iter().zip(rest_gains) {
                sums[0][bin as usize] += gain;
            }
        }
        let [a, b, c, d] = &sums;
        std::array::from_fn(|i| (a[i] + b[i]) + (c[i] + d[i]))
    }
}

/// What J falls by under a full circle, in cells.
pub struct AllRound<'s> {
    /// The throw.
    pub disc: Disc<'s>,
    /// Depth less the wanted one.
    pub excess: &'s [f32],
    /// What the cells want.
    pub want: &'s [f32],
    /// Weight of harm.
    pub harm: f32,
}

impl WithSimd for AllRound<'_> {
    type Output = f32;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> f32 {
        let mut sums = [0.0f32; LANES];
        for row in self.disc.rows() {
            let (depth, depth_rest) = self.disc.depth(&row).as_chunks::<LANES>();
            let (excess, excess_rest) = self.excess[row.start..][..row.count].as_chunks::<LANES>();
            let (want, want_rest) = self.want[row.start..][..row.count].as_chunks::<LANES>();
            for ((d, e), w) in depth.iter().zip(excess).zip(want) {
                for lane in 0..LANES {
                    sums[lane] += cell_gain(d[lane], e[lane], w[lane], self.harm);
                }
            }
            let rest = depth_rest.iter().zip(excess_rest).zip(want_rest);
            for (sum, ((&d, &e), &w)) in sums.iter_mut().zip(rest) {
                *sum += cell_gain(d, e, w, self.harm);
            }
        }
        sums.iter().sum()
    }
}

/// Puts water on or takes it off.
pub struct Rain<'s> {
    /// The throw.
    pub disc: Disc<'s>,
    /// Depth less the wanted one.
    pub excess: &'s mut [f32],
    /// Directions it wets.
    pub sweep: Sweep,
    /// 1 to put it on, -1 to take it off.
    pub sign: f32,
}

impl WithSimd for Rain<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let all_round = self.sweep.count >= BINS;
        let mask = self.sweep.mask(self.sign);
        for row in self.disc.rows() {
            let depth = self.disc.depth(&row);
            let excess = &mut self.excess[row.start..][..row.count];
            if all_round {
                for (e, &d) in excess.iter_mut().zip(depth) {
                    *e += d * self.sign;
                }
            } else {
                for ((e, &d), &bin) in excess.iter_mut().zip(depth).zip(self.disc.bins(&row)) {
                    *e += d * mask[bin as usize];
                }
            }
            for (i, bin) in self.disc.stopped(&row) {
                excess[i] -= depth[i] * mask[bin as usize];
            }
        }
    }
}

/// How much of a head's water falls where it is caught, in cells at the wanted depth.
pub struct Caught<'s> {
    /// The throw.
    pub disc: Disc<'s>,
    /// 1 on cells that catch it, 0 elsewhere.
    pub catches: &'s [f32],
    /// Directions it wets.
    pub sweep: Sweep,
}

impl WithSimd for Caught<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> f64 {
        let all_round = self.sweep.count >= BINS;
        let mask = self.sweep.mask(1.0);
        let mut caught = 0.0;
        for row in self.disc.rows() {
            let depth = self.disc.depth(&row);
            let catches = &self.catches[row.start..][..row.count];
            let mut sums = [0.0f32; LANES];
            let (depths, depth_rest) = depth.as_chunks::<LANES>();
            let (catch, catch_rest) = catches.as_chunks::<LANES>();
            let (bins, bins_rest) = self.disc.bins(&row).as_chunks::<LANES>();
            for ((d, c), bin) in depths.iter().zip(catch).zip(bins) {
                for lane in 0..LANES {
                    let wet = if all_round {
                        1.0
                    } else {
                        mask[bin[lane] as usize]
                    };
                    sums[lane] += d[lane] * c[lane] * wet;
                }
            }
            let rest = depth_rest.iter().zip(catch_rest).zip(bins_rest);
            for (sum, ((&d, &c), &bin)) in sums.iter_mut().zip(rest) {
                *sum += d * c * mask[bin as usize];
            }
            caught += f64::from(sums.iter().sum::<f32>());
        }
        caught
    }
}

/// `(1-u)²` when short, `¼(u-1)²` when over, of the excess `u - 1`; without a branch.
#[inline(always)]
pub fn dislike(excess: f32) -> f32 {
    let short = excess.min(0.0);
    0.25 * excess * excess + 0.75 * short * short
}

/// What J falls by on one cell that gets `depth` more.
#[inline(always)]
fn cell_gain(depth: f32, excess: f32, want: f32, harm: f32) -> f32 {
    let better = dislike(excess) - dislike(excess + depth);
    want.max(0.0) * better + want.min(0.0) * harm * depth
}
