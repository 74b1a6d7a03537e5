//! The search: heads are slid, turned, set longer or shorter, taken out and put in until the simulated water is best.

mod add;
mod fit;
mod moves;
mod neighbours;
mod purpose;
mod remove;
mod renew;
mod roots;
mod start;
mod targets;
mod tidy;
mod usual;

pub use purpose::Purpose;
pub use start::Lattice;
pub use targets::Targets;
pub use usual::Usual;

use super::classes::Class;
use super::field::{DIRECTIONS, Field, Stand, Sweep};
use super::ground::Ground;
use super::one_row::Side;
use super::scene::Scene;
use super::stencil::{TiltStep, tilt_of};
use super::symmetry::Map;
use crate::design::coverage::Tilt;
use crate::geometry::{Ring, sight};
use geo::Coord;
use neighbours::{Entry, Neighbours};
use std::cell::Cell;

/// Weights of the search, all in shares of the square of a head's radius. Tuned on invented and mapped parks.
#[derive(Debug, Clone, Copy)]
pub struct Weights {
    /// What a head must be worth.
    pub price: f64,
    /// Two heads in one place cost this.
    pub crowd: f64,
    /// A head inside that stands all but on the edge costs this.
    pub beside: f64,
    /// A head deep in a root zone costs this.
    pub roots: f64,
    /// Each head that is missing for head-to-head costs this.
    pub reach: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            price: 0.25,
            crowd: 0.35,
            beside: 0.15,
            roots: 0.15,
            reach: 0.18,
        }
    }
}

/// A head smaller than this share of the usual one on its piece is priced like one of this share.
const SMALL_COUNTS: f64 = 0.7;

/// A head under search; on symmetric ground it stands for its images too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Where it stands.
    pub at: Coord<f64>,
    /// Ring and run along it, for heads on an edge.
    pub edge: Option<(usize, f64)>,
    /// Corners are neither moved nor removed.
    pub corner: bool,
    /// Whether its arc is the corner's own angle, and stays.
    pub locked: bool,
    /// Radius, as a place in the class's radii.
    pub radius: usize,
    /// Radius that the width asks for, m.
    pub aim_m: f64,
    /// Its sector.
    pub sweep: Sweep,
}

impl Placed {
    /// A full circle that throws as far as asked, free to move and turn.
    fn full(at: Coord<f64>, edge: Option<(usize, f64)>, aim_m: f64, class: &Class) -> Self {
        Self {
            at,
            edge,
            corner: false,
            locked: false,
            radius: class.nearest_radius(aim_m),
            aim_m,
            sweep: Sweep::FULL,
        }
    }
}

/// A head in place with its images.
#[derive(Clone)]
struct Slot {
    head: Placed,
    images: Vec<Image>,
}

#[derive(Clone)]
struct Image {
    stand: Stand,
    sweep: Sweep,
    entry: usize,
    /// Its water, and what of it does harm; found when first asked for.
    water: Cell<Option<(f64, f64)>>,
}

/// What the search works on.
#[derive(Clone, Copy)]
pub struct Site<'a> {
    /// The piece and its surroundings.
    pub scene: &'a Scene,
    /// The piece on its grid.
    pub ground: &'a Ground,
    /// Edges that heads stand on.
    pub rings: &'a [Ring],
    /// The class of heads.
    pub class: &'a Class,
    /// Spacing over radius.
    pub spacing: f64,
    /// Tilt of the ground in the middle of each cell of a coarse grid.
    pub tilts: &'a super::tilts::Tilts,
    /// How far heads usually throw about a place.
    pub usual: &'a Usual,
    /// Least distance of two heads over the smaller radius.
    pub apart: f64,
    /// Whether throws are kept off buildings altogether.
    pub walls_dry: bool,
    /// The side of a strip that all heads stand on, where one row is to do.
    pub side: Option<Side>,
}

impl Site<'_> {
    /// Whether heads may stand at this place of a ring.
    pub fn lets_stand(&self, ring: usize, run_m: f64) -> bool {
        self.side.is_none_or(|side| side.holds(ring, run_m))
    }

    /// The longest throw that the width asks for anywhere, m.
    fn longest_aim_m(&self) -> f64 {
        let widest = self.ground.width_m.iter().copied().fold(0.0, f32::max);
        super::edges::radius_for(f64::from(widest), self.class)
    }
}

/// The search on one piece of turf.
#[derive(Clone)]
pub struct Search<'a> {
    /// The water.
    pub field: Field<'a>,
    site: Site<'a>,
    maps: Vec<Map>,
    /// Weights.
    pub weights: Weights,
    /// Heads it started from.
    pub started: usize,
    slots: Vec<Option<Slot>>,
    neighbours: Neighbours,
    seed: u64,
}

impl<'a> Search<'a> {
    /// A search without heads on dry ground. `maps` are the turns and mirrors that the layout shall keep.
    pub fn new(field: Field<'a>, site: Site<'a>, maps: Vec<Map>, seed: u64) -> Self {
        let bounds = site.ground.grid.bounds();
        let longest_m = site.longest_aim_m();
        Self {
            field,
            maps,
            weights: Weights::default(),
            started: 0,
            slots: Vec::new(),
            neighbours: Neighbours::new(bounds.min(), bounds.max(), 0.5 * longest_m, longest_m),
            site,
            seed: seed | 1,
        }
    }

    /// Counts a head of other turf among the neighbours.
    pub fn neighbour(&mut self, at: Coord<f64>, radius_m: f64, sweep: Sweep) {
        self.neighbours.insert(Entry {
            at,
            radius_m,
            tilt: Tilt::default(),
            sweep,
            free_m: None,
            slot: None,
            reached: 0,
        });
    }

    /// Heads with their images: how many there will be.
    pub fn count(&self) -> usize {
        self.slots
            .iter()
            .flatten()
            .map(|slot| slot.images.len())
            .sum()
    }

    /// All heads and their images, each with the map that makes it and what it is kept for.
    pub fn layout(&self, kept: &[(usize, Purpose)]) -> Vec<(Placed, Map, Purpose)> {
        let mut layout = Vec::new();
        for &(index, purpose) in kept {
            if let Some(slot) = &self.slots[index] {
                let images = self.images_of(slot.head.at);
                layout.extend(images.into_iter().map(|(_, map)| (slot.head, map, purpose)));
            }
        }
        layout
    }

    fn radius_m(&self, head: &Placed) -> f64 {
        self.site.class.radii_m[head.radius]
    }

    /// What a head and its images must be worth, m².
    fn price_of(&self, head: &Placed) -> f64 {
        self.images_of(head.at).len() as f64 * self.price_m2(head)
    }

    /// What one head must be worth, m²: a small one costs the crew little less than those that stand round it.
    fn price_m2(&self, head: &Placed) -> f64 {
        let counted_m = self
            .radius_m(head)
            .max(SMALL_COUNTS * self.site.usual.about_m(head.at));
        self.weights.price * counted_m * counted_m
    }

    /// The place and its different images, itself first.
    fn images_of(&self, at: Coord<f64>) -> Vec<(Coord<f64>, Map)> {
        let mut images: Vec<(Coord<f64>, Map)> = Vec::with_capacity(self.maps.len());
        for &map in &self.maps {
            let image = map.place(at);
            let new = |other: &(Coord<f64>, Map)| {
                (other.0.x - image.x).abs() + (other.0.y - image.y).abs() > 1e-6
            };
            if images.iter().all(new) {
                images.push((image, map));
            }
        }
        images
    }

    fn stand(&self, at: Coord<f64>, radius_m: f64) -> Stand {
        let grid = &self.site.ground.grid;
        let walls = self.site.scene.walls.near(at, 1.1 * radius_m);
        let free = (!walls.is_empty()).then(|| {
            sight::horizon_m(&walls, at, &*DIRECTIONS, 2.0 * radius_m)
                .iter()
                .map(|free_m| (free_m / grid.cell_m) as f32)
                .collect()
        });
        Stand {
            cell: grid.cell_of(at),
            tilt: self.tilt(at),
            free,
        }
    }

    fn tilt(&self, at: Coord<f64>) -> TiltStep {
        self.site.tilts.at(at)
    }

    /// Takes a head and its images out of list and water.
    fn lift(&mut self, index: usize) -> Option<Placed> {
        let slot = self.slots.get_mut(index)?.take()?;
        for image in &slot.images {
            self.field
                .rain(&image.stand, slot.head.radius, image.sweep, -1.0);
            self.neighbours.remove(image.entry);
        }
        Some(slot.head)
    }

    /// Puts a head and its images in place.
    fn put(&mut self, index: usize, head: Placed) {
        let radius_m = self.radius_m(&head);
        let cell_m = self.site.ground.grid.cell_m as f32;
        let mut images = Vec::new();
        for (at, map) in self.images_of(head.at) {
            let stand = self.stand(at, radius_m);
            let sweep = map.sweep(head.sweep);
            self.field.rain(&stand, head.radius, sweep, 1.0);
            let free_m = stand
                .free
                .as_ref()
                .map(|free| free.iter().map(|f| f * cell_m).collect());
            let entry = self.neighbours.insert(Entry {
                at,
                radius_m,
                tilt: tilt_of(stand.tilt),
                sweep,
                free_m,
                slot: Some(index),
                reached: 0,
            });
            images.push(Image {
                stand,
                sweep,
                entry,
                water: Cell::new(None),
            });
        }
        self.slots[index] = Some(Slot { head, images });
    }

    /// Puts a new head in place.
    fn push(&mut self, head: Placed) {
        self.slots.push(None);
        self.put(self.slots.len() - 1, head);
    }

    /// Slots in use.
    fn used(&self) -> Vec<usize> {
        (0..self.slots.len())
            .filter(|&index| self.slots[index].is_some())
            .collect()
    }

    /// Slots with a head or image within `reach_m` of a head's places, in rising order.
    fn slots_near(&self, head: &Placed, reach_m: f64) -> Vec<usize> {
        let mut near: Vec<usize> = self
            .images_of(head.at)
            .iter()
            .flat_map(|(at, _)| {
                self.neighbours
                    .near(*at, reach_m)
                    .filter_map(|(_, entry)| entry.slot)
                    .collect::<Vec<_>>()
            })
            .collect();
        near.sort_unstable();
        near.dedup();
        near
    }

    /// Fisher and Yates's shuffle with a small generator of our own (Marsaglia 2003, xorshift), seeded by the turf's id.
    fn shuffle(&mut self, order: &mut [usize]) {
        for i in (1..order.len()).rev() {
            let other = self.chance() % (i as u64 + 1);
            order.swap(i, other as usize);
        }
    }

    /// The next number of the generator.
    fn chance(&mut self) -> u64 {
        self.seed ^= self.seed << 13;
        self.seed ^= self.seed >> 7;
        self.seed ^= self.seed << 17;
        self.seed
    }

    /// A number from 0 to 1.
    fn chance_share(&mut self) -> f64 {
        (self.chance() >> 11) as f64 / (1u64 << 53) as f64
    }
}
