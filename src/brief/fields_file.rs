//! Reading of `[fields]`: their columns for our properties, layer by layer.

use crate::brief::problems::Problems;
use crate::brief::table::TableReader;
use toml::Table;

/// Our properties, layer by layer, that `[fields]` may map.
const PROPERTIES: [(&str, &[&str]); 7] = [
    ("parcels", &["id", "name"]),
    ("turf", &["id", "parcel", "soil", "season"]),
    ("obstacles", &["id", "kind", "width_m", "root_radius_m"]),
    (
        "water_points",
        &[
            "id",
            "parcel",
            "static_kpa",
            "residual_kpa",
            "residual_lpm",
            "bucket_l",
            "bucket_s",
            "pump",
            "design_lpm",
            "design_kpa",
            "meter_loss_kpa",
            "backflow_loss_kpa",
            "service_length_m",
            "service_inside_mm",
            "service_roughness_c",
        ],
    ),
    (
        "existing_heads",
        &[
            "id",
            "parcel",
            "station",
            "model",
            "nozzle",
            "node",
            "arc_start_deg",
            "arc_sweep_deg",
            "radius_m",
            "flow_ref_lpm",
            "ground_m",
            "one_row",
        ],
    ),
    (
        "existing_pipes",
        &[
            "id",
            "parcel",
            "layer",
            "kind",
            "station",
            "from_node",
            "to_node",
            "material",
            "nominal",
            "inside_mm",
            "roughness_c",
            "rating_kpa",
            "length_m",
            "minor_k",
            "invert_from_m",
            "invert_to_m",
        ],
    ),
    (
        "existing_valves",
        &[
            "id",
            "parcel",
            "layer",
            "kind",
            "station",
            "section",
            "node",
            "size",
            "regulated_kpa",
        ],
    ),
];

/// Our properties of a layer; none of a layer that is not ours.
pub(crate) fn properties_of(layer: &str) -> &'static [&'static str] {
    let known = PROPERTIES.iter().find(|entry| entry.0 == layer);
    known.map_or(&[], |entry| entry.1)
}

/// The tables of `[fields]`, asked layer by layer.
pub(crate) struct FieldNames<'t> {
    reader: Option<TableReader<'t>>,
}

impl<'t> FieldNames<'t> {
    pub(crate) fn new(table: Option<&'t Table>) -> Self {
        Self {
            reader: table.map(|table| TableReader::new(table, "fields")),
        }
    }

    /// Pairs of our property and their column.
    pub(crate) fn of(
        &mut self,
        layer: &'static str,
        problems: &mut Problems,
    ) -> Vec<(String, String)> {
        let Some(table) = self
            .reader
            .as_mut()
            .and_then(|reader| reader.table(layer, problems))
        else {
            return Vec::new();
        };
        let properties = PROPERTIES.iter().find(|entry| entry.0 == layer);
        let mut reader = TableReader::new(table, format!("fields.{layer}"));
        let mut columns = Vec::new();
        for property in properties.map_or(&[] as &[&str], |entry| entry.1) {
            if let Some(column) = reader.text(property, problems) {
                columns.push(((*property).to_owned(), column));
            }
        }
        reader.finish(problems);
        columns
    }

    pub(crate) fn finish(self, problems: &mut Problems) {
        if let Some(reader) = self.reader {
            reader.finish(problems);
        }
    }
}
