//! Water points: where they are and how their strength was told, checked for sense.

use crate::finding::Finding;
use crate::site::assignment::WATER_POINT_NEAR_M;
use crate::site::feature::Feature;
use crate::site::{SupplyTest, WaterPoint};
use geo::{Closest, ClosestPoint, Coord, Distance, Euclidean, Intersects, MultiPolygon, Point};

/// The water point of a feature at a place in the frame; `Err` says what is wrong.
pub(crate) fn water_point(feature: &Feature, position: Coord<f64>) -> Result<WaterPoint, String> {
    let test = supply_test(feature)?;
    Ok(WaterPoint {
        id: feature.id.clone(),
        position,
        test,
        meter_loss_kpa: loss(feature, "meter_loss_kpa")?,
        backflow_loss_kpa: loss(feature, "backflow_loss_kpa")?,
    })
}

fn number(feature: &Feature, name: &str) -> Result<Option<f64>, String> {
    feature
        .number(name)
        .map_err(|text| format!("its {name} `{text}` is no number."))
}

/// A number that must be there and above nothing.
fn positive(feature: &Feature, name: &str) -> Result<f64, String> {
    match number(feature, name)? {
        Some(value) if value > 0.0 && value.is_finite() => Ok(value),
        Some(value) => Err(format!("its {name} is {value}, which must be above 0.")),
        None => Err(format!("its {name} is missing.")),
    }
}

fn loss(feature: &Feature, name: &str) -> Result<Option<f64>, String> {
    match number(feature, name)? {
        Some(value) if !(0.0..=1000.0).contains(&value) => Err(format!(
            "its {name} is {value}, which lies outside 0 to 1000 kPa."
        )),
        value => Ok(value),
    }
}

fn given(feature: &Feature, names: &[&str]) -> bool {
    names.iter().any(|name| feature.text(name).is_some())
}

/// The first of pump, flow test, bucket test and design point that is given.
fn supply_test(feature: &Feature) -> Result<SupplyTest, String> {
    if let Some(points) = feature.text("pump") {
        return pump(&points).map(SupplyTest::Pump);
    }
    if given(feature, &["residual_kpa", "residual_lpm"]) {
        return flow_test(feature);
    }
    if given(feature, &["bucket_l", "bucket_s"]) {
        return Ok(SupplyTest::Bucket {
            static_kpa: positive(feature, "static_kpa")?,
            bucket_l: positive(feature, "bucket_l")?,
            bucket_s: positive(feature, "bucket_s")?,
        });
    }
    if given(feature, &["design_lpm", "design_kpa"]) {
        return Ok(SupplyTest::DesignPoint {
            design_lpm: positive(feature, "design_lpm")?,
            design_kpa: positive(feature, "design_kpa")?,
        });
    }
    Err("does not say how strong it is: give static_kpa with residual_kpa and residual_lpm, or with bucket_l and bucket_s; or pump; or design_lpm and design_kpa.".to_owned())
}

fn flow_test(feature: &Feature) -> Result<SupplyTest, String> {
    let static_kpa = positive(feature, "static_kpa")?;
    let residual_kpa = positive(feature, "residual_kpa")?;
    let residual_lpm = positive(feature, "residual_lpm")?;
    if residual_kpa >= static_kpa {
        return Err(format!(
            "its residual pressure, {residual_kpa} kPa, is not below the static one, {static_kpa} kPa: pressure falls when water runs. Check the test."
        ));
    }
    Ok(SupplyTest::FlowTest {
        static_kpa,
        residual_kpa,
        residual_lpm,
    })
}

/// Points `lpm:kpa, lpm:kpa, …` by rising flow and falling pressure.
fn pump(text: &str) -> Result<Vec<(f64, f64)>, String> {
    let mut points = Vec::new();
    for pair in text
        .split([',', ';'])
        .map(str::trim)
        .filter(|pair| !pair.is_empty())
    {
        let numbers = pair.split_once(':').and_then(|(flow, pressure)| {
            Some((
                flow.trim().parse::<f64>().ok()?,
                pressure.trim().parse::<f64>().ok()?,
            ))
        });
        match numbers {
            Some((flow, pressure))
                if flow >= 0.0 && pressure >= 0.0 && flow.is_finite() && pressure.is_finite() =>
            {
                points.push((flow, pressure));
            }
            _ => {
                return Err(format!(
                    "its pump point `{pair}` is not flow:pressure in L/min and kPa."
                ));
            }
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    if points.len() < 2 {
        return Err("its pump curve needs two points or more, `lpm:kpa, lpm:kpa`.".to_owned());
    }
    if points
        .windows(2)
        .any(|pair| pair[1].0 <= pair[0].0 || pair[1].1 > pair[0].1)
    {
        return Err(
            "its pump curve must fall: more flow, less pressure, and no flow twice.".to_owned(),
        );
    }
    Ok(points)
}

/// Moves a point that stands just outside onto the boundary; `Err` when it stands farther off.
pub(crate) fn into_parcel(
    at: Coord<f64>,
    boundary: &MultiPolygon<f64>,
) -> Result<(Coord<f64>, Option<Finding>), Finding> {
    if boundary.intersects(&at) {
        return Ok((at, None));
    }
    let away_m = Euclidean.distance(&Point(at), boundary);
    if away_m > WATER_POINT_NEAR_M {
        let message = format!(
            "lies {away_m:.0} m outside its parcel and is not used. Correct its place or its `parcel`."
        );
        return Err(Finding::error("water_point_outside_parcel", message).at(at));
    }
    let on_boundary = match boundary.closest_point(&Point(at)) {
        Closest::SinglePoint(point) | Closest::Intersection(point) => point.0,
        Closest::Indeterminate => at,
    };
    let message =
        format!("stands {away_m:.2} m outside its parcel and was moved onto the boundary.");
    Ok((
        on_boundary,
        Some(Finding::warning("water_point_moved", message).at(on_boundary)),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::feature::{RawShape, Value};

    fn with(properties: &[(&'static str, f64)]) -> Feature {
        Feature {
            id: "w".to_owned(),
            properties: properties
                .iter()
                .map(|(name, value)| (*name, Value::Number(*value)))
                .collect(),
            shape: RawShape::Empty,
            bounds: None,
        }
    }

    #[test]
    fn nonsense_tests_are_refused_with_the_reason() {
        let rising = with(&[
            ("static_kpa", 300.0),
            ("residual_kpa", 310.0),
            ("residual_lpm", 50.0),
        ]);
        assert!(
            supply_test(&rising)
                .unwrap_err()
                .contains("not below the static")
        );
        let timeless = with(&[("static_kpa", 300.0), ("bucket_l", 10.0), ("bucket_s", 0.0)]);
        assert!(
            supply_test(&timeless)
                .unwrap_err()
                .contains("bucket_s is 0")
        );
        assert!(
            supply_test(&with(&[("static_kpa", 300.0)]))
                .unwrap_err()
                .contains("how strong")
        );
    }

    #[test]
    fn a_pump_curve_is_sorted_and_must_fall() {
        assert_eq!(
            pump("50:300, 0:400").unwrap(),
            [(0.0, 400.0), (50.0, 300.0)]
        );
        assert!(pump("0:300, 50:400").is_err());
        assert!(pump("0:300").is_err());
        assert!(pump("0-300, 2:3").is_err());
    }
}
