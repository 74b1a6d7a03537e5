//! Links from page to page.

use std::fmt::Write;

/// A folder's name as a part of a link: every byte but plain letters, digits, `-`, `_` and `.` as `%XX`.
pub(super) fn encoded(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        match byte {
            b'-' | b'_' | b'.' => out.push(char::from(byte)),
            _ if byte.is_ascii_alphanumeric() => out.push(char::from(byte)),
            _ => {
                let _ = write!(out, "%{byte:02X}");
            }
        }
    }
    out
}
