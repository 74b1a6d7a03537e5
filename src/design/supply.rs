//! Supply: how much water there is at which pressure, at the point of connection.
//!
//! One curve from whatever was told: a flow test, a bucket test, a pump curve or a bare design point; less the losses
//! of service pipe, meter and backflow preventer. Pipes behind it are in `hydraulics`. Flows in L/min, pressures in kPa.

mod error;
mod pump;
mod service;
mod source;

use super::hydraulics::SourceCurve;
use crate::brief::Rules;
use crate::site::{ServicePipe, WaterPoint};
use crate::units::{head_m_from_kpa, lpm_from_m3s};
use error::not_negative;
use service::Service;
use source::{DESIGN_FALL_SHARE, Source, TEST_EXPONENT};

pub use error::SupplyError;

/// What the source itself gives, before any loss, in a form that other programs can take over.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceForm {
    /// `p = static_kpa - drop_kpa (q / flow_lpm)^order`.
    Power {
        /// Pressure with nothing running.
        static_kpa: f64,
        /// Fall of pressure at `flow_lpm`.
        drop_kpa: f64,
        /// Flow of the test.
        flow_lpm: f64,
        /// Exponent of the flow.
        order: f64,
    },
    /// One pressure, up to the flow that was told.
    Level {
        /// That pressure.
        kpa: f64,
    },
    /// Flow (L/min) and pressure (kPa) by rising flow, to be joined by straight lines.
    Points(Vec<(f64, f64)>),
}

/// The supply of a water point: pressure left at every flow.
///
/// ```
/// # use swardline::{brief::Rules, design::supply::SupplyCurve, site::{SupplyTest, WaterPoint}};
/// let test = SupplyTest::FlowTest { static_kpa: 500.0, residual_kpa: 350.0, residual_lpm: 120.0 };
/// let point = WaterPoint {
///     id: "tap".into(), position: geo::Coord { x: 0.0, y: 0.0 }, test,
///     meter_loss_kpa: None, backflow_loss_kpa: None, service: None,
/// };
/// let supply = SupplyCurve::of(&point, &Rules { supply_margin: 0.0, ..Rules::default() })?;
/// assert!((supply.flow_at_lpm(300.0) - 140.168).abs() < 1e-3);
/// # Ok::<(), swardline::design::supply::SupplyError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyCurve {
    source: Source,
    meter_loss_kpa: f64,
    backflow_loss_kpa: f64,
    loss_flow_lpm: f64,
    service: Option<Service>,
    margin: f64,
    boost_kpa: f64,
}

impl SupplyCurve {
    /// The curve of a water point.
    ///
    /// Meter and backflow losses are taken as told for the flow of the test (flow test: the residual flow; bucket: its
    /// flow; pump: the last point; design point: its flow) and as growing with the square of the flow, which is common
    /// practice without source; a backflow preventer with a stiff spring loses more at small flows. A service pipe loses
    /// by Hazen and Williams (`service.rs`), whatever law the rules choose for the pipe that is designed:
    /// what is known of it is its C.
    ///
    /// # Errors
    /// [`SupplyError`] for figures that cannot be.
    pub fn of(point: &WaterPoint, rules: &Rules) -> Result<Self, SupplyError> {
        let source = Source::of(&point.test)?;
        let loss = |what, told: Option<f64>| not_negative(what, told.unwrap_or(0.0));
        Ok(Self {
            meter_loss_kpa: loss("meter_loss_kpa", point.meter_loss_kpa)?,
            backflow_loss_kpa: loss("backflow_loss_kpa", point.backflow_loss_kpa)?,
            loss_flow_lpm: source.told_flow_lpm(),
            source,
            service: point.service.map(Service::of).transpose()?,
            margin: rules.supply_margin.clamp(0.0, 0.99),
            boost_kpa: 0.0,
        })
    }

    /// The same supply behind a pump that adds `boost_kpa` at every flow.
    #[must_use]
    pub fn boosted(&self, boost_kpa: f64) -> Self {
        Self {
            boost_kpa: self.boost_kpa + boost_kpa,
            ..self.clone()
        }
    }

    /// Pressure with nothing running, kPa. A design point tells no more than its own pressure.
    pub fn static_kpa(&self) -> f64 {
        self.source.kpa_and_slope(0.0).0 + self.boost_kpa
    }

    /// Pressure left at a flow, before service pipe, meter and backflow preventer, kPa; 0 where the source gives no more.
    ///
    /// Flow and bucket test: `ps - (ps - p1)(Q/Q1)^(1/0.54)`, the inverse of NFPA 291, section 4.10; a bucket is
    /// filled with the outlet open, so its residual is 0. Pump: monotone cubic through the points (Fritsch and Carlson
    /// 1980), straight on beyond both ends. Design point: its pressure up to its flow, then nothing (over a hundredth
    /// of the flow).
    pub fn residual_kpa(&self, flow_lpm: f64) -> f64 {
        self.source.kpa_and_slope(flow_lpm.max(0.0)).0.max(0.0)
    }

    /// Loss in the meter at a flow, kPa.
    pub fn meter_loss_kpa(&self, flow_lpm: f64) -> f64 {
        self.meter_loss_kpa * self.loss_share(flow_lpm)
    }

    /// Loss in the backflow preventer at a flow, kPa.
    pub fn backflow_loss_kpa(&self, flow_lpm: f64) -> f64 {
        self.backflow_loss_kpa * self.loss_share(flow_lpm)
    }

    /// Loss in the service pipe at a flow, kPa; 0 where there is none.
    pub fn service_loss_kpa(&self, flow_lpm: f64) -> f64 {
        self.service
            .map_or(0.0, |service| service.kpa_and_slope(flow_lpm).0)
    }

    /// The service pipe, where one is told.
    pub fn service_pipe(&self) -> Option<ServicePipe> {
        self.service.map(|service| service.pipe)
    }

    /// Pressure behind service pipe, meter and backflow preventer at a flow, kPa; 0 where nothing is left.
    pub fn delivered_kpa(&self, flow_lpm: f64) -> f64 {
        self.kpa_and_slope(flow_lpm.max(0.0)).0.max(0.0)
    }

    /// Flow to plan with that leaves `delivered_kpa` behind meter and backflow preventer, L/min.
    ///
    /// It is less than the flow of the curve by the rule `supply_margin`; 0 where even no flow leaves that pressure.
    pub fn flow_at_lpm(&self, delivered_kpa: f64) -> f64 {
        self.whole_flow_lpm(delivered_kpa) * (1.0 - self.margin)
    }

    /// The greatest flow to plan with, L/min: no pressure is left at it.
    pub fn flow_most_lpm(&self) -> f64 {
        self.flow_at_lpm(0.0)
    }

    /// Flow on the curve itself at a delivered pressure, no margin, L/min.
    ///
    /// The one that `delivered_kpa` gives back; the greatest one where the curve is level.
    pub fn whole_flow_lpm(&self, delivered_kpa: f64) -> f64 {
        let wanted = delivered_kpa.max(0.0);
        let enough = |flow: f64| self.kpa_and_slope(flow).0 >= wanted;
        if !enough(0.0) {
            return 0.0;
        }
        let mut more = self.loss_flow_lpm;
        while enough(more) && more < 1e9 {
            more *= 2.0;
        }
        let mut least = 0.0;
        // 120 halvings end at neighbouring numbers.
        for _ in 0..120 {
            let middle = 0.5 * (least + more);
            if enough(middle) {
                least = middle;
            } else {
                more = middle;
            }
        }
        least
    }

    /// What the source gives before service pipe, meter and backflow preventer, told for `flow_lpm`: where points draw it, that flow is
    /// one of them; a design point is level up to its flow.
    pub fn source_form(&self, flow_lpm: f64) -> SourceForm {
        let mut flows = match &self.source {
            &Source::Test {
                static_kpa,
                drop_kpa,
                flow_lpm,
            } => {
                return SourceForm::Power {
                    static_kpa,
                    drop_kpa,
                    flow_lpm,
                    order: 1.0 / TEST_EXPONENT,
                };
            }
            &Source::Level {
                kpa,
                flow_lpm: told_lpm,
            } if flow_lpm <= told_lpm => return SourceForm::Level { kpa },
            &Source::Level { flow_lpm, .. } => {
                vec![0.0, flow_lpm, flow_lpm * (1.0 + DESIGN_FALL_SHARE)]
            }
            Source::Pump(curve) => curve.corners_lpm(),
        };
        flows.push(flow_lpm.max(0.0));
        flows.sort_by(f64::total_cmp);
        flows.dedup();
        let point = |flow: f64| (flow, self.source.kpa_and_slope(flow).0);
        SourceForm::Points(flows.into_iter().map(point).collect())
    }

    fn loss_share(&self, flow_lpm: f64) -> f64 {
        (flow_lpm / self.loss_flow_lpm).powi(2)
    }

    /// Delivered pressure and its derivative; goes on below zero, for solving.
    fn kpa_and_slope(&self, flow_lpm: f64) -> (f64, f64) {
        let (kpa, slope) = self.source.kpa_and_slope(flow_lpm);
        let loss = self.meter_loss_kpa + self.backflow_loss_kpa;
        let by_flow = 2.0 * flow_lpm / (self.loss_flow_lpm * self.loss_flow_lpm);
        let (kpa, slope) = (
            kpa + self.boost_kpa - loss * self.loss_share(flow_lpm),
            slope - loss * by_flow,
        );
        match self.service.map(|service| service.kpa_and_slope(flow_lpm)) {
            Some((lost_kpa, by_flow)) => (kpa - lost_kpa, slope - by_flow),
            None => (kpa, slope),
        }
    }
}

impl SourceCurve for SupplyCurve {
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        // Straight on to the left of zero; the solver lets no water back through a source.
        let flow_lpm = lpm_from_m3s(flow_m3s);
        let (kpa, slope) = self.kpa_and_slope(flow_lpm.max(0.0));
        let kpa = kpa + slope * flow_lpm.min(0.0);
        (head_m_from_kpa(kpa), head_m_from_kpa(lpm_from_m3s(slope)))
    }
}

#[cfg(test)]
mod tests;
