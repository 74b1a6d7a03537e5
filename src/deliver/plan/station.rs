//! The plan of one station: its heads by their number in walking order, its laterals with sizes, its valve and drains; all else
//! faint.

use super::base::Base;
use super::sheet::{PX_PER_MM, Sheet};
use super::{Drawing, drawing, furniture, marks, sizes, work};
use crate::deliver::job::Job;
use crate::design::model::{Head, Section};
use geo::{BoundingRect, Coord, Rect};

/// Most that the ground of a station plan takes on A4, px: half a page, a page, a page across.
const ROOMS_PX: [(f64, f64); 3] = [
    (188.0 * PX_PER_MM, 98.0 * PX_PER_MM),
    (188.0 * PX_PER_MM, 222.0 * PX_PER_MM),
    (275.0 * PX_PER_MM, 135.0 * PX_PER_MM),
];
/// Least width, so that bar and title have room, px.
const LEAST_WIDE_PX: f64 = 110.0 * PX_PER_MM;

/// The plan of a station; `order` tells the number of each head. `None` for a station without heads.
pub(in crate::deliver) fn station_plan(
    job: &Job,
    station: usize,
    order: &[usize],
) -> Option<Drawing> {
    let (sheet, across) = sheet(ground(job, station)?);
    let foot = furniture::bare_foot(&sheet);
    let mut base = Base::on(&sheet, job);
    base.ground();
    base.laterals_faint();
    base.throws(Some(station), true);
    base.mains();
    base.laterals(station, 2.6);
    let own = |section: Section| section == Section::Main || section == Section::Station(station);
    let inside = [
        base.svg(),
        heads(&sheet, job, station),
        sizes::drawn(&sheet, job, Some(station)),
        work::fixed(&sheet, job, &own),
        numbers(&sheet, job, station, order),
        foot.svg,
    ]
    .concat();
    let count = job.design.stations[station].heads.len();
    let title = format!(
        "Station {}, 1:{}",
        job.design.station_number(station),
        sheet.number
    );
    let told = format!(
        "Its {count} heads by their number in walking order, laterals, valve and drain valves; grid north up."
    );
    let name = format!("station-plan-{}", station + 1);
    Some(drawing(
        &sheet,
        foot.height,
        across,
        &inside,
        [&name, &title, &told],
    ))
}

/// The largest scale that one of the rooms allows, the first of them that does; and whether the page lies across.
fn sheet(ground: Rect<f64>) -> (Sheet, bool) {
    let [half, page, across] = ROOMS_PX.map(|room| Sheet::fitting(ground, room, LEAST_WIDE_PX));
    if across.number < page.number.min(half.number) {
        (across, true)
    } else if page.number < half.number {
        (page, false)
    } else {
        (half, false)
    }
}

/// What the station's heads wet, with its pipe and valve.
fn ground(job: &Job, station: usize) -> Option<Rect<f64>> {
    let design = job.design;
    let heads = &design.stations[station].heads;
    let throws = heads
        .iter()
        .filter_map(|&h| design.throws.get(h)?.bounding_rect());
    let places = heads.iter().filter_map(|&h| design.heads.get(h));
    let points = places.map(|head| Rect::new(head.position, head.position));
    let pipes = design.pipes_of(Section::Station(station));
    let lines = pipes.filter_map(|(_, pipe)| pipe.line.bounding_rect());
    let valve = design.nodes.get(design.stations[station].valve_node);
    let valve = valve.map(|node| Rect::new(node.position, node.position));
    let all = throws
        .chain(points)
        .chain(lines)
        .chain(valve)
        .reduce(both)?;
    // Room for the numbers of heads at the edge.
    let about_m = 0.03 * all.width().max(all.height()) + 0.5;
    let step = Coord {
        x: about_m,
        y: about_m,
    };
    Some(Rect::new(all.min() - step, all.max() + step))
}

fn both(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    let least = Coord {
        x: a.min().x.min(b.min().x),
        y: a.min().y.min(b.min().y),
    };
    let most = Coord {
        x: a.max().x.max(b.max().x),
        y: a.max().y.max(b.max().y),
    };
    Rect::new(least, most)
}

fn heads(sheet: &Sheet, job: &Job, station: usize) -> String {
    let on_sheet = |&index: &usize| {
        let head = job.design.heads.get(index);
        head.is_some_and(|head| sheet.holds(head.position))
    };
    let own = |index: &usize| job.station_of(*index) == Some(station);
    let all = || (0..job.design.heads.len()).filter(on_sheet);
    let others = all().filter(|index| !own(index));
    let others: String = others
        .map(|index| {
            marks::head(
                sheet.at(job.design.heads[index].position),
                job.design.heads[index].arc,
                3.0,
                "",
            )
        })
        .collect();
    let mine: String = all()
        .filter(own)
        .map(|index| work::head(sheet, job, index))
        .collect();
    let class = job.colours.class(Some(station));
    format!("<g class=\"heads others\">{others}</g><g class=\"heads {class}\">{mine}</g>")
        .replace("<g class=\"heads others\"></g>", "")
}

/// The number of each head, on the side where it does not throw.
fn numbers(sheet: &Sheet, job: &Job, station: usize, order: &[usize]) -> String {
    let number = |&index: &usize| {
        let head = job.design.heads.get(index)?;
        let (x, y) = sheet.at(head.position);
        let (dx, dy) = aside(head, work::symbol_px(sheet, head) + 6.5);
        let (x, y) = (x + dx, y + dy + 3.5);
        Some(format!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\">{}</text>",
            order.get(index)? + 1
        ))
    };
    let heads = &job.design.stations[station].heads;
    let texts: String = heads.iter().filter_map(number).collect();
    format!("<g class=\"numbers\">{texts}</g>")
}

/// From a head to the middle of its number, px: against the middle of its arc; up and right of a full circle.
fn aside(head: &Head, far_px: f64) -> (f64, f64) {
    let away_deg = match head.arc.is_full() {
        true => 45.0,
        false => head.arc.start_deg + head.arc.sweep_deg / 2.0 + 180.0,
    };
    let (sin, cos) = f64::to_radians(away_deg).sin_cos();
    (far_px * sin, -far_px * cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn each_head_of_the_station_has_its_number_in_walking_order() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let order = job.order_of_heads();
        let plan = station_plan(&job, 1, &order).unwrap();
        let numbers = plan.svg.split("class=\"numbers\"").nth(1).unwrap();
        for &head in &design.stations[1].heads {
            assert!(numbers.contains(&format!(">{}</text>", order[head] + 1)));
        }
        assert!(!plan.svg.contains("NaN"));
        let (wide_mm, high_mm) = crate::deliver::plan::tests::size_mm(&plan.svg);
        assert_eq!(
            (plan.scale, plan.across),
            (200, true),
            "40 m and the way to the valve"
        );
        assert!(wide_mm <= 275.0 && high_mm <= 155.0, "{wide_mm} {high_mm}");
    }

    #[test]
    fn ground_takes_the_room_that_shows_it_largest() {
        let of = |wide: f64, high: f64| {
            let (sheet, across) = sheet(Rect::new((0.0, 0.0), (wide, high)));
            (sheet.number, across)
        };
        assert_eq!(of(35.0, 17.0), (200, false));
        assert_eq!(of(50.0, 90.0), (500, false), "upright");
        assert_eq!(of(100.0, 50.0), (400, true));
    }

    #[test]
    fn a_number_stands_where_the_head_does_not_throw() {
        let design = example::design();
        let corner = &design.heads[0];
        let (dx, dy) = aside(corner, 10.0);
        assert!(dx < 0.0 && dy > 0.0, "a head that throws to the north-east");
    }
}
