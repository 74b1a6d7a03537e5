//! A feature as read: its properties under our names and its raw rings, in WGS 84 degrees.

use geo::{Coord, Rect};
use std::collections::BTreeMap;

/// A property's value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Text(String),
    Number(f64),
}

/// Rings of one polygon, the outer first, as drawn: perhaps not closed, perhaps wrongly wound.
pub(crate) type RawPolygon = Vec<Vec<Coord<f64>>>;

/// A geometry as drawn.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum RawShape {
    Polygons(Vec<RawPolygon>),
    Lines(Vec<Vec<Coord<f64>>>),
    Points(Vec<Coord<f64>>),
    Empty,
    /// A kind of geometry that no layer takes, by its name.
    Other(String),
}

impl RawShape {
    /// Every point of the shape.
    pub(crate) fn coords(&self) -> Vec<&Coord<f64>> {
        match self {
            Self::Polygons(polygons) => polygons.iter().flatten().flatten().collect(),
            Self::Lines(lines) => lines.iter().flatten().collect(),
            Self::Points(points) => points.iter().collect(),
            Self::Empty | Self::Other(_) => Vec::new(),
        }
    }

    /// The same, to be moved.
    pub(crate) fn coords_mut(&mut self) -> Vec<&mut Coord<f64>> {
        match self {
            Self::Polygons(polygons) => polygons.iter_mut().flatten().flatten().collect(),
            Self::Lines(lines) => lines.iter_mut().flatten().collect(),
            Self::Points(points) => points.iter_mut().collect(),
            Self::Empty | Self::Other(_) => Vec::new(),
        }
    }

    /// What a person would call it.
    pub(crate) fn kind(&self) -> &str {
        match self {
            Self::Polygons(_) => "a polygon",
            Self::Lines(_) => "a line",
            Self::Points(_) => "a point",
            Self::Empty => "empty",
            Self::Other(name) => name,
        }
    }
}

/// One feature of a layer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Feature {
    pub(crate) id: String,
    pub(crate) properties: BTreeMap<&'static str, Value>,
    pub(crate) shape: RawShape,
    /// Heights of its points as drawn, in their order; empty where the geometry is flat.
    pub(crate) heights: Vec<f64>,
    /// In degrees; `None` where there is no point at all.
    pub(crate) bounds: Option<Rect<f64>>,
}

impl Feature {
    /// The property as text; numbers are written out. Empty text counts as not given.
    pub(crate) fn text(&self, name: &str) -> Option<String> {
        match self.properties.get(name)? {
            Value::Text(text) => {
                let text = text.trim();
                (!text.is_empty()).then(|| text.to_owned())
            }
            Value::Number(number) => Some(number.to_string()),
        }
    }

    /// The property as a number. `Err` with what stands there when it is none.
    pub(crate) fn number(&self, name: &str) -> Result<Option<f64>, String> {
        match self.properties.get(name) {
            None => Ok(None),
            Some(Value::Number(number)) => Ok(Some(*number)),
            Some(Value::Text(text)) if text.trim().is_empty() => Ok(None),
            Some(Value::Text(text)) => text.trim().parse().map(Some).map_err(|_| text.clone()),
        }
    }
}

/// One layer, read whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Layer {
    /// File as the project writes it.
    pub(crate) file: String,
    pub(crate) features: Vec<Feature>,
    /// Whether the format fixes the winding of rings (GeoJSON does), so that a wrong one is worth telling.
    pub(crate) winding_matters: bool,
}

/// The smallest box round some points.
pub(crate) fn bounds_of<'c>(coords: impl IntoIterator<Item = &'c Coord<f64>>) -> Option<Rect<f64>> {
    let mut coords = coords.into_iter();
    let first = *coords.next()?;
    let (mut low, mut high) = (first, first);
    for at in coords {
        low = Coord {
            x: low.x.min(at.x),
            y: low.y.min(at.y),
        };
        high = Coord {
            x: high.x.max(at.x),
            y: high.y.max(at.y),
        };
    }
    Some(Rect::new(low, high))
}

/// Whether two boxes meet when the first is widened by a margin on all sides.
pub(crate) fn boxes_meet(a: &Rect<f64>, b: &Rect<f64>, margin: f64) -> bool {
    a.min().x - margin <= b.max().x
        && b.min().x <= a.max().x + margin
        && a.min().y - margin <= b.max().y
        && b.min().y <= a.max().y + margin
}
