//! Marks: a short digest of what a written feature is, so that a change made to it by hand shows.
//!
//! A mark stands in a column of the layers that may be edited. It is reckoned from the values as they are written, so
//! that whoever reads the layer again can reckon it again.

use geo::Coord;

/// Layers that may be edited, and the columns beside id and geometry that their marks are made from.
pub const MARKED: [(&str, &[&str]); 7] = [
    (
        "heads",
        &[
            "model",
            "nozzle",
            "arc_start_deg",
            "arc_sweep_deg",
            "radius_m",
        ],
    ),
    ("valves", &["kind", "station", "size"]),
    ("drains", &["kind", "section"]),
    ("mains", &["material", "nominal"]),
    ("laterals", &["material", "nominal"]),
    ("nodes", &[]),
    ("trenches", &[]),
];

/// Degrees are written to this many parts of one.
const PARTS_OF_DEGREE: f64 = 1e8;
/// Numbers count to this many parts of one.
const PARTS_OF_NUMBER: f64 = 1e4;
/// Start and factor of FNV-1a with 64 bits (Fowler, Noll and Vo).
const FNV_START: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_FACTOR: u64 = 0x0000_0100_0000_01b3;

/// The columns that the marks of a layer are made from; `None` of a layer without marks.
pub fn columns_of(layer: &str) -> Option<&'static [&'static str]> {
    let known = MARKED.iter().find(|marked| marked.0 == layer);
    known.map(|marked| marked.1)
}

/// A mark while it is made: FNV-1a with 64 bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark(u64);

impl Default for Mark {
    fn default() -> Self {
        Self(FNV_START)
    }
}

impl Mark {
    /// The mark with a word more. A word that is a number counts as one.
    #[must_use]
    pub fn word(self, word: &str) -> Self {
        match word.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => self.number(number),
            _ => self.bytes(word.trim().as_bytes()).bytes(&[0]),
        }
    }

    /// The mark with a number more, to four decimals.
    #[must_use]
    pub fn number(self, number: f64) -> Self {
        self.whole(number * PARTS_OF_NUMBER)
    }

    /// The mark with a place more, in degrees to eight decimals.
    #[must_use]
    pub fn place(self, at: Coord<f64>) -> Self {
        self.whole(at.x * PARTS_OF_DEGREE)
            .whole(at.y * PARTS_OF_DEGREE)
    }

    /// Sixteen hexadecimal digits.
    pub fn digits(self) -> String {
        format!("{:016x}", self.0)
    }

    fn whole(self, number: f64) -> Self {
        self.bytes(format!("{:.0}", number.round() + 0.0).as_bytes())
            .bytes(&[0])
    }

    fn bytes(self, bytes: &[u8]) -> Self {
        Self(digest(self.0, bytes.iter().copied()))
    }
}

/// A number from bytes: FNV-1a with 64 bits (Fowler, Noll and Vo, from memory).
pub fn number_of(bytes: impl Iterator<Item = u8>) -> u64 {
    digest(FNV_START, bytes)
}

fn digest(start: u64, bytes: impl Iterator<Item = u8>) -> u64 {
    bytes.fold(start, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(FNV_FACTOR)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_is_that_of_its_authors() {
        // Test vectors of the reference implementation by Fowler, Noll and Vo, from memory.
        assert_eq!(Mark::default().digits(), "cbf29ce484222325");
        assert_eq!(Mark::default().bytes(b"a").digits(), "af63dc4c8601ec8c");
        assert_eq!(
            Mark::default().bytes(b"foobar").digits(),
            "85944171f73967e8"
        );
    }

    #[test]
    fn what_is_written_the_same_has_one_mark() {
        let mark = Mark::default();
        assert_eq!(mark.word("90"), mark.number(90.000_01));
        assert_eq!(mark.number(-0.000_01), mark.number(0.0));
        assert_ne!(mark.word("90"), mark.word("90.01"));
        let at = |x| mark.place(Coord { x, y: 48.0 });
        assert_eq!(at(9.123_456_78), at(9.123_456_780_000_1));
        assert_ne!(at(9.123_456_78), at(9.123_456_79));
        assert_ne!(mark.word("ab").word("c"), mark.word("a").word("bc"));
    }
}
