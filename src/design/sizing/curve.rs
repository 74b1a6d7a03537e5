//! Curves of need against cost: what the cheapest pipes cost for each head that may be had.

use super::EQUAL_M;
use super::tree::Labels;

/// One point: with at least `need` at hand, `cost` is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub(super) need: f64,
    pub(super) cost: f64,
    /// Size of the pipe at the upper end.
    pub(super) size: usize,
}

/// Points by rising need and falling cost.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve(pub(super) Vec<Point>);

/// What to do with the points that a full curve cannot hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Thin {
    /// Drop them: what remains can be built, and may be dearer than the best.
    Drop(usize),
    /// Give the lower need of one and the lower cost of another: no design, but no design is cheaper.
    Bound(usize),
}

/// How curves are kept short.
#[derive(Debug, Clone, Copy)]
pub(super) struct Keep {
    pub(super) need_most: f64,
    pub(super) thin: Thin,
}

impl Curve {
    /// A curve of any points: those that another one beats are left out.
    pub(super) fn of(mut points: Vec<Point>) -> Self {
        points.sort_by(|a, b| a.need.total_cmp(&b.need).then(a.cost.total_cmp(&b.cost)));
        let mut kept: Vec<Point> = Vec::with_capacity(points.len());
        for point in points {
            push(&mut kept, point);
        }
        Self(kept)
    }

    /// The cheapest point that asks for no more than `need`.
    pub(super) fn within(&self, need: f64) -> Option<&Point> {
        let end = self.0.partition_point(|point| point.need <= need);
        self.0[..end].last()
    }

    /// The same curve with at most as many points as `thin` allows; whether any was lost.
    pub(super) fn thinned(self, thin: Thin) -> (Self, bool) {
        let (Thin::Drop(most) | Thin::Bound(most)) = thin;
        let most = most.max(2);
        if self.0.len() <= most {
            return (self, false);
        }
        let last = self.0.len() - 1;
        let place = |index: usize| index * last / (most - 1);
        let points = match thin {
            Thin::Drop(_) => (0..most).map(|index| self.0[place(index)]).collect(),
            Thin::Bound(_) => {
                let group =
                    |index: usize| (index * (last + 1) / most, (index + 1) * (last + 1) / most);
                let corner = |(first, end): (usize, usize)| Point {
                    need: self.0[first].need,
                    ..self.0[end - 1]
                };
                (0..most).map(group).map(corner).collect()
            }
        };
        (Self(points), true)
    }
}

/// Adds a point whose need is no less than that of all before it, unless it brings nothing.
fn push(points: &mut Vec<Point>, point: Point) {
    match points.last_mut() {
        Some(last) if point.cost >= last.cost => {}
        Some(last) if point.need <= last.need => *last = point,
        _ => points.push(point),
    }
}

impl Labels for Curve {
    type Keep = Keep;

    fn none() -> Self {
        Self(Vec::new())
    }

    fn free() -> Self {
        Self(vec![Point {
            need: f64::NEG_INFINITY,
            cost: 0.0,
            size: 0,
        }])
    }

    /// Both behind one node: the greater need, the sum of the costs.
    fn join(&self, other: &Self, _: &Keep) -> Self {
        let (a, b) = (&self.0, &other.0);
        let mut joined = Vec::with_capacity(a.len() + b.len());
        let (mut i, mut j) = (0, 0);
        while i < a.len() || j < b.len() {
            let left = a.get(i).map_or(f64::INFINITY, |point| point.need);
            let right = b.get(j).map_or(f64::INFINITY, |point| point.need);
            if j >= b.len() || (i < a.len() && left <= right) {
                i += 1;
            } else {
                j += 1;
            }
            if i > 0 && j > 0 {
                let cost = a[i - 1].cost + b[j - 1].cost;
                let need = a[i - 1].need.max(b[j - 1].need);
                push(
                    &mut joined,
                    Point {
                        need,
                        cost,
                        size: 0,
                    },
                );
            }
        }
        Self(joined)
    }

    fn merge(&self, other: &Self, keep: &Keep) -> (Self, bool) {
        let (a, b) = (&self.0, &other.0);
        let mut merged = Vec::with_capacity(a.len() + b.len());
        let (mut i, mut j) = (0, 0);
        while i < a.len() || j < b.len() {
            let first = match (a.get(i), b.get(j)) {
                (Some(left), Some(right)) => (left.need, left.cost) <= (right.need, right.cost),
                (left, _) => left.is_some(),
            };
            let point = if first { a[i] } else { b[j] };
            i += usize::from(first);
            j += usize::from(!first);
            // What asks for more than there can be is kept only where there is nothing else.
            if point.need <= keep.need_most || merged.is_empty() {
                push(&mut merged, point);
            }
        }
        Self(merged).thinned(keep.thin)
    }

    fn through(&self, size: usize, loss: f64, price: f64) -> Self {
        let through = |point: &Point| Point {
            need: point.need + loss,
            cost: point.cost + price,
            size,
        };
        Self(self.0.iter().map(through).collect())
    }

    fn cheapest(&self, head: f64) -> Option<usize> {
        self.within(head + EQUAL_M).map(|point| point.size)
    }
}
