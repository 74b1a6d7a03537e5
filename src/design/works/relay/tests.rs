mod audit;
mod cases;

use super::*;
use crate::brief::Project;
use crate::design::hydraulics::StationSolution;
use crate::design::model::{Design, Pipe};
use crate::design::source;
use crate::design::trenches::fixture;
use geo::Coord;
use proptest::prelude::*;
use std::sync::LazyLock;

/// A designed parcel with what relaying needs.
struct Site {
    parcel: Parcel,
    project: Project,
    surfaces: Surfaces,
    supply: SupplyCurve,
    works: Works,
}

impl Site {
    fn of(parcel: Parcel) -> Self {
        let project = Project::without_inputs("relaid");
        let design: Design = crate::design::design(&parcel, &project);
        let chosen = source::choose(&parcel, &design.heads, &project.catalogue, &project.rules);
        Self {
            surfaces: Surfaces::of(&parcel),
            supply: chosen.source.unwrap().curve,
            works: Works::of(&design),
            project,
            parcel,
        }
    }

    fn ground(&self) -> Ground<'_> {
        Ground {
            parcel: &self.parcel,
            surfaces: &self.surfaces,
            supply: &self.supply,
            catalogue: &self.project.catalogue,
            rules: &self.project.rules,
        }
    }

    /// A station solved through its valve as told.
    fn solved(&self, works: &Works, station: usize) -> StationSolution {
        use crate::design::hydraulics::{StationInput, solve_station};
        let (work, lot) = (&works.pipework, &works.stations[station]);
        let solved = solve_station(&StationInput {
            nodes: &work.nodes,
            pipes: &work.pipes,
            main_path: &work.main_path(station),
            laterals: &work.pipes_of(crate::design::model::Section::Station(station)),
            valve_node: work.valve_nodes[station],
            source_node: 0,
            supply: &self.supply,
            valve: &self.project.catalogue.valves[lot.valve_size.unwrap()],
            regulated_kpa: lot.regulated_kpa,
            heads: &works.heads,
            station_heads: &lot.heads,
            catalogue: &self.project.catalogue,
        });
        solved.unwrap()
    }

    fn same(&self) -> (Vec<Head>, Vec<Option<usize>>) {
        let heads = self.works.heads.clone();
        let from = (0..heads.len()).map(Some).collect();
        (heads, from)
    }

    fn relaid(&self, heads: Vec<Head>, from: &[Option<usize>], fixed: &Fixed) -> Relaid {
        relay(&self.ground(), &self.works, heads, from, fixed).unwrap()
    }
}

static GENTLE: LazyLock<Site> = LazyLock::new(|| Site::of(fixture::parcel()));

static STEEP: LazyLock<Site> = LazyLock::new(|| {
    let mut parcel = fixture::parcel();
    parcel.terrain = crate::site::Terrain::of_function(60.0, |x, y| 100.0 - 0.08 * x + 0.02 * y);
    Site::of(parcel)
});

#[test]
fn works_that_need_no_change_come_back_bit_for_bit() {
    let site = Site::of(fixture::parcel());
    let (heads, from) = site.same();
    let relaid = site.relaid(heads, &from, &Fixed::default());
    assert_eq!(relaid.works, site.works);
    let all = |count: usize| (0..count).map(Some).collect::<Vec<_>>();
    assert_eq!(relaid.origin.pipes, all(site.works.pipework.pipes.len()));
    assert_eq!(relaid.origin.drains, all(site.works.drains.len()));
    assert_eq!(relaid.origin.valves, all(site.works.valves.len()));
    assert!(relaid.origin.resized.iter().all(|resized| !resized));
    assert!(relaid.findings.is_empty());
}

/// A change of one head, by chance.
#[derive(Debug, Clone)]
enum Edit {
    Remove(usize),
    Move(usize, f64, f64),
    Add(usize, f64, f64),
    Narrow(usize),
}

fn edited(site: &Site, edits: &[Edit]) -> (Vec<Head>, Vec<Option<usize>>) {
    let (mut heads, mut from) = site.same();
    for edit in edits {
        let count = heads.len().max(1);
        match *edit {
            Edit::Remove(i) if heads.len() > 1 => {
                heads.remove(i % count);
                from.remove(i % count);
            }
            Edit::Move(i, x, y) => {
                let to = heads[i % count].position + Coord { x, y };
                heads[i % count].position = to;
                heads[i % count].ground_m = site.parcel.terrain.height_m(to).unwrap();
            }
            Edit::Add(i, x, y) => {
                let at = Coord { x, y };
                heads.push(Head {
                    position: at,
                    ground_m: site.parcel.terrain.height_m(at).unwrap(),
                    ..heads[i % count].clone()
                });
                from.push(None);
            }
            Edit::Narrow(i) => heads[i % count].one_row = true,
            Edit::Remove(_) => {}
        }
    }
    (heads, from)
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let edit = prop_oneof![
        any::<usize>().prop_map(Edit::Remove),
        (any::<usize>(), -0.4..0.4, -0.4..0.4).prop_map(|(i, x, y)| Edit::Move(i, x, y)),
        (any::<usize>(), -4.0..4.0, -4.0..4.0).prop_map(|(i, x, y)| Edit::Move(i, x, y)),
        (any::<usize>(), -24.0..24.0, -14.0..14.0).prop_map(|(i, x, y)| Edit::Add(i, x, y)),
        any::<usize>().prop_map(Edit::Narrow),
    ];
    prop::collection::vec(edit, 1..12)
}

fn pins(site: &Site, picks: &[usize]) -> Fixed {
    let some = |count: usize, which: usize| {
        let picked = picks.iter().filter(move |pick| **pick % 4 == which);
        picked
            .map(move |pick| pick / 4 % count.max(1))
            .filter(move |i| *i < count)
            .collect()
    };
    let works = &site.works;
    Fixed {
        pipes: some(works.pipework.pipes.len(), 0),
        nodes: some(works.pipework.nodes.len(), 1),
        valves: some(works.valves.len(), 2),
        drains: some(works.drains.len(), 3),
    }
}

/// The gentle ground with a tap that gives less than the works were designed for.
static WEAK: LazyLock<Site> = LazyLock::new(|| {
    let site = Site::of(fixture::parcel());
    let mut parcel = fixture::parcel();
    if let crate::site::SupplyTest::FlowTest { residual_lpm, .. } = &mut parcel.water_points[0].test
    {
        *residual_lpm = 45.0;
    }
    let chosen = source::choose(
        &parcel,
        &site.works.heads,
        &site.project.catalogue,
        &site.project.rules,
    );
    Site {
        supply: chosen.source.unwrap().curve,
        ..site
    }
});

/// Works as a careless survey might give them.
fn surveyed(works: &Works, faults: &[(u8, usize)]) -> Works {
    let mut works = works.clone();
    for &(what, which) in faults {
        let pick = |count: usize| which % count.max(1);
        let stations = works.stations.len();
        let work = &mut works.pipework;
        let (nodes, pipes) = (work.nodes.len(), work.pipes.len());
        match what % 8 {
            0 if pipes > 0 => {
                work.pipes.remove(pick(pipes));
            }
            1 if pipes > 0 => {
                let pipe = work.pipes[pick(pipes)].clone();
                work.pipes.push(Pipe {
                    from: pipe.to,
                    to: pick(nodes),
                    ..pipe
                });
            }
            2 if pipes > 0 => {
                let pipe = &mut work.pipes[pick(pipes)];
                (pipe.from, pipe.to) = (pipe.to, pipe.from);
            }
            3 => work.nodes[pick(nodes)].head = None,
            4 => work.nodes[pick(nodes)].invert_m = f64::NAN,
            5 => works.stations[pick(stations)].heads.clear(),
            6 => works.stations[pick(stations)].valve_size = None,
            _ => work.nodes[pick(nodes)].position.x = f64::NAN,
        }
    }
    works
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_changed_the_works_are_whole_and_need_no_second_change(
        edits in edits(), picks in prop::collection::vec(any::<usize>(), 0..6), which in 0..3usize,
    ) {
        let site = [&*GENTLE, &*STEEP, &*WEAK][which];
        let fixed = pins(site, &picks);
        let (heads, from) = edited(site, &edits);
        let relaid = site.relaid(heads.clone(), &from, &fixed);
        audit::check(site, &relaid, &fixed);
        let same: Vec<_> = (0..heads.len()).map(Some).collect();
        let again = relay(&site.ground(), &relaid.works, heads, &same, &Fixed::default()).unwrap();
        if relaid.findings.is_empty() && picks.is_empty() {
            prop_assert_eq!(again.works, relaid.works);
        }
    }

    #[test]
    fn careless_surveys_are_no_panic(
        edits in edits(), faults in prop::collection::vec((any::<u8>(), any::<usize>()), 1..5),
    ) {
        let site = &*GENTLE;
        let works = surveyed(&site.works, &faults);
        let (heads, from) = edited(site, &edits);
        let relaid = relay(&site.ground(), &works, heads, &from, &Fixed::default()).unwrap();
        let on: usize = relaid.works.stations.iter().map(|station| station.heads.len()).sum();
        let told = relaid.findings.iter().filter(|f| f.code == "head_not_reached").count();
        prop_assert_eq!(on + told, relaid.works.heads.len());
    }
}
