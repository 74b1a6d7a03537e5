//! Pipe that still runs too fast once sizes are chosen, widened pipe by pipe.
//!
//! Sizes are chosen for the flow that heads are planned with; a valve that holds no pressure, or an old setting, lets
//! heads draw more.

use super::serve::{Judged, VELOCITY_GRACE};
use super::sizes::Station;
use crate::brief::PipeSize;
use crate::design::sizing::velocity_m_s;
use crate::units::m3s_from_lpm;

/// Passes at most: wider pipe lets a little more through.
const PASSES: usize = 4;

impl Station<'_, '_> {
    /// Widens what runs too fast and may be dug up, where the station then breaks its rules less.
    pub(super) fn widen_fast(&mut self) {
        for _ in 0..PASSES {
            let Some(judged) = self.judge().filter(|judged| judged.fault > 0.0) else {
                return;
            };
            let before = self.sizes();
            for (pipe, size) in self.wider(&judged) {
                self.resize(pipe, size);
            }
            if self.fault() >= judged.fault {
                self.restore(&before);
                return;
            }
        }
    }

    /// Pipes that run too fast, each with the narrowest size that does not.
    fn wider(&self, judged: &Judged) -> Vec<(usize, usize)> {
        let sizes = &self.service.ground.catalogue.pipes;
        let most_m_s = self.service.ground.rules.velocity_most_m_s;
        let flows = judged.solved.solution.pipe_flow_lpm.iter();
        let speed = |size: &PipeSize, lpm: f64| velocity_m_s(size, m3s_from_lpm(lpm.abs()));
        let wider = |&(pipe, lpm): &(usize, f64)| {
            let is = &sizes[self.lying.works.pipework.pipes[pipe].size];
            let pinned =
                self.lying.origin.pipes[pipe].is_some_and(|old| self.fixed.pipes.contains(&old));
            if pinned || speed(is, lpm) <= VELOCITY_GRACE * most_m_s {
                return None;
            }
            let fits = |size: &usize| {
                let size = &sizes[*size];
                !size.only_laid
                    && speed(size, lpm) <= most_m_s
                    && size.rating_kpa >= is.rating_kpa.min(most_rating_kpa(sizes))
            };
            let fitting = (0..sizes.len()).filter(fits);
            let narrowest = fitting.min_by(|a, b| {
                sizes[*a]
                    .inside_mm
                    .total_cmp(&sizes[*b].inside_mm)
                    .then(a.cmp(b))
            })?;
            Some((pipe, narrowest))
        };
        flows.filter_map(wider).collect()
    }
}

/// The greatest rating on offer, kPa: a laid size of unknown rating is not to forbid every other.
fn most_rating_kpa(sizes: &[PipeSize]) -> f64 {
    let offered = sizes.iter().filter(|size| !size.only_laid);
    offered.map(|size| size.rating_kpa).fold(0.0, f64::max)
}
