//! The take-off: what must be bought and dug, counted from the design's own network, never estimated from areas.
//!
//! Every file counts one trade's part into the same ledger; `joints` tells what meets at each node. Without prices the
//! counts stand alone. No allowance is added but the waste of cutting coils.

mod drainage;
mod earth;
mod fittings;
mod heads;
mod joints;
mod labour;
mod ledger;
mod pipes;
mod sleeves;
mod valves;
mod vocabulary;
mod wire;

pub use vocabulary::unknown_prices;

use crate::brief::{Catalogue, Prices, Rules};
use crate::design::model::{Design, Schedule, TakeoffRow};
use ledger::Ledger;

/// What all counts read.
#[derive(Clone, Copy)]
struct Job<'a> {
    design: &'a Design,
    catalogue: &'a Catalogue,
    prices: &'a Prices,
    rules: &'a Rules,
}

/// Everything to buy and to dig, in a fixed order: group, then item, then size.
///
/// A cost is given where a price is, and no thing is costed twice: a head's price holds its swing joint, pipe is costed by
/// the metre with its waste, coils only counted, trench under paving is paid with its sleeve.
pub fn count(
    design: &Design,
    catalogue: &Catalogue,
    prices: &Prices,
    rules: &Rules,
) -> Vec<TakeoffRow> {
    let job = Job {
        design,
        catalogue,
        prices,
        rules,
    };
    let mut ledger = Ledger::default();
    let joints = joints::of(design);
    let routes = wire::routes(design);
    heads::count(&job, &mut ledger);
    pipes::count(&job, &joints, &mut ledger);
    fittings::count(&job, &joints, &mut ledger);
    valves::count(&job, &mut ledger);
    drainage::count(&job, &mut ledger);
    wire::count(&job, &routes, &mut ledger);
    earth::count(&job, &mut ledger);
    sleeves::count(&job, &routes, &mut ledger);
    labour::count(&job, &mut ledger);
    ledger.rows(prices.list.as_ref())
}

/// What the water of a year costs, where its price is given. Not part of the take-off, which is bought once.
pub fn water_cost_a_year(schedule: &Schedule, prices: &Prices) -> Option<f64> {
    prices.water_per_m3.map(|price| price * schedule.year_m3)
}

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;
