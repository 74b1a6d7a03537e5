//! What is said of a head that stands or is set wrongly.

use super::field::{Ground, Water};
use super::heads::Fault;
use super::search::Search;
use super::settings::{Better, Change};
use crate::finding::Finding;

/// Water on paving and on buildings from which the throw itself is told, as shares of a head's own.
const ON_PAVING: f64 = 0.10;
const ON_BUILDING: f64 = 0.02;

impl Search<'_> {
    /// A head that a change would serve, told with the change and what is bad about it.
    pub(super) fn told(&self, head: usize, better: &Better, how: &str) -> Fault {
        let of_design = self.head(head);
        let (code, what, flow) = match better.change {
            Change::Arc(arc) => (
                self.code_of_arc(head, better),
                format!(
                    "its arc of {:.0}° from {:.0}° does not suit its place",
                    of_design.arc.sweep_deg, of_design.arc.start_deg
                ),
                arc.sweep_deg / of_design.arc.sweep_deg,
            ),
            Change::Radius(radius_m) => (
                "radius_wrong",
                format!(
                    "its throw of {:.1} m does not suit its place",
                    of_design.radius_m
                ),
                (radius_m / of_design.radius_m).powi(2),
            ),
            Change::Place(_) => (
                "head_misplaced",
                "it stands off the place where it is needed".to_owned(),
                1.0,
            ),
        };
        let gain = 100.0 * self.share(head, better);
        let remedy = if gain >= 0.5 {
            let mend = self.mend_in_words(head, better);
            format!("{mend}: that is worth {gain:.0} % of the ground that it serves.")
        } else {
            "Move it to the edge that it was meant for, or look whether the survey is right."
                .to_owned()
        };
        let message = format!("{what}: {how}{}. {remedy}", self.on_hard_ground(head));
        let finding = Finding::warning(code, message)
            .of(self.rebuilt.ids.heads[head].clone())
            .at(of_design.position);
        let excess_lpm = self.working[head].flow_lpm * (1.0 - flow).max(0.0);
        Fault {
            head,
            finding,
            excess_lpm,
        }
    }

    fn code_of_arc(&self, head: usize, better: &Better) -> &'static str {
        let share = |water: &Water, ground| self.field.share_on(water, |g| g == ground);
        let throws = |ground, least| {
            let (now, then) = (
                share(&self.water[head], ground),
                share(&better.water, ground),
            );
            now > least && then < 0.6 * now
        };
        if throws(Ground::Building, ON_BUILDING) {
            "throws_on_building"
        } else if throws(Ground::Paving, ON_PAVING) {
            "throws_on_paving"
        } else {
            "arc_wrong"
        }
    }

    fn on_hard_ground(&self, head: usize) -> String {
        let percent = |ground| 100.0 * self.field.share_on(&self.water[head], |g| g == ground);
        let (paving, building) = (percent(Ground::Paving), percent(Ground::Building));
        match (paving >= 1.0, building >= 1.0) {
            (true, _) => format!("; {paving:.0} % of its water falls on paving"),
            (_, true) => format!("; {building:.0} % of its water falls on buildings"),
            _ => String::new(),
        }
    }

    fn mend_in_words(&self, head: usize, better: &Better) -> String {
        match better.change {
            Change::Arc(arc) if arc.is_full() => "A full circle would serve better".to_owned(),
            Change::Arc(arc) => format!(
                "About {:.0}° from {:.0}° would serve better",
                arc.sweep_deg, arc.start_deg
            ),
            Change::Radius(radius_m) => {
                format!("A throw of about {radius_m:.1} m would serve better")
            }
            Change::Place(at) => {
                let way = at - self.head(head).position;
                let far_m = way.x.hypot(way.y);
                let bearing_deg = way.x.atan2(way.y).to_degrees().rem_euclid(360.0);
                format!("It would serve better about {far_m:.1} m away towards {bearing_deg:.0}°")
            }
        }
    }
}
