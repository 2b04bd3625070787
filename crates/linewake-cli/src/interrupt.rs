//! Ctrl-C: the first asks the work under way to end, the second ends the program at once.

use crate::exit::Exit;
use std::sync::atomic::{AtomicBool, Ordering};

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Raised by the first Ctrl-C.
pub(crate) fn flag() -> &'static AtomicBool {
    &INTERRUPTED
}

/// Starts to listen. Where the system does not let us, Ctrl-C ends the program as it always does.
pub(crate) fn listen() {
    let _keeps_the_default = ctrlc::set_handler(|| {
        if INTERRUPTED.swap(true, Ordering::Relaxed) {
            std::process::exit(i32::from(Exit::Interrupted.code()));
        }
    });
}
