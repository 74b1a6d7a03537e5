//! `design.gpkg`: all layers in one file, styled, the same bytes for the same design.
//!
//! A table holds one type of geometry. Where a layer mixes them (trees among obstacles), its points go to `NAME_points`:
//! a viewer would open them as two layers and find the style for one. Yes and no are 1 and 0, lists are joined by spaces.

mod style;

use crate::deliver::DeliverError;
use crate::deliver::layer::{Feature, Kind, Layer, Shape, Value};
use gdal::errors::Result;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{
    Feature as Row, FieldDefn, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType, ToGdal,
};
use gdal::{Dataset, DriverManager};
use geo::Geometry;
use std::path::Path;

/// What the file says was the date of its making, so that equal designs give equal bytes.
const DATE: &str = "2000-01-01T00:00:00.000Z";

/// Writes all layers, already in degrees.
pub(crate) fn write(layers: &[Layer], path: &Path) -> std::result::Result<(), DeliverError> {
    try_write(layers, path).map_err(|source| DeliverError::GeoPackage {
        path: path.to_path_buf(),
        source,
    })
}

fn try_write(layers: &[Layer], path: &Path) -> Result<()> {
    gdal::config::set_thread_local_config_option("OGR_CURRENT_DATE", DATE)?;
    let mut file = DriverManager::get_driver_by_name("GPKG")?.create_vector_only(path)?;
    let wgs84 = SpatialRef::from_epsg(4326)?;
    // Viewers put the first table on top.
    let tables: Vec<Table> = layers.iter().rev().flat_map(Table::of).collect();
    // All tables stand before the first row: changing the schema later would end the transaction.
    for table in &tables {
        table.create(&mut file, &wgs84)?;
    }
    style::create(&mut file)?;
    let transaction = file.start_transaction()?;
    for table in &tables {
        table.fill(&transaction)?;
    }
    style::fill(&transaction, &tables)?;
    transaction.commit()?;
    file.close()
}

/// The features of a layer that share a type of geometry.
pub(super) struct Table<'a> {
    pub(super) name: String,
    pub(super) layer: &'a Layer,
    pub(super) shape: Shape,
    rows: Vec<&'a Feature>,
}

impl<'a> Table<'a> {
    /// The tables of a layer: one, and one more for points among areas.
    fn of(layer: &'a Layer) -> Vec<Self> {
        let is_point = |f: &&Feature| matches!(f.geometry, Some(Geometry::Point(_)));
        let strays = |f: &&Feature| layer.shape != Shape::Point && is_point(f);
        let (points, rows): (Vec<_>, Vec<_>) = layer.features.iter().partition(strays);
        let mut tables = vec![Self {
            name: layer.name.to_string(),
            layer,
            shape: layer.shape,
            rows,
        }];
        if !points.is_empty() {
            tables.push(Self {
                name: format!("{}_points", layer.name),
                layer,
                shape: Shape::Point,
                rows: points,
            });
        }
        tables
    }

    fn create(&self, file: &mut Dataset, wgs84: &SpatialRef) -> Result<()> {
        let table = file.create_layer(LayerOptions {
            name: &self.name,
            srs: Some(wgs84),
            ty: geometry_type(self.shape),
            options: None,
        })?;
        for (name, kind) in &self.layer.columns {
            FieldDefn::new(name, field_type(*kind))?.add_to_layer(&table)?;
        }
        Ok(())
    }

    fn fill(&self, file: &Dataset) -> Result<()> {
        let table = file.layer_by_name(&self.name)?;
        for feature in &self.rows {
            let mut row = Row::new(table.defn())?;
            for (index, value) in feature.values.iter().enumerate() {
                set(&mut row, index, value)?;
            }
            if let Some(geometry) = &feature.geometry {
                row.set_geometry(geometry.to_gdal()?)?;
            }
            row.create(&table)?;
        }
        Ok(())
    }
}

fn geometry_type(shape: Shape) -> OGRwkbGeometryType::Type {
    match shape {
        Shape::Point => OGRwkbGeometryType::wkbPoint,
        Shape::Line => OGRwkbGeometryType::wkbLineString,
        Shape::Polygon => OGRwkbGeometryType::wkbPolygon,
        Shape::MultiPolygon => OGRwkbGeometryType::wkbMultiPolygon,
    }
}

fn field_type(kind: Kind) -> OGRFieldType::Type {
    match kind {
        Kind::Text | Kind::List => OGRFieldType::OFTString,
        Kind::Number => OGRFieldType::OFTReal,
        Kind::Whole => OGRFieldType::OFTInteger64,
        Kind::Flag => OGRFieldType::OFTInteger,
    }
}

fn set(row: &mut Row, index: usize, value: &Value) -> Result<()> {
    match value {
        Value::Missing => row.set_field_null(index),
        // The file cannot hold a zero byte within text.
        Value::Text(text) => row.set_field_string(index, &text.replace('\0', "")),
        Value::Number(number) => row.set_field_double(index, *number),
        Value::Whole(number) => row.set_field_integer64(index, *number),
        Value::Flag(flag) => row.set_field_integer(index, i32::from(*flag)),
        Value::List(items) => row.set_field_string(index, &items.join(" ")),
    }
}
