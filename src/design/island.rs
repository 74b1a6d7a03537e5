//! Heads that no trench reaches: taken out of the design and told.

use crate::design::model::Head;
use crate::design::trenches::TrenchTree;
use crate::finding::Finding;
use crate::site::TurfArea;
use geo::{Closest, ClosestPoint, Coord, Line, Point};

/// Removes heads the trench tree does not reach; says for each turf area how many and where one of them is.
pub fn drop_unreachable(
    heads: Vec<Head>,
    mut tree: TrenchTree,
    turf: &[TurfArea],
    findings: &mut Vec<Finding>,
) -> (Vec<Head>, TrenchTree) {
    if tree.unreachable.is_empty() {
        return (heads, tree);
    }
    let mut lost = std::mem::take(&mut tree.unreachable);
    lost.sort_by_key(|&head| (heads[head].turf, head));
    for of_turf in lost.chunk_by(|a, b| heads[*a].turf == heads[*b].turf) {
        let first = &heads[of_turf[0]];
        let gap = nearest_gap(of_turf, &heads, &tree);
        let message = format!(
            "{} heads stand where no trench can reach without passing a building, water or forbidden roots; they are left out. The nearest trench is {:.1} m off, at the place shown. Bring pipe over that gap, or water this turf otherwise",
            of_turf.len(),
            gap.0
        );
        let finding = Finding::warning("turf_unreachable", message).at(gap.1);
        let id = turf.get(first.turf).map_or("", |turf| turf.id.as_str());
        findings.push(finding.of(id));
    }
    let mut new_number = vec![None; heads.len()];
    let mut kept = Vec::with_capacity(heads.len() - lost.len());
    for (old, head) in heads.into_iter().enumerate() {
        if !lost.contains(&old) {
            new_number[old] = Some(kept.len());
            kept.push(head);
        }
    }
    for head in &mut tree.heads {
        *head = head.and_then(|old| new_number[old]);
    }
    (kept, tree)
}

/// The least distance from heads to the trenches, m, and the middle of that gap.
fn nearest_gap(lost: &[usize], heads: &[Head], tree: &TrenchTree) -> (f64, Coord<f64>) {
    let mut nearest = (f64::INFINITY, heads[lost[0]].position);
    for &head in lost {
        let at = heads[head].position;
        for node in 0..tree.parents.len() {
            let trench = Line::new(tree.positions[node], tree.positions[tree.parents[node]]);
            let near = match trench.closest_point(&Point::from(at)) {
                Closest::SinglePoint(near) | Closest::Intersection(near) => Coord::from(near),
                Closest::Indeterminate => trench.start,
            };
            let far_m = (near.x - at.x).hypot(near.y - at.y);
            if far_m < nearest.0 {
                nearest = (far_m, (at + near) / 2.0);
            }
        }
    }
    nearest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::coverage::Tilt;
    use crate::design::model::Arc;

    #[test]
    fn the_others_keep_their_places_on_the_tree() {
        let head = |x: f64| Head {
            position: Coord { x, y: 0.0 },
            turf: 0,
            model: 0,
            nozzle: 0,
            arc: Arc::FULL,
            radius_m: 5.0,
            tilt: Tilt::LEVEL,
            ground_m: 0.0,
            flow_ref_lpm: 5.0,
            one_row: false,
        };
        let tree = TrenchTree {
            positions: vec![Coord { x: 0.0, y: 0.0 }, Coord { x: 2.0, y: 0.0 }],
            heads: vec![None, Some(1)],
            parents: vec![0, 0],
            unreachable: vec![0],
        };
        let mut findings = Vec::new();
        let (heads, tree) = drop_unreachable(vec![head(1.0), head(2.0)], tree, &[], &mut findings);
        assert_eq!((heads.len(), tree.heads[1]), (1, Some(0)));
        assert_eq!(heads[0].position.x, 2.0);
        assert!(findings[0].message.starts_with("1 heads stand"));
    }
}
