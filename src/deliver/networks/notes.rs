//! Title and comments: what the file is of, its units, and what is approximated in it.

use super::plan::Plan;
use super::rounding::DEVICE_BORE_MM;
use super::sheet::Sheet;
use crate::brief::Friction;
use crate::design::supply::SourceForm;

/// Writes title and comments.
pub(super) fn write(plan: &Plan, exponent: f64, sheet: &mut Sheet) {
    let (version, parcel) = (env!("CARGO_PKG_VERSION"), &plan.job.parcel.id);
    sheet.title(&format!(
        "{}, parcel {parcel}, swardline {version}",
        plan.name()
    ));
    units(sheet);
    if let Friction::DarcyWeisbach { .. } = plan.friction {
        friction(sheet);
    }
    supply(plan, sheet);
    heads(plan, exponent, sheet);
    places(plan, sheet);
}

fn units(sheet: &mut Sheet) {
    for line in [
        "Units: flow L/min, length and height m, bore mm, pressure m of water; 1 m = 9.80665 kPa.",
        "Behind a node stands the pressure in kPa that the design tells for it while this station runs.",
        "Why metres: EPANET has them exactly; its own kPa come out 0.05 per cent low, 0.2 kPa at 400 kPa.",
        "Why L/min: the design's own unit. EPANET's cubic foot is rounded alike in all its metric units",
        "(1699 L/min), which costs 0.001 per cent of friction.",
        "Fittings: EPANET's 0.02517 K/d^4 is 0.09 per cent below 8 K/(pi^2 g d^4); K of pipes is greater by that",
        "than the design's minor_k, so that the loss is the one meant.",
    ] {
        sheet.note(line);
    }
    sheet.note(&format!(
        "Devices (meter, backflow, valve, riser): K is on the velocity in a bore of {DEVICE_BORE_MM} mm, which only"
    ));
    sheet.note("carries it, and such that EPANET computes the loss meant: q^2 through the device's loss at its flow.");
}

fn friction(sheet: &mut Sheet) {
    for line in [
        "APPROXIMATED: the design has Colebrook's friction factor, EPANET Swamee and Jain's, up to 2 per cent off,",
        "and a gravity of 32.2 ft/s^2. Lengths are changed by what that makes at the flows as solved; the true",
        "ones stand behind the pipes. A service pipe, known by its Hazen-Williams C, is a curve.",
    ] {
        sheet.note(line);
    }
}

fn supply(plan: &Plan, sheet: &mut Sheet) {
    sheet.note(match plan.form() {
        SourceForm::Level { .. } => {
            "Supply: a reservoir at the pressure of the design point. Beyond its flow nothing is known, nor told here."
        }
        SourceForm::Power { .. } => {
            "Supply: a pump on a reservoir; EPANET's A - B q^C through three points is the law of the test."
        }
        SourceForm::Points(_) => {
            "Supply: a pump on a reservoir; straight lines through points, one of them at the flow as solved."
        }
    });
    sheet.note("Service pipe, meter and backflow preventer, where told, are elements of their own behind it.");
}

fn heads(plan: &Plan, exponent: f64, sheet: &mut Sheet) {
    sheet.note(
        "Heads: a short pipe for riser and joint, then the nozzle at ground level, an emitter",
    );
    sheet.note(&format!("q = k p^{exponent}, flows L/min, p in m."));
    let models = plan.heads().unwrap_or_default();
    if models.iter().any(|head| head.flow_lpm <= 0.0) {
        sheet.note(
            "Heads that get no water have a check valve: they draw none in, as emitters would.",
        );
    }
    let other = models
        .iter()
        .filter(|head| head.model.flow_exponent != exponent)
        .count();
    if other > 0 {
        sheet.note(&format!(
            "APPROXIMATED: EPANET has one exponent for all emitters. {other} of {} heads have another: their law is",
            models.len()
        ));
        sheet.note("a general purpose valve with a curve (straight lines, exact at the flow as solved, within");
        sheet.note(
            "0.01 per cent of the pressure near it) into a reservoir at the nozzle's height.",
        );
    }
}

fn places(plan: &Plan, sheet: &mut Sheet) {
    let frame = plan.job.parcel.frame;
    sheet
        .note("Elevations are inverts of the pipe, of nozzles and of their reservoirs the ground.");
    sheet.note(&format!(
        "Coordinates: m, transverse Mercator, scale 1, WGS 84, centre {} {} (longitude, latitude).",
        frame.lon0_deg, frame.lat0_deg
    ));
    sheet.note("Nozzles, the side before valves (NODE-in) and the supply are drawn up to some metres from their place.");
    sheet.note("Mains that lead to other stations only are left out: nothing runs in them.");
}
