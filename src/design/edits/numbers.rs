//! Ids of an edited design: what the design without edits had keeps its number, new things get numbers after its highest.

use super::base_mark;
use crate::design::model::{Design, Ids, Pipe, Section};
use crate::design::works::Works;
use crate::design::works::relay::Origin;
use std::collections::BTreeSet;

/// Numbers of the things of works, by what each was in the design. `heads`: what each head was, and the number it came with
/// where it was added.
pub(super) fn ids(
    base: &Design,
    works: &Works,
    origin: &Origin,
    heads: &[(Option<usize>, Option<usize>)],
) -> Ids {
    Ids {
        heads: of_heads(base, heads),
        stations: counted_on(&origin.stations, base.stations.len()),
        nodes: counted_on(&origin.nodes, base.nodes.len()),
        trenches: counted_on(&origin.trenches, base.trenches.len()),
        valves: counted_on(&origin.valves, base.valves.len()),
        drains: counted_on(&origin.drains, base.drains.len()),
        pipes: of_pipes(base, &works.pipework.pipes, &origin.pipes),
        air_valves: of_air_valves(base, works, origin),
        base: Some(base_mark(base)),
    }
}

/// Numbers of heads alone, where nothing feeds them.
pub(super) fn of_heads(base: &Design, heads: &[(Option<usize>, Option<usize>)]) -> Vec<usize> {
    let highest = base.heads.len();
    let mut taken = BTreeSet::new();
    let mut own: Vec<Option<usize>> = heads
        .iter()
        .map(|(was, told)| match was {
            Some(was) => Some(was + 1).filter(|number| taken.insert(*number)),
            None => told.filter(|number| *number > highest && taken.insert(*number)),
        })
        .collect();
    number_rest(&mut own, highest)
}

/// What has a number keeps it, the rest counts on from the highest.
fn number_rest(own: &mut [Option<usize>], highest: usize) -> Vec<usize> {
    let mut next = own.iter().flatten().copied().fold(highest, usize::max);
    let number = |own: &Option<usize>| {
        own.unwrap_or_else(|| {
            next += 1;
            next
        })
    };
    own.iter().map(number).collect()
}

/// Of several things that one was before, the first keeps the number.
fn counted_on(from: &[Option<usize>], highest: usize) -> Vec<usize> {
    let mut taken = BTreeSet::new();
    let mut own: Vec<Option<usize>> = from
        .iter()
        .map(|from| {
            from.map(|from| from + 1)
                .filter(|number| taken.insert(*number))
        })
        .collect();
    number_rest(&mut own, highest)
}

/// Mains and laterals are counted apart; a pipe that became the other is new.
fn of_pipes(base: &Design, pipes: &[Pipe], from: &[Option<usize>]) -> Vec<usize> {
    let is_main = |pipe: &Pipe| pipe.section == Section::Main;
    let mut counts = [0, 0];
    let numbers: Vec<usize> = base
        .pipes
        .iter()
        .map(|pipe| {
            let count = &mut counts[usize::from(is_main(pipe))];
            *count += 1;
            *count
        })
        .collect();
    let mut all = vec![0; pipes.len()];
    for main in [false, true] {
        let ours: Vec<usize> = (0..pipes.len())
            .filter(|i| is_main(&pipes[*i]) == main)
            .collect();
        let was: Vec<Option<usize>> = ours
            .iter()
            .map(|i| {
                let old = from.get(*i).copied().flatten()?;
                let same_kind = base
                    .pipes
                    .get(old)
                    .is_some_and(|pipe| is_main(pipe) == main);
                same_kind.then(|| numbers[old] - 1)
            })
            .collect();
        let numbered = counted_on(&was, counts[usize::from(main)]);
        for (index, number) in ours.into_iter().zip(numbered) {
            all[index] = number;
        }
    }
    all
}

fn of_air_valves(base: &Design, works: &Works, origin: &Origin) -> Vec<usize> {
    let was = |node: &usize| {
        let old = origin.nodes.get(*node).copied().flatten()?;
        base.air_valves.iter().position(|known| *known == old)
    };
    let from: Vec<Option<usize>> = works.air_valves.iter().map(was).collect();
    counted_on(&from, base.air_valves.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_there_keeps_its_number_and_new_things_count_on() {
        assert_eq!(counted_on(&[Some(0), None, Some(2), None], 3), [1, 4, 3, 5]);
        // Both pieces of one pipe that was cut.
        assert_eq!(counted_on(&[Some(1), Some(1)], 2), [2, 3]);
        assert_eq!(counted_on(&[], 2), [0; 0]);
    }

    #[test]
    fn a_head_that_was_added_keeps_the_number_it_came_with_where_that_is_free() {
        let base = Design {
            heads: vec![head(); 3],
            ..Design::default()
        };
        let heads = [
            (Some(2), None),
            (None, Some(9)),
            (None, Some(1)),
            (None, Some(9)),
            (None, None),
        ];
        assert_eq!(of_heads(&base, &heads), [3, 9, 10, 11, 12]);
    }

    fn head() -> crate::design::model::Head {
        crate::design::model::Head {
            position: geo::Coord { x: 0.0, y: 0.0 },
            turf: 0,
            model: 0,
            nozzle: 0,
            arc: crate::design::model::Arc::FULL,
            radius_m: 5.0,
            tilt: crate::design::coverage::Tilt::LEVEL,
            ground_m: 0.0,
            flow_ref_lpm: 1.0,
            one_row: false,
        }
    }
}
