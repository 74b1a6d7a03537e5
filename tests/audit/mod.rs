//! An auditor of an output folder. It reads only the layers that were written, recomputes, and lists what does not hold.
//!
//! It shares no code with the program: heights, flows and pressures are taken from the files and checked against the laws
//! they must obey (continuity; Hazen–Williams as in Rossman et al. 2020, EPA/600/R-20/133, table 3.1; hydrostatics).

mod ground;
mod layers;
mod lows;
mod network;

pub use layers::Layers;

/// Every violation in one parcel's folder, one line each.
pub fn audit(folder: &std::path::Path) -> Vec<String> {
    let layers = Layers::read(folder);
    let mut found = layers.problems();
    found.extend(ground::problems(&layers));
    found.extend(network::problems(&layers));
    found.extend(lows::problems(&layers));
    found
}
