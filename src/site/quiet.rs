//! Keeps GDAL from writing to the terminal: its errors come back to us as values and are told as findings.

use gdal::errors::GdalError;
use std::sync::Once;

static QUIET: Once = Once::new();

/// Silences GDAL's own printing, once for the whole program.
pub(crate) fn hush_gdal() {
    QUIET.call_once(|| gdal::config::set_error_handler(|_, _, _| {}));
}

/// What GDAL says went wrong, without the names of its functions.
pub(crate) fn reason(error: &GdalError) -> String {
    let said = match error {
        GdalError::CplError { msg, .. } | GdalError::NullPointer { msg, .. } => msg.trim(),
        _ => "",
    };
    if said.is_empty() {
        error.to_string()
    } else {
        said.to_owned()
    }
}
