//! The other heads re-designed round those that a person set.

use super::heads::{Asked, AskedHeads, Held};
use super::setting::distance_m;
use crate::brief::Project;
use crate::design::heads::{ChangePrices, Freedom, MendTask, Mended, Standing, mend};
use crate::design::model::Head;
use crate::finding::Finding;
use crate::site::Parcel;

/// Heads within this many radii of a change may be changed too.
const REACH_RADII: f64 = 2.0;
/// What changes cost on paper, where nothing is dug yet: setting is all but free, a head more is what a design avoids.
const PRICES: ChangePrices = ChangePrices {
    set: 1.0,
    replace: 3.0,
    remove: 1.0,
    moved: 5.0,
    added: 40.0,
};

/// The heads as re-designed.
pub(super) struct Around {
    pub(super) heads: Vec<Head>,
    /// What each was among those asked for; `None` where it is new.
    pub(super) from: Vec<Option<usize>>,
    pub(super) findings: Vec<Finding>,
}

/// Re-designs the heads near changes; the others stay.
pub(super) fn redesign(parcel: &Parcel, project: &Project, asked: &mut AskedHeads) -> Around {
    set_open(parcel, project, asked);
    let standing: Vec<Standing> = asked
        .heads
        .iter()
        .map(|head| Standing {
            head: head.head.clone(),
            freedom: freedom(head, asked),
        })
        .collect();
    let mut mended = mended(parcel, project, asked, &standing, true);
    keep_far_turf(&mut mended, asked, &standing);
    let kept = keeps_pins(&standing, &mended);
    debug_assert!(kept, "a fixed head was changed");
    if kept {
        return Around {
            heads: mended.heads,
            from: mended.from,
            findings: mended.findings,
        };
    }
    let message = "the heads near the edits could not be re-designed without changing what is pinned; the edits stand alone. Please report it with this parcel's files.";
    Around {
        from: (0..standing.len()).map(Some).collect(),
        heads: standing.into_iter().map(|standing| standing.head).collect(),
        findings: vec![Finding::error("edits_alone", message)],
    }
}

/// Gives heads whose setting was left open the one that suits them, all others as they are.
fn set_open(parcel: &Parcel, project: &Project, asked: &mut AskedHeads) {
    let open = |head: &Asked| head.held == Held::Changed { open: true };
    if !asked.heads.iter().any(open) {
        return;
    }
    let standing: Vec<Standing> = asked
        .heads
        .iter()
        .map(|head| Standing {
            head: head.head.clone(),
            freedom: if open(head) {
                Freedom::Set
            } else {
                Freedom::Fixed
            },
        })
        .collect();
    let set = mended(parcel, project, asked, &standing, false);
    for (head, from) in set.heads.into_iter().zip(set.from) {
        let Some(asked) = from.and_then(|from| asked.heads.get_mut(from)) else {
            continue;
        };
        if open(asked) && distance_m(asked.head.position, head.position) == 0.0 {
            asked.head = Head {
                position: asked.head.position,
                ..head
            };
        }
    }
}

fn mended(
    parcel: &Parcel,
    project: &Project,
    asked: &AskedHeads,
    standing: &[Standing],
    may_add: bool,
) -> Mended {
    let task = MendTask {
        standing,
        prices: PRICES,
        may_add,
        keep_clear: &asked.left_out,
        only_where_needed: false,
    };
    mend(parcel, &project.catalogue, &project.rules, &task)
}

/// What may be done to a head: nothing to one that is held, nor to one far from every change.
fn freedom(head: &Asked, asked: &AskedHeads) -> Freedom {
    let reach_m = REACH_RADII * head.head.radius_m;
    let mut off = asked
        .changed_at
        .iter()
        .map(|at| distance_m(*at, head.head.position));
    if head.held == Held::Free && off.any(|off_m| off_m <= reach_m) {
        Freedom::Moved
    } else {
        Freedom::Fixed
    }
}

/// Takes back heads that were added on turf without a change on it or near it: that stays as the design has it.
fn keep_far_turf(mended: &mut Mended, asked: &AskedHeads, standing: &[Standing]) {
    let is_near = |turf: usize| {
        let on_turf = asked.heads.iter().zip(standing);
        on_turf
            .filter(|(head, _)| head.head.turf == turf)
            .any(|(head, standing)| head.held != Held::Free || standing.freedom != Freedom::Fixed)
    };
    let stays: Vec<bool> = mended
        .heads
        .iter()
        .zip(&mended.from)
        .map(|(head, from)| from.is_some() || is_near(head.turf))
        .collect();
    let mut stay = stays.iter();
    mended.heads.retain(|_| stay.next() == Some(&true));
    let mut stay = stays.iter();
    mended.from.retain(|_| stay.next() == Some(&true));
}

/// Whether every fixed head came out as it went in.
fn keeps_pins(standing: &[Standing], mended: &Mended) -> bool {
    let fixed = (0..standing.len()).filter(|i| standing[*i].freedom == Freedom::Fixed);
    fixed.into_iter().all(|index| {
        let place = mended.from.iter().position(|from| *from == Some(index));
        place.is_some_and(|place| mended.heads[place] == standing[index].head)
    })
}
