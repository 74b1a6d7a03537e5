//! Shapes that the plan and all station plans draw, written once and called up by name.
//!
//! They have no width of their own: a drawing calls them up at its own scale and says how wide its lines are.

use super::paths::Grid;
use crate::deliver::job::Job;
use crate::design::model::{Section, Surface, Trench};
use crate::site::{Obstacle, ObstacleKind, Parcel};
use geo::{BoundingRect, Coord, Rect, Simplify};
use std::fmt::Write;

/// An outline of wetted ground may be drawn off by this, m.
const OUTLINE_OFF_M: f64 = 0.04;

/// The corner from which shared shapes are measured, and the ground the parcel takes.
pub(super) fn extent(parcel: &Parcel) -> Rect<f64> {
    let unit = || Rect::new((0.0, 0.0), (1.0, 1.0));
    parcel.boundary.bounding_rect().unwrap_or_else(unit)
}

/// The grid of a parcel's shared shapes.
pub(super) fn grid(parcel: &Parcel) -> Grid {
    let extent = extent(parcel);
    Grid {
        corner: Coord {
            x: extent.min().x,
            y: extent.max().y,
        },
    }
}

/// All shared shapes, to stand in `<defs>`.
pub(super) fn drawn(job: &Job) -> String {
    let grid = grid(job.parcel);
    [
        ground(grid, job.parcel),
        trenches(grid, job),
        pipes(grid, job),
        throws(grid, job),
    ]
    .concat()
}

fn path(id: &str, class: &str, data: &str) -> String {
    format!("<path id=\"{id}\" class=\"{class}\" d=\"{data}\"/>")
}

fn ground(grid: Grid, parcel: &Parcel) -> String {
    let mut edge = String::new();
    grid.add_shape(&mut edge, &parcel.boundary);
    let mut svg = path("edge", "edge", &edge);
    svg += "<g id=\"ground\">";
    let mut turf = String::new();
    for area in &parcel.turf {
        grid.add_shape(&mut turf, &area.shape);
    }
    svg += &format!("<path class=\"turf\" d=\"{turf}\"/>");
    let near = near(parcel);
    for kind in [
        ObstacleKind::Bed,
        ObstacleKind::Paving,
        ObstacleKind::Water,
        ObstacleKind::Building,
        ObstacleKind::Tree,
    ] {
        let mut data = String::new();
        for obstacle in near.iter().filter(|o| o.kind == kind) {
            grid.add_shape(&mut data, &obstacle.shape);
        }
        if !data.is_empty() {
            let _ = write!(svg, "<path class=\"{}\" d=\"{data}\"/>", kind.word());
        }
    }
    let (mut zones, mut trunks) = (String::new(), String::new());
    for (centre, radius_m) in near.iter().filter_map(|o| o.root_zone) {
        grid.add_circle(&mut zones, centre, radius_m);
        grid.add_dot(&mut trunks, centre);
    }
    svg + "</g>" + &path("roots", "roots", &zones) + &path("trunks", "trunks", &trunks)
}

/// Obstacles that a sheet may show. Those of wider surroundings come with the parcel too.
fn near(parcel: &Parcel) -> Vec<&Obstacle> {
    let parcel_box = extent(parcel);
    let about_m = 0.4 * parcel_box.width().max(parcel_box.height());
    let seen = |obstacle: &&Obstacle| {
        let root = obstacle
            .root_zone
            .map(|(centre, _)| Rect::new(centre, centre));
        let extent = obstacle.shape.bounding_rect().or(root);
        extent.is_some_and(|o| {
            o.max().x >= parcel_box.min().x - about_m
                && o.min().x <= parcel_box.max().x + about_m
                && o.max().y >= parcel_box.min().y - about_m
                && o.min().y <= parcel_box.max().y + about_m
        })
    };
    parcel.obstacles.iter().filter(seen).collect()
}

fn trenches(grid: Grid, job: &Job) -> String {
    let of = |wanted: &dyn Fn(&Trench) -> bool| {
        let mut data = String::new();
        for trench in job.design.trenches.iter().filter(|t| wanted(t)) {
            grid.add_line(&mut data, &trench.line, false);
        }
        data
    };
    let plain = |t: &Trench| !matches!(t.surface, Surface::Paving | Surface::Roots);
    [
        path("dug", "dug", &of(&plain)),
        path("sleeves", "sleeves", &of(&|t| t.surface == Surface::Paving)),
        path("by-hand", "by-hand", &of(&|t| t.surface == Surface::Roots)),
    ]
    .concat()
}

fn pipes(grid: Grid, job: &Job) -> String {
    let of = |section: Section| {
        let mut data = String::new();
        for (_, pipe) in job.design.pipes_of(section) {
            grid.add_line(&mut data, &pipe.line, false);
        }
        data
    };
    let mut svg = path("mains", "line", &of(Section::Main)) + "<g id=\"laterals\">";
    for station in 0..job.design.stations.len() {
        let data = of(Section::Station(station));
        svg += &path(&lateral_id(station), "line", &data);
    }
    svg + "</g>"
}

/// Name of a station's laterals.
pub(super) fn lateral_id(station: usize) -> String {
    format!("l{station}")
}

/// Name of the ground that a station's heads wet; heads without a station share one.
pub(super) fn throws_id(station: Option<usize>) -> String {
    station.map_or("tx".to_owned(), |station| format!("t{station}"))
}

fn throws(grid: Grid, job: &Job) -> String {
    let stations = (0..job.design.stations.len()).map(Some);
    let mut svg = String::new();
    for station in stations.chain([None]) {
        let _ = write!(svg, "<g id=\"{}\">", throws_id(station));
        for (index, throw) in job.design.throws.iter().enumerate() {
            if job.station_of(index) == station {
                let mut data = String::new();
                grid.add_polygon(&mut data, &throw.simplify(OUTLINE_OFF_M));
                let _ = write!(svg, "<path d=\"{data}\"/>");
            }
        }
        svg += "</g>";
    }
    svg
}
