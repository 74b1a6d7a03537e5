//! What is taken from the design, checked on the way: pipes, bores, heads, the way of the main.

use super::{StationError, StationInput};
use crate::brief::{HeadModel, PipeSize};
use crate::design::hydraulics::minor;
use crate::design::hydraulics::network::{Element, Outlet};
use crate::design::hydraulics::pipe_friction::bore;
use crate::design::model::{Head, Node, Pipe};
use crate::units::{head_m_from_kpa, m3s_from_lpm};

/// An item of a slice, or which one is missing.
fn item<'a, T>(items: &'a [T], what: &'static str, index: usize) -> Result<&'a T, StationError> {
    items
        .get(index)
        .ok_or(StationError::Missing { what, index })
}

impl<'a> StationInput<'a> {
    pub(super) fn node(&self, index: usize) -> Result<&'a Node, StationError> {
        item(self.nodes, "node", index)
    }

    pub(super) fn pipe(&self, index: usize) -> Result<&'a Pipe, StationError> {
        item(self.pipes, "pipe", index)
    }

    fn size(&self, pipe: &Pipe) -> Result<&'a PipeSize, StationError> {
        item(&self.catalogue.pipes, "pipe size", pipe.size)
    }

    pub(super) fn head(&self, index: usize) -> Result<&'a Head, StationError> {
        item(self.heads, "head", index)
    }

    pub(super) fn model(&self, head: &Head) -> Result<&'a HeadModel, StationError> {
        item(&self.catalogue.heads, "head model", head.model)
    }

    /// A pipe as an element: friction by the law of its size, and its fittings.
    pub(super) fn element(&self, index: usize) -> Result<Element<'static>, StationError> {
        let pipe = self.pipe(index)?;
        let size = self.size(pipe)?;
        let bore = bore(size).map_err(|_| StationError::Pipe(index))?;
        let sound = |x: f64| x.is_finite() && x >= 0.0;
        if !(sound(pipe.length_m) && sound(pipe.minor_k)) {
            return Err(StationError::Pipe(index));
        }
        Ok(Element::Pipe {
            length_m: pipe.length_m,
            bore,
            minor_k: pipe.minor_k,
        })
    }

    /// A head as an outlet at ground level.
    pub(super) fn outlet(&self, index: usize) -> Result<Outlet, StationError> {
        let head = self.head(index)?;
        let model = self.model(head)?;
        let outlet = Outlet {
            elevation_m: head.ground_m,
            k: m3s_from_lpm(head.flow_ref_lpm)
                / head_m_from_kpa(model.pressure_ref_kpa).powf(model.flow_exponent),
            exponent: model.flow_exponent,
            resistance: minor::resistance_of_device(model.joint_loss_kpa, model.joint_flow_lpm),
        };
        let sound = outlet.elevation_m.is_finite()
            && outlet.k.is_finite()
            && outlet.k > 0.0
            && (0.05..=2.0).contains(&outlet.exponent)
            && outlet.resistance.is_finite()
            && outlet.resistance >= 0.0;
        if sound {
            Ok(outlet)
        } else {
            Err(StationError::Figures {
                what: "head",
                index,
            })
        }
    }

    /// Nodes of the main from source to valve.
    pub(super) fn main_nodes(&self) -> Result<Vec<usize>, StationError> {
        let mut at = self.source_node;
        let mut nodes = vec![at];
        for &index in self.main_path {
            let pipe = self.pipe(index)?;
            at = match (pipe.from == at, pipe.to == at) {
                (true, false) => pipe.to,
                (false, true) => pipe.from,
                _ => return Err(StationError::MainBroken(index)),
            };
            nodes.push(at);
        }
        match self.main_path.last() {
            Some(&last) if at != self.valve_node => Err(StationError::MainBroken(last)),
            None if at != self.valve_node => Err(StationError::Missing {
                what: "main to valve node",
                index: self.valve_node,
            }),
            _ => Ok(nodes),
        }
    }
}
