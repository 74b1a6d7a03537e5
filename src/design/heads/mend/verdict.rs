//! How coverage itself judges an area, and what is told of one that stays short.

use super::aim::Aim;
use super::area::{Area, Figures};
use super::yard::Job;
use crate::design::coverage::rated_turf;
use crate::design::model::Head;
use crate::finding::Finding;
use geo::{Area as _, BoundingRect, Coord, Distance, Euclidean, Point};

/// An area judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Verdict {
    /// How it stands.
    pub figures: Figures,
    /// What it must reach.
    pub aim: Aim,
    /// By how much it misses that; 0 where it does not.
    pub short: f64,
}

impl Verdict {
    /// Judges an area with the heads that stand on it.
    pub fn of(job: &Job, turf: usize, own: impl Iterator<Item = Head>, others: &[Head]) -> Self {
        let all: Vec<Head> = (own.chain(others.iter().cloned()))
            .filter(|head| job.sound(head))
            .collect();
        let result = rated_turf(job.parcel, turf, &all, job.catalogue, job.rules);
        let figures = Figures::from(&result);
        let aim = Aim::of(job.rules, result.one_row, 0.0);
        Self {
            figures,
            aim,
            short: aim.short(&figures),
        }
    }

    /// Judges an area as it is.
    pub fn of_area(area: &Area) -> Self {
        let own = area.heads().cloned();
        Self::of(area.yard.job, area.yard.turf, own, area.others)
    }

    /// Whether floor and limits hold.
    pub fn met(&self) -> bool {
        self.short <= 0.0
    }

    /// What is told of an area that stays short.
    pub fn told(&self, job: &Job, turf: usize, heads: &[Head]) -> Finding {
        let (figures, aim) = (&self.figures, &self.aim);
        let mut short = Vec::new();
        if figures.du < aim.du {
            let (has, wants) = (figures.du, aim.du);
            short.push(format!(
                "the low quarter gets {has:.2} of the mean, not {wants:.2}"
            ));
        }
        if figures.dry > aim.dry {
            let (has, wants) = (100.0 * figures.dry, 100.0 * aim.dry);
            short.push(format!("{has:.1} % is dry, not {wants:.1} %"));
        }
        if figures.over > aim.over {
            let (has, wants) = (100.0 * figures.over, 100.0 * aim.over);
            short.push(format!(
                "{has:.1} % of the water falls off the turf, not {wants:.1} %"
            ));
        }
        let message = format!(
            "Mending the heads that stand does not bring this turf up to the rules: {}. Give more heads free, let heads be added, or lay it out anew.",
            short.join("; ")
        );
        let area = &job.parcel.turf[turf];
        let finding = Finding::warning("mend_short", message).of(area.id.clone());
        match loneliest(job, turf, heads) {
            Some(at) => finding.at(at),
            None => finding,
        }
    }
}

/// Places asked across an area for the one farthest from any head.
const PLACES: f64 = 24.0;

/// The place of an area that lies farthest beyond the throws of all heads: where to look first.
fn loneliest(job: &Job, turf: usize, heads: &[Head]) -> Option<Coord<f64>> {
    let shape = &job.parcel.turf[turf].shape;
    let bounds = shape.bounding_rect()?;
    let step_m = (shape.unsigned_area().sqrt() / PLACES).max(0.2);
    let beyond = |at: Coord<f64>| {
        let off = heads.iter().filter(|head| job.sound(head)).map(|head| {
            let (dx, dy) = (at.x - head.position.x, at.y - head.position.y);
            let turned = if head.arc.holds(dx, dy) { 0.0 } else { 1.0 };
            turned + dx.hypot(dy) / head.radius_m
        });
        off.fold(f64::INFINITY, f64::min)
    };
    let (columns, rows) = (
        (bounds.width() / step_m).ceil() as usize,
        (bounds.height() / step_m).ceil() as usize,
    );
    let places = (0..rows.min(400)).flat_map(|row| {
        (0..columns.min(400)).map(move |column| Coord {
            x: bounds.min().x + (column as f64 + 0.5) * step_m,
            y: bounds.min().y + (row as f64 + 0.5) * step_m,
        })
    });
    places
        .filter(|&at| Euclidean.distance(&Point::from(at), shape) <= 0.0)
        .map(|at| (beyond(at), at))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, at)| at)
}
