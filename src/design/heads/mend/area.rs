//! A turf area under mending: its heads, their water on the grid, and how it stands.

use super::Freedom;
use super::rain::Rain;
use super::seat::Seat;
use super::yard::Yard;
use crate::design::coverage::spread::Scratch;
use crate::design::coverage::{class_rate_mm_h, low_quarter};
use crate::design::heads::spacing::spacing_share;
use crate::design::model::Head;
use geo::Coord;

/// Depth wanted of a single row over that of two: what heads at their spacing give on one side of a strip.
const ONE_ROW_DEPTH: f64 = 0.45;
/// Share of the mean below which ground counts as dry.
const DRY_BELOW: f64 = 0.3;
/// Share of the rule's weight of overspray that water off the turf counts with.
const HARM_SHARE: f64 = 0.5;

/// A head off its seat with its water.
pub struct Lifted {
    /// The head.
    pub head: Option<Head>,
    /// Its water.
    pub rain: Option<Rain>,
}

/// How an area stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Uniformity of the low quarter; 0 without water.
    pub du: f64,
    /// Share that is dry.
    pub dry: f64,
    /// Share of the water off the turf.
    pub over: f64,
}

/// An area under mending.
#[derive(Clone)]
pub struct Area<'a> {
    /// The ground.
    pub yard: &'a Yard<'a>,
    /// Its heads.
    pub seats: Vec<Seat>,
    /// Heads of other turf areas.
    pub others: &'a [Head],
    /// Rate of the class that waters most of it, mm/h.
    pub main_mm_h: f64,
    /// Depth wanted everywhere, as a rate, mm/h.
    pub wanted_mm_h: f64,
    /// Weight of water that does harm.
    pub harm: f64,
    rate: Vec<f64>,
}

impl<'a> Area<'a> {
    /// The area with the heads that stand on it and the water of `others`.
    pub fn new(yard: &'a Yard<'a>, seats: Vec<Seat>, others: &'a [Head]) -> Self {
        let mut area = Self {
            harm: HARM_SHARE * yard.job.rules.overspray_weight,
            yard,
            seats,
            others,
            main_mm_h: 0.0,
            wanted_mm_h: 0.0,
            rate: Vec::new(),
        };
        area.rain_anew();
        area
    }

    /// Heads as they are.
    pub fn heads(&self) -> impl Iterator<Item = &Head> {
        self.seats.iter().filter_map(|seat| seat.head.as_ref())
    }

    /// Whether all heads stand in the single row of a strip.
    pub fn one_row(&self) -> bool {
        let mut heads = self.heads().peekable();
        heads.peek().is_some() && heads.all(|head| head.one_row)
    }

    /// Reckons all water from the beginning, since the main class may have changed.
    pub fn rain_anew(&mut self) {
        let yard = self.yard;
        self.main_mm_h = self.main_rate_mm_h();
        let spacing = spacing_share(yard.job.rules).min(1.0);
        let rows = if self.one_row() { ONE_ROW_DEPTH } else { 1.0 };
        self.wanted_mm_h = rows * self.main_mm_h / (spacing * spacing);
        self.rate = vec![0.0; yard.grid.cells()];
        let mut scratch = Scratch::default();
        let bounds = yard.grid.bounds();
        for head in self.others {
            let reach_m = head.radius_m * head.tilt.reach_share_most();
            let (low, high) = (bounds.min(), bounds.max());
            let beside = (low.x - head.position.x).max(head.position.x - high.x);
            let beyond = (low.y - head.position.y).max(head.position.y - high.y);
            if yard.job.sound(head) && beside.max(beyond) < reach_m {
                let rain = Rain::of(yard, head, self.main_mm_h, &mut scratch);
                rain.each(|cell, rate| self.rate[cell] += f64::from(rate));
            }
        }
        for index in 0..self.seats.len() {
            let head = self.seats[index].head.take();
            self.seats[index].rain = None;
            self.put(index, head);
        }
    }

    /// Rate of the class that wets most of the ground, mm/h: of the area's heads, else of the class its pieces carry.
    fn main_rate_mm_h(&self) -> f64 {
        let job = self.yard.job;
        let mut grounds: Vec<(f64, f64)> = Vec::new();
        for head in self.heads().filter(|head| job.sound(head)) {
            let Some(rate) = class_rate_mm_h(job.catalogue, head.model) else {
                continue;
            };
            let ground = head.radius_m * head.radius_m * head.arc.sweep_deg;
            match grounds.iter_mut().find(|(known, _)| *known == rate) {
                Some((_, sum)) => *sum += ground,
                None => grounds.push((rate, ground)),
            }
        }
        let most = (grounds.into_iter())
            .max_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)))
            .map(|(rate, _)| rate);
        let zones = self.yard.pieces.iter().flat_map(|piece| &piece.zones);
        most.or_else(|| zones.map(|zone| job.classes[zone.class].rate_mm_h).next())
            .unwrap_or(1.0)
    }

    /// The water of a head that does not stand yet.
    pub fn rain_of(&self, head: &Head, scratch: &mut Scratch) -> Rain {
        if self.yard.job.sound(head) {
            Rain::of(self.yard, head, self.main_mm_h, scratch)
        } else {
            Rain::default()
        }
    }

    /// Takes a head and its water off its seat; `put_back` undoes it.
    pub fn lift(&mut self, index: usize) -> Lifted {
        let seat = &mut self.seats[index];
        let lifted = Lifted {
            head: seat.head.take(),
            rain: seat.rain.take(),
        };
        if let Some(rain) = &lifted.rain {
            rain.each(|cell, rate| self.rate[cell] -= f64::from(rate));
        }
        lifted
    }

    /// Puts what was lifted back on its seat.
    pub fn put_back(&mut self, index: usize, lifted: Lifted) {
        if let Some(rain) = &lifted.rain {
            rain.each(|cell, rate| self.rate[cell] += f64::from(rate));
        }
        self.seats[index].head = lifted.head;
        self.seats[index].rain = lifted.rain;
    }

    /// Puts a head on an empty seat, or leaves it empty.
    pub fn put(&mut self, index: usize, head: Option<Head>) {
        let rain = (head.as_ref()).map(|head| self.rain_of(head, &mut Scratch::default()));
        self.put_back(index, Lifted { head, rain });
    }

    /// Another head, or none, on a seat; returns what was there, for `put_back` once the seat is lifted again.
    pub fn change(&mut self, index: usize, head: Option<Head>) -> Lifted {
        let was = self.lift(index);
        self.put(index, head);
        was
    }

    /// A new head; returns its seat.
    pub fn add(&mut self, head: Head) -> usize {
        self.seats.push(Seat {
            head: None,
            was: None,
            base: None,
            freedom: Freedom::Moved,
            rain: None,
        });
        let index = self.seats.len() - 1;
        self.put(index, Some(head));
        index
    }

    /// Depth on a cell over the wanted depth.
    pub fn depth(&self, cell: usize) -> f32 {
        (self.rate[cell] / self.wanted_mm_h) as f32
    }

    /// What J falls by if this water came on top, m²: as the search for whole layouts reckons it.
    pub fn gain(&self, rain: &Rain) -> f64 {
        let mut better = 0.0;
        rain.each(|cell, rate| {
            if self.yard.want[cell] > 0.0 {
                let excess = self.depth(cell) - 1.0;
                let more = (f64::from(rate) / self.wanted_mm_h) as f32;
                better += f64::from(dislike(excess) - dislike(excess + more));
            }
        });
        let cell_m = self.yard.grid.cell_m;
        better * cell_m * cell_m - self.harm * rain.harm / self.wanted_mm_h
    }

    /// Uniformity, dry share and overspray as they stand.
    pub fn figures(&self) -> Figures {
        let depths: Vec<f32> = (self.yard.wanted.iter())
            .map(|&cell| self.rate[cell as usize].max(0.0) as f32)
            .collect();
        let mean = depths.iter().map(|&d| f64::from(d)).sum::<f64>() / depths.len().max(1) as f64;
        let (mut own, mut lost) = (0.0, 0.0);
        for rain in self.seats.iter().filter_map(|seat| seat.rain.as_ref()) {
            own += rain.own_lpm;
            lost += rain.lost_lpm;
        }
        let over = if own > 0.0 { lost / own } else { 0.0 };
        let Some(low) = low_quarter(&depths).filter(|_| mean > 1e-9) else {
            return Figures {
                du: 0.0,
                dry: 1.0,
                over,
            };
        };
        let dry = depths.iter().filter(|&&d| f64::from(d) < DRY_BELOW * mean);
        Figures {
            du: low / mean,
            dry: dry.count() as f64 / depths.len() as f64,
            over,
        }
    }

    /// Depths on the wanted cells within `reach_m` of a place, over the wanted depth.
    pub fn depths_near(&self, at: Coord<f64>, reach_m: f64) -> Vec<f32> {
        let cells = self.yard.grid.cells_within(at, reach_m);
        let wanted = cells.filter(|cell| self.yard.want[*cell] > 0.0);
        wanted.map(|cell| self.depth(cell).max(0.0)).collect()
    }

    /// What all changes cost.
    pub fn price(&self) -> f64 {
        let prices = &self.yard.job.task.prices;
        self.seats.iter().map(|seat| seat.price(prices)).sum()
    }
}

/// `(1-u)²` when short, `¼(u-1)²` when over, of the excess `u - 1`.
pub fn dislike(excess: f32) -> f32 {
    let short = excess.min(0.0);
    0.25 * excess * excess + 0.75 * short * short
}
