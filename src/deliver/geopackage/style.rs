//! Stored styles: the least QML that a viewer needs to draw each table, coloured by the features' own colour columns.

use super::Table;
use crate::deliver::layer::Shape;
use gdal::Dataset;
use gdal::errors::Result;
use gdal::vector::{
    Feature, FieldDefn, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
};

/// The table where viewers look for styles.
const TABLE: &str = "layer_styles";

const COLUMNS: [(&str, OGRFieldType::Type); 12] = [
    ("f_table_catalog", OGRFieldType::OFTString),
    ("f_table_schema", OGRFieldType::OFTString),
    ("f_table_name", OGRFieldType::OFTString),
    ("f_geometry_column", OGRFieldType::OFTString),
    ("styleName", OGRFieldType::OFTString),
    ("styleQML", OGRFieldType::OFTString),
    ("styleSLD", OGRFieldType::OFTString),
    ("useAsDefault", OGRFieldType::OFTInteger),
    ("description", OGRFieldType::OFTString),
    ("owner", OGRFieldType::OFTString),
    ("ui", OGRFieldType::OFTString),
    ("update_time", OGRFieldType::OFTString),
];

/// Makes the empty table of styles.
pub(super) fn create(file: &mut Dataset) -> Result<()> {
    let table = file.create_layer(LayerOptions {
        name: TABLE,
        srs: None,
        ty: OGRwkbGeometryType::wkbNone,
        options: Some(&["FID=id"]),
    })?;
    for (name, kind) in COLUMNS {
        FieldDefn::new(name, kind)?.add_to_layer(&table)?;
    }
    Ok(())
}

/// One default style for each table.
pub(super) fn fill(file: &Dataset, tables: &[Table]) -> Result<()> {
    let styles = file.layer_by_name(TABLE)?;
    for table in tables {
        let qml = qml(table);
        let texts = [
            "",
            "",
            table.name.as_str(),
            "geom",
            table.name.as_str(),
            qml.as_str(),
            "",
        ];
        let mut row = Feature::new(styles.defn())?;
        for (index, text) in texts.iter().enumerate() {
            row.set_field_string(index, text)?;
        }
        row.set_field_integer(7, 1)?;
        row.set_field_string(11, super::DATE)?;
        row.create(&styles)?;
    }
    Ok(())
}

/// How a table is drawn.
struct Look {
    /// Kind of marker, for points.
    marker: &'static str,
    /// Size of points or width of lines, mm.
    size_mm: f64,
    /// Opacity of fills, 0 to 255.
    fill_alpha: u8,
    /// Opacity of the whole mark, 0 to 1.
    alpha: f64,
}

fn look(name: &str) -> Look {
    let (marker, size_mm, fill_alpha) = match name {
        "parcel" => ("", 0.5, 0),
        "turf" => ("", 0.2, 180),
        "coverage" => ("", 0.0, 70),
        "obstacles" => ("", 0.1, 220),
        "stations" => ("", 0.3, 30),
        "throws" => ("", 0.1, 0),
        "trenches" => ("", 1.6, 0),
        "mains" => ("", 1.0, 0),
        "laterals" => ("", 0.45, 0),
        "nodes" => ("circle", 0.7, 255),
        "heads" => ("circle", 1.8, 255),
        "valves" => ("square", 3.0, 255),
        "drains" => ("equilateral_triangle", 1.8, 255),
        "air_valves" => ("diamond", 2.0, 255),
        "attention" => ("star", 3.0, 255),
        _ => ("circle", 2.0, 255),
    };
    Look {
        marker,
        size_mm,
        fill_alpha,
        // Trenches lie under the pipes: a pale bed, or they would pass for mains.
        alpha: if name == "trenches" { 0.35 } else { 1.0 },
    }
}

fn qml(table: &Table) -> String {
    let look = look(&table.name);
    let (kind, layer) = match table.shape {
        Shape::Point => ("marker", marker(&look)),
        Shape::Line => ("line", line(&look)),
        Shape::Polygon | Shape::MultiPolygon => ("fill", area(&look)),
    };
    format!(
        "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'><qgis version=\"3.22\" \
         styleCategories=\"Symbology\"><renderer-v2 type=\"singleSymbol\" symbollevels=\"0\" \
         forceraster=\"0\" enableorderby=\"0\"><symbols><symbol type=\"{kind}\" name=\"0\" \
         alpha=\"{}\" clip_to_extent=\"1\" force_rhr=\"0\">{layer}</symbol></symbols>\
         </renderer-v2></qgis>",
        look.alpha
    )
}

fn marker(look: &Look) -> String {
    let options = [
        ("name", look.marker.to_string()),
        ("color", "0,0,0,255".to_string()),
        ("outline_color", "255,255,255,255".to_string()),
        ("outline_width", "0.15".to_string()),
        ("outline_style", "solid".to_string()),
        ("size", look.size_mm.to_string()),
        ("size_unit", "MM".to_string()),
    ];
    symbol(
        "SimpleMarker",
        &options,
        &[("fillColor", "\"marker-color\"")],
    )
}

fn line(look: &Look) -> String {
    let options = [
        ("line_color", "0,0,0,255".to_string()),
        ("line_width", look.size_mm.to_string()),
        ("line_width_unit", "MM".to_string()),
        ("line_style", "solid".to_string()),
        ("capstyle", "round".to_string()),
        ("joinstyle", "round".to_string()),
    ];
    symbol("SimpleLine", &options, &[("outlineColor", "\"stroke\"")])
}

fn area(look: &Look) -> String {
    let style = |drawn: bool, word: &str| if drawn { word } else { "no" }.to_string();
    let options = [
        ("color", format!("0,0,0,{}", look.fill_alpha)),
        ("style", style(look.fill_alpha > 0, "solid")),
        ("outline_color", "0,0,0,255".to_string()),
        ("outline_style", style(look.size_mm > 0.0, "solid")),
        ("outline_width", look.size_mm.to_string()),
        ("outline_width_unit", "MM".to_string()),
    ];
    let own = format!("set_color_part(\"fill\",'alpha',{})", look.fill_alpha);
    symbol(
        "SimpleFill",
        &options,
        &[("fillColor", &own), ("outlineColor", "\"stroke\"")],
    )
}

/// A symbol layer: fixed options, and properties taken from the feature by an expression.
fn symbol(class: &str, options: &[(&str, String)], from_feature: &[(&str, &str)]) -> String {
    let fixed: String = options
        .iter()
        .map(|(name, value)| {
            format!("<Option type=\"QString\" name=\"{name}\" value=\"{value}\"/>")
        })
        .collect();
    let own: String = from_feature
        .iter()
        .map(|(name, rule)| property(name, rule))
        .collect();
    format!(
        "<layer class=\"{class}\" enabled=\"1\" locked=\"0\" pass=\"0\"><Option type=\"Map\">{fixed}\
         </Option><data_defined_properties><Option type=\"Map\"><Option type=\"QString\" \
         name=\"name\" value=\"\"/><Option type=\"Map\" name=\"properties\">{own}</Option>\
         <Option type=\"QString\" name=\"type\" value=\"collection\"/></Option>\
         </data_defined_properties></layer>"
    )
}

/// A property that an expression gives (type 3 in QML).
fn property(name: &str, expression: &str) -> String {
    let expression = expression.replace('"', "&quot;");
    format!(
        "<Option type=\"Map\" name=\"{name}\"><Option type=\"bool\" name=\"active\" value=\"true\"/>\
         <Option type=\"QString\" name=\"expression\" value=\"{expression}\"/>\
         <Option type=\"int\" name=\"type\" value=\"3\"/></Option>"
    )
}
