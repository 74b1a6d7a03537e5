//! What roots weigh on a parcel.

use crate::brief::Rules;
use crate::site::Parcel;

/// From this share of the turf on roots weigh all that the rule says: there the ways dug out of them would come to some
/// twenty-fifth of the trench.
const FULL_FROM: f64 = 0.15;

/// What roots weigh at least, over what the rule says: a single tree is kept clear of heads too.
const LEAST: f64 = 0.3;

/// The rules as they stand on this parcel: where little of the turf lies among roots, little is dug among them anyway, and
/// even water is not given up for it.
pub fn weighed(rules: &Rules, parcel: &Parcel) -> Rules {
    let over = parcel.share_among_roots(&parcel.turf) / FULL_FROM;
    Rules {
        head_roots: rules.head_roots * over.clamp(LEAST, 1.0),
        ..rules.clone()
    }
}
