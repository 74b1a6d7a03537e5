//! The mark of a design: whether two designs are so alike that their ids name the same things.

use crate::design::model::Design;
use crate::mark::Mark;

/// Parts of a metre that places count to: enough to tell designs apart, and no less on another machine.
const PARTS_OF_METRE: f64 = 100.0;

/// The mark of the design that the numbers of a design count on from: of its own things where they count from 1.
pub fn base_mark(design: &Design) -> String {
    let own = || {
        let part = |metres: f64| (metres * PARTS_OF_METRE).round() / PARTS_OF_METRE;
        let heads = design.heads.iter().fold(Mark::default(), |mark, head| {
            let at = head.position;
            let set = mark.number(part(at.x)).number(part(at.y));
            set.number(head.model as f64).number(head.nozzle as f64)
        });
        let nodes = design.nodes.iter().fold(heads, |mark, node| {
            let at = node.position;
            mark.number(part(at.x)).number(part(at.y))
        });
        let pipes = design.pipes.iter();
        pipes.fold(nodes, |mark, pipe| {
            mark.number(pipe.from as f64).number(pipe.to as f64)
        })
    };
    let base = design.ids.base.clone();
    base.unwrap_or_else(|| own().digits())
}
