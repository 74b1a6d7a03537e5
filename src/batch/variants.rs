//! Variants of a project: where each lies, and the comparison of all.

use crate::batch::{OutputError, OutputFolder, Report, folder_names};
use crate::brief::Variant;
use crate::deliver::{SummaryRow, VariantRows, write_variants_page, write_variants_table};
use std::path::PathBuf;

/// Name of each variant's folder under `variants/`, in their order.
pub fn variant_folders(variants: &[Variant]) -> Vec<String> {
    let names: Vec<String> = variants.iter().map(|v| v.name.clone()).collect();
    let folders = folder_names(&names);
    names.iter().map(|name| folders[name].clone()).collect()
}

/// A variant's part of the comparison; without a folder it is the base.
pub fn compared(name: &str, folder: Option<&str>, report: &Report) -> VariantRows {
    let rows: Vec<SummaryRow> = report.outcomes.iter().map(|o| o.row.clone()).collect();
    VariantRows {
        name: name.to_owned(),
        folder: folder.map(str::to_owned),
        rows,
    }
}

/// Writes `variants.csv` and `variants.html`, and says where the page is.
///
/// # Errors
/// When they cannot be written.
pub fn write_comparison(
    output: &OutputFolder,
    project: &str,
    currency: Option<&str>,
    variants: &[VariantRows],
) -> Result<PathBuf, OutputError> {
    output.write_whole("variants.csv", |path| {
        Ok(write_variants_table(variants, path)?)
    })?;
    output.write_whole("variants.html", |path| {
        Ok(write_variants_page(project, currency, variants, path)?)
    })
}
