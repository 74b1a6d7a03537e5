//! EPANET: a network written so that it computes with the same physics, and its answer read back.
//!
//! EPANET rounds its constants. Rather than allowing for that in the comparison, the input undoes it: everything is
//! told in EPANET's own units (cubic feet per second, feet, inches), which it does not convert, and whatever it
//! multiplies by a rounded constant is told larger or smaller by the ratio of the exact constant to the rounded one.
//!
//! Flows are told a thousand times as large, with lengths, coefficients, outlets and viscosity to match, so that heads
//! stay what they are. For EPANET lets 1e-6 ft³/s through whatever is shut, which is millimetres of head
//! in a small pipe.
//!
//! The constants are those of EPANET 2.2 and 2.3 (Rossman et al. 2020, EPA/600/R-20/133, chapters 3 and 12, and the
//! public source: `types.h`, `hydcoeffs.c`, `input1.c`, from memory); that they are right is shown by the agreement.

use super::super::python;
use super::super::told::{Friction, Kind, Link, Pipe, Told};
use serde_json::Value;
use std::f64::consts::PI;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Metres in a foot, exact.
const FOOT_M: f64 = 0.3048;
/// Cubic metres in a cubic foot, exact. EPANET's own, used with metric units, is 28.317 L.
const CUBIC_FOOT_M3: f64 = FOOT_M * FOOT_M * FOOT_M;
/// Standard gravity in ft/s².
const GRAVITY_FT_S2: f64 = 9.806_65 / FOOT_M;
/// Gravity in its Darcy–Weisbach loss, `L / (2 · 32.2 · d A²)`.
const DARCY_GRAVITY_FT_S2: f64 = 32.2;
/// Its `8 / (π² g)`, ft and s, in minor losses: `h = 0.02517 K q² / d⁴`.
const MINOR_FACTOR: f64 = 0.025_17;
/// Pounds per square inch in a foot of water, by which its emitters and valves turn pressure into head.
const PSI_PER_FOOT: f64 = 0.4333;
/// How much larger flows are told.
const SCALE: f64 = 1000.0;
/// Its unit of viscosity, ft²/s.
const VISCOSITY_FT2_S: f64 = 1.1e-5;
/// A flow of 1 m³/s as it is told, ft³/s.
const FLOW: f64 = SCALE / CUBIC_FOOT_M3;
/// Bore of valves, feet: any will do, their loss is told as a resistance.
const VALVE_FT: f64 = 1.0;

/// Solves each file; prints an object a line. Heads in feet, flows in cubic feet per second.
///
/// EPANET is asked for as small a change of flows in its last step as it can reach, if need be with smaller steps
/// (`DAMPLIMIT`): how far it gets depends on the pipes without flow in a network.
const SCRIPT: &str = "
import json, sys, warnings
from epanet import toolkit as en
warnings.simplefilter('ignore')  # it warns of low pressure

WAYS = [(1e-8, 0), (1e-7, 0), (1e-7, 1), (1e-6, 0), (1e-6, 1), (1e-5, 0), (1e-5, 1)]

def solve(p):
    for accuracy, damping in WAYS:
        en.setoption(p, en.ACCURACY, accuracy)
        en.setoption(p, en.DAMPLIMIT, damping)
        en.initH(p, en.INITFLOW)
        try:
            en.runH(p)
            off = en.getstatistic(p, en.RELATIVEERROR)
        except Exception:  # 'cannot solve network hydraulic equations'
            off = float('inf')
        if off <= accuracy:
            break
    return off

for path in sys.argv[1:]:
    p = en.createproject()
    en.open(p, path, path + '.rpt', '')
    en.setoption(p, en.EMITBACKFLOW, 0)  # an outlet draws no water in
    en.openH(p)
    off = solve(p)
    nodes = {en.getnodeid(p, i): (en.getnodevalue(p, i, en.HEAD), en.getnodevalue(p, i, en.DEMAND))
             for i in range(1, en.getcount(p, en.NODECOUNT) + 1)}
    links = {en.getlinkid(p, i): en.getlinkvalue(p, i, en.FLOW)
             for i in range(1, en.getcount(p, en.LINKCOUNT) + 1)}
    shut = [en.getlinkid(p, i) for i in range(1, en.getcount(p, en.LINKCOUNT) + 1)
            if en.getlinkvalue(p, i, en.STATUS) == 0]
    print(json.dumps({'nodes': nodes, 'links': links, 'off': min(off, 1e9), 'shut': shut}))
    en.closeH(p)
    en.close(p)
    en.deleteproject(p)
";

/// What EPANET found.
#[derive(Debug)]
pub struct Answer {
    /// Head at each node, m.
    pub head_m: Vec<f64>,
    /// Flow out at each node, demand and outlet, m³/s.
    pub out_m3s: Vec<f64>,
    /// Flow in each link, m³/s.
    pub flow_m3s: Vec<f64>,
    /// Nodes that only what is shut joins to a source.
    pub cut_off: Vec<bool>,
    /// Flows changed in its last step over all flows.
    pub off: f64,
}

/// EPANET's answers, in the order of the networks; `None` where Python or the library is missing.
pub fn answers(told: &[Told]) -> Option<Vec<Answer>> {
    let python = python::with("epanet.toolkit")?;
    let folder = tempfile::tempdir().unwrap();
    let mut lines = String::new();
    // In parts: a command line has an end.
    for (part, told) in told.chunks(50).enumerate() {
        let place = |index| folder.path().join(format!("{part}-{index}.inp"));
        lines.push_str(&asked(&python, told, place));
    }
    let answers: Vec<Answer> = lines
        .lines()
        .zip(told)
        .map(|(line, told)| read(&serde_json::from_str(line).unwrap(), told))
        .collect();
    assert_eq!(answers.len(), told.len());
    Some(answers)
}

fn asked(python: &Path, told: &[Told], place: impl Fn(usize) -> PathBuf) -> String {
    let mut arguments = vec![PathBuf::from("-c"), PathBuf::from(SCRIPT)];
    for (index, told) in told.iter().enumerate() {
        std::fs::write(place(index), text(told)).unwrap();
        arguments.push(place(index));
    }
    python::told(python, &arguments)
}

fn read(answer: &Value, told: &Told) -> Answer {
    let number = |value: &Value| value.as_f64().unwrap_or(f64::NAN);
    let node = |index: usize, which: usize| number(&answer["nodes"][format!("n{index}")][which]);
    let out = |index: usize| {
        // The opening of an outlet behind a joint is a node of its own.
        let opening = &answer["nodes"][format!("o{index}")][1];
        node(index, 1) + opening.as_f64().unwrap_or(0.0)
    };
    let (nodes, links) = (0..told.nodes.len(), 0..told.links.len());
    Answer {
        head_m: nodes.clone().map(|i| node(i, 0) * FOOT_M).collect(),
        out_m3s: nodes.map(|i| out(i) / FLOW).collect(),
        flow_m3s: links
            .map(|i| number(&answer["links"][format!("l{i}")]) / FLOW)
            .collect(),
        cut_off: cut_off(answer, told),
        off: number(&answer["off"]),
    }
}

fn cut_off(answer: &Value, told: &Told) -> Vec<bool> {
    let shut = answer["shut"].as_array().unwrap();
    let links = told.links.iter().enumerate();
    let open: Vec<&Link> = links
        .filter(|(index, _)| !shut.contains(&Value::from(format!("l{index}"))))
        .map(|(_, link)| link)
        .collect();
    let mut cut_off: Vec<bool> = told
        .nodes
        .iter()
        .map(|node| node.fixed_head_m.is_none())
        .collect();
    while let Some(link) = open
        .iter()
        .find(|link| cut_off[link.from] != cut_off[link.to])
    {
        (cut_off[link.from], cut_off[link.to]) = (false, false);
    }
    cut_off
}

/// The sections of an input file.
#[derive(Default)]
struct Sections {
    reservoirs: String,
    junctions: String,
    emitters: String,
    pipes: String,
    pumps: String,
    valves: String,
    curves: String,
}

/// A network as EPANET's input.
///
/// `HTOL` and `QTOL` are the differences that its valves take for none: 0.0005 ft and 0.0001 ft³/s as they come, too
/// much to compare by.
pub fn text(told: &Told) -> String {
    let mut sections = Sections::default();
    for index in 0..told.nodes.len() {
        sections.node(told, index);
    }
    for (index, link) in told.links.iter().enumerate() {
        sections.link(told.friction, index, link);
    }
    let (headloss, viscosity) = match told.friction {
        Friction::HazenWilliams => ("H-W", 1.0),
        // The same Reynolds number at the larger flow.
        Friction::DarcyWeisbach { viscosity_m2_s } => (
            "D-W",
            SCALE * viscosity_m2_s / (FOOT_M * FOOT_M) / VISCOSITY_FT2_S,
        ),
    };
    let Sections {
        reservoirs,
        junctions,
        emitters,
        pipes,
        pumps,
        valves,
        curves,
    } = sections;
    format!(
        "[RESERVOIRS]\n{reservoirs}[JUNCTIONS]\n{junctions}[EMITTERS]\n{emitters}[PIPES]\n{pipes}\
         [PUMPS]\n{pumps}[VALVES]\n{valves}[CURVES]\n{curves}\
         [OPTIONS]\nUNITS CFS\nHEADLOSS {headloss}\nVISCOSITY {viscosity}\nTRIALS 300\nACCURACY 0.00001\n\
         HEADERROR 0.0000001\nHTOL 0.0000001\nQTOL 0.000000001\nEMITTER EXPONENT {}\n[END]\n",
        told.exponent
    )
}

impl Sections {
    fn node(&mut self, told: &Told, index: usize) {
        let node = &told.nodes[index];
        if let Some(head_m) = node.fixed_head_m {
            writeln!(self.reservoirs, "n{index} {}", head_m / FOOT_M).unwrap();
            return;
        }
        let demand = node.demand_m3s * FLOW;
        writeln!(
            self.junctions,
            "n{index} {} {demand}",
            node.elevation_m / FOOT_M
        )
        .unwrap();
        let Some(outlet) = node.outlet else { return };
        // `q = C (0.4333 h)^x`, h in feet; ours is `q = k (0.3048 h)^x`.
        let coefficient = outlet.k * FLOW * (FOOT_M / PSI_PER_FOOT).powf(outlet.exponent);
        assert_eq!(outlet.exponent, told.exponent, "one exponent a network");
        if outlet.resistance == 0.0 && outlet.elevation_m == node.elevation_m {
            writeln!(self.emitters, "n{index} {coefficient}").unwrap();
        } else {
            writeln!(self.junctions, "o{index} {} 0", outlet.elevation_m / FOOT_M).unwrap();
            writeln!(self.emitters, "o{index} {coefficient}").unwrap();
            let ends = format!("j{index} n{index} o{index}");
            self.loss(&ends, outlet.resistance);
        }
    }

    fn link(&mut self, friction: Friction, index: usize, link: &Link) {
        let ends = format!("l{index} n{} n{}", link.from, link.to);
        match &link.kind {
            Kind::Pipe(pipe) => self.pipe(friction, &ends, pipe, "OPEN"),
            Kind::Check(pipe) => self.pipe(friction, &ends, pipe, "CV"),
            &Kind::Loss(resistance) => self.loss(&ends, resistance),
            Kind::Supply(supply) => {
                writeln!(self.pumps, "{ends} HEAD c{index}").unwrap();
                for (flow_m3s, head_m) in &supply.points {
                    let (flow, head) = (flow_m3s * FLOW, head_m / FOOT_M);
                    writeln!(self.curves, "c{index} {flow} {head}").unwrap();
                }
            }
            &Kind::Regulator {
                pressure_m,
                resistance,
            } => {
                let psi = pressure_m / FOOT_M * PSI_PER_FOOT;
                let k = valve_k(resistance);
                writeln!(self.valves, "{ends} {} PRV {psi} {k}", VALVE_FT * 12.0).unwrap();
            }
        }
    }

    fn pipe(&mut self, friction: Friction, ends: &str, pipe: &Pipe, status: &str) {
        let (length_m, roughness) = match friction {
            Friction::HazenWilliams => (pipe.length_m / SCALE.powf(1.852), pipe.roughness),
            // Its gravity is not ours; roughness in thousandths of a foot.
            Friction::DarcyWeisbach { .. } => (
                pipe.length_m / (SCALE * SCALE) * DARCY_GRAVITY_FT_S2 / GRAVITY_FT_S2,
                pipe.roughness / FOOT_M,
            ),
        };
        let exact = 8.0 / (PI * PI * GRAVITY_FT_S2);
        let minor_k = pipe.minor_k / (SCALE * SCALE) * exact / MINOR_FACTOR;
        let inches = pipe.inside_mm / 25.4;
        let length = length_m / FOOT_M;
        writeln!(
            self.pipes,
            "{ends} {length} {inches} {roughness} {minor_k} {status}"
        )
        .unwrap();
    }

    fn loss(&mut self, ends: &str, resistance: f64) {
        let inches = VALVE_FT * 12.0;
        writeln!(self.valves, "{ends} {inches} TCV {} 0", valve_k(resistance)).unwrap();
    }
}

/// The coefficient that gives EPANET's valve a resistance, told in m per (m³/s)².
fn valve_k(resistance: f64) -> f64 {
    let in_feet = resistance / (FLOW * FLOW) / FOOT_M;
    in_feet * VALVE_FT.powi(4) / MINOR_FACTOR
}
