//! Mains that do not bear static pressure and the surge of a closing valve together.

use crate::brief::{Catalogue, Rules};
use crate::design::model::{Design, Pipe, Section};
use crate::design::sizing::Surge;
use crate::finding::Finding;
use crate::units::m3s_from_lpm;

/// Share of the surge over a rating that is still called borne, since solved flows differ a little from planned ones.
const GRACE: f64 = 0.02;

/// The worst of the mains, where any does not bear it.
pub(super) fn finding(design: &Design, catalogue: &Catalogue, rules: &Rules) -> Option<Finding> {
    let surge = Surge::of(rules);
    let farthest_m = farthest(design);
    let over_kpa = |index: usize, pipe: &Pipe| {
        let size = &catalogue.pipes[pipe.size];
        let ends = [pipe.from, pipe.to].map(|node| design.nodes[node].static_kpa.unwrap_or(0.0));
        let surge_kpa = surge.kpa(size, farthest_m[index], m3s_from_lpm(pipe.flow_lpm));
        let rated_kpa = size.rating_kpa * (1.0 - rules.rating_reserve);
        (ends[0].max(ends[1]) + surge_kpa - rated_kpa, surge_kpa)
    };
    let mains = design.pipes_of(Section::Main);
    let over = mains.map(|(index, pipe)| (over_kpa(index, pipe), index, pipe));
    let over: Vec<_> = over
        .filter(|((kpa, surge_kpa), ..)| *kpa > GRACE * surge_kpa)
        .collect();
    let ((kpa, surge_kpa), index, pipe) = over
        .iter()
        .max_by(|a, b| a.0.0.total_cmp(&b.0.0))
        .copied()?;
    let slower_s = rules.valve_closing_s * surge_kpa / (surge_kpa - kpa).max(1.0);
    let message = format!(
        "a valve that closes within {:.1} s lifts the pressure in {} pipes of the main over their rating, by {kpa:.0} kPa at worst ({surge_kpa:.0} kPa of surge at {:.2} m/s over {:.0} m): slower valves ({slower_s:.1} s), pipe of a higher class or a regulator at the point of connection are needed",
        rules.valve_closing_s,
        over.len(),
        pipe.velocity_m_s,
        farthest_m[index],
    );
    Some(Finding::warning("surge_high", message).at(design.nodes[pipe.to].position))
}

/// Of each pipe of the main, the length from the source to the farthest end behind it, m.
fn farthest(design: &Design) -> Vec<f64> {
    let mains: Vec<(usize, &Pipe)> = design.pipes_of(Section::Main).collect();
    let mut to_node = vec![0.0_f64; design.nodes.len()];
    // A pipe stands after the one it hangs on.
    for (_, pipe) in &mains {
        to_node[pipe.to] = to_node[pipe.from] + pipe.length_m;
    }
    for (_, pipe) in mains.iter().rev() {
        to_node[pipe.from] = to_node[pipe.from].max(to_node[pipe.to]);
    }
    design.pipes.iter().map(|pipe| to_node[pipe.to]).collect()
}
