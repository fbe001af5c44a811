//! A part that panics spoils its own point, not the whole study.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Once;

thread_local! {
    /// What the last panic on this thread said, while somebody catches it.
    static SAID: RefCell<Option<String>> = const { RefCell::new(None) };
    static CATCHING: RefCell<bool> = const { RefCell::new(false) };
}

/// Does something; a panic comes back as its message and place.
pub(super) fn caught<T>(what: impl FnOnce() -> T) -> Result<T, String> {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let otherwise = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            if CATCHING.with(|c| *c.borrow()) {
                let payload = info.payload();
                let text = payload.downcast_ref::<&str>().map(ToString::to_string);
                let message = text.or_else(|| payload.downcast_ref::<String>().cloned());
                let message = message.unwrap_or_else(|| "a panic without words".into());
                SAID.with(|said| *said.borrow_mut() = Some(message));
            } else {
                otherwise(info);
            }
        }));
    });
    let before = CATCHING.with(|c| c.replace(true));
    // what the panic left half done belongs to this point, which is given up
    let done = catch_unwind(AssertUnwindSafe(what));
    CATCHING.with(|c| *c.borrow_mut() = before);
    done.map_err(|_| SAID.with(|said| said.borrow_mut().take()).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_panic_comes_back_as_words() {
        assert_eq!(super::caught(|| 7), Ok(7));
        assert_eq!(super::caught(|| panic!("at point {}", 3)), Err::<(), _>("at point 3".into()));
    }
}
