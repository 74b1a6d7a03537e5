//! The layers of a design as intake reads them again.

use super::Site;
use crate::design::edits::base_mark;
use crate::design::model::{Design, Head, Ids, Section};
use crate::site::Edits;
use crate::site::edits::{EditedHead, EditedLine, EditedPoint, Hand, LeftOut, LineKind, PointKind};

impl Site {
    /// The layers of a design as they are written, but for rounding.
    pub(super) fn layers(&self, design: &Design) -> Edits {
        let catalogue = &self.project.catalogue;
        let hand = |id: String, pinned: bool| Hand {
            id: Some(id),
            pinned,
            changed: false,
        };
        let ids = &design.ids;
        let head = |(i, head): (usize, &Head)| {
            let model = &catalogue.heads[head.model];
            EditedHead {
                hand: hand(ids.head(i), design.pins.heads.contains(&i)),
                position: head.position,
                model: Some(model.name.clone()),
                nozzle: Some(model.nozzles[head.nozzle].name.clone()),
                arc_deg: Some((head.arc.start_deg, head.arc.sweep_deg)),
                radius_m: Some(head.radius_m),
                one_row: head.one_row,
            }
        };
        let number = Ids::number;
        let at = |node: usize| design.nodes[node].position;
        let point = |kind, id, pinned, position, size| EditedPoint {
            hand: hand(id, pinned),
            kind,
            position,
            section: None,
            size,
        };
        let valves = design.valves.iter().enumerate().map(|(i, valve)| {
            let id = format!("valve-{:02}", number(&ids.valves, i));
            let pinned = design.pins.valves.contains(&i);
            point(
                PointKind::Valve,
                id,
                pinned,
                at(valve.node),
                Some(valve.size.clone()),
            )
        });
        let drains = design.drains.iter().enumerate().map(|(i, drain)| {
            let id = format!("drain-{:02}", number(&ids.drains, i));
            point(
                PointKind::Drain,
                id,
                design.pins.drains.contains(&i),
                at(drain.node),
                None,
            )
        });
        let nodes = design.nodes.iter().enumerate().map(|(i, node)| {
            let id = format!("node-{:04}", number(&ids.nodes, i));
            point(
                PointKind::Node,
                id,
                design.pins.nodes.contains(&i),
                node.position,
                None,
            )
        });
        let mut counts = [0, 0];
        let pipes = design.pipes.iter().enumerate().map(|(i, pipe)| {
            let main = pipe.section == Section::Main;
            counts[usize::from(main)] += 1;
            let number = ids
                .pipes
                .get(i)
                .copied()
                .unwrap_or(counts[usize::from(main)]);
            let size = &catalogue.pipes[pipe.size];
            let (kind, id) = if main {
                (LineKind::Main, format!("main-{number:03}"))
            } else {
                (LineKind::Lateral, format!("lateral-{number:04}"))
            };
            EditedLine {
                hand: hand(id, design.pins.pipes.contains(&i)),
                kind,
                line: pipe.line.clone(),
                material: Some(size.material.clone()),
                nominal: Some(size.nominal.clone()),
            }
        });
        let left_out = design.findings.iter().filter(|f| f.code == "head_left_out");
        Edits {
            file: "hand".to_owned(),
            base: Some(base_mark(design)),
            of_edited: design.findings.iter().any(|f| f.code == "edits_effect"),
            heads: design.heads.iter().enumerate().map(head).collect(),
            points: valves.chain(drains).chain(nodes).collect(),
            lines: pipes.collect(),
            left_out: left_out
                .filter_map(|finding| finding.place)
                .map(|position| LeftOut { id: None, position })
                .collect(),
        }
    }
}
