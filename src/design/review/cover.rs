//! Whether pipe keeps its cover between its nodes too, where the ground departs from the straight line.

use crate::brief::Rules;
use crate::design::model::{Design, NodeKind, Pipe, Section};
use crate::finding::Finding;
use crate::site::Terrain;
use geo::Coord;

/// Distance of the places that are looked at, m.
const STEP_M: f64 = 1.0;
/// Departures from the rule up to this are the trench's own, m (common practice, no source).
const GRACE_M: f64 = 0.05;

/// The worst place of one pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Departure {
    /// How far the cover lies out of its range, m.
    out_m: f64,
    /// The cover there, m.
    cover_m: f64,
    at: Coord<f64>,
}

/// Tells the pipes whose cover leaves the rules' range somewhere along them.
pub fn finding(design: &Design, terrain: &Terrain, rules: &Rules) -> Option<Finding> {
    let departures: Vec<Departure> = design
        .pipes
        .iter()
        .filter_map(|pipe| worst(design, pipe, terrain, rules))
        .filter(|departure| departure.out_m > GRACE_M)
        .collect();
    let worst = departures
        .iter()
        .copied()
        .max_by(|a, b| a.out_m.total_cmp(&b.out_m))?;
    let message = format!(
        "{} of {} pipes leave the range of cover that the rules give, at worst with {:.2} m of cover: the ground is too broken to be followed. \
         Level it, lead the trench elsewhere, or give a wider range of cover.",
        departures.len(),
        design.pipes.len(),
        worst.cover_m
    );
    Some(Finding::warning("cover_not_kept", message).at(worst.at))
}

fn worst(design: &Design, pipe: &Pipe, terrain: &Terrain, rules: &Rules) -> Option<Departure> {
    let (least_m, most_m) = range(design, pipe, rules);
    let (from, to) = (design.nodes.get(pipe.from)?, design.nodes.get(pipe.to)?);
    let places = places(pipe);
    let whole_m = places.last()?.0.max(1e-9);
    places
        .iter()
        .filter_map(|&(along_m, at)| {
            let invert_m = from.invert_m + (to.invert_m - from.invert_m) * along_m / whole_m;
            let cover_m = terrain.laying_height_m(at)? - invert_m;
            let out_m = (least_m - cover_m).max(cover_m - most_m);
            Some(Departure { out_m, cover_m, at })
        })
        .max_by(|a, b| a.out_m.total_cmp(&b.out_m))
}

/// A lateral may leave its valve as deep as the main lies there.
fn range(design: &Design, pipe: &Pipe, rules: &Rules) -> (f64, f64) {
    match pipe.section {
        Section::Main => (rules.main_cover_min_m, rules.main_cover_max_m),
        Section::Station(_) => {
            let kinds = [pipe.from, pipe.to].map(|node| design.nodes[node].kind);
            let deepest_m = if kinds.contains(&NodeKind::Valve) {
                rules.lateral_cover_max_m.max(rules.main_cover_max_m)
            } else {
                rules.lateral_cover_max_m
            };
            (rules.lateral_cover_min_m, deepest_m)
        }
    }
}

/// Places along a pipe with their distance from its start, m, its bends and ends among them.
fn places(pipe: &Pipe) -> Vec<(f64, Coord<f64>)> {
    let mut places = Vec::new();
    let mut before_m = 0.0;
    for pair in pipe.line.0.windows(2) {
        let way = pair[1] - pair[0];
        let length_m = way.x.hypot(way.y);
        let steps = (length_m / STEP_M).ceil().max(1.0);
        places.extend((0..=steps as usize).map(|step| {
            let share = step as f64 / steps;
            (before_m + length_m * share, pair[0] + way * share)
        }));
        before_m += length_m;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::model::Node;

    /// One main of 40 m at the middle of its range of cover under ground of 50 m.
    fn laid(rules: &Rules) -> Design {
        let cover_m = f64::midpoint(rules.main_cover_min_m, rules.main_cover_max_m);
        let node = |x: f64| Node {
            position: Coord { x, y: 0.0 },
            kind: NodeKind::Junction,
            section: Section::Main,
            head: None,
            ground_m: 50.0,
            invert_m: 50.0 - cover_m,
            pressure_kpa: None,
            static_kpa: None,
        };
        let pipe = Pipe {
            section: Section::Main,
            from: 0,
            to: 1,
            trenches: Vec::new(),
            line: vec![(-20.0, 0.0), (20.0, 0.0)].into(),
            length_m: 40.0,
            size: 0,
            minor_k: 0.0,
            flow_lpm: 0.0,
            velocity_m_s: 0.0,
            loss_kpa: 0.0,
        };
        Design {
            nodes: vec![node(-20.0), node(20.0)],
            pipes: vec![pipe],
            ..Design::default()
        }
    }

    #[test]
    fn a_hollow_between_two_nodes_is_told_and_even_ground_is_not() {
        let rules = Rules::default();
        let even = Terrain::plane(50.0, 0.0, 0.0, 60.0);
        assert_eq!(finding(&laid(&rules), &even, &rules), None);
        let hollow = |x: f64, _: f64| 50.0 - 0.5 * (-(x / 3.0).powi(2)).exp();
        let hollow = Terrain::of_function(60.0, hollow);
        let told = finding(&laid(&rules), &hollow, &rules).unwrap();
        assert!(told.message.contains("with 0.1"), "{}", told.message);
    }
}
