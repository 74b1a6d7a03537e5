//! What the source itself gives at a flow, by what was told of it. Flows in L/min, pressures in kPa.

use super::error::{SupplyError, not_negative, positive};
use super::pump::PumpCurve;
use crate::site::SupplyTest;

/// Exponent of flow over pressure drop: NFPA 291, section 4.10 (from memory).
pub(super) const TEST_EXPONENT: f64 = 0.54;
/// Share of its flow over which a design point falls from its pressure to nothing.
///
/// Nothing is known there. A sheer drop has no slope to solve with; a hundredth is as good as one.
pub(super) const DESIGN_FALL_SHARE: f64 = 0.01;

/// What the source itself gives, before meter and backflow preventer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Source {
    /// `p = static - drop (Q/Q_test)^(1/0.54)`.
    Test {
        static_kpa: f64,
        drop_kpa: f64,
        flow_lpm: f64,
    },
    Pump(PumpCurve),
    Level {
        kpa: f64,
        flow_lpm: f64,
    },
}

impl Source {
    pub(super) fn of(test: &SupplyTest) -> Result<Self, SupplyError> {
        match test {
            &SupplyTest::FlowTest {
                static_kpa,
                residual_kpa,
                residual_lpm,
            } => flow_test(static_kpa, residual_kpa, residual_lpm),
            &SupplyTest::Bucket {
                static_kpa,
                bucket_l,
                bucket_s,
            } => {
                let flow_lpm = positive("bucket_l", bucket_l)? / positive("bucket_s", bucket_s)?;
                flow_test(static_kpa, 0.0, 60.0 * flow_lpm)
            }
            SupplyTest::Pump(points) => Ok(Self::Pump(PumpCurve::through(points)?)),
            &SupplyTest::DesignPoint {
                design_lpm,
                design_kpa,
            } => Ok(Self::Level {
                kpa: positive("design_kpa", design_kpa)?,
                flow_lpm: positive("design_lpm", design_lpm)?,
            }),
        }
    }

    pub(super) fn told_flow_lpm(&self) -> f64 {
        match self {
            Self::Test { flow_lpm, .. } | Self::Level { flow_lpm, .. } => *flow_lpm,
            Self::Pump(curve) => curve.last_flow_lpm(),
        }
    }

    pub(super) fn kpa_and_slope(&self, flow: f64) -> (f64, f64) {
        match self {
            Self::Test {
                static_kpa,
                drop_kpa,
                flow_lpm,
            } => {
                let order = 1.0 / TEST_EXPONENT;
                let share = (flow / flow_lpm).powf(order - 1.0);
                let slope = -drop_kpa * order * share / flow_lpm;
                (static_kpa - drop_kpa * share * flow / flow_lpm, slope)
            }
            Self::Pump(curve) => curve.kpa_and_slope(flow),
            &Self::Level { kpa, flow_lpm } if flow <= flow_lpm => (kpa, 0.0),
            &Self::Level { kpa, flow_lpm } => {
                let slope = -kpa / (DESIGN_FALL_SHARE * flow_lpm);
                (kpa + slope * (flow - flow_lpm), slope)
            }
        }
    }
}

fn flow_test(static_kpa: f64, residual_kpa: f64, residual_lpm: f64) -> Result<Source, SupplyError> {
    positive("static_kpa", static_kpa)?;
    not_negative("residual_kpa", residual_kpa)?;
    let flow_lpm = positive("the flow of the test", residual_lpm)?;
    if residual_kpa >= static_kpa {
        return Err(SupplyError::ResidualNotBelowStatic {
            static_kpa,
            residual_kpa,
        });
    }
    Ok(Source::Test {
        static_kpa,
        drop_kpa: static_kpa - residual_kpa,
        flow_lpm,
    })
}
