//! Mending a layout whose targets fail.

use super::Search;
use crate::brief::Rules;
use crate::design::coverage::du_low_quarter;

/// Repairs tried at most.
const REPAIRS: usize = 5;
/// Targets are aimed at with this share of what they allow, since the grid of the search is coarse.
const REPAIR_SHARE: f64 = 0.85;
/// Uniformity aimed at above the target.
const DU_IN_HAND: f64 = 0.05;

impl Search<'_> {
    /// While a target fails: first the weight of overspray is changed, only then heads are added.
    pub fn repair(&mut self, rules: &Rules) {
        let over_most = REPAIR_SHARE * rules.overspray_most;
        for _ in 0..REPAIRS {
            let (du, dry, over) = self.figures();
            let thin = du < rules.du_least + DU_IN_HAND || dry > REPAIR_SHARE * rules.dry_most;
            if over > over_most {
                self.field.harm *= 1.7;
            } else if thin && over < 0.6 * over_most {
                self.field.harm *= 0.6;
            } else if thin {
                self.weights.add *= 0.7;
                self.weights.keep *= 0.7;
            } else {
                return;
            }
            self.settle(&[0.12, 0.08]);
            self.prune();
            self.add(&[1.0, 0.67]);
            self.settle(&[0.08, 0.05]);
        }
    }

    /// Uniformity of the low quarter, dry share and overspray as they stand.
    fn figures(&mut self) -> (f64, f64, f64) {
        let depths = self.field.depths();
        let du = du_low_quarter(&depths).unwrap_or(0.0);
        let mean = depths.iter().map(|&d| f64::from(d)).sum::<f64>() / depths.len().max(1) as f64;
        let dry = depths
            .iter()
            .filter(|&&d| f64::from(d) < 0.3 * mean)
            .count() as f64
            / depths.len().max(1) as f64;
        let (mut all, mut lost) = (0.0, 0.0);
        for head in self.heads.clone() {
            let (a, l) = self.field.lost(head.at, head.radius, head.sweep);
            all += a;
            lost += l;
        }
        (du, dry, if all > 0.0 { lost / all } else { 0.0 })
    }
}
