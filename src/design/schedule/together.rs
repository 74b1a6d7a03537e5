//! Which stations may be open at the same time: each set of them is asked for once in a plan.
//!
//! Flows are weighed in `pack`; pressures are judged by whoever knows the network.

use crate::design::model::Together;
use std::collections::BTreeMap;
use std::fmt::Debug;

/// Why stations may not run together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// A head would leave its working range, the source would have no pressure left, or there is no steady state.
    Pressure,
    /// Water would run too fast in a pipe.
    Velocity,
}

/// Knows what happens in the pipes while stations are open.
pub trait TogetherCheck: Debug {
    /// Figures of stations (one or more, by rising index) while they are open, or why they may not be.
    ///
    /// # Errors
    /// [`Refusal`].
    fn open(&self, stations: &[usize]) -> Result<Together, Refusal>;

    /// Whether stations that each may run alone may be open at once, as [`open`](Self::open) says, but perhaps found sooner.
    ///
    /// # Errors
    /// [`Refusal`].
    fn may_run(&self, stations: &[usize]) -> Result<(), Refusal> {
        self.open(stations).map(|_| ())
    }
}

/// The sets asked for so far, and what was said.
#[derive(Debug)]
pub struct Sets<'a> {
    check: Option<&'a dyn TogetherCheck>,
    alone: BTreeMap<usize, Option<Refusal>>,
    pairs: BTreeMap<(usize, usize), Option<Refusal>>,
    /// Sets of three and more.
    more: BTreeMap<Vec<usize>, bool>,
    /// How many new sets of three and more may still be asked for.
    left: usize,
    /// Stations of each set that a packing met; the first is empty.
    met: Vec<Vec<usize>>,
    numbers: BTreeMap<Vec<usize>, usize>,
    /// By set and the station that would join it.
    joined: BTreeMap<(usize, usize), Option<usize>>,
}

impl<'a> Sets<'a> {
    /// The set of no station.
    pub const NONE: usize = 0;

    /// Nothing asked for yet; without a check every set may run.
    pub fn new(check: Option<&'a dyn TogetherCheck>) -> Self {
        Self {
            check,
            alone: BTreeMap::new(),
            pairs: BTreeMap::new(),
            more: BTreeMap::new(),
            left: 0,
            met: vec![Vec::new()],
            numbers: BTreeMap::new(),
            joined: BTreeMap::new(),
        }
    }

    /// Lets `new` sets of three and more be asked for from now on; beyond them, only sets known to run may run.
    pub fn allow(&mut self, new: usize) {
        self.left = new;
        self.joined.clear();
    }

    /// The set with a station more, if it may run. A station joining none always may.
    ///
    /// A station that fails alone runs alone, and a set with a refused pair is refused.
    pub fn join(&mut self, set: usize, station: usize) -> Option<usize> {
        let Some(check) = self.check else {
            return Some(set);
        };
        if let Some(known) = self.joined.get(&(set, station)) {
            return *known;
        }
        let mut stations = self.met[set].clone();
        let bears_each = stations
            .iter()
            .all(|other| self.refusal_of_pair(*other, station).is_none());
        stations.push(station);
        stations.sort_unstable();
        let may = bears_each && (stations.len() < 3 || self.more_may(check, &stations));
        let joined = may.then(|| self.number(stations));
        self.joined.insert((set, station), joined);
        joined
    }

    /// Why two stations may not be open at once; `None` where they may, or without a check.
    pub fn refusal_of_pair(&mut self, a: usize, b: usize) -> Option<Refusal> {
        let check = self.check?;
        let pair = (a.min(b), a.max(b));
        if let Some(known) = self.pairs.get(&pair) {
            return *known;
        }
        let mut alone = |station: usize| {
            let known = self.alone.entry(station);
            *known.or_insert_with(|| check.may_run(&[station]).err())
        };
        let refusal = alone(pair.0)
            .or_else(|| alone(pair.1))
            .or_else(|| check.may_run(&[pair.0, pair.1]).err());
        self.pairs.insert(pair, refusal);
        refusal
    }

    /// Figures of a set while it is open; `None` where it may not be, or without a check.
    pub fn figures(&self, stations: &[usize]) -> Option<Together> {
        self.check?.open(stations).ok()
    }

    fn more_may(&mut self, check: &dyn TogetherCheck, stations: &[usize]) -> bool {
        if let Some(known) = self.more.get(stations) {
            return *known;
        }
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        let may = check.may_run(stations).is_ok();
        self.more.insert(stations.to_vec(), may);
        may
    }

    fn number(&mut self, stations: Vec<usize>) -> usize {
        let met = &mut self.met;
        *self.numbers.entry(stations).or_insert_with_key(|stations| {
            met.push(stations.clone());
            met.len() - 1
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::RefCell;

    /// Station 3 fails alone, 0 and 1 do not bear one another, three are too many; keeps what it was asked for.
    #[derive(Debug, Default)]
    struct Strict(RefCell<Vec<Vec<usize>>>);

    impl TogetherCheck for Strict {
        fn open(&self, stations: &[usize]) -> Result<Together, Refusal> {
            self.0.borrow_mut().push(stations.to_vec());
            match stations {
                [0, 1] => Err(Refusal::Velocity),
                [3] | [_, _, _, ..] => Err(Refusal::Pressure),
                _ => Ok(Together::default()),
            }
        }
    }

    #[test]
    fn no_more_new_sets_are_asked_for_than_allowed_and_known_ones_stay() {
        #[derive(Debug)]
        struct All;
        impl TogetherCheck for All {
            fn open(&self, _: &[usize]) -> Result<Together, Refusal> {
                Ok(Together::default())
            }
        }
        let mut sets = Sets::new(Some(&All));
        let zero = sets.join(Sets::NONE, 0).unwrap();
        let two = sets.join(zero, 1).unwrap();
        sets.allow(1);
        let three = sets.join(two, 2).unwrap();
        assert_eq!(sets.join(two, 3), None);
        assert_eq!(sets.join(two, 2), Some(three));
        sets.allow(1);
        assert!(sets.join(two, 3).is_some());
    }

    #[test]
    fn without_a_check_all_may_run() {
        let mut sets = Sets::new(None);
        assert!(sets.join(Sets::NONE, 3).is_some());
        assert_eq!(sets.refusal_of_pair(0, 1), None);
        assert_eq!(sets.figures(&[0, 1]), None);
    }

    #[test]
    fn each_set_is_asked_for_once_and_a_refused_pair_refuses_all_with_it() {
        let strict = Strict::default();
        let mut sets = Sets::new(Some(&strict));
        sets.allow(10);
        for _ in 0..2 {
            let two = sets.join(Sets::NONE, 2).unwrap();
            let with_four = sets.join(two, 4).unwrap();
            assert_eq!(sets.join(with_four, 0), None);
            let zero = sets.join(Sets::NONE, 0).unwrap();
            assert_eq!(sets.join(zero, 1), None);
        }
        let four = sets.join(Sets::NONE, 4).unwrap();
        let two = sets.join(Sets::NONE, 2).unwrap();
        assert_eq!(
            sets.join(four, 2),
            sets.join(two, 4),
            "the same from both ends"
        );
        let two = sets.join(Sets::NONE, 2).unwrap();
        let both = sets.join(two, 0).unwrap();
        assert_eq!(sets.join(both, 1), None);
        assert_eq!(sets.refusal_of_pair(1, 0), Some(Refusal::Velocity));
        let mut asked = strict.0.borrow().clone();
        let all = asked.len();
        asked.sort();
        asked.dedup();
        assert_eq!(asked.len(), all);
        assert!(!asked.contains(&vec![0, 1, 2]));
    }

    #[test]
    fn a_station_that_fails_alone_runs_alone() {
        let strict = Strict::default();
        let mut sets = Sets::new(Some(&strict));
        let three = sets.join(Sets::NONE, 3).unwrap();
        assert_eq!(sets.join(three, 4), None);
        let four = sets.join(Sets::NONE, 4).unwrap();
        assert_eq!(sets.join(four, 3), None);
    }
}
