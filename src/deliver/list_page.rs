//! The frame that the pages over several parcels share: head, title, foot, styles and script.

use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::plan;
use crate::deliver::report::{SCRIPT, STYLE};
use minijinja::{Environment, Value, context};
use std::path::Path;

const FRAME: &str = include_str!("list_page.html");

/// Fills `template`, which extends `list_page.html`, and writes the page. `.html` names escape everything not marked safe.
pub(super) fn write(template: &str, filled: Value, path: &Path) -> Result<(), DeliverError> {
    let mut environment = Environment::new();
    environment.add_template("list_page.html", FRAME)?;
    environment.add_template("page.html", template)?;
    let safe = Value::from_safe_string;
    let frame = context! {
        version => env!("CARGO_PKG_VERSION"),
        style => safe(format!("{}{STYLE}", plan::STYLE)),
        script => safe(SCRIPT.to_owned()),
    };
    let page = environment
        .get_template("page.html")?
        .render(context! { ..filled, ..frame })?;
    write_text(path, &page)
}
