//! GeoJSON files after RFC 7946: WGS 84, right-handed rings, a `bbox` on each collection, one feature a line.

use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::layer::{Feature, Layer, Value};
use geo::{Coord, Geometry, LineString, Polygon};
use serde_json::{Map, Value as Json, json};
use std::path::Path;

/// Writes each layer, already in degrees, to `folder/NAME.geojson`; makes the folder.
pub(crate) fn write_all(layers: &[Layer], folder: &Path) -> Result<(), DeliverError> {
    std::fs::create_dir_all(folder).map_err(|source| DeliverError::write(folder, source))?;
    for layer in layers {
        let path = folder.join(format!("{}.geojson", layer.name));
        write_text(&path, &collection(layer))?;
    }
    Ok(())
}

/// The text of a feature collection. A collection without geometry has no `bbox`.
fn collection(layer: &Layer) -> String {
    let mut text = format!(
        "{{\"type\":\"FeatureCollection\",\"name\":\"{}\",",
        layer.name
    );
    if let Some(bounds) = layer.bounds() {
        text.push_str(&format!("\"bbox\":{},", json!(bounds)));
    }
    text.push_str("\"features\":[\n");
    let features: Vec<String> = layer
        .features
        .iter()
        .map(|feature| self::feature(layer, feature).to_string())
        .collect();
    text.push_str(&features.join(",\n"));
    text.push_str("\n]}\n");
    text
}

fn feature(layer: &Layer, feature: &Feature) -> Json {
    let properties: Map<String, Json> = layer
        .columns
        .iter()
        .zip(&feature.values)
        .map(|((name, _), value)| (name.to_string(), property(value)))
        .collect();
    json!({
        "type": "Feature",
        "id": properties.get("id"),
        "geometry": feature.geometry.as_ref().map(geometry),
        "properties": properties,
    })
}

fn property(value: &Value) -> Json {
    match value {
        Value::Missing => Json::Null,
        Value::Text(text) => json!(text),
        Value::Number(number) => json!(number),
        Value::Whole(number) => json!(number),
        Value::Flag(flag) => json!(flag),
        Value::List(items) => json!(items),
    }
}

fn geometry(geometry: &Geometry<f64>) -> Json {
    let (kind, coordinates) = match geometry {
        Geometry::Point(point) => ("Point", position(&point.0)),
        Geometry::LineString(line) => ("LineString", positions(line)),
        Geometry::Polygon(polygon) => ("Polygon", rings(polygon)),
        Geometry::MultiPolygon(shape) => ("MultiPolygon", shape.iter().map(rings).collect()),
        _ => return Json::Null,
    };
    json!({"type": kind, "coordinates": coordinates})
}

fn position(at: &Coord<f64>) -> Json {
    json!([at.x, at.y])
}

fn positions(line: &LineString<f64>) -> Json {
    line.coords().map(position).collect()
}

fn rings(polygon: &Polygon<f64>) -> Json {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(positions)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::layer::Shape;
    use geo::point;

    #[test]
    fn a_collection_reads_back_as_geojson() {
        let ids = ["a\"b".to_string()];
        let layer = Layer::new("heads", Shape::Point, &ids, "P-1")
            .geometry(|_| Some(point! { x: 13.4, y: 52.5 }.into()))
            .number("flow_lpm", 2, |_| None);
        let read: geojson::FeatureCollection = collection(&layer).parse().unwrap();
        assert_eq!(read.bbox, Some(vec![13.4, 52.5, 13.4, 52.5]));
        assert_eq!(read.features[0].property("id"), Some(&json!("a\"b")));
        assert_eq!(read.features[0].property("flow_lpm"), Some(&Json::Null));
    }

    #[test]
    fn an_empty_layer_is_still_a_collection() {
        let layer = Layer::new("drains", Shape::Point, &[], "P-1");
        let read: geojson::FeatureCollection = collection(&layer).parse().unwrap();
        assert!(read.features.is_empty() && read.bbox.is_none());
    }
}
