//! The plan: drawings of the parcel that a foreman can build from, as SVG without script or outside reference.
//!
//! Drawn in the parcel's frame, grid north up, at round scales: on paper a metre has its true length. Shapes that several
//! drawings show are written once and called up by name; colours come by class from `plan.css`.

mod base;
mod furniture;
mod marks;
mod paths;
mod shared;
mod sheet;
mod sizes;
mod station;
mod tiles;
mod work;

pub(super) use sheet::Paper;
pub(super) use station::station_plan;
pub(super) use tiles::{Part, parts};

use crate::brief::Project;
use crate::deliver::job::Job;
use crate::design::model::Design;
use crate::site::Parcel;
use base::Base;
use geo::Coord;
use sheet::Sheet;

/// Colours of the drawings, light and dark, by class.
pub(super) const STYLE: &str = include_str!("plan.css");

/// A drawing at a true scale.
pub(super) struct Drawing {
    /// The SVG element; its properties `--w` and `--h` are the size it must have on paper.
    pub(super) svg: String,
    /// The number behind `1:`.
    pub(super) scale: u32,
    /// Whether its paper lies across.
    pub(super) across: bool,
}

/// The plan of a design as an SVG document, at a round scale that fits A4.
///
/// Turf, obstacles, wetted ground, trenches, pipe coloured by station with its sizes, heads as sectors, valves, drain and air
/// valves, numbered places to look at, with north arrow, scale bar and legend. Same design, same text.
pub fn plan_svg(parcel: &Parcel, design: &Design, project: &Project) -> String {
    let job = Job::new(parcel, design, project);
    let inside = format!("<style>{STYLE}</style><defs>{}</defs>", shapes(&job));
    let svg = whole(&job, Paper::A4).svg;
    // Behind the opening tag and title, which must come first.
    svg.replacen("</desc>", &format!("</desc>{inside}"), 1)
}

/// The shapes that the drawings of one design call up, to stand once on the page.
pub(super) fn shapes(job: &Job) -> String {
    shared::drawn(job)
}

/// The whole parcel on one sheet of `paper`.
pub(super) fn whole(job: &Job, paper: Paper) -> Drawing {
    let extent = shared::extent(job.parcel);
    let (sheet, across) = paper.sheet(extent, |wide| furniture::height(job, wide));
    let foot = furniture::foot(&sheet, job);
    let tiling = tiles::Tiling::of(extent, paper, sheet.number);
    let inside = [
        layers(&sheet, job),
        tiling.map_or_else(String::new, |tiling| tiling.key(&sheet)),
        work::points(&sheet, job),
        foot.svg,
    ]
    .concat();
    let title = format!(
        "Plan of {}, 1:{} on {}",
        Job::title_of(job.parcel),
        sheet.number,
        paper.word()
    );
    let told = format!(
        "{} heads in {} stations on {} turf areas, drawn to scale, grid north up.",
        job.design.heads.len(),
        job.design.stations.len(),
        job.parcel.turf.len(),
    );
    let name = format!("plan-{}", paper.word());
    drawing(&sheet, foot.height, across, &inside, [&name, &title, &told])
}

/// Ground, pipe with its sizes, and heads, of all stations.
fn layers(sheet: &Sheet, job: &Job) -> String {
    let mut base = Base::on(sheet, job);
    let stations = 0..job.design.stations.len();
    base.ground();
    for station in stations.clone().map(Some).chain([None]) {
        base.throws(station, false);
    }
    base.trenches();
    base.mains();
    for station in stations {
        base.laterals(station, 1.8);
    }
    base.svg() + &work::heads(sheet, job) + &sizes::drawn(sheet, job, None)
}

/// Puts `inside` on a sheet with a name unique on the page, a title and a description.
fn drawing(
    sheet: &Sheet,
    foot_px: f64,
    across: bool,
    inside: &str,
    [name, title, told]: [&str; 3],
) -> Drawing {
    let (wide_mm, high_mm) = sheet.paper_mm(foot_px);
    let (wide, high) = (sheet.wide, sheet.high + foot_px);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" viewBox=\"0 0 {wide:.1} {high:.1}\" \
         style=\"--w:{wide_mm:.3}mm;--h:{high_mm:.3}mm\" role=\"img\" aria-labelledby=\"{name}-t {name}-d\">\
         <title id=\"{name}-t\">{}</title><desc id=\"{name}-d\">{}</desc>\
         <rect class=\"paper\" width=\"{wide:.1}\" height=\"{high:.1}\"/>{inside}</svg>",
        escaped(title),
        escaped(told),
    );
    Drawing {
        svg,
        scale: sheet.number,
        across,
    }
}

/// The place of `places` that is nearest to their mean.
fn amid(places: &[Coord<f64>]) -> Option<Coord<f64>> {
    let count = places.len() as f64;
    let mean = places.iter().fold(Coord::zero(), |sum, &at| sum + at) / count;
    let far = |at: &Coord<f64>| (at.x - mean.x).hypot(at.y - mean.y);
    places
        .iter()
        .copied()
        .min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// Text made safe to stand in XML.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters may not stand in XML at all.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
pub(in crate::deliver) mod tests {
    use super::*;
    use crate::deliver::{example, palette};

    #[test]
    fn the_plan_s_size_on_paper_and_its_scale_agree() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        for (paper, most) in [(Paper::A4, (277.0, 190.0)), (Paper::A3, (400.0, 277.0))] {
            let plan = whole(&job, paper);
            let (wide_mm, high_mm) = size_mm(&plan.svg);
            let most = if plan.across { most } else { (most.1, most.0) };
            assert!(
                wide_mm <= most.0 && high_mm <= most.1,
                "{wide_mm} {high_mm}"
            );
            let box_ = format!("viewBox=\"0 0 {:.1}", wide_mm * sheet::PX_PER_MM);
            assert!(plan.svg.contains(&box_), "{box_}");
            // The parcel is 67 m wide, and its outline begins at the corner of the shared shapes.
            let px_per_cm: f64 = between(&plan.svg, "matrix(", " ").parse().unwrap();
            let true_mm = 6700.0 * px_per_cm / sheet::PX_PER_MM;
            assert!((true_mm - 67_000.0 / f64::from(plan.scale)).abs() < 1e-9);
        }
    }

    fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
        let rest = text.split(before).nth(1).unwrap();
        rest.split(after).next().unwrap()
    }

    /// Size on paper that a drawing asks for, mm.
    pub(in crate::deliver) fn size_mm(svg: &str) -> (f64, f64) {
        let of = |name: &str| between(svg, name, "mm").parse().unwrap();
        (of("--w:"), of("--h:"))
    }

    #[test]
    fn names_from_outside_cannot_break_out() {
        let mut parcel = example::parcel();
        parcel.name = Some("</title><script>alert(1)</script>".into());
        let svg = plan_svg(&parcel, &example::design(), &example::project());
        assert!(!svg.contains("<script"));
        assert_eq!(escaped("a<b>&\"'\u{1}"), "a&lt;b&gt;&amp;&quot;&#39; ");
    }

    #[test]
    fn every_head_and_valve_is_drawn() {
        let svg = plan_svg(&example::parcel(), &example::design(), &example::project());
        assert_eq!(svg.matches("class=\"head \"").count(), 15);
        assert_eq!(svg.matches("class=\"valve ").count(), 2);
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }

    #[test]
    fn all_that_is_called_up_is_there_once() {
        let svg = plan_svg(&example::parcel(), &example::design(), &example::project());
        for piece in svg.split("href=\"#").skip(1) {
            let id = piece.split('"').next().unwrap();
            assert_eq!(svg.matches(&format!(" id=\"{id}\"")).count(), 1, "{id}");
        }
    }

    #[test]
    fn the_style_has_the_colours_of_the_layers() {
        for colour in palette::STATIONS
            .iter()
            .chain(&[palette::TURF, palette::BUILDING])
        {
            assert!(STYLE.contains(colour), "{colour}");
        }
    }
}
