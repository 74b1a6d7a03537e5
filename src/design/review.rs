//! What a reviewer should look at once everything is solved: what is short, over, fast, uneven or dug by hand.

pub mod cover;
mod pressures;
mod surge;

use super::settle::remedy::Remedy;
use crate::brief::{Catalogue, Rules};
use crate::design::model::{Design, Head, Pipe, Surface};
use crate::finding::Finding;

/// Velocity over the rule that is still called kept, since solved flows differ a little from planned ones.
const VELOCITY_GRACE: f64 = 1.02;
/// Departure from the class's rate over the rule that is rounding.
const RATE_GRACE: f64 = 0.005;
/// Less digging by hand than this is not told, m; the trench layer marks it all the same.
const HAND_DUG_LEAST_M: f64 = 0.5;
/// Water that a gravel pit of about a cubic metre still takes up, L. Common practice, no source.
const GREAT_DRAIN_L: f64 = 400.0;

/// All findings of a finished design; `remedies` are those of the stations that break a rule on pressure.
pub fn review(
    design: &Design,
    remedies: &[Remedy],
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<Finding> {
    let mut findings = pressures::findings(design, remedies, catalogue, rules);
    findings.extend(velocities(design, rules));
    findings.extend(ratings(design, catalogue, rules));
    findings.extend(surge::finding(design, catalogue, rules));
    findings.extend(hand_dug(design));
    findings.extend(rates(design, catalogue, rules));
    findings.extend(great_drains(design));
    findings
}

fn velocities(design: &Design, rules: &Rules) -> Option<Finding> {
    let fast = design
        .pipes
        .iter()
        .filter(|pipe| pipe.velocity_m_s > rules.velocity_most_m_s * VELOCITY_GRACE);
    let (count, worst) = fast.fold((0, None), |(n, worst): (usize, Option<&Pipe>), pipe| {
        (
            n + 1,
            Some(
                worst
                    .filter(|w| w.velocity_m_s >= pipe.velocity_m_s)
                    .unwrap_or(pipe),
            ),
        )
    });
    worst.map(|pipe| {
        let message = format!("water runs faster than {:.1} m/s in {count} pipes, {:.2} m/s at worst: the catalogue has no larger pipe that is rated for the pressure", rules.velocity_most_m_s, pipe.velocity_m_s);
        Finding::warning("velocity_high", message).at(design.nodes[pipe.from].position)
    })
}

fn ratings(design: &Design, catalogue: &Catalogue, rules: &Rules) -> Option<Finding> {
    let over_kpa = |pipe: &Pipe| {
        let rated_kpa = catalogue.pipes[pipe.size].rating_kpa * (1.0 - rules.rating_reserve);
        [pipe.from, pipe.to]
            .into_iter()
            .filter_map(|node| design.nodes[node].static_kpa)
            .fold(0.0, f64::max)
            - rated_kpa
    };
    let worst = design
        .pipes
        .iter()
        .map(|pipe| (over_kpa(pipe), pipe))
        .filter(|(kpa, _)| *kpa > 0.5)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    worst.map(|(kpa, pipe)| {
        let message = format!("static pressure stands {kpa:.0} kPa over the rating of pipe {} {}; a regulator at the point of connection or pipe of a higher class is needed", catalogue.pipes[pipe.size].material, catalogue.pipes[pipe.size].nominal);
        Finding::error("rating_exceeded", message).at(design.nodes[pipe.to].position)
    })
}

fn hand_dug(design: &Design) -> Option<Finding> {
    let by_hand: Vec<_> = design
        .trenches
        .iter()
        .filter(|trench| trench.surface == Surface::Roots)
        .collect();
    let metres: f64 = by_hand.iter().map(|trench| trench.length_m).sum();
    if metres < HAND_DUG_LEAST_M {
        return None;
    }
    let place = by_hand
        .iter()
        .max_by(|a, b| a.length_m.total_cmp(&b.length_m))?
        .line
        .0
        .first()
        .copied()?;
    let total: f64 = design.trenches.iter().map(|trench| trench.length_m).sum();
    let message = format!(
        "{metres:.0} m of trench ({:.1} %) lie in root zones, in {} piece(s), since nothing else reaches the heads there: dig by hand, cut no root, and ask the arborist first",
        100.0 * metres / total.max(1e-9),
        by_hand.len()
    );
    Some(Finding::warning("hand_dug_roots", message).at(place))
}

/// Heads whose nozzle and radius do not give the rate their class is matched to.
fn rates(design: &Design, catalogue: &Catalogue, rules: &Rules) -> Option<Finding> {
    let departure = |head: &Head| {
        let class_mm_h = catalogue.heads[head.model].rate_mm_h;
        let sector_m2 = head.radius_m.powi(2) * head.arc.sweep_deg / 360.0;
        (60.0 * head.flow_ref_lpm / sector_m2 / class_mm_h - 1.0).abs()
    };
    let off = design
        .heads
        .iter()
        .filter(|h| departure(h) > rules.station_rate_spread + RATE_GRACE);
    let worst = off
        .clone()
        .max_by(|a, b| departure(a).total_cmp(&departure(b)))?;
    let message = format!(
        "{} heads apply up to {:.0} % more or less than the rate of their class, {:.0} % are allowed: the catalogue has no nozzle nearer to their arc and radius",
        off.count(),
        100.0 * departure(worst),
        100.0 * rules.station_rate_spread
    );
    Some(Finding::note("rate_departs", message).at(worst.position))
}

/// Drains of mains that empty more than a gravel pit takes up.
fn great_drains(design: &Design) -> Option<Finding> {
    let great = design.drains.iter().filter(|d| d.drained_l > GREAT_DRAIN_L);
    let worst = great
        .clone()
        .max_by(|a, b| a.drained_l.total_cmp(&b.drained_l))?;
    let message = format!(
        "{} drains empty more than {GREAT_DRAIN_L:.0} L at once, {:.0} L at most: lead them to a ditch or a soakaway, or pump them out before winter, rather than into gravel alone",
        great.count(),
        worst.drained_l
    );
    Some(Finding::note("drain_great", message).at(design.nodes[worst.node].position))
}

/// Pipes that could not keep the draining grade.
pub fn grade_not_kept(pipes: usize) -> Option<Finding> {
    (pipes > 0).then(|| Finding::note("grade_not_kept", format!("{pipes} pipes lie flatter than the draining grade, since their cover leaves no other choice; they still run to a drain, slowly")))
}
