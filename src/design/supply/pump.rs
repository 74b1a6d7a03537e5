//! A pump's curve: monotone cubic through its points, straight on beyond both ends.
//!
//! Monotone piecewise cubic interpolation: Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17(2):238, with the tangents
//! of Fritsch and Butland 1984, SIAM J. Sci. Stat. Comput. 5(2):300 (both from memory). Flows L/min, pressures kPa.

use super::error::{SupplyError, not_negative};

/// Share of the last flow over which a curve that ends level falls to nothing: nothing is known beyond it.
const FALL_SHARE: f64 = 0.01;

/// Parts into which a curve is cut where straight lines stand for it.
const PARTS: usize = 100;

/// A checked pump curve.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PumpCurve {
    points: Vec<(f64, f64)>,
    tangents: Vec<f64>,
    slope_beyond: f64,
}

impl PumpCurve {
    /// The curve through two points or more (flow, pressure), flows rising, pressures never.
    pub(super) fn through(points: &[(f64, f64)]) -> Result<Self, SupplyError> {
        check(points)?;
        let tangents = tangents(points);
        let last = tangents[tangents.len() - 1];
        let (end_lpm, end_kpa) = points[points.len() - 1];
        let slope_beyond = if last < 0.0 {
            last
        } else {
            -(end_kpa.max(1.0)) / (FALL_SHARE * end_lpm)
        };
        Ok(Self {
            points: points.to_vec(),
            tangents,
            slope_beyond,
        })
    }

    /// Flow of the last point, L/min.
    pub(super) fn last_flow_lpm(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// Flows between which straight lines follow the curve closely, to where it gives nothing, L/min.
    pub(super) fn corners_lpm(&self) -> Vec<f64> {
        let (last_lpm, last_kpa) = self.points[self.points.len() - 1];
        let along = (0..=PARTS).map(|part| last_lpm * (part as f64 / PARTS as f64));
        along
            .chain([last_lpm - last_kpa / self.slope_beyond])
            .collect()
    }

    /// Pressure at a flow, kPa, below zero beyond the curve's end, and its derivative.
    pub(super) fn kpa_and_slope(&self, flow_lpm: f64) -> (f64, f64) {
        let after = self.points.partition_point(|point| point.0 <= flow_lpm);
        if after == 0 {
            return straight(self.points[0], self.tangents[0], flow_lpm);
        }
        if after == self.points.len() {
            return straight(self.points[after - 1], self.slope_beyond, flow_lpm);
        }
        let (from, to) = (self.points[after - 1], self.points[after]);
        let (from_tangent, to_tangent) = (self.tangents[after - 1], self.tangents[after]);
        let width = to.0 - from.0;
        let t = (flow_lpm - from.0) / width;
        let secant = (to.1 - from.1) / width;
        let square = 3.0 * secant - 2.0 * from_tangent - to_tangent;
        let cubic = from_tangent + to_tangent - 2.0 * secant;
        let value = from.1 + width * t * (from_tangent + t * (square + t * cubic));
        let slope = from_tangent + t * (2.0 * square + t * 3.0 * cubic);
        (value, slope.min(0.0))
    }
}

fn straight(from: (f64, f64), slope: f64, flow_lpm: f64) -> (f64, f64) {
    (from.1 + slope * (flow_lpm - from.0), slope)
}

fn check(points: &[(f64, f64)]) -> Result<(), SupplyError> {
    if points.len() < 2 {
        return Err(SupplyError::PumpPoints(points.len()));
    }
    for &(flow_lpm, kpa) in points {
        not_negative("a flow of the pump curve", flow_lpm)?;
        not_negative("a pressure of the pump curve", kpa)?;
    }
    for pair in points.windows(2) {
        if pair[1].0 <= pair[0].0 {
            return Err(SupplyError::PumpFlow(pair[1].0));
        }
        if pair[1].1 > pair[0].1 {
            return Err(SupplyError::PumpPressure(pair[1].0));
        }
    }
    if points[0].1 <= 0.0 {
        return Err(SupplyError::PumpPressure(points[0].0));
    }
    Ok(())
}

/// Tangents that keep the curve falling wherever the points fall.
fn tangents(points: &[(f64, f64)]) -> Vec<f64> {
    let widths: Vec<f64> = points.windows(2).map(|p| p[1].0 - p[0].0).collect();
    let secants: Vec<f64> = points
        .windows(2)
        .map(|p| (p[1].1 - p[0].1) / (p[1].0 - p[0].0))
        .collect();
    let last = secants.len() - 1;
    if last == 0 {
        return vec![secants[0]; 2];
    }
    let mut tangents = vec![end(widths[0], widths[1], secants[0], secants[1])];
    for i in 1..=last {
        let near = 2.0 * widths[i] + widths[i - 1];
        let far = widths[i] + 2.0 * widths[i - 1];
        let level = secants[i - 1] * secants[i] <= 0.0;
        tangents.push(if level {
            0.0
        } else {
            (near + far) / (near / secants[i - 1] + far / secants[i])
        });
    }
    tangents.push(end(
        widths[last],
        widths[last - 1],
        secants[last],
        secants[last - 1],
    ));
    tangents
}

/// One-sided three-point tangent at an end, held within what keeps the cubic monotone.
fn end(width: f64, next_width: f64, secant: f64, next_secant: f64) -> f64 {
    let tangent =
        ((2.0 * width + next_width) * secant - width * next_secant) / (width + next_width);
    if tangent > 0.0 {
        0.0
    } else {
        tangent.max(3.0 * secant)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_through_its_points_and_never_rises() {
        let points = [(0.0, 450.0), (40.0, 445.0), (90.0, 400.0), (180.0, 300.0)];
        let curve = PumpCurve::through(&points).unwrap();
        for (flow_lpm, kpa) in points {
            assert!((curve.kpa_and_slope(flow_lpm).0 - kpa).abs() < 1e-9);
        }
        let values = (0..2500).map(|i| curve.kpa_and_slope(f64::from(i) * 0.1).0);
        let values: Vec<f64> = values.collect();
        assert!(values.windows(2).all(|pair| pair[1] <= pair[0]));
    }

    /// scipy 1.17 `PchipInterpolator`, the same method by another hand.
    #[test]
    fn agrees_with_an_independent_interpolator() {
        let points = [(0.0, 450.0), (40.0, 445.0), (90.0, 400.0), (180.0, 300.0)];
        let curve = PumpCurve::through(&points).unwrap();
        for (flow_lpm, expected_kpa) in SCIPY {
            let kpa = curve.kpa_and_slope(flow_lpm).0;
            assert!((kpa - expected_kpa).abs() < 1e-9, "{flow_lpm}: {kpa}");
        }
    }

    const SCIPY: [(f64, f64); 4] = [
        (10.0, 449.6191234622),
        (35.0, 446.0322729020),
        (60.0, 432.3487966944),
        (150.0, 335.9860551207),
    ];

    #[test]
    fn straight_lines_between_the_corners_follow_the_curve() {
        let points = [(0.0, 450.0), (40.0, 445.0), (90.0, 400.0), (180.0, 300.0)];
        let curve = PumpCurve::through(&points).unwrap();
        let corners = curve.corners_lpm();
        for pair in corners.windows(2) {
            let at = |flow| curve.kpa_and_slope(flow).0;
            let off = at(0.5 * (pair[0] + pair[1])) - 0.5 * (at(pair[0]) + at(pair[1]));
            assert!(off.abs() < 0.05, "{pair:?}: {off} kPa");
        }
        assert!(curve.kpa_and_slope(corners[corners.len() - 1]).0.abs() < 1e-9);
    }

    #[test]
    fn a_level_end_falls_to_nothing_soon() {
        let curve = PumpCurve::through(&[(0.0, 400.0), (200.0, 400.0)]).unwrap();
        assert_eq!(curve.kpa_and_slope(200.0).0, 400.0);
        assert!(curve.kpa_and_slope(202.0).0.abs() < 1e-9);
    }

    #[test]
    fn a_curve_that_rises_is_refused() {
        let rising = PumpCurve::through(&[(0.0, 400.0), (50.0, 410.0)]);
        assert_eq!(rising, Err(SupplyError::PumpPressure(50.0)));
        let back = PumpCurve::through(&[(50.0, 400.0), (50.0, 300.0)]);
        assert_eq!(back, Err(SupplyError::PumpFlow(50.0)));
        assert_eq!(
            PumpCurve::through(&[(0.0, 1.0)]),
            Err(SupplyError::PumpPoints(1))
        );
    }
}
