//! The layers of a parcel as read back, in a local metric frame.

use geo::{BoundingRect, Geometry, MapCoords};
use proj::Proj;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Names of all layers a parcel has.
pub const NAMES: [&str; 15] = [
    "parcel",
    "turf",
    "obstacles",
    "heads",
    "throws",
    "mains",
    "laterals",
    "nodes",
    "trenches",
    "valves",
    "drains",
    "air_valves",
    "stations",
    "coverage",
    "attention",
];

/// References between layers: layer, property, layer it points into.
const REFERENCES: [(&str, &str, &str); 12] = [
    ("heads", "station", "stations"),
    ("heads", "turf", "turf"),
    ("heads", "node", "nodes"),
    ("throws", "head", "heads"),
    ("mains", "from_node", "nodes"),
    ("mains", "to_node", "nodes"),
    ("laterals", "from_node", "nodes"),
    ("laterals", "to_node", "nodes"),
    ("laterals", "station", "stations"),
    ("valves", "node", "nodes"),
    ("drains", "node", "nodes"),
    ("stations", "valve", "valves"),
];

/// One feature.
pub struct Feature {
    pub properties: Map<String, Value>,
    pub geometry: Option<Geometry<f64>>,
}

impl Feature {
    pub fn number(&self, key: &str) -> Option<f64> {
        self.properties.get(key)?.as_f64()
    }

    pub fn text(&self, key: &str) -> &str {
        self.properties
            .get(key)
            .and_then(Value::as_str)
            .unwrap_or("")
    }

    pub fn flag(&self, key: &str) -> bool {
        self.properties
            .get(key)
            .and_then(Value::as_bool)
            .unwrap_or(false)
    }
}

/// All layers of one parcel.
pub struct Layers {
    by_name: BTreeMap<&'static str, Vec<Feature>>,
    raw_problems: Vec<String>,
}

impl Layers {
    pub fn read(folder: &Path) -> Self {
        let mut raw_problems = Vec::new();
        let mut read = BTreeMap::new();
        for name in NAMES {
            let path = folder.join("layers").join(format!("{name}.geojson"));
            match std::fs::read_to_string(&path)
                .map_err(|e| e.to_string())
                .and_then(|text| text.parse::<geojson::GeoJson>().map_err(|e| e.to_string()))
            {
                Ok(geojson::GeoJson::FeatureCollection(collection)) => {
                    read.insert(name, collection.features);
                }
                Ok(_) => raw_problems.push(format!("{name} is no feature collection")),
                Err(error) => raw_problems.push(format!("{name}: {error}")),
            }
        }
        let projection = local_frame(&read);
        let by_name = read
            .into_iter()
            .map(|(name, features)| {
                (
                    name,
                    features
                        .into_iter()
                        .map(|f| feature(f, &projection))
                        .collect(),
                )
            })
            .collect();
        Self {
            by_name,
            raw_problems,
        }
    }

    pub fn of(&self, name: &str) -> &[Feature] {
        self.by_name.get(name).map_or(&[], Vec::as_slice)
    }

    /// What is wrong with ids and references.
    pub fn problems(&self) -> Vec<String> {
        let mut found = self.raw_problems.clone();
        let mut seen = BTreeSet::new();
        for (name, features) in &self.by_name {
            for feature in features {
                let id = feature.text("id");
                if id.is_empty() || !seen.insert(id.to_owned()) {
                    found.push(format!("{name}: id `{id}` is missing or used twice"));
                }
            }
        }
        for (layer, key, to) in REFERENCES {
            let ids: BTreeSet<&str> = self.of(to).iter().map(|f| f.text("id")).collect();
            let dangling = self
                .of(layer)
                .iter()
                .filter(|f| !f.text(key).is_empty() && !ids.contains(f.text(key)));
            found.extend(dangling.map(|f| {
                format!(
                    "{layer}/{}.{key} = {} leads nowhere",
                    f.text("id"),
                    f.text(key)
                )
            }));
        }
        found
    }
}

fn local_frame(read: &BTreeMap<&'static str, Vec<geojson::Feature>>) -> Option<Proj> {
    let first = read.get("parcel")?.first()?;
    let shape: Geometry<f64> = first.geometry.clone()?.try_into().ok()?;
    let centre = shape.bounding_rect()?.center();
    Proj::new_known_crs(
        "EPSG:4326",
        &format!(
            "+proj=tmerc +lat_0={} +lon_0={} +k=1 +ellps=WGS84 +units=m",
            centre.y, centre.x
        ),
        None,
    )
    .ok()
}

fn feature(feature: geojson::Feature, projection: &Option<Proj>) -> Feature {
    let moved = |geometry: Geometry<f64>| match projection {
        Some(projection) => geometry.map_coords(|c| {
            projection
                .convert((c.x, c.y))
                .map(|(x, y)| geo::Coord { x, y })
                .unwrap()
        }),
        None => geometry,
    };
    let geometry = feature
        .geometry
        .and_then(|g| Geometry::<f64>::try_from(g).ok())
        .map(moved);
    Feature {
        properties: feature.properties.unwrap_or_default(),
        geometry,
    }
}
