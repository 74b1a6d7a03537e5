//! Files that are missing, strange, or in another system than they say.

use crate::assert_says;
use crate::builder::{Bench, read};
use geo::{Area, BooleanOps};

#[test]
fn a_missing_file_is_named() {
    let folder = Bench::default().write();
    std::fs::remove_file(folder.path().join("turf.geojson")).expect("removed");
    let told = read(&folder).expect_err("refused").to_string();
    assert_says(&told, &["inputs.turf", "there is no file `turf.geojson`"]);
}

#[test]
fn an_unknown_key_is_named_with_the_nearest_known_one() {
    let bench = Bench {
        more: "[rules]\nvelocity_mots_m_s = 1.0\n".to_owned(),
        ..Bench::default()
    };
    let told = read(&bench.write()).expect_err("refused").to_string();
    assert_says(
        &told,
        &[
            "rules.velocity_mots_m_s",
            "did you mean `velocity_most_m_s`?",
        ],
    );
}

#[test]
fn garbage_in_place_of_raster_and_layer_is_told_for_both_at_once() {
    let (folder, project) = Bench::default().project();
    std::fs::write(folder.path().join("terrain.tif"), "no raster at all").expect("spoiled");
    std::fs::write(folder.path().join("turf.geojson"), "{\"type\": \"Feat").expect("spoiled");
    let told = swardline::site::open(&project)
        .expect_err("refused")
        .to_string();
    assert_says(
        &told,
        &[
            "terrain.tif: cannot be read as a raster",
            "turf.geojson: cannot be read as a vector layer",
        ],
    );
}

#[test]
fn metres_called_degrees_are_told() {
    let bench = Bench {
        crs: None,
        ..Bench::default()
    };
    let told = bench.refusal().to_string();
    assert_says(
        &told,
        &[
            "parcels.geojson: p1",
            "look like metres",
            "GeoPackage",
            "turf.geojson: t1",
        ],
    );
}

#[test]
fn layers_of_a_geopackage_in_another_system_lie_where_those_of_geojson_do() {
    let bench = Bench::default();
    let folder = bench.write();
    let path = folder.path().join("project.toml");
    let text = std::fs::read_to_string(&path).expect("read");
    to_geopackage(
        &folder.path().join("turf.geojson"),
        &folder.path().join("site.gpkg"),
    );
    let source = "{ file = 'site.gpkg', layer = 'lawns' }";
    let text = text.replace("'turf.geojson'", source) + "[fields.turf]\nid = 'OBJECTID'\n";
    std::fs::write(&path, text).expect("written");
    let project = read(&folder).expect("sound");
    let parcel = swardline::site::open(&project)
        .expect("opens")
        .parcel("p1")
        .expect("sound");
    let plain = bench.parcel().expect("sound");
    assert_eq!(parcel.turf[0].id, "t1");
    let apart_m2 = parcel.turf[0]
        .shape
        .xor(&plain.turf[0].shape)
        .unsigned_area();
    assert!(apart_m2 < 0.1, "{apart_m2} m² apart");
}

/// Copies a layer into Lambert's conformal projection of Europe, with the id under another name.
fn to_geopackage(from: &std::path::Path, into: &std::path::Path) {
    use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
    use gdal::vector::{LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
    let source = gdal::Dataset::open(from).expect("readable");
    let mut layer = source.layer(0).expect("one layer");
    let mut system = SpatialRef::from_epsg(3034).expect("known");
    system.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let driver = gdal::DriverManager::get_driver_by_name("GPKG").expect("GDAL writes GeoPackage");
    let mut target = driver.create_vector_only(into).expect("made");
    for name in ["empty", "lawns"] {
        let options = LayerOptions {
            name,
            srs: Some(&system),
            ty: OGRwkbGeometryType::wkbPolygon,
            options: None,
        };
        let made = target.create_layer(options).expect("a layer");
        made.create_defn_fields(&[("OBJECTID", OGRFieldType::OFTString)])
            .expect("a column");
    }
    let made = target.layer_by_name("lawns").expect("a layer");
    for feature in layer.features() {
        let moved = feature
            .geometry()
            .expect("drawn")
            .transform_to(&system)
            .expect("moved");
        let id = feature
            .field_as_string(0)
            .expect("a column")
            .expect("an id");
        let mut copy = gdal::vector::Feature::new(made.defn()).expect("a feature");
        copy.set_geometry(moved).expect("set");
        copy.set_field_string(0, &id).expect("set");
        copy.create(&made).expect("stored");
    }
}
