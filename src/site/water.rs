//! Water points: where they are and how their strength was told, checked for sense.

use crate::finding::Finding;
use crate::site::assignment::WATER_POINT_NEAR_M;
use crate::site::feature::Feature;
use crate::site::{ServicePipe, SupplyTest, WaterPoint};
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
        service: service(feature)?,
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

/// The service pipe: both of length and bore, or neither.
fn service(feature: &Feature) -> Result<Option<ServicePipe>, String> {
    const LENGTH: &str = "service_length_m";
    const INSIDE: &str = "service_inside_mm";
    const ROUGHNESS: &str = "service_roughness_c";
    let (length_m, inside_mm) = (number(feature, LENGTH)?, number(feature, INSIDE)?);
    let roughness_c = number(feature, ROUGHNESS)?;
    if length_m.or(inside_mm).or(roughness_c).is_none() {
        return Ok(None);
    }
    let missing = |name, other| {
        format!(
            "its {name} is missing, though its {other} is given: a service pipe needs {LENGTH} and {INSIDE}."
        )
    };
    let told = if length_m.is_some() {
        LENGTH
    } else if inside_mm.is_some() {
        INSIDE
    } else {
        ROUGHNESS
    };
    if length_m.is_none() {
        return Err(missing(LENGTH, told));
    }
    if inside_mm.is_none() {
        return Err(missing(INSIDE, told));
    }
    let roughness_c = roughness_c.unwrap_or(ServicePipe::ROUGHNESS_C);
    if !(60.0..=160.0).contains(&roughness_c) {
        return Err(format!(
            "its {ROUGHNESS} is {roughness_c}, which lies outside 60 to 160."
        ));
    }
    Ok(Some(ServicePipe {
        length_m: positive(feature, LENGTH)?,
        inside_mm: positive(feature, INSIDE)?,
        roughness_c,
    }))
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
            heights: Vec::new(),
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
    fn a_service_pipe_is_told_whole_or_not_at_all() {
        assert_eq!(service(&with(&[])), Ok(None));
        let whole = with(&[("service_length_m", 60.0), ("service_inside_mm", 44.0)]);
        let pipe = service(&whole).unwrap().unwrap();
        assert_eq!(
            (pipe.length_m, pipe.inside_mm, pipe.roughness_c),
            (60.0, 44.0, 130.0)
        );
        for (properties, says) in [
            (
                &[("service_length_m", 60.0)][..],
                "service_inside_mm is missing",
            ),
            (
                &[("service_inside_mm", 44.0)],
                "service_length_m is missing",
            ),
            (
                &[("service_roughness_c", 140.0)],
                "service_length_m is missing",
            ),
            (
                &[("service_length_m", 0.0), ("service_inside_mm", 44.0)],
                "service_length_m is 0, which must be above 0",
            ),
            (
                &[("service_length_m", 60.0), ("service_inside_mm", -4.0)],
                "service_inside_mm is -4, which must be above 0",
            ),
            (
                &[
                    ("service_length_m", 60.0),
                    ("service_inside_mm", 44.0),
                    ("service_roughness_c", 20.0),
                ],
                "service_roughness_c is 20, which lies outside 60 to 160",
            ),
        ] {
            let told = service(&with(properties)).unwrap_err();
            assert!(told.contains(says), "{told}");
        }
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
