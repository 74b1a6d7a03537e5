//! What each size takes from the water in each pipe, and what it costs.

use super::span::Span;
use super::{LoopedError, LoopedProblem};
use crate::brief::PipeSize;
use crate::design::hydraulics::friction::{Bore, HAZEN_WILLIAMS_FLOW_EXPONENT};

/// Least head lost per flow, m per m³/s: that of the solver of networks, so that both solve the same equations.
const LEAST_LOSS_PER_FLOW: f64 = 1e-3;

/// A size a pipe may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Choice {
    /// Index into the sizes on offer.
    pub(super) size: usize,
    /// Head lost at 1 m³/s, m.
    pub(super) resistance: f64,
    /// Price of the pipe.
    pub(super) price: f64,
    /// Greatest flow, m³/s, by velocity.
    pub(super) flow_most_m3s: f64,
    /// Area, m².
    pub(super) area_m2: f64,
}

/// The sizes of each pipe, by falling resistance: a size's place is its rank. A wider pipe elsewhere may take a node's
/// pressure away, so a size that is both dearer and narrower than another is kept.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Laws {
    pub(super) pipes: Vec<Vec<Choice>>,
}

impl Laws {
    /// # Errors
    /// [`LoopedError::Size`] for a bore, roughness or price that cannot be computed with.
    pub(super) fn of(
        problem: &LoopedProblem,
        sizes: &[PipeSize],
        velocity_most_m_s: f64,
    ) -> Result<Self, LoopedError> {
        let pipes = problem.pipes.iter().map(|pipe| {
            let mut choices = pipe
                .offered
                .iter()
                .map(|&size| choice(size, &sizes[size], pipe.length_m, velocity_most_m_s))
                .collect::<Result<Vec<_>, _>>()?;
            choices.sort_by(|a, b| {
                b.resistance
                    .total_cmp(&a.resistance)
                    .then(a.price.total_cmp(&b.price))
                    .then(a.size.cmp(&b.size))
            });
            choices.dedup_by_key(|choice| choice.size);
            Ok(choices)
        });
        Ok(Self {
            pipes: pipes.collect::<Result<_, LoopedError>>()?,
        })
    }

    pub(super) fn cost(&self, ranks: &[usize]) -> f64 {
        let pipes = self.pipes.iter().zip(ranks);
        pipes.map(|(choices, &rank)| choices[rank].price).sum()
    }

    pub(super) fn sizes(&self, ranks: &[usize]) -> Vec<usize> {
        let pipes = self.pipes.iter().zip(ranks);
        pipes.map(|(choices, &rank)| choices[rank].size).collect()
    }
}

fn choice(
    index: usize,
    size: &PipeSize,
    length_m: f64,
    velocity_most_m_s: f64,
) -> Result<Choice, LoopedError> {
    let bore = Bore::hazen_williams(size.inside_mm / 1000.0, size.roughness_c)
        .map_err(|_| LoopedError::Size(index))?;
    let area_m2 = 1.0 / bore.velocity_m_s(1.0);
    let choice = Choice {
        size: index,
        resistance: bore.loss_m(length_m, 1.0),
        price: size.price_per_m * length_m,
        flow_most_m3s: velocity_most_m_s * area_m2,
        area_m2,
    };
    let sound = choice.resistance.is_finite() && choice.price.is_finite() && choice.price >= 0.0;
    if sound {
        Ok(choice)
    } else {
        Err(LoopedError::Size(index))
    }
}

/// Head lost, m, with the flow's sign.
pub(super) fn loss_m(resistance: f64, flow_m3s: f64) -> f64 {
    let flow = flow_m3s.abs();
    let lost = resistance * flow.powf(HAZEN_WILLIAMS_FLOW_EXPONENT);
    lost.max(LEAST_LOSS_PER_FLOW * flow).copysign(flow_m3s)
}

/// Head lost, m, and its derivative by the flow.
pub(super) fn loss_and_slope(resistance: f64, flow_m3s: f64) -> (f64, f64) {
    let per_flow = resistance * flow_m3s.abs().powf(HAZEN_WILLIAMS_FLOW_EXPONENT - 1.0);
    if per_flow <= LEAST_LOSS_PER_FLOW {
        (LEAST_LOSS_PER_FLOW * flow_m3s, LEAST_LOSS_PER_FLOW)
    } else {
        (per_flow * flow_m3s, HAZEN_WILLIAMS_FLOW_EXPONENT * per_flow)
    }
}

/// Flow that loses `lost_m`, m³/s, with its sign.
pub(super) fn flow_m3s(resistance: f64, lost_m: f64) -> f64 {
    let lost = lost_m.abs();
    let flow = (lost / resistance).powf(1.0 / HAZEN_WILLIAMS_FLOW_EXPONENT);
    flow.min(lost / LEAST_LOSS_PER_FLOW).copysign(lost_m)
}

/// Losses of all flows of a span through all resistances of a span.
pub(super) fn losses(resistance: Span, flow: Span) -> Span {
    let at = |flow: f64, positive: f64, negative: f64| {
        loss_m(if flow > 0.0 { positive } else { negative }, flow)
    };
    Span {
        lo: at(flow.lo, resistance.lo, resistance.hi),
        hi: at(flow.hi, resistance.hi, resistance.lo),
    }
}

/// Flows that lose what lies in a span through some resistance of a span.
pub(super) fn flows(resistance: Span, lost: Span) -> Span {
    let at = |lost: f64, positive: f64, negative: f64| {
        flow_m3s(if lost > 0.0 { positive } else { negative }, lost)
    };
    Span {
        lo: at(lost.lo, resistance.hi, resistance.lo),
        hi: at(lost.hi, resistance.lo, resistance.hi),
    }
}
