//! A layer as a table: columns by name and kind, one row a feature. GeoJSON and GeoPackage are both written from it.

use crate::deliver::DeliverError;
use crate::deliver::lonlat::{LonLat, rounded};
use geo::{CoordsIter, Geometry};

/// The geometry most features of a layer have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Point,
    Line,
    Polygon,
    MultiPolygon,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Text,
    Number,
    Whole,
    Flag,
    /// Several ids.
    List,
}

/// One property of one feature.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Missing,
    Text(String),
    Number(f64),
    Whole(i64),
    Flag(bool),
    List(Vec<String>),
}

/// A feature: its geometry in the parcel's frame, or once projected in degrees; its values in the order of the columns.
#[derive(Debug)]
pub(crate) struct Feature {
    pub(crate) geometry: Option<Geometry<f64>>,
    pub(crate) values: Vec<Value>,
}

/// A layer.
#[derive(Debug)]
pub(crate) struct Layer {
    pub(crate) name: &'static str,
    pub(crate) shape: Shape,
    pub(crate) columns: Vec<(&'static str, Kind)>,
    pub(crate) features: Vec<Feature>,
}

impl Layer {
    /// A layer of one feature for each id, with the columns `id`, `layer` and `parcel`.
    pub(crate) fn new(name: &'static str, shape: Shape, ids: &[String], parcel: &str) -> Self {
        let empty = || Feature {
            geometry: None,
            values: Vec::new(),
        };
        Self {
            name,
            shape,
            columns: Vec::new(),
            features: ids.iter().map(|_| empty()).collect(),
        }
        .text("id", |i| Some(ids[i].clone()))
        .text("layer", |_| Some(name.to_string()))
        .text("parcel", |_| Some(parcel.to_string()))
    }

    /// Gives each feature its geometry, in the parcel's frame.
    pub(crate) fn geometry(mut self, geometry: impl Fn(usize) -> Option<Geometry<f64>>) -> Self {
        for (index, feature) in self.features.iter_mut().enumerate() {
            feature.geometry = geometry(index);
        }
        self
    }

    /// Adds a column of words.
    pub(crate) fn text(self, name: &'static str, value: impl Fn(usize) -> Option<String>) -> Self {
        self.column(name, Kind::Text, |i| value(i).map(Value::Text))
    }

    /// Adds a column of numbers, rounded; what is not finite is missing.
    pub(crate) fn number(
        self,
        name: &'static str,
        decimals: i32,
        value: impl Fn(usize) -> Option<f64>,
    ) -> Self {
        self.column(name, Kind::Number, |i| {
            let value = value(i).filter(|value| value.is_finite())?;
            Some(Value::Number(rounded(value, decimals)))
        })
    }

    /// Adds a column of counts.
    pub(crate) fn whole(self, name: &'static str, value: impl Fn(usize) -> Option<usize>) -> Self {
        self.column(name, Kind::Whole, |i| {
            value(i)
                .and_then(|n| i64::try_from(n).ok())
                .map(Value::Whole)
        })
    }

    /// Adds a column of yes and no.
    pub(crate) fn flag(self, name: &'static str, value: impl Fn(usize) -> bool) -> Self {
        self.column(name, Kind::Flag, |i| Some(Value::Flag(value(i))))
    }

    /// Adds a column of lists of ids.
    pub(crate) fn list(self, name: &'static str, value: impl Fn(usize) -> Vec<String>) -> Self {
        self.column(name, Kind::List, |i| Some(Value::List(value(i))))
    }

    /// Adds the colour and width of lines and outlines.
    pub(crate) fn stroke(self, width: f64, colour: impl Fn(usize) -> &'static str) -> Self {
        self.text("stroke", |i| Some(colour(i).to_string()))
            .number("stroke-width", 1, |_| Some(width))
    }

    /// Adds the colour and opacity of areas.
    pub(crate) fn fill(self, opacity: f64, colour: impl Fn(usize) -> &'static str) -> Self {
        self.text("fill", |i| Some(colour(i).to_string()))
            .number("fill-opacity", 2, |_| Some(opacity))
    }

    /// Adds the colour of points.
    pub(crate) fn marker(self, colour: impl Fn(usize) -> &'static str) -> Self {
        self.text("marker-color", |i| Some(colour(i).to_string()))
    }

    /// The layer with a column of words made from its features as they are.
    pub(crate) fn words_of_features(
        self,
        name: &'static str,
        word: impl Fn(&Feature) -> Option<String>,
    ) -> Self {
        let words: Vec<Option<String>> = self.features.iter().map(word).collect();
        self.text(name, |i| words[i].clone())
    }

    fn column(
        mut self,
        name: &'static str,
        kind: Kind,
        value: impl Fn(usize) -> Option<Value>,
    ) -> Self {
        self.columns.push((name, kind));
        for (index, feature) in self.features.iter_mut().enumerate() {
            feature.values.push(value(index).unwrap_or(Value::Missing));
        }
        self
    }

    /// The layer in longitude and latitude.
    pub(crate) fn projected(mut self, lonlat: &LonLat) -> Result<Self, DeliverError> {
        for feature in &mut self.features {
            if let Some(geometry) = &feature.geometry {
                feature.geometry = lonlat.geometry(geometry)?;
            }
        }
        match self.bounds() {
            Some([west, _, east, _]) if east - west > 180.0 => {
                Err(DeliverError::Antimeridian(self.name))
            }
            _ => Ok(self),
        }
    }

    /// West, south, east and north of all features; `None` without geometry.
    pub(crate) fn bounds(&self) -> Option<[f64; 4]> {
        let shapes = self.features.iter().filter_map(|f| f.geometry.as_ref());
        shapes
            .flat_map(|geometry| geometry.coords_iter())
            .fold(None, |bounds, at| {
                let [w, s, e, n] = bounds.unwrap_or([at.x, at.y, at.x, at.y]);
                Some([w.min(at.x), s.min(at.y), e.max(at.x), n.max(at.y)])
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_number_is_missing_and_not_zero() {
        let ids = ["a".to_string(), "b".to_string()];
        let layer = Layer::new("heads", Shape::Point, &ids, "P")
            .number("radius_m", 2, |i| [Some(f64::NAN), Some(4.567)][i]);
        assert_eq!(layer.features[0].values[3], Value::Missing);
        assert_eq!(layer.features[1].values[3], Value::Number(4.57));
        assert_eq!(layer.bounds(), None);
    }
}
