//! A design of an earlier run changed by hand: what a person pinned, moved, set, added or took away, of one parcel.
//!
//! `book` knows where the layers stand, `read` takes one parcel's features from them, `feature` checks each. Only what the features themselves
//! tell stands here; what it means for a design is found by `design`.

mod book;
mod feature;
mod read;

pub(crate) use book::Book;
pub(crate) use read::{At, of_parcel};

use geo::{Coord, LineString};

/// What a layer tells of one parcel's design.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Edits {
    /// File or folder as the project names it.
    pub file: String,
    /// Mark of the design that the layers were written from; `None` where it is not told.
    pub base: Option<String>,
    /// Whether that design was itself made from edits.
    pub of_edited: bool,
    /// Heads that stand in the layer.
    pub heads: Vec<EditedHead>,
    /// Valves, drains and nodes that stand in the layers.
    pub points: Vec<EditedPoint>,
    /// Pipes and trenches that stand in the layers.
    pub lines: Vec<EditedLine>,
    /// Heads that the nodes name and that are gone from the layer of heads, and those that were taken away before.
    pub left_out: Vec<LeftOut>,
}

/// What a person's hand did to a feature.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Hand {
    /// Its id; `None` where it has none, or where another feature has it by right.
    pub id: Option<String>,
    /// Whether it is pinned.
    pub pinned: bool,
    /// Whether it has no mark, or one that does not fit it: it was changed or added by hand.
    pub changed: bool,
}

impl Hand {
    /// Whether a person put hand to it.
    pub fn touched(&self) -> bool {
        self.pinned || self.changed
    }
}

/// A head as it stands in the layer. What is not given, or is no number, is `None`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EditedHead {
    /// What was done to it.
    pub hand: Hand,
    /// Where it stands.
    pub position: Coord<f64>,
    /// Name of its model.
    pub model: Option<String>,
    /// Name of its nozzle.
    pub nozzle: Option<String>,
    /// Start bearing (0 to below 360) and sweep (above 0 to 360) of its arc, degrees.
    pub arc_deg: Option<(f64, f64)>,
    /// Radius, m, above 0.
    pub radius_m: Option<f64>,
    /// Whether it stands in the single row of a strip.
    pub one_row: bool,
}

/// Which layer a point is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PointKind {
    /// A valve.
    Valve,
    /// A drain.
    Drain,
    /// A node.
    Node,
}

impl PointKind {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Valve => "valve",
            Self::Drain => "drain",
            Self::Node => "node",
        }
    }
}

/// A valve, drain or node as it stands in its layer.
#[derive(Debug, Clone, PartialEq)]
pub struct EditedPoint {
    /// What was done to it.
    pub hand: Hand,
    /// Which layer it is of.
    pub kind: PointKind,
    /// Where it is.
    pub position: Coord<f64>,
    /// Its station or section, as written.
    pub section: Option<String>,
    /// Its size, as written.
    pub size: Option<String>,
}

/// Which layer a line is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineKind {
    /// Pipe before the control valves.
    Main,
    /// Pipe behind them.
    Lateral,
    /// A trench.
    Trench,
}

impl LineKind {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Main => "main",
            Self::Lateral => "lateral",
            Self::Trench => "trench",
        }
    }
}

/// A pipe or trench as it stands in its layer.
#[derive(Debug, Clone, PartialEq)]
pub struct EditedLine {
    /// What was done to it.
    pub hand: Hand,
    /// Which layer it is of.
    pub kind: LineKind,
    /// Its line, two points or more.
    pub line: LineString<f64>,
    /// Material, as written.
    pub material: Option<String>,
    /// Nominal size, as written.
    pub nominal: Option<String>,
}

/// A place where a person took a head away.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// The head's id, where it is known.
    pub id: Option<String>,
    /// Where it stood.
    pub position: Coord<f64>,
}
