//! Catches a panic at the edge of a parcel, with its message and place, and keeps it off the terminal.

use std::cell::{Cell, RefCell};
use std::panic::{self, AssertUnwindSafe, PanicHookInfo};
use std::sync::Once;

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
    static SAID: RefCell<Option<String>> = const { RefCell::new(None) };
}

static HOOK: Once = Once::new();

/// Does `work`; a panic in it becomes its message and place in the program.
///
/// # Errors
/// The message of the panic.
///
/// ```
/// let broken = swardline::batch::guarded(|| -> u32 { panic!("no ground under head 3") });
/// assert!(broken.unwrap_err().starts_with("no ground under head 3 (at "));
/// assert_eq!(swardline::batch::guarded(|| 7), Ok(7));
/// ```
pub fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    HOOK.call_once(listen);
    let outer = GUARDED.replace(true);
    // Nothing of a parcel outlives its failure, so what it left half-changed is never looked at.
    let result = panic::catch_unwind(AssertUnwindSafe(work));
    GUARDED.set(outer);
    result.map_err(|_| SAID.take().unwrap_or_else(|| "no message".to_owned()))
}

/// Panics inside [`guarded`] are noted; all others go where they went before.
fn listen() {
    let before = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        if GUARDED.get() {
            SAID.set(Some(describe(info)));
        } else {
            before(info);
        }
    }));
}

fn describe(info: &PanicHookInfo<'_>) -> String {
    let payload = info.payload();
    let message = payload
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| payload.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no message");
    match info.location() {
        Some(at) => format!("{message} (at {}:{})", at.file(), at.line()),
        None => message.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guard_inside_a_guard_catches_its_own() {
        let outer = guarded(|| {
            let inner = guarded(|| panic!("inner"));
            assert!(inner.is_err_and(|said| said.starts_with("inner (at src/batch/panics.rs:")));
            panic!("outer {}", 2);
        });
        assert!(outer.is_err_and(|said: String| said.starts_with("outer 2 (at ")));
        assert!(!GUARDED.get());
    }
}
