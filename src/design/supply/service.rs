//! The service pipe between the place of the test and the point of connection.

use super::error::{SupplyError, positive};
use crate::design::hydraulics::friction::Bore;
use crate::site::ServicePipe;
use crate::units::{kpa_from_head_m, m3s_from_lpm};

/// A service pipe, checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Service {
    pub(super) pipe: ServicePipe,
    bore: Bore,
}

impl Service {
    pub(super) fn of(pipe: ServicePipe) -> Result<Self, SupplyError> {
        positive("service_length_m", pipe.length_m)?;
        let bore = Bore::hazen_williams(pipe.inside_mm / 1e3, pipe.roughness_c)?;
        Ok(Self { pipe, bore })
    }

    /// Loss at a flow (L/min), kPa, and its derivative.
    pub(super) fn kpa_and_slope(&self, flow_lpm: f64) -> (f64, f64) {
        let (head_m, slope) = self
            .bore
            .loss_and_slope(self.pipe.length_m, m3s_from_lpm(flow_lpm));
        (
            kpa_from_head_m(head_m),
            kpa_from_head_m(m3s_from_lpm(slope)),
        )
    }
}
