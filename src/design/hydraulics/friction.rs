//! Friction: the head a full pipe takes from the water running through it.
//!
//! Hazen–Williams for design, Darcy–Weisbach where the flow is slow or the water not at 15–20 °C.
//! Fittings are in `minor.rs`, whole networks in `solve.rs`. SI; heads in metres of water.

use crate::units::GRAVITY_M_S2;
use std::f64::consts::PI;
use thiserror::Error;

/// Turns m, m³/s into m. Rossman et al. 2020, EPA/600/R-20/133, table 3.1, made SI.
const HAZEN_WILLIAMS: f64 = 10.666_829;
/// Exponent of the flow (the same table).
pub const HAZEN_WILLIAMS_FLOW_EXPONENT: f64 = 1.852;
/// Exponent of the inside diameter (the same table).
const HAZEN_WILLIAMS_DIAMETER_EXPONENT: f64 = 4.871;
/// Reynolds number below which flow is taken as laminar (Rossman et al. 2020, chapter 12).
const LAMINAR_MOST: f64 = 2000.0;
/// Reynolds number above which flow is taken as turbulent (Rossman et al. 2020, chapter 12).
const TURBULENT_LEAST: f64 = 4000.0;
/// Kinematic viscosity of water at about 20 °C, m²/s: 1.1e-5 ft²/s, the default of EPANET.
pub const WATER_VISCOSITY_M2_S: f64 = 1.1e-5 * 0.3048 * 0.3048;

/// A bore that cannot be computed with; the caller knows which pipe it was.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum BoreError {
    /// The inside diameter is zero, negative or no number.
    #[error("inside diameter {0} m is not a positive length")]
    Diameter(f64),
    /// Hazen–Williams C out of range; 60 to 160 are accepted.
    #[error("roughness C {0} lies outside 60 to 160")]
    Roughness(f64),
    /// Wall roughness negative or more than a twentieth of the diameter.
    #[error("wall roughness {0} m lies outside 0 to a twentieth of the diameter")]
    Wall(f64),
    /// Kinematic viscosity not positive.
    #[error("kinematic viscosity {0} m²/s is not positive")]
    Viscosity(f64),
}

/// How the friction factor of turbulent flow is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turbulent {
    /// Colebrook 1939, J. ICE 11(4):133, solved to rounding.
    Colebrook,
    /// Swamee and Jain 1976, J. Hydraul. Div. 102(5):657, explicit; what EPANET uses.
    SwameeJain,
}

/// The law of friction in one bore.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Law {
    HazenWilliams {
        loss_per_metre: f64, // at 1 m³/s
    },
    DarcyWeisbach {
        relative_roughness: f64,
        reynolds_per_flow: f64, // Reynolds number at 1 m³/s
        loss_per_metre: f64,    // at 1 m³/s and friction factor 1
        turbulent: Turbulent,
    },
}

/// The inside of a pipe, already checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bore {
    inside_m: f64,
    law: Law,
}

impl Bore {
    /// A bore `inside_m` wide (above 0) with Hazen–Williams roughness `c` (60 to 160).
    ///
    /// # Errors
    /// [`BoreError::Diameter`] and [`BoreError::Roughness`] outside those ranges.
    pub fn hazen_williams(inside_m: f64, c: f64) -> Result<Self, BoreError> {
        check_diameter(inside_m)?;
        if !(60.0..=160.0).contains(&c) {
            return Err(BoreError::Roughness(c));
        }
        let loss_per_metre = HAZEN_WILLIAMS
            / (c.powf(HAZEN_WILLIAMS_FLOW_EXPONENT)
                * inside_m.powf(HAZEN_WILLIAMS_DIAMETER_EXPONENT));
        let law = Law::HazenWilliams { loss_per_metre };
        Ok(Self { inside_m, law })
    }

    /// A bore `inside_m` wide (above 0) with walls `roughness_m` rough (0 to a twentieth of the bore), by Darcy–Weisbach.
    ///
    /// # Errors
    /// [`BoreError`] for a diameter, roughness or viscosity outside its range.
    pub fn darcy_weisbach(
        inside_m: f64,
        roughness_m: f64,
        viscosity_m2_s: f64,
        turbulent: Turbulent,
    ) -> Result<Self, BoreError> {
        check_diameter(inside_m)?;
        if !(0.0..=inside_m / 20.0).contains(&roughness_m) {
            return Err(BoreError::Wall(roughness_m));
        }
        if !(viscosity_m2_s.is_finite() && viscosity_m2_s > 0.0) {
            return Err(BoreError::Viscosity(viscosity_m2_s));
        }
        let law = Law::DarcyWeisbach {
            relative_roughness: roughness_m / inside_m,
            reynolds_per_flow: 4.0 / (PI * inside_m * viscosity_m2_s),
            loss_per_metre: 8.0 / (PI * PI * GRAVITY_M_S2 * inside_m.powi(5)),
            turbulent,
        };
        Ok(Self { inside_m, law })
    }

    /// Inside diameter, m.
    pub fn inside_m(&self) -> f64 {
        self.inside_m
    }

    /// Head lost a metre at 1 m³/s by Hazen–Williams, m; `None` for a bore by Darcy–Weisbach.
    pub(super) fn hazen_williams_loss_per_metre(&self) -> Option<f64> {
        match self.law {
            Law::HazenWilliams { loss_per_metre } => Some(loss_per_metre),
            Law::DarcyWeisbach { .. } => None,
        }
    }

    /// Mean velocity at a flow, m/s, without sign.
    pub fn velocity_m_s(&self, flow_m3s: f64) -> f64 {
        flow_m3s.abs() / (PI / 4.0 * self.inside_m * self.inside_m)
    }

    /// Head lost over `length_m` at `flow_m3s`, in metres, with the flow's sign.
    ///
    /// Hazen–Williams errs below a Reynolds number of about 10⁴: use Darcy–Weisbach there.
    ///
    /// ```
    /// # use swardline::design::hydraulics::friction::*;
    /// let lateral = Bore::hazen_williams(0.0351, 150.0)?;
    /// let lost_m = lateral.loss_m(100.0, 0.001); // 1 L/s through 100 m
    /// assert!((lost_m - 3.371).abs() < 0.001);
    /// # Ok::<(), BoreError>(())
    /// ```
    pub fn loss_m(&self, length_m: f64, flow_m3s: f64) -> f64 {
        self.loss_and_slope(length_m, flow_m3s).0
    }

    /// Head lost over `length_m`, m, and its derivative by the flow, m per m³/s (never negative).
    pub fn loss_and_slope(&self, length_m: f64, flow_m3s: f64) -> (f64, f64) {
        let flow = flow_m3s.abs();
        let (loss, slope) = match self.law {
            Law::HazenWilliams { loss_per_metre } => {
                let per_flow = loss_per_metre * flow.powf(HAZEN_WILLIAMS_FLOW_EXPONENT - 1.0);
                (per_flow * flow, HAZEN_WILLIAMS_FLOW_EXPONENT * per_flow)
            }
            Law::DarcyWeisbach {
                relative_roughness,
                reynolds_per_flow,
                loss_per_metre,
                turbulent,
            } => {
                let reynolds = reynolds_per_flow * flow;
                if reynolds <= LAMINAR_MOST {
                    let per_flow = loss_per_metre * 64.0 / reynolds_per_flow;
                    (per_flow * flow, per_flow)
                } else {
                    let (factor, by_reynolds) = factor(reynolds, relative_roughness, turbulent);
                    let slope = flow * (2.0 * factor + reynolds * by_reynolds);
                    (
                        loss_per_metre * factor * flow * flow,
                        loss_per_metre * slope,
                    )
                }
            }
        };
        ((length_m * loss).copysign(flow_m3s), length_m * slope)
    }
}

/// Darcy's friction factor of a full round pipe.
///
/// Laminar to Re 2000, Dunlop's cubic (Rossman et al. 2020, chapter 12) to 4000, then as `turbulent` says.
pub fn friction_factor(reynolds: f64, relative_roughness: f64, turbulent: Turbulent) -> f64 {
    factor(reynolds, relative_roughness, turbulent).0
}

fn check_diameter(inside_m: f64) -> Result<(), BoreError> {
    if inside_m.is_finite() && inside_m > 0.0 {
        Ok(())
    } else {
        Err(BoreError::Diameter(inside_m))
    }
}

/// Friction factor and its derivative by the Reynolds number.
fn factor(reynolds: f64, relative_roughness: f64, turbulent: Turbulent) -> (f64, f64) {
    if reynolds <= LAMINAR_MOST {
        (64.0 / reynolds, -64.0 / (reynolds * reynolds))
    } else if reynolds < TURBULENT_LEAST {
        between(
            reynolds,
            turbulent_factor(TURBULENT_LEAST, relative_roughness, turbulent),
        )
    } else {
        turbulent_factor(reynolds, relative_roughness, turbulent)
    }
}

/// Dunlop's cubic, written for what it is: value and slope of both neighbours met (Hermite), Re 2000 to 4000.
fn between(reynolds: f64, upper: (f64, f64)) -> (f64, f64) {
    let width = TURBULENT_LEAST - LAMINAR_MOST;
    let t = (reynolds - LAMINAR_MOST) / width;
    let (f0, f1) = (64.0 / LAMINAR_MOST, upper.0);
    let (s0, s1) = (-64.0 / LAMINAR_MOST, upper.1 * width);
    let cubic = 2.0 * (f0 - f1) + s0 + s1;
    let square = 3.0 * (f1 - f0) - 2.0 * s0 - s1;
    let value = f0 + t * (s0 + t * (square + t * cubic));
    let slope = s0 + t * (2.0 * square + t * 3.0 * cubic);
    (value, slope / width)
}

fn turbulent_factor(reynolds: f64, relative_roughness: f64, turbulent: Turbulent) -> (f64, f64) {
    let start = swamee_jain(reynolds, relative_roughness);
    match turbulent {
        Turbulent::SwameeJain => start,
        Turbulent::Colebrook => colebrook(reynolds, relative_roughness, start.0),
    }
}

/// `f = 0.25 / [log10(ε/3.7d + 5.74/Re^0.9)]²`.
fn swamee_jain(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let smooth = 5.74 / reynolds.powf(0.9);
    let inside = relative_roughness / 3.7 + smooth;
    let log = inside.log10();
    let value = 0.25 / (log * log);
    let inside_by_reynolds = -0.9 * smooth / reynolds;
    let by_reynolds = -2.0 * value / log * inside_by_reynolds / (inside * std::f64::consts::LN_10);
    (value, by_reynolds)
}

/// `x = 1/√f`, `x + 2 log10(ε/3.7d + 2.51 x/Re) = 0`, by Newton: six steps leave rounding only.
fn colebrook(reynolds: f64, relative_roughness: f64, start: f64) -> (f64, f64) {
    let by_ln = 2.0 / std::f64::consts::LN_10;
    let inside = |x: f64| relative_roughness / 3.7 + 2.51 * x / reynolds;
    let slope = |x: f64| 1.0 + by_ln * 2.51 / reynolds / inside(x);
    let mut x = 1.0 / start.sqrt();
    for _ in 0..6 {
        x -= (x + by_ln * inside(x).ln()) / slope(x);
    }
    // Implicit differentiation of the same equation.
    let x_by_reynolds = by_ln * 2.51 * x / (reynolds * reynolds) / inside(x) / slope(x);
    (1.0 / (x * x), -2.0 * x_by_reynolds / (x * x * x))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slope is the derivative of the loss, in every regime.
    #[test]
    fn the_slope_is_the_derivative_of_the_loss() {
        let bores = [
            Bore::hazen_williams(0.0266, 150.0),
            Bore::darcy_weisbach(0.0266, 1.5e-6, WATER_VISCOSITY_M2_S, Turbulent::Colebrook),
            Bore::darcy_weisbach(0.0266, 1.5e-4, WATER_VISCOSITY_M2_S, Turbulent::SwameeJain),
        ];
        for bore in bores.map(Result::unwrap) {
            for flow in [2e-5, 6e-5, 8e-5, 1e-4, 5e-4, -5e-4] {
                let step = flow * 1e-6;
                let rise = bore.loss_m(7.0, flow + step) - bore.loss_m(7.0, flow - step);
                let (_, slope) = bore.loss_and_slope(7.0, flow);
                let measured = rise / (2.0 * step);
                assert!((measured / slope - 1.0).abs() < 1e-6, "{bore:?} {flow}");
            }
        }
    }

    #[test]
    fn losses_do_not_jump_where_the_regimes_meet() {
        for limit in [LAMINAR_MOST, TURBULENT_LEAST] {
            for law in [Turbulent::Colebrook, Turbulent::SwameeJain] {
                let below = friction_factor(limit * (1.0 - 1e-9), 1e-4, law);
                let above = friction_factor(limit * (1.0 + 1e-9), 1e-4, law);
                assert!((below / above - 1.0).abs() < 1e-7, "{limit} {law:?}");
            }
        }
    }

    #[test]
    fn refuses_what_is_no_pipe() {
        assert_eq!(
            Bore::hazen_williams(0.0, 140.0),
            Err(BoreError::Diameter(0.0))
        );
        assert_eq!(
            Bore::hazen_williams(0.04, 15.0),
            Err(BoreError::Roughness(15.0))
        );
        let rough = Bore::darcy_weisbach(0.04, 0.01, 1e-6, Turbulent::Colebrook);
        assert_eq!(rough, Err(BoreError::Wall(0.01)));
        assert!(Bore::hazen_williams(f64::NAN, 140.0).is_err());
    }
}
