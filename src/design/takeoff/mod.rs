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
mod to_lay;
mod valves;
mod vocabulary;
mod wire;

pub use vocabulary::unknown_prices;

use crate::brief::{Catalogue, Prices, Rules};
use crate::design::model::{Design, Schedule, TakeoffRow};
use ledger::Ledger;
use to_lay::{Joints, ToLay};

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
/// the metre with its waste, coils only counted, trench under paving is paid with its sleeve. What lies in the ground
/// already is not counted; a head that is only set or moved is work, not goods.
pub fn count(
    design: &Design,
    catalogue: &Catalogue,
    prices: &Prices,
    rules: &Rules,
) -> Vec<TakeoffRow> {
    let whole_joints = joints::of(design);
    let mut routes = wire::routes(design);
    let Some(lying) = &design.lying else {
        let job = Job {
            design,
            catalogue,
            prices,
            rules,
        };
        return count_all(&job, &whole_joints, &whole_joints, &routes);
    };
    let left = ToLay::of(design, lying);
    let with_new_valves = Design {
        valves: left.design.valves.clone(),
        ..design.clone()
    };
    routes.clone_from(&wire::routes(&with_new_valves));
    routes.beside = left.of_pipes(&routes.beside);
    let job = Job {
        design: &left.design,
        catalogue,
        prices,
        rules,
    };
    let (fitted, run_through) = (left.fitted(&whole_joints), left.run_through(&whole_joints));
    count_all(&job, &fitted, &run_through, &routes)
}

fn count_all(
    job: &Job,
    fitted: &Joints,
    run_through: &Joints,
    routes: &wire::Routes,
) -> Vec<TakeoffRow> {
    let mut ledger = Ledger::default();
    heads::count(job, &mut ledger);
    pipes::count(job, run_through, &mut ledger);
    fittings::count(job, fitted, &mut ledger);
    valves::count(job, &mut ledger);
    drainage::count(job, &mut ledger);
    wire::count(job, routes, &mut ledger);
    earth::count(job, &mut ledger);
    sleeves::count(job, routes, &mut ledger);
    labour::count(job, &mut ledger);
    ledger.rows(job.prices.list.as_ref())
}

/// What the water of a year costs, where its price is given. Not part of the take-off, which is bought once.
pub fn water_cost_a_year(schedule: &Schedule, prices: &Prices) -> Option<f64> {
    prices.water_per_m3.map(|price| price * schedule.year_m3)
}

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;
