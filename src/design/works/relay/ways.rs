//! The cheapest way for each loose thing to a station with room, kept from one hanging to the next.
//!
//! Only the section that something was hung on has changed in between, so only ways to that are sought anew.

use super::hang::{Loose, least};
use super::loads::Wishes;
use super::seek::{Hanging, Seek};
use crate::design::model::Section;
use crate::design::stations::HeadNeed;

/// Ways by one set of needs.
pub(super) struct Ways<'n> {
    needs: &'n [HeadNeed],
    /// The way of each loose thing, once known.
    found: Option<Vec<Option<Hanging>>>,
    /// Sections that changed since.
    changed: Vec<Section>,
}

impl<'n> Ways<'n> {
    pub fn by(needs: &'n [HeadNeed]) -> Self {
        Self {
            needs,
            found: None,
            changed: Vec::new(),
        }
    }

    /// Other things are loose now.
    pub fn forget(&mut self) {
        self.found = None;
        self.changed.clear();
    }

    /// A thing is loose no more, and a section changed.
    pub fn hung(&mut self, which: usize, section: Section) {
        if let Some(found) = &mut self.found {
            found.remove(which);
            self.changed.push(section);
        }
    }

    /// The loose thing that is hung on for the least, and how.
    pub fn cheapest(
        &mut self,
        seek: &Seek,
        wishes: &Wishes,
        loose: &[Loose],
    ) -> Option<(usize, Hanging)> {
        let (needs, changed) = (self.needs, std::mem::take(&mut self.changed));
        let room = |thing: &Loose, section: Section| match section {
            Section::Main => false,
            Section::Station(station) => {
                station < seek.draft.lots.len()
                    && wishes.has_room(seek.draft, station, &thing.heads, needs)
            }
        };
        let found = match self.found.take() {
            None => loose
                .iter()
                .map(|thing| anywhere(seek, thing, room))
                .collect(),
            Some(found) => {
                let renewed = found.into_iter().zip(loose);
                renewed
                    .map(|(way, thing)| renewed_way(seek, thing, way, &changed, room))
                    .collect()
            }
        };
        let ways = self.found.insert(found).iter().enumerate();
        least(ways.filter_map(|(i, way)| Some((i, way.clone()?))))
    }
}

/// The cheapest way of a thing to any station with room; its own station comes first.
fn anywhere(seek: &Seek, thing: &Loose, room: impl Fn(&Loose, Section) -> bool) -> Option<Hanging> {
    let stations = 0..seek.draft.lots.len();
    let with_room: Vec<bool> = stations.map(|s| room(thing, Section::Station(s))).collect();
    let takes = |section: Section| match section {
        Section::Main => false,
        Section::Station(station) => with_room.get(station).copied().unwrap_or(false),
    };
    let own = thing.home.map(Section::Station).filter(|own| takes(*own));
    let at_home = own.and_then(|own| seek.best(thing, f64::INFINITY, |section| section == own));
    at_home.or_else(|| seek.best(thing, f64::INFINITY, takes))
}

fn renewed_way(
    seek: &Seek,
    thing: &Loose,
    way: Option<Hanging>,
    changed: &[Section],
    room: impl Fn(&Loose, Section) -> bool,
) -> Option<Hanging> {
    let stale = way
        .as_ref()
        .is_some_and(|way| changed.contains(&way.section));
    let home = thing.home.map(Section::Station);
    if stale || home.is_some_and(|home| changed.contains(&home)) {
        return anywhere(seek, thing, room);
    }
    if way.is_some() && way.as_ref().map(|way| way.section) == home {
        return way;
    }
    let takes = |section: Section| changed.contains(&section) && room(thing, section);
    let most = way.as_ref().map_or(f64::INFINITY, |way| way.way.price);
    seek.best(thing, most, takes).or(way)
}
