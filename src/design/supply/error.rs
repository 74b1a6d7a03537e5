//! Why a supply cannot be, and the checks of single figures.

use crate::design::hydraulics::friction::BoreError;
use thiserror::Error;

/// A supply that cannot be: what was told, and what is wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum SupplyError {
    /// A figure is negative, zero where it may not be, or no number.
    #[error("{what} is {value}, which cannot be; it must be {wanted}")]
    Figure {
        /// Which figure.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What it must be.
        wanted: &'static str,
    },
    /// The residual pressure of a flow test is not below the static pressure.
    #[error(
        "residual pressure {residual_kpa} kPa is not below the static pressure {static_kpa} kPa: look whether the two were exchanged"
    )]
    ResidualNotBelowStatic {
        /// Static pressure told, kPa.
        static_kpa: f64,
        /// Residual pressure told, kPa.
        residual_kpa: f64,
    },
    /// A service pipe that cannot be computed with.
    #[error("the service pipe cannot be: {0}")]
    Service(#[from] BoreError),
    /// A pump curve of fewer than two points.
    #[error("a pump curve needs two points or more, {0} given")]
    PumpPoints(usize),
    /// Flows of a pump curve do not rise.
    #[error("the flows of a pump curve must rise; {0} L/min does not")]
    PumpFlow(f64),
    /// Pressures of a pump curve rise somewhere, or never fall.
    #[error("the pressures of a pump curve must fall with rising flow; at {0} L/min they do not")]
    PumpPressure(f64),
}

pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, SupplyError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(SupplyError::Figure {
            what,
            value,
            wanted: "above zero",
        })
    }
}

pub(super) fn not_negative(what: &'static str, value: f64) -> Result<f64, SupplyError> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(SupplyError::Figure {
            what,
            value,
            wanted: "zero or more",
        })
    }
}
