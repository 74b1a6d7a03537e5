//! What the example was asked for: an invented catalogue and a flat climate.

use crate::brief::project::LayerSource;
use crate::brief::*;

fn source(file: &str) -> LayerSource {
    LayerSource {
        written: file.into(),
        path: file.into(),
        layer: None,
        fields: Vec::new(),
    }
}

fn pipe(nominal: &str, outside_mm: f64, inside_mm: f64, price_per_m: f64) -> PipeSize {
    PipeSize {
        nominal: nominal.into(),
        material: "pe".into(),
        outside_mm,
        inside_mm,
        roughness_c: 145.0,
        roughness_mm: PipeSize::PLASTIC_ROUGHNESS_MM,
        friction: Friction::default(),
        rating_kpa: 1000.0,
        coil_m: 100.0,
        price_per_m,
        only_laid: false,
    }
}

/// The project of the example.
pub(crate) fn project() -> Project {
    Project {
        name: "An invented campus".into(),
        parcels: source("parcels.geojson"),
        turf: source("turf.geojson"),
        obstacles: Some(source("obstacles.geojson")),
        water_points: source("water_points.geojson"),
        existing: crate::brief::ExistingSources::default(),
        edits: None,
        retrofit: None,
        terrain: Vec::new(),
        terrain_unit_m: None,
        rules: Rules::default(),
        climate: Climate {
            altitude_m: 40.0,
            months: [Month::default(); 12],
            days: Vec::new(),
            built_in: true,
        },
        prices: Prices::default(),
        catalogue: catalogue(),
        variants: Vec::new(),
    }
}

/// The catalogue of the example.
pub(super) fn catalogue() -> Catalogue {
    Catalogue {
        origin: "invented for a test".into(),
        heads: vec![HeadModel {
            name: "stream 10".into(),
            family: "stream".into(),
            rate_class: "matched 12".into(),
            rate_mm_h: 12.0,
            radius_min_m: 7.0,
            radius_max_m: 10.0,
            pressure_min_kpa: 170.0,
            pressure_ref_kpa: 300.0,
            pressure_max_kpa: 480.0,
            flow_exponent: 0.5,
            radius_exponent: 0.2,
            profile: Profile::Cone,
            popup_mm: 100.0,
            joint_loss_kpa: 3.0,
            joint_flow_lpm: 20.0,
            nozzles: vec![Nozzle {
                name: "arc".into(),
                sweep_min_deg: 45.0,
                sweep_max_deg: 360.0,
                flow_lpm: 20.0,
                flow_follows_arc: true,
            }],
            price: 20.0,
        }],
        pipes: vec![pipe("32", 32.0, 26.2, 1.2), pipe("63", 63.0, 51.4, 3.9)],
        valves: vec![ValveSize {
            size: "DN25".into(),
            flow_max_lpm: 120.0,
            loss_kpa: 20.0,
            price: 45.0,
        }],
    }
}
