//! Pipe and valves of the built-in catalogue: generic, with invented roundings and prices.

use crate::brief::builtin_heads;
use crate::brief::catalogue::{Catalogue, Friction, PipeSize, ValveSize};

/// A pressure class of pipe.
struct Class {
    material: &'static str,
    /// Standard dimension ratio: outside diameter over wall.
    ratio: f64,
    rating_kpa: f64,
    /// Price over that of the thinnest class; invented, about as the wall.
    dearer: f64,
}

/// `p = 2 MRS / (C (SDR - 1))`, ISO 161-1 (from memory): with MRS 10 MPa and C 1.25 a ratio of 17 carries 1.0 MPa, of
/// 11 1.6 MPa.
const CLASSES: [Class; 2] = [
    Class {
        material: "pe",
        ratio: 17.0,
        rating_kpa: 1000.0,
        dearer: 1.0,
    },
    Class {
        material: "pe-16-bar",
        ratio: 11.0,
        rating_kpa: 1600.0,
        dearer: 1.4,
    },
];
/// Thinnest wall that is made; common practice, no source.
const WALL_LEAST_MM: f64 = 1.8;

/// Outside diameter in mm and length of a coil or bar in m; common sizes, no source.
const PIPES: [(f64, f64); 11] = [
    (20.0, 100.0),
    (25.0, 100.0),
    (32.0, 100.0),
    (40.0, 100.0),
    (50.0, 100.0),
    (63.0, 100.0),
    (75.0, 50.0),
    (90.0, 50.0),
    (110.0, 12.0),
    (125.0, 12.0),
    (160.0, 12.0),
];

/// Nominal bore, greatest flow in L/min, loss there in kPa, price: invented.
const VALVES: [(u32, f64, f64, f64); 6] = [
    (20, 40.0, 25.0, 28.0),
    (25, 80.0, 27.0, 36.0),
    (32, 130.0, 28.0, 55.0),
    (40, 220.0, 28.0, 78.0),
    (50, 400.0, 30.0, 115.0),
    (80, 900.0, 30.0, 310.0),
];

impl Catalogue {
    /// The built-in catalogue. Its goods are invented and stand for no maker's; its prices too.
    pub fn built_in() -> Self {
        Self {
            origin: "built-in generic catalogue: invented goods and prices, no maker's data"
                .to_owned(),
            heads: builtin_heads::heads(),
            pipes: pipes(),
            valves: VALVES.iter().map(valve).collect(),
        }
    }
}

/// Every size in every class, by rising inside diameter.
fn pipes() -> Vec<PipeSize> {
    let classes = CLASSES.iter();
    let mut pipes: Vec<PipeSize> = classes
        .flat_map(|class| PIPES.iter().map(|size| pipe(class, size)))
        .collect();
    pipes.sort_by(|a, b| a.inside_mm.total_cmp(&b.inside_mm));
    pipes
}

fn pipe(class: &Class, &(outside_mm, coil_m): &(f64, f64)) -> PipeSize {
    let wall_mm = ((outside_mm / class.ratio * 10.0).ceil() / 10.0).max(WALL_LEAST_MM);
    PipeSize {
        nominal: format!("{outside_mm:.0}"),
        material: class.material.to_owned(),
        outside_mm,
        inside_mm: ((outside_mm - 2.0 * wall_mm) * 10.0).round() / 10.0,
        roughness_c: 140.0,
        roughness_mm: PipeSize::PLASTIC_ROUGHNESS_MM,
        friction: Friction::default(),
        rating_kpa: class.rating_kpa,
        coil_m,
        price_per_m: invented_price_per_m(outside_mm, class.dearer),
        only_laid: false,
    }
}

/// Grows about with the square of the diameter, as the material does; invented.
fn invented_price_per_m(outside_mm: f64, dearer: f64) -> f64 {
    let price = 0.25 + 0.001_3 * outside_mm * outside_mm * dearer;
    (price * 100.0).round() / 100.0
}

fn valve(&(bore, flow_max_lpm, loss_kpa, price): &(u32, f64, f64, f64)) -> ValveSize {
    ValveSize {
        size: format!("DN{bore}"),
        flow_max_lpm,
        loss_kpa,
        price,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wall_carries_the_rating() {
        for pipe in Catalogue::built_in().pipes {
            let wall_mm = (pipe.outside_mm - pipe.inside_mm) / 2.0;
            let carries_kpa = 2.0 * 10_000.0 / (1.25 * (pipe.outside_mm / wall_mm - 1.0));
            assert!(
                carries_kpa >= pipe.rating_kpa - 1e-6,
                "{}: {carries_kpa}",
                pipe.nominal
            );
        }
    }
}
