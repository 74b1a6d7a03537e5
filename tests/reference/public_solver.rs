//! Random and published networks solved here and by EPANET, where Python and `owa-epanet` are installed.
//!
//! Every pressure agrees within 0.01 kPa and every flow within 1e-4: EPANET is told the same physics (`epanet.rs`).
//! Nothing is left out for low pressure: an outlet against suction gives nothing in both.

mod compare;
mod draw;
mod epanet;
mod published;
mod valves;

use super::told::{Friction, Kind, Supply, Told};
use compare::{Worst, compare};
use draw::{Dice, Wish, draw};
use swardline::brief::Rules;
use swardline::design::hydraulics::{Node, SourceCurve};
use swardline::design::supply::SupplyCurve;
use swardline::site::{SupplyTest, WaterPoint};

const PLAIN: Wish = Wish {
    loops: 0,
    friction: Friction::HazenWilliams,
    exponent: 0.5,
    source_m: (20.0, 80.0),
};

/// Networks of one family, each of its own seed.
fn family(count: u64, seed: u64, one: impl Fn(&mut Dice) -> Told) -> Vec<Told> {
    (0..count)
        .map(|number| one(&mut Dice::new(1000 * seed + number)))
        .collect()
}

/// All were solved by both.
fn whole(worst: Option<Worst>, networks: usize) {
    if let Some(worst) = worst {
        assert_eq!((worst.networks, worst.unsolved), (networks, 0), "{worst:?}");
    }
}

#[test]
fn trees_agree() {
    let told = family(200, 1, |dice| draw(dice, &PLAIN));
    let worst = compare("trees", &told);
    // Sources from 20 m over ground up to 25 m: some heads stay dry, and that is compared too.
    assert!(worst.as_ref().is_none_or(|worst| worst.dry_outlets > 20));
    whole(worst, 200);
}

#[test]
fn loops_agree() {
    let told = family(100, 2, |dice| {
        let loops = 1 + dice.below(6);
        draw(dice, &Wish { loops, ..PLAIN })
    });
    whole(compare("loops", &told), 100);
}

#[test]
fn other_exponents_agree() {
    let told = family(100, 3, |dice| {
        let (loops, exponent) = (dice.below(4), dice.between(0.3, 1.3));
        draw(
            dice,
            &Wish {
                loops,
                exponent,
                ..PLAIN
            },
        )
    });
    whole(compare("exponents 0.3 to 1.3", &told), 100);
}

#[test]
fn darcy_weisbach_agrees() {
    let told = family(100, 4, |dice| {
        let loops = dice.below(4);
        // Water of 30 to 5 °C.
        let viscosity_m2_s = dice.between(0.8e-6, 1.52e-6);
        let friction = Friction::DarcyWeisbach { viscosity_m2_s };
        draw(
            dice,
            &Wish {
                loops,
                friction,
                ..PLAIN
            },
        )
    });
    whole(compare("Darcy-Weisbach", &told), 100);
}

/// `h = a - b q^c`, the law of EPANET's three-point pump (Rossman et al. 2020, EPA/600/R-20/133, chapter 3).
#[derive(Debug)]
struct PowerPump {
    shutoff_m: f64,
    fall: f64,
    order: f64,
}

impl SourceCurve for PowerPump {
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        let per_flow = self.fall * flow_m3s.max(0.0).powf(self.order - 1.0);
        (self.shutoff_m - per_flow * flow_m3s, -self.order * per_flow)
    }
}

/// The same network behind a supply on a reservoir at ground level, in place of its first node.
fn behind(mut told: Told, ground_m: f64, supply: Supply) -> Told {
    told.nodes[0] = Node::junction(ground_m, 0.0);
    let reservoir = told.add_node(Node::reservoir(ground_m));
    told.add_link(reservoir, 0, Kind::Supply(supply));
    told
}

#[test]
fn three_point_pumps_agree() {
    let told = family(60, 5, |dice| {
        let loops = dice.below(3);
        let told = draw(dice, &Wish { loops, ..PLAIN });
        let (shutoff_m, order) = (dice.between(35.0, 90.0), dice.between(1.2, 2.5));
        let most_m3s: f64 = dice.between(1e-3, 8e-3);
        let fall = 0.8 * shutoff_m / most_m3s.powf(order);
        let pump = PowerPump {
            shutoff_m,
            fall,
            order,
        };
        let point = |flow: f64| (flow, pump.head_and_slope(flow).0);
        let points = vec![point(0.0), point(0.6 * most_m3s), point(most_m3s)];
        let curve = Box::new(pump);
        behind(told, 2.0, Supply { curve, points })
    });
    whole(compare("three-point pumps", &told), 60);
}

/// One of the four ways a supply can be told, each in turn.
fn supply_test(dice: &mut Dice) -> (SupplyTest, Vec<f64>) {
    let (kpa, lpm) = (dice.between(350.0, 800.0), dice.between(60.0, 400.0));
    match dice.below(4) {
        0 => {
            let test = SupplyTest::FlowTest {
                static_kpa: kpa,
                residual_kpa: 0.7 * kpa,
                residual_lpm: lpm,
            };
            (test, Vec::new())
        }
        1 => {
            let test = SupplyTest::Bucket {
                static_kpa: kpa,
                bucket_l: 10.0,
                bucket_s: 600.0 / lpm,
            };
            (test, Vec::new())
        }
        2 => {
            let shares = [(0.0, 1.0), (0.4, 0.97), (0.7, 0.88), (1.0, 0.7), (1.4, 0.3)];
            let points = shares.map(|(q, p)| (q * lpm, p * kpa)).to_vec();
            (
                SupplyTest::Pump(points),
                shares.map(|(q, _)| q * lpm).to_vec(),
            )
        }
        _ => {
            let test = SupplyTest::DesignPoint {
                design_lpm: lpm,
                design_kpa: kpa,
            };
            // Where the curve bends.
            (test, vec![lpm, 1.01 * lpm])
        }
    }
}

/// The program's own supply curve, which EPANET knows as straight lines between many points of it.
#[test]
fn supply_curves_agree() {
    let told = family(100, 6, |dice| {
        let loops = dice.below(3);
        let told = draw(dice, &Wish { loops, ..PLAIN });
        let (test, bends_lpm) = supply_test(dice);
        let point = WaterPoint {
            id: "tap".into(),
            position: geo::Coord { x: 0.0, y: 0.0 },
            test,
            meter_loss_kpa: Some(dice.between(5.0, 40.0)),
            backflow_loss_kpa: Some(dice.between(20.0, 60.0)),
            service: None,
        };
        let curve = SupplyCurve::of(&point, &Rules::default()).unwrap();
        let points = points(&curve, &bends_lpm);
        let curve = Box::new(curve);
        behind(told, 2.0, Supply { curve, points })
    });
    whole(compare("supply curves", &told), 100);
}

/// Flow m³/s and head m at 2000 places and at the bends. EPANET wants each head to lie under the one before.
fn points(curve: &SupplyCurve, bends_lpm: &[f64]) -> Vec<(f64, f64)> {
    let most_lpm = curve.whole_flow_lpm(0.0);
    let even = (0..=2000).map(|step| 1.02 * most_lpm * f64::from(step) / 2000.0);
    let mut flows_lpm: Vec<f64> = even.chain(bends_lpm.iter().copied()).collect();
    flows_lpm.sort_by(f64::total_cmp);
    flows_lpm.dedup();
    let flows = flows_lpm.into_iter().map(|lpm| lpm / 60_000.0);
    flows
        .map(|flow| (flow, curve.head_and_slope(flow).0))
        .collect()
}
