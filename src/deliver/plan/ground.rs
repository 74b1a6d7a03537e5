//! The ground on the plan: parcel, turf, obstacles, root zones.

use super::Sheet;
use crate::deliver::layers::obstacle_colour;
use crate::deliver::palette;
use crate::site::{Obstacle, ObstacleKind, Parcel};

/// The ground, from below.
pub(super) fn drawn(sheet: &Sheet, parcel: &Parcel) -> String {
    let mut svg = format!(
        "<path d=\"{}\" fill=\"#FAF9F6\" stroke=\"#999\" stroke-width=\"1\" stroke-dasharray=\"8 4 2 4\"/>",
        sheet.shape(&parcel.boundary)
    );
    for turf in &parcel.turf {
        svg += &format!(
            "<path d=\"{}\" fill=\"{}\" fill-rule=\"evenodd\" stroke=\"#8DAF74\" stroke-width=\".8\"/>",
            sheet.shape(&turf.shape),
            palette::TURF
        );
    }
    svg + &parcel
        .obstacles
        .iter()
        .map(|o| obstacle(sheet, o))
        .collect::<String>()
}

fn obstacle(sheet: &Sheet, obstacle: &Obstacle) -> String {
    let colour = obstacle_colour(obstacle.kind);
    let outline = if obstacle.kind == ObstacleKind::Building {
        "#4D463F"
    } else {
        "none"
    };
    let shape = format!(
        "<path d=\"{}\" fill=\"{colour}\" fill-rule=\"evenodd\" stroke=\"{outline}\"/>",
        sheet.shape(&obstacle.shape)
    );
    shape + &root_zone(sheet, obstacle)
}

fn root_zone(sheet: &Sheet, obstacle: &Obstacle) -> String {
    let Some((centre, radius_m)) = obstacle.root_zone else {
        return String::new();
    };
    let (x, y) = sheet.at(centre);
    format!(
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{:.1}\" fill=\"{green}\" fill-opacity=\".18\" stroke=\"{green}\" \
         stroke-dasharray=\"3 3\"/><circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2.5\" fill=\"{green}\"/>",
        radius_m * sheet.scale,
        green = palette::TREE
    )
}
