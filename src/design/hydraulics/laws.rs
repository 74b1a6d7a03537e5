//! The laws of all conduits of a network, laid out flat for solving.
//!
//! A conduit is a link, or an outlet: that is a link from its node to the open air. Nearly all lose head by
//! `a q^n + b q²`, which is computed for all at once; Darcy–Weisbach pipes and supplies are asked one by one.

use super::friction::{Bore, HAZEN_WILLIAMS_FLOW_EXPONENT};
use super::minor;
use super::network::{Element, Network, Outlet, bounded};

/// Loss and conductance of every conduit at its present flow.
#[derive(Debug, Clone)]
pub(super) struct Laws<'a> {
    /// Terms of `factor · q^order + square · q²`, m and m³/s.
    terms: Vec<Terms>,
    /// Conduits with another law.
    others: Vec<(usize, Element<'a>)>,
    /// Head lost, m.
    pub(super) loss: Vec<f64>,
    /// Flow per head, m³/s per m: one over the slope of the loss.
    pub(super) conductance: Vec<f64>,
}

#[derive(Debug, Clone, Copy)]
struct Terms {
    factor: f64,
    order: f64,
    square: f64,
}

impl Terms {
    fn square(square: f64) -> Self {
        Self {
            factor: 0.0,
            order: 1.0,
            square,
        }
    }

    fn of_pipe(length_m: f64, bore: &Bore, minor_k: f64) -> Option<Self> {
        Some(Self {
            factor: length_m * bore.hazen_williams_loss_per_metre()?,
            order: HAZEN_WILLIAMS_FLOW_EXPONENT,
            square: minor::resistance_of_fitting(minor_k, bore.inside_m()),
        })
    }

    /// `p = (q/k)^(1/x)` and the joint; where x is a half, both grow with the square.
    fn of_outlet(outlet: &Outlet) -> Self {
        if outlet.exponent == 0.5 {
            return Self::square(1.0 / (outlet.k * outlet.k) + outlet.resistance);
        }
        let order = 1.0 / outlet.exponent;
        Self {
            factor: outlet.k.powf(-order),
            order,
            square: outlet.resistance,
        }
    }

    /// Loss and its slope, before any bound.
    fn at(&self, flow_m3s: f64) -> (f64, f64) {
        let flow = flow_m3s.abs();
        let square = self.square * flow;
        // Without flow there is no loss; an order below 1 has no slope there that could be computed with.
        if self.factor == 0.0 || flow == 0.0 {
            return (square * flow_m3s, 2.0 * square);
        }
        let power = self.factor * flow.powf(self.order - 1.0);
        (
            (power + square) * flow_m3s,
            self.order * power + 2.0 * square,
        )
    }
}

impl<'a> Laws<'a> {
    /// The laws of all links, then of all outlets by rising node.
    pub(super) fn of(network: &Network<'a>) -> Self {
        let mut others = Vec::new();
        let links = network.links.iter().enumerate();
        let mut terms: Vec<_> = links
            .map(|(index, link)| {
                let terms = of_element(&link.element);
                terms.unwrap_or_else(|| {
                    others.push((index, link.element));
                    Terms::square(0.0)
                })
            })
            .collect();
        let outlets = network.nodes.iter().filter_map(|node| node.outlet.as_ref());
        terms.extend(outlets.map(Terms::of_outlet));
        Self {
            loss: vec![0.0; terms.len()],
            conductance: vec![0.0; terms.len()],
            terms,
            others,
        }
    }

    /// Loss and conductance at these flows.
    pub(super) fn evaluate(&mut self, flow_m3s: &[f64]) {
        let told = self.loss.iter_mut().zip(&mut self.conductance);
        for ((terms, &flow), (loss, conductance)) in self.terms.iter().zip(flow_m3s).zip(told) {
            let (lost, slope) = terms.at(flow);
            let (lost, slope) = bounded(flow, lost, slope);
            (*loss, *conductance) = (lost, 1.0 / slope);
        }
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

fn of_element(element: &Element) -> Option<Terms> {
    match element {
        Element::Pipe {
            length_m,
            bore,
            minor_k,
        } => Terms::of_pipe(*length_m, bore, *minor_k),
        Element::Loss { resistance }
        | Element::Regulator { resistance, .. }
        | Element::Check { resistance } => Some(Terms::square(*resistance)),
        Element::Curve(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let (head_m, _) = Terms::of_outlet(&outlet).at(whole * 30f64.sqrt());
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
                let (loss, slope) = of_element(&element).unwrap().at(flow);
                let (loss, slope) = bounded(flow, loss, slope);
                let expected = element.loss_and_slope(flow);
                assert!((loss - expected.0).abs() <= 1e-14 * loss.abs());
                assert!((slope - expected.1).abs() <= 1e-14 * slope);
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
            let (flow, step) = (4e-5, 4e-11);
            let rise = terms.at(flow + step).0 - terms.at(flow - step).0;
            let (head_m, slope) = terms.at(flow);
            assert!(
                (rise / (2.0 * step) / slope - 1.0).abs() < 1e-5,
                "{exponent}"
            );
            let nozzle_m = outlet.nozzle_pressure_m(flow) + 1e6 * flow * flow;
            assert!((head_m / nozzle_m - 1.0).abs() < 1e-12, "{exponent}");
            assert!(terms.at(0.0).0 == 0.0 && terms.at(0.0).1.is_finite());
        }
    }
}
