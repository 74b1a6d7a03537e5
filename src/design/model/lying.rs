//! What of a design lay in the ground before, where an old system was made good.

/// What is done to a head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeadWork {
    /// It is new.
    New,
    /// It stays as it is.
    Kept,
    /// It stays in its place and gets another nozzle, arc or radius.
    Set,
    /// Another model takes its place.
    Replaced,
    /// It is moved, and set anew.
    Moved,
}

impl HeadWork {
    /// Every kind of work.
    pub const ALL: [Self; 5] = [
        Self::Kept,
        Self::Set,
        Self::Replaced,
        Self::Moved,
        Self::New,
    ];

    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::Kept => "kept",
            Self::Set => "set",
            Self::Replaced => "replaced",
            Self::Moved => "moved",
        }
    }
}

/// What of a design lies already: in the order of the design's vectors, `true` where nothing is bought nor dug.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Lying {
    /// Heads.
    pub heads: Vec<HeadWork>,
    /// Old heads that are taken out.
    pub heads_removed: usize,
    /// Pipes. One that gets another size is new.
    pub pipes: Vec<bool>,
    /// Trenches. One that is dug up for a new pipe is new.
    pub trenches: Vec<bool>,
    /// Valves.
    pub valves: Vec<bool>,
    /// Drains.
    pub drains: Vec<bool>,
    /// Air valves.
    pub air_valves: Vec<bool>,
}

impl Lying {
    /// Heads with a kind of work.
    pub fn count(&self, work: HeadWork) -> usize {
        self.heads.iter().filter(|of| **of == work).count()
    }

    /// The word for a pipe, trench, valve or drain: `kept` or `new`.
    pub fn word(lies: bool) -> &'static str {
        if lies { "kept" } else { "new" }
    }
}
