//! How the system is emptied before the frost, and filled again in spring.

use super::number;
use super::tables::shown;
use crate::brief::Rules;
use crate::deliver::job::Job;
use crate::design::model::{Design, Drain, DrainKind, Section};
use geo::Coord;
use minijinja::{Value, context};

/// How water leaves the pipe before winter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Winter {
    /// By gravity through drain valves.
    Drains,
    /// It stays: the ground does not freeze, and the pipe is only flushed.
    Flush,
    /// It is blown out with air.
    BlowOut,
}

impl Winter {
    /// What the rules ask for.
    pub(super) fn of(rules: &Rules) -> Self {
        match (rules.drain > 0.5, rules.blow_out > 0.5) {
            (true, _) => Self::Drains,
            (false, true) => Self::BlowOut,
            (false, false) => Self::Flush,
        }
    }

    /// The word the page chooses its text by.
    fn word(self) -> &'static str {
        match self {
            Self::Drains => "drains",
            Self::Flush => "flush",
            Self::BlowOut => "blow_out",
        }
    }
}

/// What the page tells of winter and spring.
pub(super) fn told(job: &Job) -> Value {
    let stations = highest_first(job.design);
    let manual = |drain: &&Drain| drain.kind == DrainKind::Manual;
    context! {
        way => Winter::of(&job.project.rules).word(),
        stations => stations.iter().map(|s| job.design.station_number(*s).to_string()).collect::<Vec<_>>().join(", "),
        farthest => farthest_first(job).iter().map(|s| job.design.station_number(*s).to_string()).collect::<Vec<_>>().join(", "),
        manual => job.design.drains.iter().filter(manual).count(),
        automatic => job.design.drains.iter().filter(|d| d.kind == DrainKind::Automatic).count(),
        rating_kpa => lowest_rating_kpa(job).map(|kpa| number(kpa, 0)),
        drains => drains(job),
    }
}

/// Stations by the height of their valves, so that air enters above while water leaves below.
fn highest_first(design: &Design) -> Vec<usize> {
    let height = |station: usize| {
        let node = design.nodes.get(design.stations[station].valve_node);
        node.map_or(f64::NEG_INFINITY, |node| node.ground_m)
    };
    let mut stations: Vec<usize> = (0..design.stations.len()).collect();
    stations.sort_by(|&a, &b| height(b).total_cmp(&height(a)).then(a.cmp(&b)));
    stations
}

/// Stations by the length of main to their valves.
fn farthest_first(job: &Job) -> Vec<usize> {
    let design = job.design;
    let far_m = |station: usize| -> f64 {
        let way = job.way_to(design.stations[station].valve_node);
        way.iter().map(|&pipe| design.pipes[pipe].length_m).sum()
    };
    let far: Vec<f64> = (0..design.stations.len()).map(far_m).collect();
    let mut stations: Vec<usize> = (0..far.len()).collect();
    stations.sort_by(|&a, &b| far[b].total_cmp(&far[a]).then(a.cmp(&b)));
    stations
}

/// The least that any pipe or head laid may bear, kPa; `None` where nothing is laid.
fn lowest_rating_kpa(job: &Job) -> Option<f64> {
    let pipes = job.design.pipes.iter();
    let pipes = pipes.filter_map(|pipe| Some(job.pipe_size(pipe)?.rating_kpa));
    let heads = job.design.heads.iter();
    let heads = heads.filter_map(|head| Some(job.head_model(head)?.pressure_max_kpa));
    pipes.chain(heads).reduce(f64::min)
}

/// Every drain valve, those opened by hand first: where it is and how deep.
fn drains(job: &Job) -> Option<Value> {
    let mut drains: Vec<(&Drain, &String)> =
        job.design.drains.iter().zip(&job.names.drains).collect();
    drains.sort_by_key(|(drain, _)| (drain.kind == DrainKind::Automatic, drain.section));
    let order = job.order_of_heads();
    let row = |(drain, id): &(&Drain, &String)| {
        let node = job.design.nodes.get(drain.node);
        vec![
            (*id).clone(),
            match drain.kind {
                DrainKind::Manual => "by hand".into(),
                DrainKind::Automatic => "automatic".into(),
                DrainKind::Flush => "to flush, by hand".into(),
            },
            match drain.section {
                Section::Main => "main".into(),
                Section::Station(station) => {
                    format!("station {}", job.design.station_number(station))
                }
            },
            node.map_or("–".into(), |node| {
                place(job.design, &order, node.position)
            }),
            number(node.map(|node| node.ground_m - node.invert_m), 2),
            number(drain.drained_l, 0),
            number(drain.gravel_l, 0),
        ]
    };
    let flushed = drains
        .iter()
        .all(|(drain, _)| drain.kind == DrainKind::Flush);
    let caption = if flushed {
        "Flushing points"
    } else {
        "Drain valves"
    };
    let names = [
        "Drain",
        "Opens",
        "Empties",
        "Where",
        "Depth of invert, m",
        "Water, L",
        "Gravel, L",
    ];
    shown(caption, 4, &names, drains.iter().map(row).collect())
}

const WINDS: [&str; 8] = [
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
];

/// A place told from the nearest head: `2.3 m north-east of head 12`.
fn place(design: &Design, order: &[usize], at: Coord<f64>) -> String {
    let far_m = |head: &usize| {
        let step = at - design.heads[*head].position;
        step.x.hypot(step.y)
    };
    let nearest = (0..design.heads.len()).min_by(|a, b| far_m(a).total_cmp(&far_m(b)));
    let Some(head) = nearest else {
        return "–".into();
    };
    let number_of = order.get(head).map_or(0, |place| place + 1);
    let step = at - design.heads[head].position;
    if far_m(&head) < 0.15 {
        return format!("at head {number_of}");
    }
    let eighth = (step.x.atan2(step.y).to_degrees() / 45.0)
        .round()
        .rem_euclid(8.0);
    format!(
        "{} m {} of head {number_of}",
        number(far_m(&head), 1),
        WINDS[eighth as usize % 8]
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn the_rules_choose_how_the_pipe_is_emptied() {
        let rules = |drain: f64| Rules {
            drain,
            ..Rules::default()
        };
        assert_eq!(Winter::of(&rules(1.0)), Winter::Drains);
        assert_eq!(Winter::of(&rules(0.0)), Winter::Flush);
    }

    #[test]
    fn stations_open_from_the_highest_and_air_goes_to_the_farthest_first() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        // Valve 2 lies 10 m farther north, where the ground is 0.1 m higher.
        assert_eq!(highest_first(&design), [1, 0]);
        assert_eq!(farthest_first(&job), [1, 0]);
        assert_eq!(lowest_rating_kpa(&job), Some(480.0));
    }

    #[test]
    fn a_place_is_told_from_the_nearest_head() {
        let design = example::design();
        let order: Vec<usize> = (0..15).collect();
        let told = |x: f64, y: f64| place(&design, &order, Coord { x, y });
        assert_eq!(told(11.0, 1.0), "1.4 m north-east of head 2");
        assert_eq!(told(0.0, -2.0), "2.0 m south of head 1");
        assert_eq!(told(0.0, 0.05), "at head 1");
        assert_eq!(place(&Design::default(), &[], Coord::zero()), "–");
    }

    #[test]
    fn drains_opened_by_hand_come_first() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let table = drains(&Job::new(&parcel, &design, &project)).unwrap();
        let row = table
            .get_attr("rows")
            .unwrap()
            .get_item_by_index(0)
            .unwrap();
        let cells: Vec<String> = row.try_iter().unwrap().map(|v| v.to_string()).collect();
        assert_eq!(cells[1..3], ["by hand", "main"]);
        assert_eq!(cells[4], "0.50");
    }
}
