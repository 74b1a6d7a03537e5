//! The laws of all conduits of a network, laid out flat for solving.
//!
//! A conduit is a link, or an outlet: that is a link from its node to the open air. Nearly all lose head by
//! `a q^n + b q²`, which is computed for all at once; Darcy–Weisbach pipes and supplies are asked one by one.

use super::friction::HAZEN_WILLIAMS_FLOW_EXPONENT;
use super::minor;
use super::network::{Element, Network, Outlet, bounded};
use super::powers::power;
use pulp::{Arch, Simd, WithSimd};

/// Conduits that are computed in one go.
const BLOCK: usize = 64;

/// Loss and conductance of every conduit at its present flow.
#[derive(Debug, Clone)]
pub(super) struct Laws<'a> {
    blocks: Vec<Block>,
    /// Conduits with another law.
    others: Vec<(usize, Element<'a>)>,
    /// Head lost, m.
    pub(super) loss: Vec<f64>,
    /// Flow per head, m³/s per m: one over the slope of the loss.
    pub(super) conductance: Vec<f64>,
    lanes: Arch,
}

/// Terms of `factor · q^(1 + more) + square · q²`, m and m³/s.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Terms {
    factor: f64,
    more: f64,
    square: f64,
}

/// The terms of conduits that follow one another.
#[derive(Debug, Clone)]
struct Block {
    square: [f64; BLOCK],
    /// Where any has a factor.
    powers: Option<Box<Powers>>,
}

#[derive(Debug, Clone)]
struct Powers {
    factor: [f64; BLOCK],
    more: [f64; BLOCK],
}

impl Terms {
    const NONE: Self = Self::square(0.0);

    const fn square(square: f64) -> Self {
        Self {
            factor: 0.0,
            more: 1.0,
            square,
        }
    }

    fn of_element(element: &Element) -> Option<Self> {
        match element {
            Element::Pipe {
                length_m,
                bore,
                minor_k,
            } => Some(Self {
                factor: length_m * bore.hazen_williams_loss_per_metre()?,
                more: HAZEN_WILLIAMS_FLOW_EXPONENT - 1.0,
                square: minor::resistance_of_fitting(*minor_k, bore.inside_m()),
            }),
            Element::Loss { resistance }
            | Element::Regulator { resistance, .. }
            | Element::Check { resistance } => Some(Self::square(*resistance)),
            Element::Curve(_) => None,
        }
    }

    /// `p = (q/k)^(1/x)` and the joint; where x is a half, both grow with the square.
    fn of_outlet(outlet: &Outlet) -> Self {
        if outlet.exponent == 0.5 {
            return Self::square(1.0 / (outlet.k * outlet.k) + outlet.resistance);
        }
        let order = 1.0 / outlet.exponent;
        Self {
            factor: outlet.k.powf(-order),
            more: order - 1.0,
            square: outlet.resistance,
        }
    }
}

impl Block {
    const EMPTY: Self = Self {
        square: [0.0; BLOCK],
        powers: None,
    };

    fn put(&mut self, place: usize, terms: Terms) {
        self.square[place] = terms.square;
        if terms.factor != 0.0 {
            let powers = self.powers.get_or_insert_with(|| {
                Box::new(Powers {
                    factor: [0.0; BLOCK],
                    more: [1.0; BLOCK],
                })
            });
            powers.factor[place] = terms.factor;
            powers.more[place] = terms.more;
        }
    }

    #[inline(always)]
    fn evaluate(&self, flow_m3s: &[f64], loss: &mut [f64], conductance: &mut [f64]) {
        let conduits = loss.iter_mut().zip(conductance).zip(flow_m3s);
        let conduits = conduits.zip(&self.square);
        match &self.powers {
            None => {
                for (((loss, conductance), &flow), square) in conduits {
                    (*loss, *conductance) = law(flow, 0.0, 0.0, *square);
                }
            }
            Some(powers) => {
                let powers = powers.factor.iter().zip(&powers.more);
                for ((((loss, conductance), &flow), square), (factor, more)) in conduits.zip(powers)
                {
                    let per_flow = factor * power(flow.abs(), *more);
                    (*loss, *conductance) = law(flow, per_flow, *more, *square);
                }
            }
        }
    }
}

/// Loss and conductance at a flow; `per_flow` is the loss by the power over the flow.
#[inline(always)]
fn law(flow_m3s: f64, per_flow: f64, more: f64, square: f64) -> (f64, f64) {
    let square = square * flow_m3s.abs();
    let loss = (per_flow + square) * flow_m3s;
    let slope = per_flow + more * per_flow + 2.0 * square;
    let (loss, slope) = bounded(flow_m3s, loss, slope);
    (loss, 1.0 / slope)
}

impl<'a> Laws<'a> {
    /// The laws of all links, then of all outlets by rising node.
    pub(super) fn of(network: &Network<'a>) -> Self {
        let mut others = Vec::new();
        let links = network.links.iter().enumerate().map(|(index, link)| {
            let terms = Terms::of_element(&link.element);
            if terms.is_none() {
                others.push((index, link.element));
            }
            terms.unwrap_or(Terms::NONE)
        });
        let outlets = network.nodes.iter().filter_map(|node| node.outlet.as_ref());
        let most = network.links.len() + network.nodes.len();
        let mut blocks = Vec::with_capacity(most.div_ceil(BLOCK));
        let mut conduits = 0;
        for terms in links.chain(outlets.map(Terms::of_outlet)) {
            if conduits % BLOCK == 0 {
                blocks.push(Block::EMPTY);
            }
            if let Some(block) = blocks.last_mut() {
                block.put(conduits % BLOCK, terms);
            }
            conduits += 1;
        }
        Self {
            loss: vec![0.0; conduits],
            conductance: vec![0.0; conduits],
            blocks,
            others,
            lanes: Arch::new(),
        }
    }

    /// Loss and conductance at these flows.
    pub(super) fn evaluate(&mut self, flow_m3s: &[f64]) {
        self.lanes.dispatch(Pass {
            blocks: &self.blocks,
            flow_m3s,
            loss: &mut self.loss,
            conductance: &mut self.conductance,
        });
        for (index, element) in &self.others {
            let (loss, slope) = element.loss_and_slope(flow_m3s[*index]);
            (self.loss[*index], self.conductance[*index]) = (loss, 1.0 / slope);
        }
    }

    /// Sets one conduit's loss and conductance, whatever its law.
    pub(super) fn set(&mut self, conduit: usize, loss: f64, conductance: f64) {
        (self.loss[conduit], self.conductance[conduit]) = (loss, conductance);
    }
}

/// All blocks, several conduits at once where the machine can.
struct Pass<'p> {
    blocks: &'p [Block],
    flow_m3s: &'p [f64],
    loss: &'p mut [f64],
    conductance: &'p mut [f64],
}

impl WithSimd for Pass<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let told = self
            .loss
            .chunks_mut(BLOCK)
            .zip(self.conductance.chunks_mut(BLOCK));
        let blocks = self.blocks.iter().zip(self.flow_m3s.chunks(BLOCK));
        for ((block, flow), (loss, conductance)) in blocks.zip(told) {
            block.evaluate(flow, loss, conductance);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::hydraulics::friction::Bore;

    /// Loss and slope by the flat law.
    fn flat(terms: Terms, flow_m3s: f64) -> (f64, f64) {
        let (mut loss, mut conductance) = ([0.0], [0.0]);
        let mut block = Block::EMPTY;
        block.put(0, terms);
        block.evaluate(&[flow_m3s], &mut loss, &mut conductance);
        (loss[0], 1.0 / conductance[0])
    }

    #[test]
    fn an_outlet_with_a_joint_is_one_outlet_with_a_smaller_k() {
        // x = 0.5: 1/k_eff² = 1/k² + resistance, algebra.
        let outlet = Outlet {
            elevation_m: 0.0,
            k: 2e-4,
            exponent: 0.5,
            resistance: 3e6,
        };
        let whole = (1.0 / (1.0 / (2e-4_f64 * 2e-4) + 3e6)).sqrt();
        let (head_m, _) = flat(Terms::of_outlet(&outlet), whole * 30f64.sqrt());
        assert!((head_m - 30.0).abs() < 1e-10, "{head_m}");
    }

    /// The flat terms are the element's own law, slope with it.
    #[test]
    fn terms_say_what_the_element_says() {
        let bore = Bore::hazen_williams(0.0266, 145.0).unwrap();
        let pipe = Element::Pipe {
            length_m: 7.0,
            bore,
            minor_k: 1.4,
        };
        for element in [pipe, Element::Loss { resistance: 2e5 }] {
            for flow in [-2e-3, -1e-9, 0.0, 3e-12, 4e-4] {
                let (loss, slope) = flat(Terms::of_element(&element).unwrap(), flow);
                let expected = element.loss_and_slope(flow);
                assert!((loss - expected.0).abs() <= 1e-13 * loss.abs());
                assert!((slope - expected.1).abs() <= 1e-13 * slope);
            }
        }
    }

    #[test]
    fn the_slope_of_an_outlet_is_the_derivative_of_its_head() {
        for exponent in [0.05, 0.4, 0.5, 1.0, 1.5, 2.0] {
            let outlet = Outlet {
                elevation_m: 0.0,
                k: 3e-5,
                exponent,
                resistance: 1e6,
            };
            let terms = Terms::of_outlet(&outlet);
            let (flow, step) = (4e-5, 4e-10);
            let rise = flat(terms, flow + step).0 - flat(terms, flow - step).0;
            let (head_m, slope) = flat(terms, flow);
            assert!(
                (rise / (2.0 * step) / slope - 1.0).abs() < 1e-5,
                "{exponent}"
            );
            let nozzle_m = outlet.nozzle_pressure_m(flow) + 1e6 * flow * flow;
            assert!((head_m / nozzle_m - 1.0).abs() < 1e-12, "{exponent}");
            let (at_rest_m, slope) = flat(terms, 0.0);
            assert!(at_rest_m == 0.0 && slope > 0.0, "{exponent}");
        }
    }
}
