//! The built-in heads: generic and invented, after no maker's goods. Figures are rounded from common practice, no source.
//!
//! Stream heads and rotors are all matched to one rate, so that 2 m and 12 m throws may share a turf and a station.
//! The sprays for the narrowest strips apply three times as fast and form a class of their own.

use super::catalogue::{HeadModel, Nozzle, Profile};

/// Rate of the slow class at head-to-head square spacing, mm/h.
const SLOW_MM_H: f64 = 12.0;
/// Rate of the fast class at head-to-head square spacing, mm/h.
const FAST_MM_H: f64 = 36.0;
/// Step between the nozzles of a stream or spray head: each rate lies within 6 % of its class.
const ARC_STEP: f64 = 1.12;
/// Step between the nozzles of a rotor: each rate lies within 7.5 % of its class.
const FIXED_STEP: f64 = 1.15;

/// The models, by falling radius.
pub fn heads() -> Vec<HeadModel> {
    vec![
        rotor("rotor-13", 9.0, 13.5, 46.0),
        rotor("rotor-10", 6.5, 10.0, 34.0),
        stream("stream-7", 4.8, 7.2, 22.0),
        stream("stream-5", 3.0, 5.2, 19.0),
        stream("stream-3", 1.8, 3.2, 17.0),
        spray("spray-2", 1.0, 1.8, 9.0),
    ]
}

/// Flow of a full circle of radius `radius_m` at a rate, L/min: a head serves the square of its radius.
fn full_circle_lpm(rate_mm_h: f64, radius_m: f64) -> f64 {
    rate_mm_h * radius_m * radius_m / 60.0
}

/// Flows from `least` up to at least `most` in equal ratios no greater than `step`.
fn series(least: f64, most: f64, step: f64) -> Vec<f64> {
    let steps = ((most / least).ln() / step.ln()).ceil().max(1.0);
    (0..=steps as usize)
        .map(|i| least * (most / least).powf(i as f64 / steps))
        .map(|flow| (flow * 100.0).round() / 100.0)
        .collect()
}

fn nozzles(flows: &[f64], sweep_min_deg: f64, flow_follows_arc: bool) -> Vec<Nozzle> {
    flows
        .iter()
        .map(|&flow_lpm| Nozzle {
            name: format!("{flow_lpm:.2}"),
            sweep_min_deg,
            sweep_max_deg: 360.0,
            flow_lpm,
            flow_follows_arc,
        })
        .collect()
}

fn rotor(name: &str, radius_min_m: f64, radius_max_m: f64, price: f64) -> HeadModel {
    let least = full_circle_lpm(SLOW_MM_H, radius_min_m) * 40.0 / 360.0;
    let most = full_circle_lpm(SLOW_MM_H, radius_max_m);
    HeadModel {
        name: name.to_owned(),
        family: "rotor".to_owned(),
        rate_class: "slow".to_owned(),
        rate_mm_h: SLOW_MM_H,
        radius_min_m,
        radius_max_m,
        pressure_min_kpa: 200.0,
        pressure_ref_kpa: 300.0,
        pressure_max_kpa: 450.0,
        flow_exponent: 0.5,
        radius_exponent: 0.25,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 6.0,
        joint_flow_lpm: 30.0,
        nozzles: nozzles(&series(least, most, FIXED_STEP), 40.0, false),
        price,
    }
}

fn stream(name: &str, radius_min_m: f64, radius_max_m: f64, price: f64) -> HeadModel {
    let least = full_circle_lpm(SLOW_MM_H, radius_min_m);
    let most = full_circle_lpm(SLOW_MM_H, radius_max_m);
    HeadModel {
        name: name.to_owned(),
        family: "stream".to_owned(),
        rate_class: "slow".to_owned(),
        rate_mm_h: SLOW_MM_H,
        radius_min_m,
        radius_max_m,
        pressure_min_kpa: 170.0,
        pressure_ref_kpa: 250.0,
        pressure_max_kpa: 350.0,
        flow_exponent: 0.5,
        radius_exponent: 0.3,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 3.0,
        joint_flow_lpm: 12.0,
        nozzles: nozzles(&series(least, most, ARC_STEP), 40.0, true),
        price,
    }
}

fn spray(name: &str, radius_min_m: f64, radius_max_m: f64, price: f64) -> HeadModel {
    let least = full_circle_lpm(FAST_MM_H, radius_min_m);
    let most = full_circle_lpm(FAST_MM_H, radius_max_m);
    HeadModel {
        name: name.to_owned(),
        family: "spray".to_owned(),
        rate_class: "fast".to_owned(),
        rate_mm_h: FAST_MM_H,
        radius_min_m,
        radius_max_m,
        pressure_min_kpa: 130.0,
        pressure_ref_kpa: 200.0,
        pressure_max_kpa: 300.0,
        flow_exponent: 0.5,
        radius_exponent: 0.4,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 2.0,
        joint_flow_lpm: 8.0,
        nozzles: nozzles(&series(least, most, ARC_STEP), 30.0, true),
        price,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_radius_and_sweep_finds_a_nozzle_within_a_tenth_of_its_rate() {
        for model in heads() {
            for share in 0..=10 {
                let radius = model.radius_min_m
                    + f64::from(share) / 10.0 * (model.radius_max_m - model.radius_min_m);
                for sweep in [40.0, 90.0, 135.0, 180.0, 270.0, 360.0] {
                    let wanted = full_circle_lpm(model.rate_mm_h, radius) * sweep / 360.0;
                    let off = model
                        .nozzles
                        .iter()
                        .map(|n| {
                            n.flow_lpm
                                * if n.flow_follows_arc {
                                    sweep / 360.0
                                } else {
                                    1.0
                                }
                        })
                        .map(|flow| (flow / wanted - 1.0).abs())
                        .fold(f64::INFINITY, f64::min);
                    assert!(off < 0.10, "{} {radius} m {sweep}: {off}", model.name);
                }
            }
        }
    }

    #[test]
    fn flows_rise_and_names_are_unique() {
        for model in heads() {
            let rising = model
                .nozzles
                .windows(2)
                .all(|n| n[0].flow_lpm < n[1].flow_lpm);
            let named = model.nozzles.windows(2).all(|n| n[0].name != n[1].name);
            assert!(rising && named, "{}", model.name);
        }
    }
}
