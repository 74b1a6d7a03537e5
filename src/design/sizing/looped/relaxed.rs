//! What a box costs at least: the network with its loops cut open, sized as a tree.
//!
//! Each loop is cut where one of its pipes ends. The pipe then hangs on its upper node alone and ends in a copy of its
//! lower node, which needs that node's least head like the node itself. What is given up is only that both have the same
//! head, and that flows are known in spans only: each pipe takes the least its flow may take. So every design in the box is
//! a design of the tree, and the cheapest design of the tree, by the programme over the tree (Labye 1966, from memory),
//! costs no more. That holds wherever the loops are cut; they are cut where least flows.

use super::flows::Solver;
use super::laws::loss_m;
use super::narrow::{Region, bits};

/// Points held at one pipe; where there are more, the lower need of one is given the lower cost of another.
const POINTS_MOST: usize = 400;
/// What rounding may put wrong in a head, m.
const SLACK_M: f64 = 1e-7;

/// With `need_m` at hand, `cost` is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Point {
    need_m: f64,
    cost: f64,
    rank: u8,
}

/// The tree's cheapest design.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Relaxed {
    /// Its cost.
    pub(super) cost: f64,
    /// Rank of each pipe in it.
    pub(super) ranks: Vec<usize>,
}

/// The tree of a box.
struct Cut {
    /// Pipes, each after the one it hangs on.
    order: Vec<usize>,
    /// Of each pipe: its upper node; its lower node where that hangs on it, and not a copy; 1 if it runs downwards.
    upper: Vec<usize>,
    lower: Vec<usize>,
    carries: Vec<bool>,
    downwards: Vec<f64>,
}

/// The cheapest design of the tree, as far as it costs no more than `most`; `None` if all cost more or none will do.
pub(super) fn relaxed(solver: &Solver, region: &Region, most: f64) -> Option<Relaxed> {
    let cut = cut(solver, region);
    let allowed = allowed(&cheapest(solver, region), &cut, most);
    let mut below: Vec<Vec<Point>> = region.head.iter().map(|head| alone(head.lo)).collect();
    let mut ways: Vec<Vec<Point>> = vec![Vec::new(); cut.order.len()];
    for &pipe in cut.order.iter().rev() {
        let (upper, lower) = (cut.upper[pipe], cut.lower[pipe]);
        let held = if cut.carries[pipe] {
            std::mem::take(&mut below[lower])
        } else {
            alone(region.head[lower].lo)
        };
        let way = ways_of(solver, region, &cut, pipe, &held, allowed[pipe]);
        if way.is_empty() {
            return None;
        }
        below[upper] = join(&below[upper], &way);
        ways[pipe] = way;
    }
    let mut cost = 0.0;
    for (node, points) in below.iter().enumerate() {
        if solver.problem.nodes[node].fixed_head_m.is_some() {
            cost += within(points, region.head[node].hi)?.cost;
        }
    }
    (cost <= most).then(|| Relaxed {
        cost,
        ranks: picked(solver, region, &cut, &ways),
    })
}

/// A node with nothing behind it.
fn alone(need_m: f64) -> Vec<Point> {
    vec![Point {
        need_m,
        cost: 0.0,
        rank: 0,
    }]
}

/// Least price of each pipe.
fn cheapest(solver: &Solver, region: &Region) -> Vec<f64> {
    let least = |(choices, &ranks): (&Vec<super::laws::Choice>, &u64)| {
        let prices = bits(ranks).map(|rank| choices[rank].price);
        prices.fold(f64::INFINITY, f64::min)
    };
    solver
        .laws
        .pipes
        .iter()
        .zip(&region.ranks)
        .map(least)
        .collect()
}

/// What each pipe and all behind it may cost, so that with the rest at its cheapest all cost no more than `most`.
fn allowed(cheapest: &[f64], cut: &Cut, most: f64) -> Vec<f64> {
    let all: f64 = cheapest.iter().sum();
    let nodes = cut
        .upper
        .iter()
        .chain(&cut.lower)
        .max()
        .map_or(0, |n| n + 1);
    let mut at = vec![0.0; nodes];
    let mut behind = cheapest.to_vec();
    for &pipe in cut.order.iter().rev() {
        if cut.carries[pipe] {
            behind[pipe] += at[cut.lower[pipe]];
        }
        at[cut.upper[pipe]] += behind[pipe];
    }
    behind.iter().map(|least| most - (all - least)).collect()
}

/// Cuts the loops: from the sources on, the pipe that carries most leads on, and those left over hang loose.
fn cut(solver: &Solver, region: &Region) -> Cut {
    let pipes = &solver.problem.pipes;
    let count = pipes.len();
    let middle: Vec<f64> = region.flow.iter().map(|flow| flow.middle()).collect();
    let fixed = |node: &super::LoopedNode| node.fixed_head_m.is_some();
    let mut reached: Vec<bool> = solver.problem.nodes.iter().map(fixed).collect();
    let mut cut = Cut {
        order: Vec::with_capacity(count),
        upper: pipes.iter().map(|pipe| pipe.from).collect(),
        lower: pipes.iter().map(|pipe| pipe.to).collect(),
        carries: vec![false; count],
        downwards: vec![1.0; count],
    };
    loop {
        // Flow away from what is reached, so that a pipe against the flow comes last.
        let outwards = |pipe: usize| match (reached[pipes[pipe].from], reached[pipes[pipe].to]) {
            (true, false) => Some(middle[pipe]),
            (false, true) => Some(-middle[pipe]),
            _ => None,
        };
        let next = (0..count)
            .filter_map(|pipe| outwards(pipe).map(|flow| (flow, pipe)))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        let Some((_, pipe)) = next else { break };
        if !reached[pipes[pipe].from] {
            turn(&mut cut, pipe);
        }
        reached[cut.lower[pipe]] = true;
        cut.carries[pipe] = true;
        cut.order.push(pipe);
    }
    let loose: Vec<usize> = (0..count).filter(|&pipe| !cut.carries[pipe]).collect();
    for &pipe in &loose {
        if middle[pipe] < 0.0 {
            turn(&mut cut, pipe);
        }
    }
    cut.order.extend(loose);
    cut
}

fn turn(cut: &mut Cut, pipe: usize) {
    let (upper, lower) = (cut.upper[pipe], cut.lower[pipe]);
    cut.upper[pipe] = lower;
    cut.lower[pipe] = upper;
    cut.downwards[pipe] = -cut.downwards[pipe];
}

/// Least head a pipe of this rank takes downwards, m.
fn takes_m(solver: &Solver, region: &Region, cut: &Cut, pipe: usize, rank: usize) -> f64 {
    let flow = region.flow[pipe].signed(cut.downwards[pipe]);
    loss_m(solver.laws.pipes[pipe][rank].resistance, flow.lo)
}

/// The ways to build a pipe and all behind it that cost no more than `most`.
fn ways_of(
    solver: &Solver,
    region: &Region,
    cut: &Cut,
    pipe: usize,
    held: &[Point],
    most: f64,
) -> Vec<Point> {
    let highest_m = region.head[cut.upper[pipe]].hi + SLACK_M;
    let mut all: Vec<Point> = Vec::new();
    for rank in bits(region.ranks[pipe]) {
        let takes_m = takes_m(solver, region, cut, pipe, rank);
        let price = solver.laws.pipes[pipe][rank].price;
        let through = held.iter().map(|point| Point {
            need_m: point.need_m + takes_m,
            cost: point.cost + price,
            rank: rank as u8,
        });
        let fits = |point: &Point| point.need_m <= highest_m && point.cost <= most;
        all = merge(&all, through.filter(fits));
    }
    thinned(all)
}

/// Points by rising need and falling cost: those that another beats are left out.
fn push(points: &mut Vec<Point>, point: Point) {
    match points.last_mut() {
        Some(last) if point.cost >= last.cost => {}
        Some(last) if point.need_m <= last.need_m => *last = point,
        _ => points.push(point),
    }
}

fn merge(a: &[Point], b: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut merged = Vec::with_capacity(a.len() + 16);
    let mut a = a.iter().copied().peekable();
    for point in b {
        while let Some(before) =
            a.next_if(|other| (other.need_m, other.cost) <= (point.need_m, point.cost))
        {
            push(&mut merged, before);
        }
        push(&mut merged, point);
    }
    for rest in a {
        push(&mut merged, rest);
    }
    merged
}

/// Both behind one node: the greater need, the sum of the costs.
fn join(a: &[Point], b: &[Point]) -> Vec<Point> {
    let mut joined = Vec::with_capacity(a.len() + b.len());
    let (mut i, mut j) = (0, 0);
    while i < a.len() || j < b.len() {
        let left = a.get(i).map_or(f64::INFINITY, |point| point.need_m);
        let right = b.get(j).map_or(f64::INFINITY, |point| point.need_m);
        if j >= b.len() || (i < a.len() && left <= right) {
            i += 1;
        } else {
            j += 1;
        }
        if i > 0 && j > 0 {
            let point = Point {
                need_m: a[i - 1].need_m.max(b[j - 1].need_m),
                cost: a[i - 1].cost + b[j - 1].cost,
                rank: 0,
            };
            push(&mut joined, point);
        }
    }
    joined
}

fn thinned(points: Vec<Point>) -> Vec<Point> {
    let count = points.len();
    if count <= POINTS_MOST {
        return points;
    }
    let place = |index: usize| index * count / POINTS_MOST;
    let corner = |index: usize| Point {
        need_m: points[place(index)].need_m,
        ..points[place(index + 1) - 1]
    };
    (0..POINTS_MOST).map(corner).collect()
}

/// The cheapest point that asks for no more than `head_m`.
fn within(points: &[Point], head_m: f64) -> Option<&Point> {
    let end = points.partition_point(|point| point.need_m <= head_m + SLACK_M);
    points[..end].last()
}

/// The ranks of the cheapest design; where points were thinned, of one near it.
fn picked(solver: &Solver, region: &Region, cut: &Cut, ways: &[Vec<Point>]) -> Vec<usize> {
    let mut left_m: Vec<f64> = region.head.iter().map(|head| head.hi).collect();
    let mut ranks = vec![0; ways.len()];
    for &pipe in &cut.order {
        let at_hand_m = left_m[cut.upper[pipe]];
        let point = within(&ways[pipe], at_hand_m).or(ways[pipe].first());
        let rank = point.map_or(0, |point| usize::from(point.rank));
        ranks[pipe] = rank;
        if cut.carries[pipe] {
            left_m[cut.lower[pipe]] = at_hand_m - takes_m(solver, region, cut, pipe, rank);
        }
    }
    ranks
}
