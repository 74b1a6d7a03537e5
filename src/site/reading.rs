//! Reading of a vector layer through GDAL: any format, any reference system that says so, into WGS 84 degrees.

use crate::brief::project::LayerSource;
use crate::finding::Finding;
use crate::site::feature::{Feature, Layer, RawShape, Value, bounds_of};
use crate::site::quiet::{hush_gdal, reason};
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef};
use gdal::vector::{FieldValue, Geometry, LayerAccess};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use geo::Coord;
use std::collections::BTreeMap;

/// Reads a layer whole, with the properties `wanted`. Findings that leave the layer usable are pushed, the one that does not is returned.
pub(crate) fn read_layer(
    source: &LayerSource,
    wanted: &[&'static str],
    findings: &mut Vec<Finding>,
) -> Result<Layer, Finding> {
    hush_gdal();
    let unusable = |code, message: String| Finding::error(code, message).in_file(&source.written);
    let dataset = open(source)?;
    let mut layer = choose_layer(&dataset, source)?;
    let to_wgs84 = ToWgs84::of(layer.spatial_ref(), source)?;
    let columns = columns_of(&layer, source, wanted)?;
    let mut features = Vec::new();
    let mut unnamed = 0_usize;
    for (index, raw) in layer.features().enumerate() {
        let properties = properties_of(&raw, &columns);
        let mut shape = raw.geometry().map_or(RawShape::Empty, shape_of);
        let generated = raw.fid().unwrap_or(index as u64);
        let mut feature = Feature {
            id: String::new(),
            properties,
            shape: RawShape::Empty,
            heights: raw.geometry().map_or_else(Vec::new, heights_of),
            bounds: None,
        };
        feature.id = feature.text("id").unwrap_or_else(|| {
            unnamed += 1;
            format!("row {generated}")
        });
        to_wgs84
            .move_shape(&mut shape)
            .map_err(|(code, message)| unusable(code, message).of(&feature.id))?;
        feature.bounds = bounds_of(shape.coords());
        feature.shape = shape;
        features.push(feature);
    }
    if unnamed > 0 {
        findings.push(
            Finding::warning(
                "id_missing",
                format!("{unnamed} features have no `id`; they are called `row N` by their number in the file. Add a column `id`, or name yours under [fields]."),
            )
            .in_file(&source.written),
        );
    }
    Ok(Layer {
        file: source.written.clone(),
        features,
        winding_matters: dataset.driver().short_name().starts_with("GeoJSON"),
    })
}

fn open(source: &LayerSource) -> Result<Dataset, Finding> {
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        ..Default::default()
    };
    let unusable = |code, message: String| Finding::error(code, message).in_file(&source.written);
    if !source.path.exists() {
        let message = format!("there is no file {}", source.path.display());
        return Err(unusable("file_missing", message));
    }
    Dataset::open_ex(&source.path, options).map_err(|error| {
        let message = format!("cannot be read as a vector layer: {}", reason(&error));
        unusable("file_unreadable", message)
    })
}

fn choose_layer<'d>(
    dataset: &'d Dataset,
    source: &LayerSource,
) -> Result<gdal::vector::Layer<'d>, Finding> {
    let names: Vec<String> = dataset.layers().map(|layer| layer.name()).collect();
    let unusable =
        |message: String| Finding::error("layer_unclear", message).in_file(&source.written);
    match &source.layer {
        Some(name) => dataset.layer_by_name(name).map_err(|_| {
            unusable(format!(
                "has no layer `{name}`; it holds: {}",
                names.join(", ")
            ))
        }),
        None if names.len() == 1 => dataset.layer(0).map_err(|error| unusable(reason(&error))),
        None => Err(unusable(format!(
            "holds {} layers ({}); say which with {{ file = \"{}\", layer = \"…\" }}",
            names.len(),
            names.join(", "),
            source.written
        ))),
    }
}

/// Our property, and the column of the layer that holds it.
type Columns = Vec<(&'static str, usize)>;

fn columns_of(
    layer: &gdal::vector::Layer<'_>,
    source: &LayerSource,
    wanted: &[&'static str],
) -> Result<Columns, Finding> {
    let names: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
    let position = |column: &str| {
        let exact = names.iter().position(|name| name == column);
        exact.or_else(|| {
            names
                .iter()
                .position(|name| name.eq_ignore_ascii_case(column))
        })
    };
    let mut columns = Vec::new();
    for property in wanted {
        let mapped = source.fields.iter().find(|(ours, _)| ours == property);
        match mapped {
            Some((_, theirs)) => match position(theirs) {
                Some(at) => columns.push((*property, at)),
                None => {
                    let message = format!(
                        "[fields] says that `{property}` stands in the column `{theirs}`, but the columns are: {}",
                        names.join(", ")
                    );
                    return Err(Finding::error("field_missing", message).in_file(&source.written));
                }
            },
            None => columns.extend(position(property).map(|at| (*property, at))),
        }
    }
    Ok(columns)
}

fn properties_of(
    raw: &gdal::vector::Feature<'_>,
    columns: &Columns,
) -> BTreeMap<&'static str, Value> {
    let mut properties = BTreeMap::new();
    for (property, column) in columns {
        // A field that the feature does not carry reads as 0; only its empty text tells that it is not set.
        let written = raw.field_as_string(*column).ok().flatten();
        let Some(written) = written.filter(|written| !written.is_empty()) else {
            continue;
        };
        let value = match raw.field(*column) {
            Ok(Some(FieldValue::IntegerValue(number))) => Value::Number(f64::from(number)),
            Ok(Some(FieldValue::Integer64Value(number))) => Value::Number(number as f64),
            Ok(Some(FieldValue::RealValue(number))) => Value::Number(number),
            Ok(Some(FieldValue::StringValue(text))) => Value::Text(text),
            // Dates and lists are no value of ours, but a person should see what stands there.
            _ => Value::Text(written),
        };
        properties.insert(*property, value);
    }
    properties
}

fn points_of(geometry: &Geometry) -> Vec<Coord<f64>> {
    let mut points = Vec::new();
    geometry.get_points(&mut points);
    points.into_iter().map(|(x, y, _)| Coord { x, y }).collect()
}

/// Heights of the points of a point or line, its parts one after the other; 0 where it is flat, none of other shapes.
fn heights_of(geometry: &Geometry) -> Vec<f64> {
    match geometry.geometry_name().as_str() {
        "LINESTRING" | "POINT" => {
            let mut points = Vec::new();
            geometry.get_points(&mut points);
            points.into_iter().map(|(_, _, z)| z).collect()
        }
        "MULTILINESTRING" | "MULTIPOINT" => {
            let parts = (0..geometry.geometry_count()).map(|part| geometry.get_geometry(part));
            parts.flat_map(|part| heights_of(&part)).collect()
        }
        _ => Vec::new(),
    }
}

fn polygon_of(geometry: &Geometry) -> Vec<Vec<Coord<f64>>> {
    (0..geometry.geometry_count())
        .map(|ring| points_of(&geometry.get_geometry(ring)))
        .filter(|ring| !ring.is_empty())
        .collect()
}

/// The geometry as drawn; collections of one kind are taken apart, mixed ones are not ours.
fn shape_of(geometry: &Geometry) -> RawShape {
    let parts = || (0..geometry.geometry_count()).map(|part| geometry.get_geometry(part));
    let shape = match geometry.geometry_name().as_str() {
        "POLYGON" => RawShape::Polygons(vec![polygon_of(geometry)]),
        "MULTIPOLYGON" => RawShape::Polygons(parts().map(|part| polygon_of(&part)).collect()),
        "LINESTRING" => RawShape::Lines(vec![points_of(geometry)]),
        "MULTILINESTRING" => RawShape::Lines(parts().map(|part| points_of(&part)).collect()),
        "POINT" => RawShape::Points(points_of(geometry)),
        "MULTIPOINT" => RawShape::Points(parts().flat_map(|part| points_of(&part)).collect()),
        "GEOMETRYCOLLECTION" if geometry.geometry_count() == 1 => {
            shape_of(&geometry.get_geometry(0))
        }
        name => RawShape::Other(name.to_lowercase()),
    };
    if matches!(shape, RawShape::Other(_)) || !shape.coords().is_empty() {
        shape
    } else {
        RawShape::Empty
    }
}

/// WGS 84 with longitude first.
pub(crate) fn wgs84() -> gdal::errors::Result<SpatialRef> {
    let mut wgs84 = SpatialRef::from_epsg(4326)?;
    wgs84.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    Ok(wgs84)
}

/// From the layer's reference system to WGS 84.
struct ToWgs84 {
    name: String,
    geographic: bool,
    transform: Option<CoordTransform>,
}

impl ToWgs84 {
    fn of(system: Option<SpatialRef>, source: &LayerSource) -> Result<Self, Finding> {
        let unusable =
            |message: String| Finding::error("crs_unknown", message).in_file(&source.written);
        let Some(mut system) = system else {
            return Err(unusable(
                "does not say its coordinate reference system; store it with one (GeoPackage, or a .prj beside a Shapefile)".to_owned(),
            ));
        };
        system.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        let name = system.name().unwrap_or_else(|| "unnamed".to_owned());
        let is_wgs84 = system
            .authority()
            .is_ok_and(|code| code == "EPSG:4326" || code == "OGC:CRS84");
        let transform = if is_wgs84 {
            None
        } else {
            let target = wgs84().map_err(|error| unusable(reason(&error)))?;
            let made = CoordTransform::new(&system, &target).map_err(|error| {
                let said = reason(&error);
                unusable(format!(
                    "its reference system `{name}` cannot be turned into WGS 84: {said}"
                ))
            })?;
            Some(made)
        };
        Ok(Self {
            name,
            geographic: system.is_geographic(),
            transform,
        })
    }

    /// Moves every point; the error tells code and message.
    fn move_shape(&self, shape: &mut RawShape) -> Result<(), (&'static str, String)> {
        let coords = shape.coords_mut();
        if self.geographic
            && let Some(at) = coords.iter().find(|at| !in_degrees(at))
        {
            return Err((
                "coordinates_not_degrees",
                format!(
                    "the coordinate {}, {} lies outside ±180/±90 degrees, yet the file is read as {}. These look like metres of a projected system: say which (a `crs` member in GeoJSON, or use GeoPackage).",
                    at.x, at.y, self.name
                ),
            ));
        }
        let Some(transform) = &self.transform else {
            return Ok(());
        };
        let mut x: Vec<f64> = coords.iter().map(|at| at.x).collect();
        let mut y: Vec<f64> = coords.iter().map(|at| at.y).collect();
        let moved = transform.transform_coords(&mut x, &mut y, &mut []);
        for (at, (x, y)) in coords.into_iter().zip(x.into_iter().zip(y)) {
            *at = Coord { x, y };
        }
        let sound = shape.coords().into_iter().all(in_degrees);
        if moved.is_ok() && sound {
            return Ok(());
        }
        Err((
            "coordinates_outside_crs",
            format!(
                "its coordinates do not fit the reference system that the file names ({}); correct the one or the other",
                self.name
            ),
        ))
    }
}

fn in_degrees(at: &Coord<f64>) -> bool {
    (-180.0..=180.0).contains(&at.x) && (-90.0..=90.0).contains(&at.y)
}
