//! One edge of the trench tree, cut where the ground bends, the surface changes or a valve stands.

use crate::design::drainage::break_points;
use crate::design::trenches::surfaces::{Stretch, Surfaces};
use crate::site::Terrain;
use geo::{Coord, Line};

/// Distance of the first valve from the node its laterals start at, and between valves, m.
pub const VALVE_SETBACK_M: f64 = 0.7;
/// Distance between neighbouring valves on one edge, m.
const VALVE_PITCH_M: f64 = 0.5;

/// Pieces of trench shorter than this are gaps between two outlines, not ground of their own, m.
const HAIR_M: f64 = 0.02;

/// A straight edge, from the parent to the child, and its cuts as shares of its length.
pub struct Edge {
    /// The line from parent to child.
    pub line: Line<f64>,
    /// Length in plan, m.
    pub length_m: f64,
    /// Surfaces along it.
    pub stretches: Vec<Stretch>,
    /// Where pipe must bend with the ground.
    pub bends: Vec<f64>,
}

impl Edge {
    /// Surveys a straight edge. `tolerance_m`: how far the ground may depart from straight pipe.
    pub fn survey(
        from: Coord<f64>,
        to: Coord<f64>,
        surfaces: &Surfaces,
        terrain: &Terrain,
        tolerance_m: f64,
    ) -> Self {
        let line = Line::new(from, to);
        // Two things on one spot still need a line between them.
        let length_m = (to.x - from.x).hypot(to.y - from.y).max(1e-3);
        let steps = (length_m / terrain.cell_m.min(1.0)).ceil().max(1.0) as usize;
        let samples: Vec<(f64, f64)> = (0..=steps)
            .map(|i| i as f64 / steps as f64)
            .filter_map(|t| {
                terrain
                    .laying_height_m(from + (to - from) * t)
                    .map(|z| (t * length_m, z))
            })
            .collect();
        let bends = break_points(&samples, tolerance_m)
            .into_iter()
            .map(|i| samples[i].0 / length_m)
            .filter(|t| *t > 0.02 && *t < 0.98)
            .collect();
        Self {
            line,
            length_m,
            stretches: surfaces.along(line),
            bends,
        }
    }

    /// The stretches as they are dug: neighbours of one surface in one piece, hairs between two surfaces left to the one
    /// before.
    pub fn pieces(&self) -> Vec<Stretch> {
        let mut pieces: Vec<Stretch> = Vec::new();
        for stretch in &self.stretches {
            let hair = (stretch.to - stretch.from) * self.length_m < HAIR_M;
            match pieces.last_mut() {
                Some(last) if hair || last.is_dug_like(stretch) => last.to = stretch.to,
                _ => pieces.push(*stretch),
            }
        }
        let begins_with_hair =
            pieces.len() > 1 && (pieces[0].to - pieces[0].from) * self.length_m < HAIR_M;
        if begins_with_hair {
            pieces[1].from = pieces[0].from;
            pieces.remove(0);
        }
        pieces
    }

    /// The place at a share of the length.
    pub fn at(&self, share: f64) -> Coord<f64> {
        self.line.start + (self.line.end - self.line.start) * share
    }

    /// Places for `count` valves near the child, nearest first, as shares; never under paving where that can be helped.
    pub fn valve_places(&self, count: usize) -> Vec<f64> {
        let free_from = self
            .stretches
            .iter()
            .rev()
            .take_while(|s| !s.state.paving)
            .last()
            .map_or(0.0, |s| s.from);
        let room_m = (1.0 - free_from) * self.length_m;
        (0..count)
            .map(|i| {
                (VALVE_SETBACK_M + VALVE_PITCH_M * i as f64)
                    .min(room_m * (i + 1) as f64 / (count + 1) as f64)
            })
            .map(|back_m| 1.0 - back_m / self.length_m)
            .collect()
    }

    /// A place beside the line at a share, at most `aside_m` off it, with a free straight way on to the child.
    ///
    /// Nearer to the line where the full distance is not free; on paving only where nothing else is; on the line if
    /// buildings or water stand on both sides.
    pub fn beside(&self, share: f64, aside_m: f64, surfaces: &Surfaces) -> Coord<f64> {
        let along = (self.line.end - self.line.start) / self.length_m;
        let here = self.at(share);
        let normal = Coord {
            x: -along.y,
            y: along.x,
        };
        let offsets = [1.0, 0.6, 0.3, 0.1].map(|part| part * aside_m);
        let places: Vec<Coord<f64>> = offsets
            .iter()
            .flat_map(|off_m| [here + normal * *off_m, here - normal * *off_m])
            .collect();
        let open = |place: &&Coord<f64>, on_paving: bool| {
            let lines = [Line::new(here, **place), Line::new(**place, self.line.end)];
            lines.iter().all(|line| {
                let stretches = surfaces.along(*line);
                stretches
                    .iter()
                    .all(|s| !s.state.hard && (on_paving || !s.state.paving))
            })
        };
        let off_paving = places.iter().find(|place| open(place, false));
        let anywhere = || places.iter().find(|place| open(place, true));
        off_paving.or_else(anywhere).copied().unwrap_or(here)
    }

    /// Shares at which pipe between `from` and `to` is cut: both ends and the bends between.
    pub fn cuts(&self, from: f64, to: f64) -> Vec<f64> {
        // A bend within half a metre of an end is the same joint.
        let near = 0.5 / self.length_m;
        let bends = self
            .bends
            .iter()
            .copied()
            .filter(|t| t - from > near && to - t > near);
        let mut cuts: Vec<f64> = [from].into_iter().chain(bends).collect();
        cuts.push(to);
        cuts
    }
}
