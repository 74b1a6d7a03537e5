//! Random small masks for tests of grids.

use super::Grid;
use geo::Coord;
use proptest::prelude::*;

/// The grid of unit cells that a mask of so many columns lies on.
pub fn grid_of(columns: usize, inside: &[bool]) -> Grid {
    Grid {
        origin: Coord { x: 0.0, y: 0.0 },
        cell_m: 1.0,
        columns,
        rows: inside.len() / columns,
    }
}

/// Columns and cells: scattered cells, or a union of boxes with holes, as ground has.
pub fn any_mask() -> impl Strategy<Value = (usize, Vec<bool>)> {
    (1usize..24, 1usize..24).prop_flat_map(|(columns, rows)| {
        let cells = columns * rows;
        let scattered = proptest::collection::vec(proptest::bool::weighted(0.9), cells);
        prop_oneof![
            scattered.prop_map(move |inside| (columns, inside)),
            boxes(columns, rows).prop_map(move |inside| (columns, inside)),
        ]
    })
}

fn boxes(columns: usize, rows: usize) -> impl Strategy<Value = Vec<bool>> {
    let one = (
        0..columns,
        0..rows,
        1usize..24,
        1usize..24,
        proptest::bool::weighted(0.8),
    );
    proptest::collection::vec(one, 1..6).prop_map(move |boxes| {
        let mut inside = vec![false; columns * rows];
        for (x, y, wide, high, ground) in boxes {
            for row in y..(y + high).min(rows) {
                inside[row * columns..][x..(x + wide).min(columns)].fill(ground);
            }
        }
        inside
    })
}
