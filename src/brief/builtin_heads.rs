//! Heads of the built-in catalogue: generic and invented.

use crate::brief::catalogue::{HeadModel, Nozzle, Profile};

/// Head models by falling radius.
pub fn heads() -> Vec<HeadModel> {
    vec![rotor(), spray()]
}

fn rotor() -> HeadModel {
    // 4 L/min gives 12 mm/h over a quarter at 9 m: 60 q / (r² / 4).
    let nozzles = [
        ("quarter", 80.0, 100.0, 4.0),
        ("half", 160.0, 200.0, 8.0),
        ("full", 360.0, 360.0, 16.0),
    ];
    HeadModel {
        name: "rotor 9 m".to_owned(),
        family: "rotor".to_owned(),
        rate_class: "rotor".to_owned(),
        rate_mm_h: 11.85,
        radius_min_m: 6.75,
        radius_max_m: 9.0,
        pressure_min_kpa: 210.0,
        pressure_ref_kpa: 300.0,
        pressure_max_kpa: 450.0,
        flow_exponent: 0.5,
        radius_exponent: 0.4,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 4.0,
        joint_flow_lpm: 16.0,
        nozzles: nozzles
            .map(|(name, least, greatest, flow_lpm)| Nozzle {
                name: name.to_owned(),
                sweep_min_deg: least,
                sweep_max_deg: greatest,
                flow_lpm,
                flow_follows_arc: false,
            })
            .into(),
        price: 24.0,
    }
}

fn spray() -> HeadModel {
    HeadModel {
        name: "spray 4 m".to_owned(),
        family: "spray".to_owned(),
        rate_class: "spray".to_owned(),
        rate_mm_h: 40.0,
        radius_min_m: 3.0,
        radius_max_m: 4.0,
        pressure_min_kpa: 150.0,
        pressure_ref_kpa: 200.0,
        pressure_max_kpa: 350.0,
        flow_exponent: 0.5,
        radius_exponent: 0.4,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 3.0,
        joint_flow_lpm: 10.7,
        nozzles: vec![Nozzle {
            name: "adjustable".to_owned(),
            sweep_min_deg: 25.0,
            sweep_max_deg: 360.0,
            flow_lpm: 10.67,
            flow_follows_arc: true,
        }],
        price: 7.0,
    }
}
