//! Parts of a plan too large for one readable sheet: pages of equal size side by side, with match lines to their neighbours,
//! shown on the whole plan too.

use super::sheet::{MARGIN, Paper, Sheet};
use super::{Drawing, drawing, furniture, layers, shared, work};
use crate::deliver::job::Job;
use geo::{Coord, Rect};
use std::fmt::Write;

/// A whole plan of a coarser scale than this has parts, of this scale or the next that few enough pages hold.
const READABLE: [u32; 4] = [500, 1000, 2000, 5000];
/// Most parts.
const MOST: usize = 12;

/// How a plan is parted: columns and rows of equal pieces of ground.
pub(super) struct Tiling {
    extent: Rect<f64>,
    columns: usize,
    rows: usize,
    across: bool,
}

/// A part of a plan.
pub(in crate::deliver) struct Part {
    /// Its letter and number: letters run east, numbers south.
    pub(in crate::deliver) name: String,
    /// Its drawing.
    pub(in crate::deliver) drawing: Drawing,
}

impl Tiling {
    /// Of a plan on `paper` whose whole has the scale `whole`; `None` where the whole is readable, or no parting is.
    pub(super) fn of(extent: Rect<f64>, paper: Paper, whole: u32) -> Option<Self> {
        let finer = READABLE.into_iter().filter(|&scale| scale < whole);
        let ways = finer.flat_map(|scale| [true, false].map(|across| (scale, across)));
        let parted = ways.map(|(scale, across)| {
            let room = paper.ground_m(across, furniture::BARE, scale);
            let count = |size: f64, room: f64| (size / room).ceil().max(1.0) as usize;
            Self {
                extent,
                columns: count(extent.width(), room.0),
                rows: count(extent.height(), room.1),
                across,
            }
        });
        let mut parted: Vec<Self> = parted
            .filter(|t| t.count() > 1 && t.count() <= MOST)
            .collect();
        // The finest scale comes first, of two ways to lay the paper the one with fewer pages.
        let fewer = parted.len() > 1 && parted[1].count() < parted[0].count();
        (!parted.is_empty()).then(|| parted.swap_remove(usize::from(fewer)))
    }

    fn count(&self) -> usize {
        self.columns * self.rows
    }

    fn name(column: usize, row: usize) -> String {
        format!("{}{}", char::from(b'A' + column.min(25) as u8), row + 1)
    }

    fn ground(&self, column: usize, row: usize) -> Rect<f64> {
        let wide = self.extent.width() / self.columns as f64;
        let high = self.extent.height() / self.rows as f64;
        let west = self.extent.min().x + wide * column as f64;
        let north = self.extent.max().y - high * row as f64;
        Rect::new((west, north - high), (west + wide, north))
    }

    fn places(&self) -> impl Iterator<Item = (usize, usize)> {
        let columns = self.columns;
        (0..self.rows).flat_map(move |row| (0..columns).map(move |column| (column, row)))
    }

    /// Match lines with the names of the parts, on the whole plan.
    pub(super) fn key(&self, sheet: &Sheet) -> String {
        let mut svg = String::from("<g class=\"match\">");
        for (column, row) in self.places() {
            let ground = self.ground(column, row);
            let (x, y) = sheet.at(Coord {
                x: ground.min().x,
                y: ground.max().y,
            });
            let (end_x, end_y) = sheet.at(Coord {
                x: ground.max().x,
                y: ground.min().y,
            });
            let _ = write!(
                svg,
                "<path d=\"M{x:.1} {y:.1}H{end_x:.1}V{end_y:.1}H{x:.1}z\"/><text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                x + 12.0,
                y + 14.0,
                Self::name(column, row)
            );
        }
        svg + "</g>"
    }

    /// Match lines of one part, with the names of those beyond.
    fn lines(&self, sheet: &Sheet, column: usize, row: usize) -> String {
        let ground = self.ground(column, row);
        let (left, top) = sheet.at(Coord {
            x: ground.min().x,
            y: ground.max().y,
        });
        let (right, floor) = sheet.at(Coord {
            x: ground.max().x,
            y: ground.min().y,
        });
        let (x, y) = ((left + right) / 2.0, (top + floor) / 2.0);
        let mut svg = String::from("<g class=\"match\">");
        let mut side = |line: String, at: (f64, f64), name: String| {
            let _ = write!(
                svg,
                "<path d=\"{line}\"/><text x=\"{:.1}\" y=\"{:.1}\">{name}</text>",
                at.0, at.1
            );
        };
        if column > 0 {
            side(
                format!("M{left:.1} 0V{:.1}", sheet.high),
                (left - MARGIN / 2.0, y),
                Self::name(column - 1, row),
            );
        }
        if column + 1 < self.columns {
            side(
                format!("M{right:.1} 0V{:.1}", sheet.high),
                (right + MARGIN / 2.0, y),
                Self::name(column + 1, row),
            );
        }
        if row > 0 {
            side(
                format!("M0 {top:.1}H{:.1}", sheet.wide),
                (x, top - 5.0),
                Self::name(column, row - 1),
            );
        }
        if row + 1 < self.rows {
            side(
                format!("M0 {floor:.1}H{:.1}", sheet.wide),
                (x, floor + 14.0),
                Self::name(column, row + 1),
            );
        }
        svg + "</g>"
    }
}

/// The parts of the plan on `paper`; none where the whole is readable.
pub(in crate::deliver) fn parts(job: &Job, paper: Paper, whole: u32) -> Vec<Part> {
    let extent = shared::extent(job.parcel);
    let Some(tiling) = Tiling::of(extent, paper, whole) else {
        return Vec::new();
    };
    let part = |(column, row): (usize, usize)| {
        let room = paper.room_for_ground(tiling.across, furniture::BARE);
        let sheet = Sheet::fitting(tiling.ground(column, row), room, 0.0);
        let foot = furniture::bare_foot(&sheet);
        let name = Tiling::name(column, row);
        let inside = [
            layers(&sheet, job),
            work::points(&sheet, job),
            tiling.lines(&sheet, column, row),
            foot.svg,
        ]
        .concat();
        let title = format!(
            "Part {name} of the plan, 1:{} on {}",
            sheet.number,
            paper.word()
        );
        let told = "As the whole plan; beyond the match lines lie the parts named there.";
        let id = format!("plan-{}-{name}", paper.word());
        let drawing = drawing(
            &sheet,
            foot.height,
            tiling.across,
            &inside,
            [&id, &title, told],
        );
        Part { name, drawing }
    };
    tiling.places().map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_parcel_is_parted_into_few_pages_that_cover_it() {
        let extent = Rect::new((0.0, 0.0), (190.0, 130.0));
        let tiling = Tiling::of(extent, Paper::A4, 1250).unwrap();
        assert!(tiling.count() > 1 && tiling.count() <= MOST);
        let area: f64 = tiling
            .places()
            .map(|(c, r)| tiling.ground(c, r))
            .map(|g| g.width() * g.height())
            .sum();
        assert!((area - 190.0 * 130.0).abs() < 1e-6);
        for (column, row) in tiling.places() {
            let room = Paper::A4.room_for_ground(tiling.across, furniture::BARE);
            assert!(Sheet::fitting(tiling.ground(column, row), room, 0.0).number <= 500);
        }
    }

    #[test]
    fn a_readable_plan_is_whole_and_a_vast_one_is_parted_more_coarsely() {
        let small = Rect::new((0.0, 0.0), (90.0, 40.0));
        assert!(Tiling::of(small, Paper::A4, 500).is_none());
        let vast = Rect::new((0.0, 0.0), (2000.0, 1500.0));
        let tiling = Tiling::of(vast, Paper::A3, 10_000).unwrap();
        assert!(tiling.count() <= MOST);
        assert!(Tiling::of(Rect::new((0.0, 0.0), (1e6, 1e6)), Paper::A3, 500_000).is_none());
    }
}
