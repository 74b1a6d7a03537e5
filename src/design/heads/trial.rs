//! One piece of turf from several starts: the best layout is kept.

mod best;
mod out_of_roots;
mod single_row;

use super::Task;
use super::axes::Axes;
use super::classes::Class;
use super::edges::{self, EdgePlace};
use super::field::{BINS, Field, Sweep};
use super::finish::Finish;
use super::ground::Ground;
use super::one_row::Side;
use super::scene::Scene;
use super::search::{Lattice, Purpose, Search, Site, Targets, Usual};
use super::spacing::spacing_share;
use super::stencil::Stencils;
use super::symmetry::{self, Map};
use super::tilts::Tilts;
use crate::design::model::Head;
use crate::geometry::Ring;
use best::Best;
use geo::{Area, BoundingRect, Euclidean, Length, Polygon};

/// Share of the rule's weight of overspray that the search starts with; it is raised where overspray is too high.
const HARM_SHARE: f64 = 0.5;
/// Heads up to which a piece is searched from every start; larger ones from the best start alone.
const ALL_STARTS: usize = 120;
/// Throws of the starts over what the width asks for, and how many starts of each symmetry are mended, at an effort of 1.
const SCALES: [(f64, f64); 2] = [(1.0, 2.0), (0.75, 1.0)];
/// Starts of each symmetry that are refined, at an effort of 1.
const STARTS_REFINED: f64 = 1.0;
/// Depth wanted of a single row over that of two: what heads at their spacing give on one side of a strip.
const ONE_ROW_DEPTH: f64 = 0.45;
/// What a place 4 m inside a root zone costs in J at first, over what it counts in heads and the price of one.
const ROOTS_AT_FIRST: f64 = 0.1;
/// Lattices tried in all, in heads put down.
const LATTICE_HEADS: usize = 1500;

/// What the search found for a piece.
#[derive(Default)]
pub struct Found {
    /// The heads, and what each is kept for.
    pub heads: Vec<(Head, Purpose)>,
    /// Heads of the start that led there.
    pub started: usize,
}

/// Heads of one piece; none where no head can stand.
pub fn place(
    task: &Task,
    piece: &Polygon<f64>,
    class: &Class,
    cell_m: f64,
    reach_m: f64,
    near: &[Head],
    width_m: f64,
) -> Found {
    let looks = Axes::choices(piece)
        .into_iter()
        .filter_map(|axes| look(task, piece, class, axes, cell_m, reach_m));
    let mut best: Option<View> = None;
    for view in looks {
        let more = |old: &View| view.groups[0].len() > old.groups[0].len();
        if best.as_ref().is_none_or(more) {
            best = Some(view);
        }
    }
    let Some(view) = best else {
        return Found::default();
    };
    if width_m <= task.rules.one_row_most_m
        && let Some(found) = single_row::placed(task, &view, class, near, width_m)
    {
        return found;
    }
    let trial = Trial::new(task, &view, class, near, None);
    trial
        .best()
        .map_or(Found::default(), |best| trial.finished(best.search))
}

/// Twice the area over the length of the edge, m.
fn mean_width_m(piece: &Polygon<f64>) -> f64 {
    let rings = std::iter::once(piece.exterior()).chain(piece.interiors());
    let edge_m: f64 = rings.map(|ring| Euclidean.length(ring)).sum();
    2.0 * piece.unsigned_area() / edge_m.max(1e-9)
}

/// A piece seen in one pair of axes.
struct View {
    scene: Scene,
    ground: Ground,
    tilts: Tilts,
    rings: Vec<Ring>,
    groups: Vec<Vec<Map>>,
}

fn look(
    task: &Task,
    piece: &Polygon<f64>,
    class: &Class,
    axes: Axes,
    cell_m: f64,
    reach_m: f64,
) -> Option<View> {
    let scene = Scene::new(task.parcel, piece, axes, 2.0 * reach_m)?;
    let bounds = scene.piece.bounding_rect()?;
    let tilts = Tilts::new(
        &task.parcel.terrain,
        &axes,
        bounds,
        reach_m.min(class.radius_most_m()),
        task.rules.throw_fall_deg,
    );
    let ground = Ground::new(
        &scene,
        task.rules,
        cell_m,
        reach_m / (1.0 - tilts.most.min(0.6)),
    )?;
    if ground.standing.0.is_empty() {
        return None;
    }
    let rings = edges::rings(&ground);
    Some(View {
        groups: symmetry::groups(&ground, &rings, tilts.mean),
        rings,
        scene,
        ground,
        tilts,
    })
}

/// Places along the edges that a start begins with.
struct Edges {
    /// Their throw over what the width asks for.
    scale: f64,
    /// How many starts from them are mended, at an effort of 1.
    mended: f64,
    places: Vec<EdgePlace>,
}

/// The search of one piece.
struct Trial<'a> {
    task: &'a Task<'a>,
    view: &'a View,
    class: &'a Class,
    near: &'a [Head],
    stencils: Stencils,
    spacing: f64,
    places: Vec<Edges>,
    usual: Usual,
    side: Option<Side>,
}

impl<'a> Trial<'a> {
    fn new(
        task: &'a Task,
        view: &'a View,
        class: &'a Class,
        near: &'a [Head],
        side: Option<Side>,
    ) -> Self {
        let spacing = spacing_share(task.rules);
        // Closer heads apply more: the depth wanted everywhere is what that spacing gives.
        let rows = side.map_or(1.0, |_| ONE_ROW_DEPTH);
        let wanted = rows / (spacing.min(1.0) * spacing.min(1.0));
        let cell_m = view.ground.grid.cell_m;
        let strip_m = 0.8 * task.rules.strip_least_m;
        Self {
            stencils: Stencils::new(
                class,
                task.catalogue,
                cell_m,
                wanted,
                view.tilts.most.min(0.6),
            ),
            usual: Usual::of(&view.ground, class, class.radius_most_m()),
            places: SCALES
                .iter()
                .map(|&(scale, mended)| {
                    let apart = (spacing, scale);
                    let mut places =
                        edges::places(&view.ground, &view.rings, class, apart, strip_m);
                    places.retain(|at| side.is_none_or(|side| side.holds(at.ring, at.run_m)));
                    let axes = &view.scene.axes;
                    places.retain(|place| task.clear_of_given(place, axes.parcel(place.at)));
                    Edges {
                        scale,
                        mended,
                        places,
                    }
                })
                .collect(),
            task,
            view,
            class,
            near,
            spacing,
            side,
        }
    }

    fn targets(&self) -> Targets {
        match self.side {
            Some(_) => Targets::of_one_row(self.task.rules, self.places[0].places.len()),
            None => Targets::of(self.task.rules, mean_width_m(&self.view.scene.piece)),
        }
    }

    fn best(&self) -> Option<Best<'_>> {
        let targets = self.targets();
        let effort = self.task.rules.search_effort;
        let many = |at_one: f64| (at_one * effort).ceil().max(1.0) as usize;
        let small = self.places[0].places.len() < ALL_STARTS;
        let mut best: Option<Best> = None;
        for maps in self.groups() {
            let mut mended: Vec<Best> = Vec::new();
            for edges in self
                .places
                .iter()
                .filter(|edges| small || edges.scale >= 1.0)
            {
                let mut starts: Vec<(f64, Search)> = Vec::new();
                for mut search in self.starts(&maps, edges) {
                    search.started = search.count();
                    search.rough();
                    starts.push((search.cost(), search));
                }
                starts.sort_by(|a, b| a.0.total_cmp(&b.0));
                for (_, mut search) in starts.into_iter().take(many(edges.mended)) {
                    search.mend(&targets, effort);
                    mended.push(Best::of(search, &targets));
                }
            }
            mended.sort_by(Best::order);
            for Best { mut search, .. } in mended.into_iter().take(many(STARTS_REFINED)) {
                search.refine(&targets, effort);
                let refined = Best::of(search, &targets);
                if best.as_ref().is_none_or(|best| refined.better(best)) {
                    best = Some(refined);
                }
            }
        }
        best.map(|best| self.out_of_roots(best))
    }

    /// The heads of a layout, without those that nothing asks for.
    fn finished(&self, mut search: Search) -> Found {
        let kept = search.purposes(&self.targets());
        let finish = Finish {
            task: self.task,
            scene: &self.view.scene,
            rings: &self.view.rings,
            class: self.class,
            one_row: self.side.is_some(),
        };
        Found {
            heads: finish.heads(&search.layout(&kept)),
            started: search.started,
        }
    }

    /// Symmetries to keep: the whole, and on small ground each of its parts; none only where there is none.
    fn groups(&self) -> Vec<Vec<Map>> {
        let groups = &self.view.groups;
        if self.task.is_given() {
            // Images might fall on given heads: the last of the groups turns and mirrors nothing.
            return groups.last().cloned().into_iter().collect();
        }
        if let Some(side) = self.side {
            let kept = |map: &&Map| side.keeps(map, &self.view.rings);
            return vec![groups[0].iter().filter(kept).copied().collect()];
        }
        let small = self.places[0].places.len() < ALL_STARTS;
        let real = groups.len().saturating_sub(1).max(1);
        groups
            .iter()
            .take(if small { real } else { 1 })
            .cloned()
            .collect()
    }

    /// Starts with the best square lattice in the middle, with the best triangular one, and with none at all.
    fn starts(&self, maps: &[Map], edges: &Edges) -> Vec<Search<'_>> {
        let bare = self.bare(maps, &edges.places);
        let mut best: [Option<(f64, Search)>; 2] = [None, None];
        let mut put_down = 0;
        let lattices = match self.side {
            None => Lattice::choices(maps.len() == 1),
            Some(_) => Vec::new(),
        };
        for lattice in lattices {
            let mut search = bare.clone();
            search.start_middle(&lattice, edges.scale);
            let added = search.count() - bare.count();
            if added == 0 {
                continue;
            }
            put_down += added;
            let cost = search.cost();
            let kept = &mut best[usize::from(lattice.triangular)];
            if kept.as_ref().is_none_or(|(least, _)| cost < *least) {
                *kept = Some((cost, search));
            }
            if put_down > LATTICE_HEADS {
                break;
            }
        }
        let few = bare.count() <= ALL_STARTS;
        let mut starts: Vec<(f64, Search)> = best.into_iter().flatten().collect();
        if !few {
            starts.sort_by(|a, b| a.0.total_cmp(&b.0));
            starts.truncate(1);
        }
        let mut starts: Vec<Search> = starts.into_iter().map(|(_, search)| search).collect();
        if few || starts.is_empty() {
            starts.push(bare);
        }
        starts
    }

    /// Corners and edges alone.
    fn bare(&self, maps: &[Map], places: &[EdgePlace]) -> Search<'_> {
        let rules = self.task.rules;
        let harm = (HARM_SHARE * rules.overspray_weight) as f32;
        let field = Field::new(
            &self.view.ground,
            self.stencils.clone(),
            harm,
            rules.overspray_building as f32,
        );
        let site = Site {
            scene: &self.view.scene,
            ground: &self.view.ground,
            rings: &self.view.rings,
            class: self.class,
            spacing: self.spacing,
            tilts: &self.view.tilts,
            usual: &self.usual,
            apart: rules.head_distance_least,
            walls_dry: rules.walls_dry > 0.5,
            side: self.side,
        };
        let mut search = Search::new(field, site, maps.to_vec(), self.task.seed);
        search.weights.price = rules.head_price;
        search.weights.roots = ROOTS_AT_FIRST * rules.head_roots * rules.head_price;
        self.rain_of_others(&mut search);
        search.start_edges(places);
        search
    }

    /// The water of heads that stand on turf placed before.
    fn rain_of_others(&self, search: &mut Search) {
        let axes = &self.view.scene.axes;
        let window = self.view.ground.grid.bounds();
        for (index, head) in self.near.iter().enumerate() {
            let at = axes.local(head.position);
            let beside =
                (at.x.abs() - 0.5 * window.width()).max(at.y.abs() - 0.5 * window.height());
            if beside > head.radius_m {
                continue;
            }
            let mut arc = head.arc;
            arc.start_deg = axes.local_bearing_deg(arc.start_deg);
            let Some(share) = self.task.depth_share(head, index) else {
                continue;
            };
            let model = &self.task.catalogue.heads[head.model];
            search
                .field
                .foreign(at, &arc, head.radius_m, model.profile, share);
            let sweep = Sweep {
                first: (arc.start_deg * BINS as f64 / 360.0) as usize % BINS,
                count: (arc.sweep_deg * BINS as f64 / 360.0).round() as usize,
            };
            search.neighbour(at, head.radius_m, sweep);
        }
    }
}
