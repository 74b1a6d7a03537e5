//! Elimination against answers put in, and against nets that need care.

use super::*;
use proptest::prelude::*;

/// The net's equations multiplied out.
fn multiplied(edges: &[(u32, u32)], ground: &[f64], conductance: &[f64], x: &[f64]) -> Vec<f64> {
    let mut right: Vec<f64> = ground.iter().zip(x).map(|(g, x)| g * x).collect();
    for (&(a, b), g) in edges.iter().zip(conductance) {
        let flow = g * (x[a as usize] - x[b as usize]);
        right[a as usize] += flow;
        right[b as usize] -= flow;
    }
    right
}

fn solved(
    edges: &[(u32, u32)],
    ground: &[f64],
    conductance: &[f64],
    right: &[f64],
) -> Result<Vec<f64>, Loose> {
    let elimination = Elimination::of(ground.len(), edges).unwrap();
    let mut edge = conductance.to_vec();
    edge.resize(elimination.edges(), 0.0);
    let rows = ground.iter().zip(right);
    let mut rows: Vec<Row> = rows
        .map(|(&ground, &right)| Row { ground, right })
        .collect();
    elimination.solve(&mut rows, &mut edge)?;
    Ok(rows.iter().map(|row| row.right).collect())
}

#[test]
fn solves_a_star_with_a_tail() {
    let edges = [(0, 1), (0, 2), (2, 3)];
    let (ground, conductance) = ([3.0, 0.0, 0.5, 0.0], [1.0, 1.0, 2.0]);
    let x = [1.0, 2.0, 3.0, 4.0];
    let right = multiplied(&edges, &ground, &conductance, &x);
    assert_eq!(right, [0.0, 1.0, 1.5, 2.0]); // by hand: 3·1 - 1 - 2, 1·(2-1), …
    let found = solved(&edges, &ground, &conductance, &right).unwrap();
    for (found, expected) in found.iter().zip(x) {
        assert!((found - expected).abs() < 1e-14, "{found}");
    }
}

#[test]
fn trees_leave_no_mesh() {
    let edges: Vec<_> = (1..1000u32).map(|row| (row / 3, row)).collect();
    let elimination = Elimination::of(1000, &edges).unwrap();
    assert_eq!(
        (
            elimination.leaves.len(),
            elimination.stars.len(),
            elimination.mesh.len()
        ),
        (999, 1, 0)
    );
}

/// A dense net is no net for this way.
#[test]
fn too_many_loops_are_refused() {
    let edges: Vec<_> = (0..700u32)
        .flat_map(|a| (0..a).map(move |b| (b, a)))
        .collect();
    assert!(Elimination::of(700, &edges).is_none());
}

#[test]
fn what_hangs_on_nothing_is_named() {
    let found = solved(&[(0, 1)], &[0.0, 0.0, 1.0], &[1.0], &[1.0, 0.0, 0.0]);
    assert!(matches!(found, Err(Loose(0 | 1))), "{found:?}");
}

/// A pipe of next to no loss far behind a shut valve: 1e-14 beside 1e3 keeps all digits.
#[test]
fn conductances_of_very_different_size_lose_no_digits() {
    let (ground, conductance) = ([1e-14, 0.0, 0.0], [1e3, 1e3, 1e3]);
    let found = solved(
        &[(0, 1), (1, 2), (2, 0)],
        &ground,
        &conductance,
        &[3e-14, 0.0, 0.0],
    );
    for head in found.unwrap() {
        assert!((head - 3.0).abs() < 1e-12, "{head}");
    }
}

proptest! {
    #[test]
    fn finds_what_was_put_in(
        rows in 1usize..40,
        ends in prop::collection::vec((0u32..40, 0u32..40, 0.01f64..100.0), 0..90),
        grounds in prop::collection::vec(0.1f64..10.0, 40),
        heads in prop::collection::vec(-50.0f64..50.0, 40),
    ) {
        // Twin edges are among them.
        let inside = |end: u32| end % rows as u32;
        let edges = ends.iter().map(|&(a, b, g)| (inside(a), inside(b), g));
        let edges: Vec<_> = edges.filter(|(a, b, _)| a != b).collect();
        let conductance: Vec<f64> = edges.iter().map(|edge| edge.2).collect();
        let edges: Vec<_> = edges.iter().map(|edge| (edge.0, edge.1)).collect();
        let (ground, x) = (&grounds[..rows], &heads[..rows]);
        let right = multiplied(&edges, ground, &conductance, x);
        let found = solved(&edges, ground, &conductance, &right).unwrap();
        for (found, expected) in found.iter().zip(x) {
            prop_assert!((found - expected).abs() < 1e-9, "{found} for {expected}");
        }
    }
}
