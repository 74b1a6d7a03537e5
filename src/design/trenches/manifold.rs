//! The place by the source from which all its trenches start.

use super::TrenchTree;
use super::surfaces::Surfaces;
use geo::{Coord, Line};

/// Distance from the source of the place where its trenches part, m: room for valves between. Common practice, no source.
const MANIFOLD_M: f64 = 2.5;
/// Directions tried for that place.
const MANIFOLD_BEARINGS: usize = 16;

/// Gives the source one trench only, to a place close by from which all its trenches start.
///
/// Stations on both sides of the source could not share a valve otherwise. The tree stays as it is where the source has
/// one trench already or no place round it is free.
pub fn with_manifold(mut tree: TrenchTree, surfaces: &Surfaces) -> TrenchTree {
    let children: Vec<usize> = (1..tree.parents.len())
        .filter(|node| tree.parents[*node] == 0)
        .collect();
    if children.len() < 2 {
        return tree;
    }
    let Some(place) = manifold_place(&tree, &children, surfaces) else {
        return tree;
    };
    for parent in tree.parents.iter_mut().skip(1) {
        *parent += 1;
    }
    tree.positions.insert(1, place);
    tree.heads.insert(1, None);
    tree.parents.insert(1, 0);
    tree
}

/// The place round the source from which its trenches are shortest in sum, none of them blocked.
fn manifold_place(
    tree: &TrenchTree,
    children: &[usize],
    surfaces: &Surfaces,
) -> Option<Coord<f64>> {
    let source = tree.positions[0];
    let around = (0..MANIFOLD_BEARINGS).map(|i| {
        let bearing = std::f64::consts::TAU * i as f64 / MANIFOLD_BEARINGS as f64;
        source
            + Coord {
                x: bearing.sin(),
                y: bearing.cos(),
            } * MANIFOLD_M
    });
    let free = |line: Line<f64>| surfaces.along(line).iter().all(|s| !s.state.hard);
    let clear = |place: &Coord<f64>| {
        let state = surfaces.along(Line::new(source, *place));
        state
            .iter()
            .all(|s| !s.state.hard && !s.state.paving && !s.state.roots)
            && children
                .iter()
                .all(|child| free(Line::new(*place, tree.positions[*child])))
    };
    let length_m = |place: &Coord<f64>| -> f64 {
        let ends = children.iter().map(|child| tree.positions[*child] - *place);
        ends.map(|way| way.x.hypot(way.y)).sum()
    };
    around
        .filter(clear)
        .min_by(|a, b| length_m(a).total_cmp(&length_m(b)))
}
