//! Head-to-head in the strict sense: how many heads stand in the water of at least two others.
//!
//! By places, radii, arcs and walls only; how much water arrives is the simulation's affair.

use crate::design::model::{Head, Working};
use crate::geometry::sight::{Walls, free_m};
use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// How far beyond its radius a head still counts as reaching, as a share of it. Common practice, no source.
const IN_HAND: f64 = 1.05;
/// Grace at each stop of an arc, degrees: what a crew cannot set more closely.
const GRACE_DEG: f64 = 1.0;
/// Others that have to reach a head.
const OTHERS: usize = 2;
/// A wall nearer than this to the reached head stands behind it, not between, m.
const AT_WALL_M: f64 = 0.01;

/// Share of the heads of each turf area (of so many) that at least two others reach; `None` where none stands.
///
/// A head reaches another that is at most 1.05 radii (as it works, along the slope) away, within its sector and a degree
/// of grace at each stop, with no wall of a building between. Heads on one spot do not reach each other.
pub fn fractions(
    areas: usize,
    heads: &[Head],
    working: &[Working],
    walls: &Walls,
) -> Vec<Option<f64>> {
    let tree: RTree<Place> = RTree::bulk_load(
        heads
            .iter()
            .enumerate()
            .map(|(index, head)| Place::new([head.position.x, head.position.y], index))
            .collect(),
    );
    let mut reached_by = vec![0; heads.len()];
    for (head, work) in heads.iter().zip(working) {
        let most_m = IN_HAND * work.radius_m * head.tilt.reach_share_most();
        if !(work.flow_lpm > 0.0 && most_m > 0.0 && most_m.is_finite()) {
            continue;
        }
        let near = walls.near(head.position, most_m);
        let from = [head.position.x, head.position.y];
        for other in tree.locate_within_distance(from, most_m * most_m) {
            let offset = heads[other.data].position - head.position;
            let far_m = offset.x.hypot(offset.y);
            let bearing_deg = offset.x.atan2(offset.y).to_degrees();
            if waters(head, work.radius_m, offset)
                && free_m(&near, head.position, bearing_deg, far_m) >= far_m - AT_WALL_M
            {
                reached_by[other.data] += 1;
            }
        }
    }
    (0..areas)
        .map(|turf| share_of(turf, heads, &reached_by))
        .collect()
}

type Place = GeomWithData<[f64; 2], usize>;

/// Whether a place off a head lies within its throw, walls aside.
fn waters(head: &Head, radius_m: f64, offset: Coord<f64>) -> bool {
    let here = offset.x == 0.0 && offset.y == 0.0;
    let near = head.tilt.effective_m(offset.x, offset.y) <= IN_HAND * radius_m;
    let after_start = offset.x.atan2(offset.y).to_degrees() - head.arc.start_deg;
    let in_sector = head.arc.is_full()
        || (after_start + GRACE_DEG).rem_euclid(360.0) <= head.arc.sweep_deg + 2.0 * GRACE_DEG;
    !here && near && in_sector
}

fn share_of(turf: usize, heads: &[Head], reached_by: &[usize]) -> Option<f64> {
    let on_turf = || {
        let all = heads.iter().zip(reached_by);
        all.filter(|(head, _)| head.turf == turf)
    };
    let reached = on_turf().filter(|&(_, &count)| count >= OTHERS).count();
    let all = on_turf().count();
    (all > 0).then(|| reached as f64 / all as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::coverage::Tilt;
    use crate::design::model::Arc;
    use geo::{MultiPolygon, Rect};

    fn head(x: f64, y: f64, start_deg: f64, sweep_deg: f64) -> Head {
        Head {
            position: Coord { x, y },
            turf: 0,
            model: 0,
            nozzle: 0,
            arc: Arc {
                start_deg,
                sweep_deg,
            },
            radius_m: 10.0,
            tilt: Tilt::LEVEL,
            ground_m: 0.0,
            flow_ref_lpm: 10.0,
            one_row: false,
        }
    }

    fn at_radius(heads: &[Head], radius_m: f64) -> Vec<Working> {
        let work = Working {
            pressure_kpa: 300.0,
            flow_lpm: 10.0,
            radius_m,
            rate_mm_h: 12.0,
        };
        vec![work; heads.len()]
    }

    /// Corners of 90, sides of 180, middle of 360 degrees: 3 by 3 heads, 10 m apart.
    fn lattice() -> Vec<Head> {
        let arcs = [
            (0.0, 90.0),
            (270.0, 180.0),
            (270.0, 90.0),
            (0.0, 180.0),
            (0.0, 360.0),
            (180.0, 180.0),
            (90.0, 90.0),
            (90.0, 180.0),
            (180.0, 90.0),
        ];
        (0..9)
            .map(|i| {
                let (x, y) = ((i % 3) as f64 * 10.0, (i / 3) as f64 * 10.0);
                head(x, y, arcs[i].0, arcs[i].1)
            })
            .collect()
    }

    #[test]
    fn a_square_lattice_reaches_all_at_a_radius_and_none_short_of_it() {
        let heads = lattice();
        let of = |radius_m| fractions(2, &heads, &at_radius(&heads, radius_m), &Walls::default());
        assert_eq!(of(10.0), [Some(1.0), None]);
        assert_eq!(of(9.55), [Some(1.0), None]);
        assert_eq!(of(9.5), [Some(0.0), None]);
    }

    #[test]
    fn a_wall_takes_its_column_of_heads_out() {
        let heads = lattice();
        // Between the first column and the second: its two ends are left with one neighbour, its middle with two; in the
        // second column everybody still has two.
        let wall: MultiPolygon<f64> = Rect::new((4.0, -5.0), (5.0, 25.0)).to_polygon().into();
        let working = at_radius(&heads, 10.0);
        let found = fractions(1, &heads, &working, &Walls::new([&wall]));
        assert_eq!(found, [Some(7.0 / 9.0)]);
    }

    #[test]
    fn a_degree_beyond_the_stop_counts_and_two_do_not() {
        let towards = |off_deg: f64| {
            let heads = [
                head(0.0, 0.0, off_deg, 40.0),
                head(0.0, 20.0, 140.0 - off_deg, 40.0),
                head(0.0, 10.0, 0.0, 1.0),
            ];
            let working = at_radius(&heads, 10.0);
            fractions(1, &heads, &working, &Walls::default())[0]
        };
        assert_eq!(towards(0.9), Some(1.0 / 3.0));
        assert_eq!(towards(2.0), Some(0.0));
    }

    #[test]
    fn uphill_the_reach_is_short() {
        let mut heads = lattice();
        for head in &mut heads {
            head.tilt = Tilt::of_slope(0.0, 0.2, 45.0);
        }
        let working = at_radius(&heads, 10.0);
        let found = fractions(1, &heads, &working, &Walls::default());
        // Nobody throws north any more: the corners in the north keep but one neighbour.
        assert_eq!(found, [Some(7.0 / 9.0)]);
    }
}
