//! Blocks of raster cells: which part of a window lies on a raster, and heights between cells of another one.

/// What of a window lies on a raster, along one direction, in whole cells of ours.
pub(crate) struct Overlap {
    /// First raster cell.
    pub(crate) source: usize,
    /// First cell of ours.
    pub(crate) target: usize,
    /// Cells of ours.
    pub(crate) count: usize,
}

impl Overlap {
    pub(crate) fn of(first: i64, count: usize, step: usize, raster: usize) -> Option<Self> {
        let step = i64::try_from(step).ok()?;
        let target = (-first).max(0).div_euclid(step) + i64::from((-first).max(0) % step != 0);
        let source = first + target * step;
        let room = (i64::try_from(raster).ok()? - source).div_euclid(step);
        let count = room.min(i64::try_from(count).ok()? - target);
        (count > 0).then_some(Self {
            source: usize::try_from(source).ok()?,
            target: usize::try_from(target).ok()?,
            count: usize::try_from(count).ok()?,
        })
    }
}

/// A block of another raster.
pub(crate) struct Block {
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    pub(crate) heights_m: Vec<f32>,
}

impl Block {
    /// Bilinear between cell centres, the edge held for half a cell; NaN where a cell with weight has no data.
    pub(crate) fn height_m(&self, column: f64, row: f64) -> f32 {
        let part = |at: f64, count: usize| {
            let last = count as f64 - 1.0;
            // Cells of a common lattice come back with the noise of two projections.
            let at = if (at - at.round()).abs() < 1e-4 {
                at.round()
            } else {
                at
            };
            let at = at.clamp(0.0, last);
            let low = at.floor() as usize;
            (low, (low + 1).min(count - 1), at - at.floor())
        };
        let (west, east, across) = part(column, self.columns);
        let (above, below, down) = part(row, self.rows);
        let corners = [
            (west, above, (1.0 - across) * (1.0 - down)),
            (east, above, across * (1.0 - down)),
            (west, below, (1.0 - across) * down),
            (east, below, across * down),
        ];
        let weighed = corners.iter().filter(|corner| corner.2 > 0.0);
        weighed
            .map(|(column, row, weight)| {
                f64::from(self.heights_m[row * self.columns + column]) * weight
            })
            .sum::<f64>() as f32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_that_starts_before_the_raster_is_laid_on_it() {
        let overlap = Overlap::of(-3, 10, 1, 5).unwrap();
        assert_eq!((overlap.source, overlap.target, overlap.count), (0, 3, 5));
        let thinned = Overlap::of(-3, 10, 2, 15).unwrap();
        assert_eq!((thinned.source, thinned.target, thinned.count), (1, 2, 7));
        assert!(Overlap::of(20, 10, 1, 5).is_none());
    }

    #[test]
    fn a_block_is_bilinear_and_holds_its_edge() {
        let block = Block {
            columns: 2,
            rows: 2,
            heights_m: vec![10.0, 12.0, 11.0, 15.0],
        };
        // By hand: cells 10, 12 over 11, 15.
        assert_eq!(block.height_m(0.5, 0.5), 12.0);
        assert_eq!(block.height_m(0.25, 0.75), 11.625);
        assert_eq!(block.height_m(1.4, 0.5), 13.5);
    }
}
