//! The brief: what the designer asks for. Project file, rules, climate, prices and catalogue, parsed and checked.

mod builtin_goods;
pub mod builtin_heads;
pub mod catalogue;
mod catalogue_file;
pub mod climate;
mod climate_days;
mod climate_file;
mod csv_file;
pub(crate) mod fields_file;
mod inputs_file;
pub mod price_list;
pub mod prices;
mod prices_file;
pub mod problems;
pub mod project;
mod project_file;
mod retrofit_file;
pub mod rules;
mod rules_file;
mod table;
mod variants_file;

pub use catalogue::{Catalogue, Friction, HeadModel, Nozzle, PipeSize, Profile, ValveSize};
pub use climate::{Climate, Date, Day, Month, Sky};
pub use price_list::PriceList;
pub use prices::Prices;
pub use problems::{BriefError, Problem};
pub use project::{
    EditsSource, ExistingSources, KeepHeads, LayerSource, Project, Retrofit, Variant,
};
pub use rules::Rules;
