//! Heads as a person left them, held against those of the design without edits.

use super::places::{Place, Places};
use super::setting::{Setter, distance_m};
use crate::design::model::{Design, Head};
use crate::finding::Finding;
use crate::site::Edits;
use crate::site::edits::EditedHead;
use geo::Coord;

/// A head that a layer does not name by an id of the design is the design's head that stands this near, m.
pub(super) const SAME_HEAD_M: f64 = 0.3;
/// Pinned heads nearer to each other than this stand on one spot, m.
pub(super) const ONE_SPOT_M: f64 = 0.05;

/// What a person's hand does to a head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Held {
    /// Nothing.
    Free,
    /// It is pinned as the design has it.
    Pinned,
    /// It was moved, set or added; what was left open may be set.
    Changed {
        /// Whether its setting is left open.
        open: bool,
    },
}

/// A head once the edits are made.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asked {
    pub(super) head: Head,
    /// What it was in the design.
    pub(super) was: Option<usize>,
    pub(super) held: Held,
    /// Number in its id where it was added.
    pub(super) number: Option<usize>,
}

/// All heads once the edits are made.
#[derive(Debug, Clone, Default)]
pub(super) struct AskedHeads {
    /// The design's in their order, then those added.
    pub(super) heads: Vec<Asked>,
    /// Places where a head was taken away.
    pub(super) left_out: Vec<Coord<f64>>,
    /// Places where anything changed.
    pub(super) changed_at: Vec<Coord<f64>>,
    pub(super) findings: Vec<Finding>,
}

/// The number in an id such as `head-0012`.
pub(super) fn number_in(id: &str, word: &str) -> Option<usize> {
    let digits = id.strip_prefix(word)?.strip_prefix('-')?;
    digits.parse().ok().filter(|number| *number > 0)
}

/// Whether the layers come from this design, so that ids mean the same: by its mark, else by most of its heads.
pub(super) fn belongs(edits: &Edits, base: &Design, setter: &Setter) -> bool {
    if let Some(mark) = &edits.base {
        return *mark == super::base_mark(base);
    }
    let untouched = edits.heads.iter().filter(|head| !head.hand.changed);
    let (mut same, mut all) = (0, 0);
    for told in untouched {
        let own = told.hand.id.as_deref().and_then(|id| number_in(id, "head"));
        let head = own.and_then(|number| base.heads.get(number - 1));
        all += 1;
        same += usize::from(head.is_some_and(|head| setter.is_same(head, told)));
    }
    2 * same >= all
}

/// Makes the edits to the heads of the design.
pub(super) fn ask(edits: &Edits, base: &Design, setter: &Setter, belongs: bool) -> AskedHeads {
    let free = |(index, head): (usize, &Head)| Asked {
        head: head.clone(),
        was: Some(index),
        held: Held::Free,
        number: None,
    };
    let mut asking = Asking {
        edits,
        base,
        setter,
        belongs,
        places: Places::of(setter.parcel),
        asked: AskedHeads {
            heads: base.heads.iter().enumerate().map(free).collect(),
            ..AskedHeads::default()
        },
    };
    let matched = asking.matched();
    for (told, own) in edits.heads.iter().zip(&matched) {
        asking.take(told, *own);
    }
    let mut gone = asking.left_out(&matched);
    gone.extend(asking.stood_upon());
    let mut index = 0..;
    asking
        .asked
        .heads
        .retain(|_| !gone.contains(&index.next().unwrap_or(0)));
    asking.asked
}

pub(super) struct Asking<'a> {
    pub(super) edits: &'a Edits,
    pub(super) base: &'a Design,
    pub(super) setter: &'a Setter<'a>,
    pub(super) belongs: bool,
    places: Places<'a>,
    pub(super) asked: AskedHeads,
}

impl Asking<'_> {
    /// The design's head that each head of the layer is.
    fn matched(&self) -> Vec<Option<usize>> {
        let heads = &self.base.heads;
        let mut taken = vec![false; heads.len()];
        let by_id = |told: &EditedHead| {
            let id = told.hand.id.as_deref().filter(|_| self.belongs)?;
            number_in(id, "head")
                .map(|number| number - 1)
                .filter(|i| *i < heads.len())
        };
        let mut matched: Vec<Option<usize>> = self.edits.heads.iter().map(by_id).collect();
        for own in &mut matched {
            if let Some(index) = *own
                && std::mem::replace(&mut taken[index], true)
            {
                *own = None;
            }
        }
        for (told, own) in self.edits.heads.iter().zip(&mut matched) {
            if own.is_some() || !told.hand.touched() {
                continue;
            }
            let far_m = |index: &usize| distance_m(heads[*index].position, told.position);
            *own = (0..heads.len())
                .filter(|index| !taken[*index] && far_m(index) <= SAME_HEAD_M)
                .min_by(|a, b| far_m(a).total_cmp(&far_m(b)));
            if let Some(index) = *own {
                taken[index] = true;
            }
        }
        matched
    }

    fn tell(&mut self, told: &EditedHead, finding: Finding) {
        let finding = finding.in_file(&self.edits.file).at(told.position);
        self.asked.findings.push(match &told.hand.id {
            Some(id) => finding.of(id),
            None => finding,
        });
    }

    /// Makes what was done to one head.
    fn take(&mut self, told: &EditedHead, own: Option<usize>) {
        if !told.hand.touched() {
            return;
        }
        let same = own.is_some_and(|own| self.setter.is_same(&self.base.heads[own], told));
        if same && !told.hand.pinned {
            return;
        }
        let twin = self.asked.heads.iter().find(|other| {
            other.held != Held::Free && distance_m(other.head.position, told.position) < ONE_SPOT_M
        });
        if let Some(twin) = twin {
            let name = match (twin.was, twin.number) {
                (Some(was), _) => self.base.ids.head(was),
                (None, Some(number)) => format!("head-{number:04}"),
                (None, None) => "another head that was added".to_owned(),
            };
            let message = format!(
                "is pinned or was set by hand where {name} is too; two heads cannot stand on one spot, so what was done to this one is not followed. Move or delete one of them."
            );
            self.tell(told, Finding::error("pins_contradict", message));
            return;
        }
        match own.filter(|_| same) {
            Some(own) => self.asked.heads[own].held = Held::Pinned,
            None => self.change(told, own),
        }
    }

    fn change(&mut self, told: &EditedHead, own: Option<usize>) {
        let turf = match self.places.of_head(told.position) {
            Ok(Place { turf, off_m }) => {
                if off_m > SAME_HEAD_M {
                    let message = format!(
                        "stands {off_m:.2} m off the turf, where it was put by hand; it stays there. See whether it is meant to."
                    );
                    self.tell(told, Finding::warning("pin_off_turf", message));
                }
                turf
            }
            Err(finding) => {
                self.tell(told, finding);
                return;
            }
        };
        let like = own
            .map(|own| &self.base.heads[own])
            .or_else(|| self.like(told, turf));
        let set = match self.setter.head(told, turf, (like, own.is_some())) {
            Ok(set) => set,
            Err(finding) => {
                self.tell(told, finding);
                return;
            }
        };
        if let Some(said) = self.setter.faults(&set.head).filter(|_| !set.open) {
            let message = format!("{said}; it stays as it was set by hand. Correct it.");
            self.tell(told, Finding::warning("pin_setting", message));
        }
        self.asked.changed_at.push(told.position);
        let id = told.hand.id.as_deref();
        let asked = Asked {
            head: set.head,
            was: own,
            held: Held::Changed { open: set.open },
            number: id.and_then(|id| number_in(id, "head")),
        };
        match own {
            Some(own) => {
                let was = std::mem::replace(&mut self.asked.heads[own], asked);
                self.asked.changed_at.push(was.head.position);
            }
            None => self.asked.heads.push(asked),
        }
    }

    /// The design's head nearest to one that was added, on its turf.
    fn like(&self, told: &EditedHead, turf: usize) -> Option<&Head> {
        let on_turf = self.base.heads.iter().filter(|head| head.turf == turf);
        let far_m = |head: &Head| distance_m(head.position, told.position);
        on_turf.min_by(|a, b| far_m(a).total_cmp(&far_m(b)))
    }
}

impl AskedHeads {
    /// Whether any head is not as the design has it.
    pub(super) fn changes_any(&self) -> bool {
        !self.changed_at.is_empty()
    }
}
