//! The covering's linear programme solved by an interior point method.
//!
//! Primal and dual together, predictor and corrector (Mehrotra 1992, SIAM J. Optim. 2:575, from memory). With `A` the
//! depths (sample by candidate), `κ = 1/(0.25 n)`:
//!
//! ```text
//! min Σx   s.t.  A x + u - t ≥ 0 (q),  A x ≥ 0.3 (y),  x, u ≥ 0,
//!                t - κ Σu ≥ 0.75,  t - κ Σu - 0.75 m·x ≥ 0,  o·x ≥ 0 (λ)
//! ```
//!
//! A step needs one factorisation, of the size of the samples: all but the duals of the samples, three rows and `t` is
//! eliminated by hand, and those four are found by trying each alone, since the step is affine in them.

use super::covering::{Covering, LEAST_DEPTH, LOW_QUARTER, QUARTER};
use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, Side};

/// Relative gap and residual of the covering at which it stops: far below the one decimal that is told.
const TOLERANCE: f64 = 1e-5;
/// What the price of a candidate, 1, may be off by then. Cancellation in the eliminated equations leaves more of it in
/// symmetric or winding pieces, whose optimum is not unique.
const PRICE_TOLERANCE: f64 = 1e-4;
/// Steps after which it gives up; some fifteen are usual.
const STEPS_MOST: usize = 60;
/// Share of the way to the nearest border that a step takes.
const STEP_SHARE: f64 = 0.995;

/// Least sum of weights, or `None` where it does not converge.
pub(super) fn least_sum(covering: &Covering) -> Option<f64> {
    let programme = Programme::of(covering);
    let mut point = programme.start()?;
    for _ in 0..STEPS_MOST {
        if let Some(sum) = programme.reached(&point) {
            return Some(sum);
        }
        programme.step(&mut point)?;
    }
    None
}

/// Rows beside those of the samples, and the free `t`.
const BORDER: usize = 4;

struct Programme<'a> {
    covering: &'a Covering,
    /// Mean depth of each candidate, and its slack against the overspray rule.
    mean: Vec<f64>,
    kappa: f64,
}

/// A value and its dual, both above 0: their product goes to 0.
#[derive(Clone, Default)]
struct Pairs {
    value: Vec<f64>,
    dual: Vec<f64>,
}

#[derive(Clone, Default)]
struct Point {
    /// Candidates' weights.
    x: Pairs,
    /// Shortfall under `t` of each sample.
    u: Pairs,
    /// Slack of the rows with `t`.
    s: Pairs,
    /// Slack over the least depth.
    e: Pairs,
    /// Slack of the low quarter, the uniformity, the overspray.
    g: Pairs,
    t: f64,
}

/// What is missing in each equation.
struct Residuals {
    x: Vec<f64>,
    u: Vec<f64>,
    s: Vec<f64>,
    e: Vec<f64>,
    g: [f64; 3],
    t: f64,
}

/// What each product is to change by.
struct Targets {
    x: Vec<f64>,
    u: Vec<f64>,
    s: Vec<f64>,
    e: Vec<f64>,
    g: Vec<f64>,
}

impl Pairs {
    fn new(value: Vec<f64>, dual: Vec<f64>) -> Self {
        Self { value, dual }
    }

    fn product(&self) -> f64 {
        dot(&self.value, &self.dual)
    }

    /// Products wanted less the present ones and what a step changed both by.
    fn target(&self, wanted: f64, step: Option<&Pairs>) -> Vec<f64> {
        (0..self.value.len())
            .map(|i| {
                let second = step.map_or(0.0, |step| step.value[i] * step.dual[i]);
                wanted - self.value[i] * self.dual[i] - second
            })
            .collect()
    }

    fn add(&mut self, step: &Pairs, primal: f64, dual: f64) {
        for (value, change) in self.value.iter_mut().zip(&step.value) {
            *value += primal * change;
        }
        for (value, change) in self.dual.iter_mut().zip(&step.dual) {
            *value += dual * change;
        }
    }
}

impl Point {
    fn pairs(&self) -> [&Pairs; 5] {
        [&self.x, &self.u, &self.s, &self.e, &self.g]
    }

    /// Mean product of values and duals.
    fn mean_product(&self) -> f64 {
        let pairs = self.pairs();
        let count: usize = pairs.iter().map(|p| p.value.len()).sum();
        pairs.iter().map(|p| p.product()).sum::<f64>() / count as f64
    }

    fn moved(&self, step: &Point, primal: f64, dual: f64) -> Point {
        let mut moved = self.clone();
        moved.x.add(&step.x, primal, dual);
        moved.u.add(&step.u, primal, dual);
        moved.s.add(&step.s, primal, dual);
        moved.e.add(&step.e, primal, dual);
        moved.g.add(&step.g, primal, dual);
        moved.t += primal * step.t;
        moved
    }

    fn is_finite(&self) -> bool {
        let finite = |values: &[f64]| values.iter().all(|value| value.is_finite());
        self.t.is_finite()
            && self
                .pairs()
                .iter()
                .all(|p| finite(&p.value) && finite(&p.dual))
    }
}

/// Longest steps to the border, of values and of duals, at most 1 each.
fn longest(point: &Point, step: &Point, share: f64) -> (f64, f64) {
    let reach = |from: &[f64], by: &[f64]| {
        from.iter()
            .zip(by)
            .filter(|(_, by)| **by < 0.0)
            .map(|(from, by)| -share * from / by)
            .fold(1.0, f64::min)
    };
    let both = point.pairs().into_iter().zip(step.pairs());
    both.fold((1.0, 1.0), |(primal, dual): (f64, f64), (from, by)| {
        (
            primal.min(reach(&from.value, &by.value)),
            dual.min(reach(&from.dual, &by.dual)),
        )
    })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl<'a> Programme<'a> {
    fn of(covering: &'a Covering) -> Self {
        let samples = covering.samples as f64;
        let mean = covering.candidates.iter();
        Self {
            covering,
            mean: mean
                .map(|c| c.depths.iter().map(|d| d.1).sum::<f64>() / samples)
                .collect(),
            kappa: 1.0 / (QUARTER * samples),
        }
    }

    /// `A x`.
    fn depths(&self, x: &[f64]) -> Vec<f64> {
        let mut depths = vec![0.0; self.covering.samples];
        for (candidate, weight) in self.covering.candidates.iter().zip(x) {
            for (sample, depth) in &candidate.depths {
                depths[*sample] += weight * depth;
            }
        }
        depths
    }

    /// Row of the border `row` (low quarter, uniformity, overspray) for candidate `j`.
    fn border(&self, row: usize, j: usize) -> f64 {
        match row {
            0 => 0.0,
            1 => -LOW_QUARTER * self.mean[j],
            _ => self.covering.candidates[j].spare,
        }
    }

    /// `A'p + C'λ` for each candidate.
    fn prices(&self, p: &[f64], lambda: &[f64]) -> Vec<f64> {
        let candidates = self.covering.candidates.iter().enumerate();
        candidates
            .map(|(j, candidate)| {
                let water: f64 = candidate.depths.iter().map(|(i, d)| d * p[*i]).sum();
                water
                    + (0..3)
                        .map(|row| self.border(row, j) * lambda[row])
                        .sum::<f64>()
            })
            .collect()
    }

    /// Left sides of the three border rows.
    fn border_rows(&self, x: &[f64], u: &[f64], t: f64) -> [f64; 3] {
        let low = t - self.kappa * u.iter().sum::<f64>();
        let uneven: f64 = x.iter().zip(&self.mean).map(|(x, mean)| x * mean).sum();
        let candidates = self.covering.candidates.iter();
        let spare = candidates.zip(x).map(|(c, x)| c.spare * x).sum();
        [low, low - LOW_QUARTER * uneven, spare]
    }

    /// Every candidate alike, so that the mean depth is somewhat above what is asked; duals to match.
    fn start(&self) -> Option<Point> {
        let (samples, candidates) = (self.covering.samples, self.mean.len());
        let each = 1.3 / self.mean.iter().sum::<f64>();
        if !each.is_finite() || samples == 0 {
            return None;
        }
        let x = vec![each; candidates];
        let sum = each * candidates as f64;
        let depths = self.depths(&x);
        let slack = |than: f64| {
            depths
                .iter()
                .map(|d| (d - than).max(0.1))
                .collect::<Vec<_>>()
        };
        let (s, e) = (slack(0.7), slack(LEAST_DEPTH));
        let share = sum / samples as f64;
        let lambda = vec![sum, 0.1 * sum, 0.1 * sum];
        let u_dual = vec![2.0 * share; samples];
        Some(Point {
            x: Pairs::new(x, vec![0.5; candidates]),
            u: Pairs::new(vec![0.2; samples], u_dual),
            s: Pairs::new(s, vec![share; samples]),
            e: Pairs::new(e, vec![0.2 * share; samples]),
            g: Pairs::new(vec![0.2, 0.2, 0.1 * sum], lambda),
            t: 0.9,
        })
    }

    fn residuals(&self, point: &Point) -> Residuals {
        let depths = self.depths(&point.x.value);
        let (q, y, lambda) = (&point.s.dual, &point.e.dual, &point.g.dual);
        let p: Vec<f64> = q.iter().zip(y).map(|(q, y)| q + y).collect();
        let prices = self.prices(&p, lambda);
        let both = lambda[0] + lambda[1];
        let rows = self.border_rows(&point.x.value, &point.u.value, point.t);
        let g = &point.g.value;
        Residuals {
            x: prices
                .iter()
                .zip(&point.x.dual)
                .map(|(price, z)| 1.0 - price - z)
                .collect(),
            u: q.iter()
                .zip(&point.u.dual)
                .map(|(q, v)| self.kappa * both - q - v)
                .collect(),
            s: (0..depths.len())
                .map(|i| point.s.value[i] + point.t - depths[i] - point.u.value[i])
                .collect(),
            e: (0..depths.len())
                .map(|i| LEAST_DEPTH + point.e.value[i] - depths[i])
                .collect(),
            g: [LOW_QUARTER + g[0] - rows[0], g[1] - rows[1], g[2] - rows[2]],
            t: q.iter().sum::<f64>() - both,
        }
    }

    /// The sum of the weights once primal, dual and the gap between them have settled.
    fn reached(&self, point: &Point) -> Option<f64> {
        let residuals = self.residuals(point);
        let worst = |values: &[f64]| values.iter().fold(0.0, |w: f64, r| w.max(r.abs()));
        let sum: f64 = point.x.value.iter().sum();
        let lambda = &point.g.dual;
        let dual = LOW_QUARTER * lambda[0] + LEAST_DEPTH * point.e.dual.iter().sum::<f64>();
        let primal_off = worst(&residuals.s)
            .max(worst(&residuals.e))
            .max(worst(&residuals.g));
        let price = 1.0 + worst(lambda);
        let dual_off = worst(&residuals.x)
            .max(worst(&residuals.u) / price)
            .max(residuals.t.abs() / price);
        let settled = primal_off < TOLERANCE && dual_off < PRICE_TOLERANCE;
        (settled && (sum - dual).abs() < TOLERANCE * (1.0 + sum)).then_some(sum)
    }

    /// Mean product at which the gap is a fifth of what is allowed.
    fn enough(&self, point: &Point) -> f64 {
        let count: usize = point.pairs().iter().map(|p| p.value.len()).sum();
        let sum: f64 = point.x.value.iter().sum();
        0.2 * TOLERANCE * (1.0 + sum) / count as f64
    }

    /// One step: a predictor that ignores the border, then a corrector that keeps off it.
    fn step(&self, point: &mut Point) -> Option<()> {
        let residuals = self.residuals(point);
        let system = System::of(self, point)?;
        let predictor = system.solve(&residuals, &targets(point, 0.0, None))?;
        let (primal, dual) = longest(point, &predictor, 1.0);
        let now = point.mean_product();
        let then = point.moved(&predictor, primal, dual).mean_product();
        let wanted = now * (then / now).powi(3).clamp(1e-4, 1.0);
        // Nearer to the border than the tolerance asks, cancellation spoils the prices.
        let wanted = wanted.max(self.enough(point));
        let corrector = system.solve(&residuals, &targets(point, wanted, Some(&predictor)))?;
        let (primal, dual) = longest(point, &corrector, STEP_SHARE);
        *point = point.moved(&corrector, primal, dual);
        (point.is_finite() && primal.max(dual) > 1e-9).then_some(())
    }
}

fn targets(point: &Point, wanted: f64, step: Option<&Point>) -> Targets {
    Targets {
        x: point.x.target(wanted, step.map(|s| &s.x)),
        u: point.u.target(wanted, step.map(|s| &s.u)),
        s: point.s.target(wanted, step.map(|s| &s.s)),
        e: point.e.target(wanted, step.map(|s| &s.e)),
        g: point.g.target(wanted, step.map(|s| &s.g)),
    }
}

/// The equations of a step at a point, factorised.
struct System<'a> {
    programme: &'a Programme<'a>,
    point: &'a Point,
    /// Weights of the rows with `t` and of the rows of the least depth.
    omega: Vec<f64>,
    least: Vec<f64>,
    /// `1 / (omega + least)` on the diagonal, and what the candidates join.
    factor: Llt<f64>,
    /// The step with each of the four unknowns of the border at 1 and nothing else.
    columns: Vec<Point>,
}

impl<'a> System<'a> {
    fn of(programme: &'a Programme<'a>, point: &'a Point) -> Option<Self> {
        let samples = programme.covering.samples;
        let omega: Vec<f64> = (0..samples)
            .map(|i| {
                let row = point.s.dual[i] / point.s.value[i];
                let short = point.u.dual[i] / point.u.value[i];
                1.0 / (1.0 / row + 1.0 / short)
            })
            .collect();
        let least: Vec<f64> = (0..samples)
            .map(|i| point.e.dual[i] / point.e.value[i])
            .collect();
        let mut matrix = Mat::<f64>::zeros(samples, samples);
        for i in 0..samples {
            matrix[(i, i)] = 1.0 / (omega[i] + least[i]);
        }
        for (j, candidate) in programme.covering.candidates.iter().enumerate() {
            let weight = point.x.value[j] / point.x.dual[j];
            for (at, (column, depth)) in candidate.depths.iter().enumerate() {
                let part = weight * depth;
                let below = matrix.col_as_slice_mut(*column);
                for (row, depth) in &candidate.depths[at..] {
                    below[*row] += part * depth;
                }
            }
        }
        let factor = Llt::new(matrix.as_ref(), Side::Lower).ok()?;
        let mut system = Self {
            programme,
            point,
            omega,
            least,
            factor,
            columns: Vec::new(),
        };
        system.columns = (0..BORDER).map(|k| system.alone(k)).collect();
        Some(system)
    }

    fn alone(&self, k: usize) -> Point {
        let mut border = [0.0; BORDER];
        border[k] = 1.0;
        self.with(&border, None)
    }

    /// The step for given changes of λ and `t`; without `wanted`, only what these bring.
    fn with(&self, border: &[f64; BORDER], wanted: Option<(&Residuals, &Targets)>) -> Point {
        let (programme, point) = (self.programme, self.point);
        let samples = programme.covering.samples;
        let (lambda, t) = (&border[..3], border[3]);
        let both = programme.kappa * (lambda[0] + lambda[1]);
        let ratio = |target: &[f64], by: &[f64], i: usize| target[i] / by[i];
        // What stays of each row once its own unknowns are eliminated.
        let short = |i: usize| {
            wanted.map_or(0.0, |(r, target)| {
                ratio(&target.u, &point.u.value, i) - r.u[i]
            })
        };
        let stiff = |i: usize| point.u.dual[i] / point.u.value[i];
        let row = |i: usize| {
            let own = wanted.map_or(0.0, |(r, target)| {
                ratio(&target.s, &point.s.dual, i) + r.s[i]
            });
            own + (both - short(i)) / stiff(i) + t
        };
        let floor = |i: usize| {
            wanted.map_or(0.0, |(r, target)| {
                ratio(&target.e, &point.e.dual, i) + r.e[i]
            })
        };
        let free = |j: usize| {
            wanted.map_or(0.0, |(r, target)| {
                ratio(&target.x, &point.x.value, j) - r.x[j]
            })
        };
        let step_x = |prices: &[f64]| -> Vec<f64> {
            (0..prices.len())
                .map(|j| (prices[j] + free(j)) * point.x.value[j] / point.x.dual[j])
                .collect()
        };

        let unforced = programme.depths(&step_x(&programme.prices(&vec![0.0; samples], lambda)));
        let right = Mat::from_fn(samples, 1, |i, _| {
            let weight = self.omega[i] + self.least[i];
            (self.omega[i] * row(i) + self.least[i] * floor(i)) / weight - unforced[i]
        });
        let force = self.factor.solve(&right);
        let force: Vec<f64> = (0..samples).map(|i| force[(i, 0)]).collect();

        let x = step_x(&programme.prices(&force, lambda));
        let depths = programme.depths(&x);
        let q: Vec<f64> = (0..samples)
            .map(|i| self.omega[i] * (row(i) - depths[i]))
            .collect();
        let y: Vec<f64> = (0..samples)
            .map(|i| self.least[i] * (floor(i) - depths[i]))
            .collect();
        let u: Vec<f64> = (0..samples)
            .map(|i| (q[i] - both + short(i)) / stiff(i))
            .collect();
        let answer = |values: &[f64], pairs: &Pairs, target: Option<&[f64]>| -> Vec<f64> {
            (0..values.len())
                .map(|i| {
                    (target.map_or(0.0, |t| t[i]) - pairs.dual[i] * values[i]) / pairs.value[i]
                })
                .collect()
        };
        let slack = |duals: &[f64], pairs: &Pairs, target: Option<&[f64]>| -> Vec<f64> {
            (0..duals.len())
                .map(|i| (target.map_or(0.0, |t| t[i]) - pairs.value[i] * duals[i]) / pairs.dual[i])
                .collect()
        };
        let target = wanted.map(|(_, target)| target);
        let z = answer(&x, &point.x, target.map(|t| &t.x[..]));
        let v = answer(&u, &point.u, target.map(|t| &t.u[..]));
        let s = slack(&q, &point.s, target.map(|t| &t.s[..]));
        let e = slack(&y, &point.e, target.map(|t| &t.e[..]));
        let g = slack(lambda, &point.g, target.map(|t| &t.g[..]));
        Point {
            x: Pairs::new(x, z),
            u: Pairs::new(u, v),
            s: Pairs::new(s, q),
            e: Pairs::new(e, y),
            g: Pairs::new(g, lambda.to_vec()),
            t,
        }
    }

    /// What a step leaves open in the three border rows and in the row of `t`.
    fn open(&self, step: &Point, residuals: Option<&Residuals>) -> [f64; BORDER] {
        let rows = self
            .programme
            .border_rows(&step.x.value, &step.u.value, step.t);
        let (lambda, g) = (&step.g.dual, &step.g.value);
        let t = lambda[0] + lambda[1] - step.s.dual.iter().sum::<f64>();
        let wanted = residuals.map_or([0.0; BORDER], |r| [r.g[0], r.g[1], r.g[2], r.t]);
        [
            rows[0] - g[0] - wanted[0],
            rows[1] - g[1] - wanted[1],
            rows[2] - g[2] - wanted[2],
            t - wanted[3],
        ]
    }

    fn solve(&self, residuals: &Residuals, targets: &Targets) -> Option<Point> {
        let base = self.with(&[0.0; BORDER], Some((residuals, targets)));
        let open = self.open(&base, Some(residuals));
        let columns: Vec<[f64; BORDER]> = self.columns.iter().map(|c| self.open(c, None)).collect();
        let border = solve_four(&columns, &open)?;
        let steps = self.columns.iter().zip(&border);
        Some(steps.fold(base, |step, (column, by)| step.moved(column, *by, *by)))
    }
}

/// Solves `Σ columns[k] b[k] = -open` by elimination with the greatest pivot; `None` where it has no answer.
fn solve_four(columns: &[[f64; BORDER]], open: &[f64; BORDER]) -> Option<[f64; BORDER]> {
    let mut rows: Vec<Vec<f64>> = (0..BORDER)
        .map(|i| columns.iter().map(|c| c[i]).chain([-open[i]]).collect())
        .collect();
    for k in 0..BORDER {
        let pivot = (k..BORDER).max_by(|a, b| rows[*a][k].abs().total_cmp(&rows[*b][k].abs()))?;
        rows.swap(k, pivot);
        let top = rows[k].clone();
        for row in rows.iter_mut().skip(k + 1) {
            let by = row[k] / top[k];
            row.iter_mut()
                .zip(&top)
                .for_each(|(cell, top)| *cell -= by * top);
        }
    }
    let mut found = [0.0; BORDER];
    for k in (0..BORDER).rev() {
        let known: f64 = (k + 1..BORDER).map(|j| rows[k][j] * found[j]).sum();
        found[k] = (rows[k][BORDER] - known) / rows[k][k];
    }
    found.iter().all(|value| value.is_finite()).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::super::covering::Candidate;
    use super::*;

    fn covering(samples: usize, depths: &[&[(usize, f64)]], spare: &[f64]) -> Covering {
        let candidate = |(depths, spare): (&&[(usize, f64)], &f64)| Candidate {
            depths: depths.to_vec(),
            spare: *spare,
        };
        Covering {
            candidates: depths.iter().zip(spare).map(candidate).collect(),
            samples,
            sample_m2: 1.0,
        }
    }

    fn near(found: Option<f64>, expected: f64) {
        assert!(
            found.is_some_and(|found| (found - expected).abs() < 1e-3),
            "{found:?}, expected {expected}"
        );
    }

    /// By hand: four samples, so the low quarter is the driest one, which is to have 0.75 and 0.75 of the mean.
    #[test]
    fn cases_solved_by_hand() {
        let each: [&[(usize, f64)]; 4] = [&[(0, 0.5)], &[(1, 0.5)], &[(2, 0.5)], &[(3, 0.5)]];
        near(covering(4, &each, &[0.1; 4]).fewest(), 6.0);
        // One candidate wets the first two: three depths of 0.75 in all.
        let pair: [&[(usize, f64)]; 4] =
            [&[(0, 0.5), (1, 0.5)], &[(1, 0.5)], &[(2, 0.5)], &[(3, 0.5)]];
        near(covering(4, &pair, &[0.1; 4]).fewest(), 4.5);
        // It sprays over by 0.2 a part and the others spare 0.1 each: 1.5 parts of it need 3 of them, which there are.
        near(covering(4, &pair, &[-0.2, 0.1, 0.1, 0.1]).fewest(), 4.5);
        // At 0.3 a part they need 4.5 of them. The mean, 0.9375, is still low enough for the driest sample's 0.75.
        near(covering(4, &pair, &[-0.3, 0.1, 0.1, 0.1]).fewest(), 6.0);
        // At 0.4 the driest has half the parts of the pair, and the mean three quarters: never even enough.
        assert_eq!(covering(4, &pair, &[-0.4, 0.1, 0.1, 0.1]).fewest(), None);
    }

    #[test]
    fn no_answer_where_a_sample_stays_dry_or_all_spray_over() {
        assert_eq!(covering(2, &[&[(0, 1.0)]], &[0.1]).fewest(), None);
        assert_eq!(covering(1, &[&[(0, 1.0)]], &[-0.1]).fewest(), None);
        assert_eq!(covering(1, &[], &[]).fewest(), None);
    }
}
