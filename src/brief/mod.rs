//! The brief: what the designer asks for. Project file, rules, climate, prices and catalogue, parsed and checked.

pub mod builtin_heads;
pub mod catalogue;
pub mod climate;
pub mod prices;
pub mod project;
pub mod rules;

pub use catalogue::{Catalogue, HeadModel, Nozzle, PipeSize, Profile, ValveSize};
pub use climate::{Climate, Month};
pub use prices::Prices;
pub use project::Project;
pub use rules::Rules;
