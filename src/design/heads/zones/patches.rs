//! Patches: connected cells of one class, those not worth a zone joined with a neighbour.

use super::worth::{Part, Worth};
use super::{beside, class_for};
use crate::geometry::WidthMap;
use std::collections::{BTreeMap, BTreeSet};

/// Marks a cell off the ground.
const NONE: u32 = u32::MAX;

/// The patches of a piece.
pub struct Patches {
    /// Patch of each cell.
    of: Vec<u32>,
    /// Of each patch the class and the median width, m.
    patches: Vec<(usize, f64)>,
    /// Class of the largest patch that was worth a zone by itself.
    leading: Option<usize>,
}

impl Patches {
    /// The patches of a map.
    pub fn of(map: &WidthMap, worth: &Worth) -> Self {
        let (of, bodies) = connected(map, &labels(map, worth));
        let cell_m2 = map.grid.cell_m * map.grid.cell_m;
        let neighbours = borders(map, &of, bodies.len());
        let mut joining = Joining {
            bodies,
            neighbours,
            into: Vec::new(),
            cell_m2,
            worth,
        };
        joining.into = (0..joining.bodies.len()).collect();
        let leading = joining.leading();
        joining.join_all();
        joining.finished(of, leading)
    }

    /// Patch of a cell of the ground.
    pub fn patch_at(&self, cell: usize) -> Option<usize> {
        Some(self.of[cell])
            .filter(|&patch| patch != NONE)
            .map(|patch| patch as usize)
    }

    /// Class of a cell of the ground.
    pub fn class_at(&self, cell: usize) -> Option<usize> {
        self.patch_at(cell).map(|patch| self.patches[patch].0)
    }

    /// Median width of a patch, m.
    pub fn width_m(&self, patch: usize) -> f64 {
        self.patches[patch].1
    }

    /// Class of the largest patch that was worth a zone by itself, `None` where no patch was.
    pub fn leading_class(&self) -> Option<usize> {
        self.leading
    }
}

/// Class of each cell by the widest of the cells round it: threads along the edge, where the map is rough, vanish.
fn labels(map: &WidthMap, worth: &Worth) -> Vec<Option<usize>> {
    let grid = &map.grid;
    (0..grid.cells())
        .map(|cell| {
            (map.width_m[cell] > 0.0).then(|| {
                let at = grid.centre(cell % grid.columns, cell / grid.columns);
                class_for(map.width_at_m(at), worth.classes)
            })
        })
        .collect()
}

/// Cells of one class that hang together.
#[derive(Debug, Clone, Default)]
struct Body {
    class: usize,
    cells: usize,
    /// Widths of the cells that ask for the class, m.
    widths_m: Vec<f32>,
}

fn connected(map: &WidthMap, labels: &[Option<usize>]) -> (Vec<u32>, Vec<Body>) {
    let mut of = vec![NONE; labels.len()];
    let mut bodies = Vec::new();
    for first in 0..labels.len() {
        let (Some(class), NONE) = (labels[first], of[first]) else {
            continue;
        };
        let number = bodies.len() as u32;
        of[first] = number;
        let mut body = Body {
            class,
            ..Body::default()
        };
        let mut open = vec![first];
        while let Some(cell) = open.pop() {
            body.widths_m.push(map.width_m[cell]);
            for next in beside(&map.grid, cell) {
                if labels[next] == Some(class) && of[next] == NONE {
                    of[next] = number;
                    open.push(next);
                }
            }
        }
        body.cells = body.widths_m.len();
        bodies.push(body);
    }
    (of, bodies)
}

/// How many sides of cells each two bodies share.
fn borders(map: &WidthMap, of: &[u32], bodies: usize) -> Vec<BTreeMap<usize, usize>> {
    let mut borders = vec![BTreeMap::new(); bodies];
    for cell in (0..of.len()).filter(|&cell| of[cell] != NONE) {
        for other in beside(&map.grid, cell) {
            if of[other] != NONE && of[other] != of[cell] {
                *borders[of[cell] as usize]
                    .entry(of[other] as usize)
                    .or_insert(0) += 1;
            }
        }
    }
    borders
}

/// Bodies being joined.
struct Joining<'a> {
    bodies: Vec<Body>,
    neighbours: Vec<BTreeMap<usize, usize>>,
    /// The body each has been joined with, itself at first.
    into: Vec<usize>,
    cell_m2: f64,
    worth: &'a Worth<'a>,
}

impl Joining<'_> {
    fn part(&self, body: usize) -> Part {
        let body = &self.bodies[body];
        let area_m2 = body.cells as f64 * self.cell_m2;
        Part::new(body.class, area_m2, body.widths_m.clone())
    }

    /// Whether a body is worth a zone beside its neighbours.
    fn worthy(&self, body: usize) -> bool {
        let least_m2 = self.worth.area_least_m2(self.bodies[body].class);
        if (self.bodies[body].cells as f64) * self.cell_m2 < least_m2 {
            return false;
        }
        let part = self.part(body);
        let width_m = part.width_of_share_m(0.5);
        let beside_wider = self.neighbours[body]
            .keys()
            .any(|&other| self.part(other).width_of_share_m(0.5) > width_m);
        if beside_wider {
            self.worth.narrow(&part)
        } else {
            self.worth.wide(&part)
        }
    }

    fn leading(&self) -> Option<usize> {
        (0..self.bodies.len())
            .filter(|&body| self.worthy(body))
            .max_by_key(|&body| self.bodies[body].cells)
            .map(|body| self.bodies[body].class)
    }

    /// Joins bodies that are not worth a zone, the smallest first, each with the neighbour along its longest border.
    fn join_all(&mut self) {
        let mut rising: BTreeSet<(usize, usize)> = self
            .bodies
            .iter()
            .enumerate()
            .map(|(number, body)| (body.cells, number))
            .collect();
        while let Some((_, small)) = rising.pop_first() {
            if self.neighbours[small].is_empty() || self.worthy(small) {
                continue;
            }
            let longest = self.neighbours[small]
                .iter()
                .max_by_key(|&(&other, &border)| (border, std::cmp::Reverse(other)));
            let Some((&partner, _)) = longest else {
                continue;
            };
            rising.remove(&(self.bodies[partner].cells, partner));
            self.join(small, partner);
            while let Some(same) = self.same_beside(partner) {
                rising.remove(&(self.bodies[same].cells, same));
                self.join(same, partner);
            }
            // Those around are judged anew: a wider neighbour may have gone or come.
            let around: Vec<usize> = self.neighbours[partner].keys().copied().collect();
            for body in around.into_iter().chain([partner]) {
                rising.insert((self.bodies[body].cells, body));
            }
        }
    }

    /// A neighbour of the same class.
    fn same_beside(&self, body: usize) -> Option<usize> {
        let class = self.bodies[body].class;
        let mut around = self.neighbours[body].keys().copied();
        around.find(|&other| self.bodies[other].class == class)
    }

    /// Joins a body with its neighbour, whose class stays.
    fn join(&mut self, small: usize, partner: usize) {
        let gone = std::mem::take(&mut self.bodies[small]);
        let kept = &mut self.bodies[partner];
        kept.cells += gone.cells;
        if gone.class == kept.class {
            kept.widths_m.extend(gone.widths_m);
        }
        for (other, border) in std::mem::take(&mut self.neighbours[small]) {
            self.neighbours[other].remove(&small);
            if other != partner {
                *self.neighbours[partner].entry(other).or_insert(0) += border;
                *self.neighbours[other].entry(partner).or_insert(0) += border;
            }
        }
        self.into[small] = partner;
    }

    fn finished(self, mut of: Vec<u32>, leading: Option<usize>) -> Patches {
        let last = |mut body: usize| {
            while self.into[body] != body {
                body = self.into[body];
            }
            body
        };
        let kept: Vec<usize> = (0..self.into.len()).map(last).collect();
        for patch in of.iter_mut().filter(|patch| **patch != NONE) {
            *patch = kept[*patch as usize] as u32;
        }
        let patches = (0..self.bodies.len())
            .map(|body| {
                let part = self.part(body);
                (part.class, part.width_of_share_m(0.5))
            })
            .collect();
        Patches {
            of,
            patches,
            leading,
        }
    }
}
