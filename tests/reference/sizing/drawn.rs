//! Random stations and shared mains to size, and how they are told to others.

use serde_json::{Value, json};
use swardline::brief::{Catalogue, PipeSize};
use swardline::design::sizing::{
    Front, LateralProblem, MainPipe, MainProblem, SizeLimits, SizePipe, StationDemand,
    lateral_front,
};

/// Knuth's constants (The Art of Computer Programming vol. 2, 3.3.4, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15))
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        least + (most - least) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.between(0.0, count as f64) as usize).min(count - 1)
    }
}

/// The nine narrowest sizes of one material of the built-in catalogue: the wider, the dearer.
pub fn nine_sizes() -> Vec<PipeSize> {
    let pipes = Catalogue::built_in().pipes.into_iter();
    pipes.filter(|size| size.material == "pe").take(9).collect()
}

/// A station with the head that its valve gets.
pub struct Station {
    pub laterals: LateralProblem,
    pub head_m: f64,
}

/// Limits of all random stations: 20 % of 300 kPa between the heads of one.
pub fn limits() -> SizeLimits {
    SizeLimits {
        spread_m: Some(60.0 / 9.806_65),
        ..SizeLimits::default()
    }
}

/// A station of `count` pipes on rolling ground, with a head that its widest pipes get along with.
pub fn station(seed: u64, count: usize) -> Station {
    let mut dice = Dice::new(seed);
    // One in eight stands on ground so steep that no sizes may even its pressure out.
    let steep = if seed.is_multiple_of(8) { 3.0 } else { 1.0 };
    let fall_m = steep * dice.between(0.2, 1.6);
    let most_m = 3.3 * steep;
    let flow_lpm = (240.0 / count as f64).min(dice.between(4.0, 16.0));
    let branching = 1 + dice.below(5);
    let mut ground_m: Vec<f64> = Vec::with_capacity(count);
    let mut pipes: Vec<SizePipe> = Vec::with_capacity(count);
    for index in 0..count {
        let parent = index.checked_sub(1 + dice.below(branching.min(index.max(1))));
        let above_m = parent.map_or(0.0, |up| ground_m[up]);
        ground_m.push((above_m + dice.between(-fall_m, fall_m)).clamp(-most_m, most_m));
        pipes.push(SizePipe {
            parent,
            length_m: dice.between(5.0, 13.0),
            minor_k: dice.between(0.2, 2.0),
            flow_m3s: 0.0,
            down_need_m: None,
            down_floor_m: 0.0,
        });
    }
    let mut ends = vec![true; count];
    for pipe in &pipes {
        if let Some(up) = pipe.parent {
            ends[up] = false;
        }
    }
    for index in (0..count).rev() {
        if ends[index] || dice.below(4) > 0 {
            pipes[index].down_need_m = Some(ground_m[index] + 31.0);
            pipes[index].flow_m3s += dice.between(0.3, 1.7) * flow_lpm / 60_000.0;
        }
        if let Some(up) = pipes[index].parent {
            pipes[up].flow_m3s += pipes[index].flow_m3s;
        }
    }
    let laterals = LateralProblem {
        pipes,
        valve_need_m: None,
        valve_floor_m: 0.0,
    };
    let any = SizeLimits::default();
    let least_m = lateral_front(&laterals, &nine_sizes(), &any).points[0].need_m;
    Station {
        laterals,
        head_m: least_m + dice.between(0.5, 16.0),
    }
}

/// A main of `pipes` pipes with `stations` stations, each with few of its laterals' best points.
pub fn main_line(seed: u64, pipes: usize, stations: usize, minor_k: f64) -> MainProblem {
    let mut dice = Dice::new(seed);
    let main_pipe = |index: usize, dice: &mut Dice| MainPipe {
        parent: index.checked_sub(1 + dice.below(3.min(index.max(1)))),
        length_m: dice.between(8.0, 40.0),
        minor_k: minor_k * dice.between(0.0, 2.0),
        down_floor_m: 0.0,
    };
    let line = (0..pipes)
        .map(|index| main_pipe(index, &mut dice))
        .collect();
    let demand = |index: usize| {
        let count = 5 + dice.below(25);
        let station = station(seed * 1000 + index as u64, count);
        let front = lateral_front(&station.laterals, &nine_sizes(), &limits());
        let at_pipe = pipes - 1 - (index * pipes / stations).min(pipes - 1);
        StationDemand {
            at_pipe: Some(at_pipe),
            flow_m3s: station.laterals.pipes[0].flow_m3s,
            source_head_m: 0.0,
            valve_loss_m: 0.0,
            front: few_points(front),
        }
    };
    let mut main = MainProblem {
        pipes: line,
        source_floor_m: 0.0,
        stations: (0..stations).map(demand).collect(),
    };
    let needs = main.stations.iter().map(|s| s.front.points[0].need_m);
    let head_m = needs.fold(f64::NEG_INFINITY, f64::max) + 2.0 + 0.05 * pipes as f64;
    for station in &mut main.stations {
        station.source_head_m = head_m;
    }
    main
}

/// Some sixty of a front's points: a problem for both sides that an integer programme can still hold.
fn few_points(front: Front) -> Front {
    let every = front.points.len().div_ceil(60);
    let points: Vec<_> = front.points.into_iter().step_by(every).collect();
    Front {
        lower: points.iter().map(|p| (p.need_m, p.cost)).collect(),
        points,
        exact: true,
        broken: Vec::new(),
    }
}

fn told(body: (&str, Value)) -> Value {
    let sizes = nine_sizes();
    let sizes = sizes
        .iter()
        .map(|s| (s.inside_mm, s.roughness_c, s.price_per_m));
    json!({
        "sizes": sizes.collect::<Vec<_>>(),
        "velocity_most_m_s": limits().velocity_most_m_s,
        body.0: body.1,
    })
}

/// A station as `sizing_milp.py` reads it.
pub fn station_told(station: &Station) -> Value {
    let pipe = |pipe: &SizePipe| {
        json!({
            "parent": pipe.parent, "length_m": pipe.length_m, "minor_k": pipe.minor_k,
            "flow_m3s": pipe.flow_m3s, "need_m": pipe.down_need_m,
        })
    };
    let pipes: Vec<Value> = station.laterals.pipes.iter().map(pipe).collect();
    let lateral = json!({"pipes": pipes, "head_m": station.head_m, "spread_m": limits().spread_m});
    told(("lateral", lateral))
}

/// A main as `sizing_milp.py` reads it.
pub fn main_told(main: &MainProblem) -> Value {
    let pipe = |pipe: &MainPipe| json!({"parent": pipe.parent, "length_m": pipe.length_m, "minor_k": pipe.minor_k});
    let station = |station: &StationDemand| {
        let points = station.front.points.iter().map(|p| (p.need_m, p.cost));
        json!({
            "at_pipe": station.at_pipe, "flow_m3s": station.flow_m3s,
            "head_m": station.source_head_m - station.valve_loss_m,
            "points": points.collect::<Vec<_>>(),
        })
    };
    let pipes: Vec<Value> = main.pipes.iter().map(pipe).collect();
    let stations: Vec<Value> = main.stations.iter().map(station).collect();
    told(("main", json!({"pipes": pipes, "stations": stations})))
}
