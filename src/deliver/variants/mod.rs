//! Variants of a project side by side: `variants.csv` and `variants.html`, with those marked that no other beats.

mod figures;
mod page;

pub use figures::Compared;

use crate::deliver::DeliverError;
use crate::deliver::summary::SummaryRow;
use crate::deliver::tables;
use std::path::Path;

/// One variant as it came out; the first of a list is the project without variants.
#[derive(Debug, Clone)]
pub struct VariantRows {
    /// What it is called.
    pub name: String,
    /// Its folder under `variants/`; `None` for the base.
    pub folder: Option<String>,
    /// Rows of its summary.
    pub rows: Vec<SummaryRow>,
}

/// Writes the table of all variants.
///
/// # Errors
/// When the file cannot be written.
pub fn write_variants_table(variants: &[VariantRows], path: &Path) -> Result<(), DeliverError> {
    let compared = figures::compared(variants);
    let rows = compared.iter().map(Compared::cells).collect();
    tables::write(path, &Compared::NAMES, rows)
}

/// Writes the page of all variants.
///
/// # Errors
/// When the file cannot be written.
pub fn write_variants_page(
    project: &str,
    currency: Option<&str>,
    variants: &[VariantRows],
    path: &Path,
) -> Result<(), DeliverError> {
    page::write(project, currency, variants, path)
}
