//! Pipe and valves of the built-in catalogue: generic, with invented roundings and prices.

use crate::brief::builtin_heads;
use crate::brief::catalogue::{Catalogue, PipeSize, ValveSize};

/// Standard dimension ratio of the built-in pipe: outside diameter over wall.
///
/// `p = 2 MRS / (C (SDR - 1))`, ISO 161-1 (from memory): with MRS 10 MPa and C 1.25 SDR 17 carries 1.0 MPa.
const SDR: f64 = 17.0;
const RATING_KPA: f64 = 1000.0;
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
            pipes: PIPES
                .iter()
                .map(|&(outside, coil)| pipe(outside, coil))
                .collect(),
            valves: VALVES.iter().map(valve).collect(),
        }
    }
}

fn pipe(outside_mm: f64, coil_m: f64) -> PipeSize {
    let wall_mm = ((outside_mm / SDR * 10.0).ceil() / 10.0).max(WALL_LEAST_MM);
    PipeSize {
        nominal: format!("{outside_mm:.0}"),
        material: "pe".to_owned(),
        outside_mm,
        inside_mm: ((outside_mm - 2.0 * wall_mm) * 10.0).round() / 10.0,
        roughness_c: 140.0,
        rating_kpa: RATING_KPA,
        coil_m,
        price_per_m: invented_price_per_m(outside_mm),
    }
}

/// Grows about with the square of the diameter, as the material does; invented.
fn invented_price_per_m(outside_mm: f64) -> f64 {
    let price = 0.25 + 0.001_3 * outside_mm * outside_mm;
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
