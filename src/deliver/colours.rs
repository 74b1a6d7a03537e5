//! Which colour each station is drawn in: few colours for many stations, so that those side by side differ.

use crate::deliver::palette;
use crate::design::model::{Design, Station};
use geo::{BoundingRect, Coord, MultiPoint, Point, Rect};

/// The colours of one design's stations.
#[derive(Debug, Default)]
pub(crate) struct StationColours(Vec<usize>);

/// Classes of the colours in drawings.
const CLASSES: [&str; palette::STATIONS.len()] = ["s0", "s1", "s2", "s3", "s4", "s5", "s6"];

/// Where a station's heads stand.
struct Ground {
    places: Vec<Coord<f64>>,
    extent: Option<Rect<f64>>,
}

impl Ground {
    fn of(design: &Design, station: &Station) -> Self {
        let heads = station.heads.iter().filter_map(|&h| design.heads.get(h));
        let places: Vec<Coord<f64>> = heads.map(|head| head.position).collect();
        let points: Vec<Point<f64>> = places.iter().map(|&at| at.into()).collect();
        Self {
            places,
            extent: MultiPoint::new(points).bounding_rect(),
        }
    }

    /// Least distance between heads of the two, m, or `enough_m` where it is no less: then nobody need know it.
    fn gap_m(&self, other: &Self, enough_m: f64) -> f64 {
        let (Some(a), Some(b)) = (self.extent, other.extent) else {
            return enough_m;
        };
        let x = (a.min().x - b.max().x).max(b.min().x - a.max().x).max(0.0);
        let y = (a.min().y - b.max().y).max(b.min().y - a.max().y).max(0.0);
        if x.hypot(y) >= enough_m {
            return enough_m;
        }
        let pairs = self.places.iter().flat_map(|p| {
            other
                .places
                .iter()
                .map(move |q| (p.x - q.x).hypot(p.y - q.y))
        });
        pairs.fold(enough_m, f64::min)
    }
}

impl StationColours {
    /// One station after another takes the colour that is farthest away from it so far.
    pub(crate) fn of(design: &Design) -> Self {
        let grounds: Vec<Ground> = design
            .stations
            .iter()
            .map(|station| Ground::of(design, station))
            .collect();
        let mut chosen: Vec<usize> = Vec::with_capacity(grounds.len());
        for (index, ground) in grounds.iter().enumerate() {
            let mut gaps_m = [f64::INFINITY; palette::STATIONS.len()];
            for (other, &colour) in grounds[..index].iter().zip(&chosen) {
                gaps_m[colour] = ground.gap_m(other, gaps_m[colour]);
            }
            chosen.push(farthest(&gaps_m, index));
        }
        Self(chosen)
    }

    /// Colour of a station; what no station waters is black.
    pub(crate) fn station(&self, index: Option<usize>) -> &'static str {
        let colour = index.and_then(|index| self.0.get(index));
        colour.map_or(palette::BLACK, |&colour| palette::STATIONS[colour])
    }

    /// Class of a station's colour in drawings, which have another palette in the dark.
    pub(crate) fn class(&self, index: Option<usize>) -> &'static str {
        let colour = index.and_then(|index| self.0.get(index));
        colour.map_or("sx", |&colour| CLASSES[colour])
    }
}

/// The greatest gap; of equals the next in turn after those that went before, so that all colours come to be used.
fn farthest(gaps_m: &[f64], turn: usize) -> usize {
    let count = gaps_m.len();
    (0..count)
        .map(|step| (turn + step) % count)
        .reduce(|best, next| {
            if gaps_m[next] > gaps_m[best] {
                next
            } else {
                best
            }
        })
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    /// A row of stations, 10 m apart, of one head each, in the given order along the row.
    fn row(order: &[usize]) -> Design {
        let example = example::design();
        let mut design = Design::default();
        for (head, &place) in order.iter().enumerate() {
            let mut one = example.heads[0].clone();
            one.position = Coord {
                x: place as f64 * 10.0,
                y: 0.0,
            };
            design.heads.push(one);
            let mut station = example.stations[0].clone();
            station.heads = vec![head];
            design.stations.push(station);
        }
        design
    }

    #[test]
    fn stations_side_by_side_differ_whatever_their_order() {
        // Station 8 (index 7) lies beside station 1 (index 0), where a mere round of seven colours would repeat.
        let order = [0, 12, 2, 14, 4, 16, 6, 1, 13, 3, 15, 5, 17, 7, 18, 8];
        let colours = StationColours::of(&row(&order));
        for (a, &at) in order.iter().enumerate() {
            for (b, &beside) in order.iter().enumerate() {
                if at + 1 == beside {
                    assert_ne!(colours.station(Some(a)), colours.station(Some(b)), "{at}");
                }
            }
        }
    }

    #[test]
    fn what_has_no_station_is_black() {
        let colours = StationColours::of(&Design::default());
        assert_eq!(colours.station(None), palette::BLACK);
        assert_eq!(colours.station(Some(3)), palette::BLACK);
    }
}
