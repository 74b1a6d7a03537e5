//! Cleaning of one ring: closing, repeated vertices, needles. Metres.

use geo::Coord;
use std::collections::BTreeMap;

/// Vertices nearer than this are one; coordinates with nine decimals of a degree lie within 0.1 mm.
const SAME_PLACE_M: f64 = 0.000_5;
/// A needle narrower than this holds no ground.
const SPIKE_WIDTH_M: f64 = 0.003;
/// Sine of the angle below which a vertex is a needle's point.
const SPIKE_SINE: f64 = 0.02;
/// Counts of repairs, by what was done.
#[derive(Debug, Default)]
pub(crate) struct Repairs(BTreeMap<&'static str, usize>);

impl Repairs {
    pub(crate) fn add(&mut self, what: &'static str, times: usize) {
        if times > 0 {
            *self.0.entry(what).or_default() += times;
        }
    }

    pub(crate) fn words(&self) -> Vec<String> {
        let mut words = Vec::new();
        for (what, times) in &self.0 {
            words.push(if *times > 1 {
                format!("{what} ({times}×)")
            } else {
                (*what).to_owned()
            });
        }
        words
    }
}

/// Closes, and takes out repeated vertices and needles; returns the ring open.
pub(crate) fn clean_ring(drawn: &[Coord<f64>], repairs: &mut Repairs) -> Vec<Coord<f64>> {
    let mut ring = drawn.to_vec();
    if ring.len() > 1 {
        if apart_m(ring[0], ring[ring.len() - 1]) < SAME_PLACE_M {
            ring.pop();
        } else {
            repairs.add("closed a ring", 1);
        }
    }
    loop {
        let before = ring.len();
        drop_repeated(&mut ring);
        repairs.add("dropped a repeated vertex", before - ring.len());
        let spikes = drop_spikes(&mut ring);
        repairs.add("cut off a spike", spikes);
        if spikes == 0 {
            return ring;
        }
        // The foot of a needle is left twice, which is part of the same repair.
        drop_repeated(&mut ring);
    }
}

fn apart_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

fn drop_repeated(ring: &mut Vec<Coord<f64>>) {
    ring.dedup_by(|next, kept| apart_m(*next, *kept) < SAME_PLACE_M);
    while ring.len() > 1 && apart_m(ring[0], ring[ring.len() - 1]) < SAME_PLACE_M {
        ring.pop();
    }
}

/// Takes out every vertex that is the point of a needle; returns how many.
fn drop_spikes(ring: &mut Vec<Coord<f64>>) -> usize {
    let mut dropped = 0;
    let mut index = 0;
    while ring.len() > 2 && index < ring.len() {
        let count = ring.len();
        let (before, tip, after) = (
            ring[(index + count - 1) % count],
            ring[index],
            ring[(index + 1) % count],
        );
        if is_spike(before, tip, after) {
            ring.remove(index);
            dropped += 1;
            index = index.saturating_sub(1);
        } else {
            index += 1;
        }
    }
    dropped
}

fn is_spike(before: Coord<f64>, tip: Coord<f64>, after: Coord<f64>) -> bool {
    let (u, v) = (before - tip, after - tip);
    let (u_m, v_m) = (u.x.hypot(u.y), v.x.hypot(v.y));
    let cross = (u.x * v.y - u.y * v.x).abs();
    let same_way = u.x * v.x + u.y * v.y > 0.0;
    same_way && cross / u_m.max(v_m) < SPIKE_WIDTH_M && cross < SPIKE_SINE * u_m * v_m
}

/// Area of an open ring, positive counterclockwise.
pub(crate) fn signed_area_m2(ring: &[Coord<f64>]) -> f64 {
    // Taken from the first vertex, so that large coordinates cancel.
    let Some(&origin) = ring.first() else {
        return 0.0;
    };
    let next = ring.iter().cycle().skip(1);
    let doubled: f64 = ring
        .iter()
        .zip(next)
        .map(|(a, b)| (a.x - origin.x) * (b.y - origin.y) - (b.x - origin.x) * (a.y - origin.y))
        .sum();
    doubled / 2.0
}
