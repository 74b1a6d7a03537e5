//! Changes by hand, by chance.

use crate::site::Edits;
use crate::site::edits::{EditedPoint, Hand, LeftOut, PointKind};
use geo::Coord;
use proptest::prelude::*;

/// One change by hand.
#[derive(Debug, Clone)]
pub(super) enum Change {
    Pin(usize),
    Move(usize, f64, f64),
    Narrow(usize),
    Remove(usize),
    Add(f64, f64, bool),
    PinPipe(usize),
    PinValve(usize),
    MoveValve(usize, f64, f64),
    PinDrain(usize),
}

pub(super) fn change() -> impl Strategy<Value = Change> {
    let off = -2.5..2.5f64;
    prop_oneof![
        any::<usize>().prop_map(Change::Pin),
        (any::<usize>(), off.clone(), off.clone()).prop_map(|(i, x, y)| Change::Move(i, x, y)),
        any::<usize>().prop_map(Change::Narrow),
        any::<usize>().prop_map(Change::Remove),
        (-28.0..28.0f64, -16.0..16.0f64, any::<bool>())
            .prop_map(|(x, y, set)| Change::Add(x, y, set)),
        any::<usize>().prop_map(Change::PinPipe),
        any::<usize>().prop_map(Change::PinValve),
        (any::<usize>(), -1.0..1.0f64, -1.0..1.0f64)
            .prop_map(|(i, x, y)| Change::MoveValve(i, x, y)),
        any::<usize>().prop_map(Change::PinDrain),
    ]
}

pub(super) fn points_of(edits: &mut Edits, kind: PointKind) -> Vec<&mut EditedPoint> {
    edits
        .points
        .iter_mut()
        .filter(|point| point.kind == kind)
        .collect()
}

pub(super) fn make(edits: &mut Edits, change: &Change) {
    let heads = edits.heads.len().max(1);
    match *change {
        Change::Pin(i) => edits.heads[i % heads].hand.pinned = true,
        Change::Move(i, x, y) => {
            let head = &mut edits.heads[i % heads];
            head.position = head.position + Coord { x, y };
            head.hand.changed = true;
        }
        Change::Narrow(i) => {
            let head = &mut edits.heads[i % heads];
            head.radius_m = head.radius_m.map(|radius_m| 0.9 * radius_m);
            head.hand.changed = true;
        }
        Change::Remove(i) if heads > 1 => {
            let head = edits.heads.remove(i % heads);
            edits.left_out.push(LeftOut {
                id: head.hand.id,
                position: head.position,
            });
        }
        Change::Remove(_) => {}
        Change::Add(x, y, set) => {
            let mut head = edits.heads[0].clone();
            head.hand = Hand {
                id: None,
                pinned: false,
                changed: true,
            };
            head.position = Coord { x, y };
            if !set {
                (head.model, head.nozzle, head.arc_deg, head.radius_m) = (None, None, None, None);
            }
            edits.heads.push(head);
        }
        Change::PinPipe(i) => {
            let count = edits.lines.len();
            edits.lines[i % count].hand.pinned = true;
        }
        Change::PinValve(i) => {
            let mut valves = points_of(edits, PointKind::Valve);
            let count = valves.len();
            valves[i % count].hand.pinned = true;
        }
        Change::MoveValve(i, x, y) => {
            let mut valves = points_of(edits, PointKind::Valve);
            let count = valves.len();
            let valve = &mut valves[i % count];
            valve.position = valve.position + Coord { x, y };
            valve.hand.changed = true;
        }
        Change::PinDrain(i) => {
            let mut drains = points_of(edits, PointKind::Drain);
            let count = drains.len();
            if count > 0 {
                drains[i % count].hand.pinned = true;
            }
        }
    }
}
