//! What kinds of faults there are, where one may be planted, and what an audit should call it.

use super::dice::Dice;
use super::{heads, pipes};
use geo::Coord;
use swardline::brief::Project;
use swardline::design::model::Design;
use swardline::site::{Existing, Parcel};

/// Least distance between two faults, m, beside the throws of their heads.
const APART_M: f64 = 3.0;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    MixedStation,
    NarrowPipe,
    NoDrain,
    OnRoad,
    Gap,
    WrongArc,
    Moved,
    MovedOffPipe,
}

impl Kind {
    pub const ALL: [Self; 8] = [
        Self::MixedStation,
        Self::WrongArc,
        Self::NoDrain,
        Self::Moved,
        Self::NarrowPipe,
        Self::OnRoad,
        Self::Gap,
        Self::MovedOffPipe,
    ];

    /// Codes of findings that tell of it.
    pub fn codes(self) -> &'static [&'static str] {
        match self {
            Self::MixedStation => &["mixed_station"],
            Self::NarrowPipe => &["pipe_undersized"],
            Self::NoDrain => &["drain_missing"],
            Self::OnRoad => &["throws_on_paving", "arc_wrong"],
            Self::Gap => &[
                "existing_gap",
                "existing_head_off_pipe",
                "existing_valve_off_pipe",
                "existing_source_off",
            ],
            Self::WrongArc => &["arc_wrong", "throws_on_paving", "throws_on_building"],
            Self::Moved => &["head_misplaced"],
            Self::MovedOffPipe => &[
                "existing_head_off_pipe",
                "existing_head_unfed",
                "head_misplaced",
            ],
        }
    }
}

/// One planted fault.
#[derive(Debug, Clone)]
pub struct Planted {
    pub kind: Kind,
    /// Id of the feature it was done to.
    pub id: String,
    pub place: Coord<f64>,
    /// How far about it the water changes, m.
    pub reach_m: f64,
    /// What was done, for reading.
    pub how: String,
}

/// A survey that is spoilt bit by bit.
pub struct Site<'a> {
    pub design: &'a Design,
    pub project: &'a Project,
    pub parcel: &'a Parcel,
    pub existing: Existing,
    pub planted: Vec<Planted>,
}

impl Site<'_> {
    /// Whether a place is far enough from what was planted before.
    pub fn is_free(&self, at: Coord<f64>, reach_m: f64) -> bool {
        self.planted.iter().all(|planted| {
            let off = planted.place - at;
            off.x.hypot(off.y) > APART_M + planted.reach_m + reach_m
        })
    }

    pub fn note(&mut self, kind: Kind, id: &str, place: Coord<f64>, reach_m: f64, how: String) {
        self.planted.push(Planted {
            kind,
            id: id.to_owned(),
            place,
            reach_m,
            how,
        });
    }
}

/// Plants one fault of a kind where that can be done.
pub fn plant(site: &mut Site, kind: Kind, dice: &mut Dice) {
    match kind {
        Kind::MixedStation => heads::other_class(site, dice),
        Kind::NarrowPipe => pipes::narrow(site, dice),
        Kind::NoDrain => pipes::no_drain(site, dice),
        Kind::OnRoad => heads::on_road(site, dice),
        Kind::Gap => pipes::gap(site, dice),
        Kind::WrongArc => heads::turned(site, dice),
        Kind::Moved => heads::moved(site, dice, true),
        Kind::MovedOffPipe => heads::moved(site, dice, false),
    }
}
