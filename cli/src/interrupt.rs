//! Ctrl-C, for commands that have something to show when they are ended early.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::exit;

/// Whether Ctrl-C has come since it is watched for.
pub struct Interrupt {
    came: Arc<AtomicBool>,
}

impl Interrupt {
    /// From now on Ctrl-C (and a request to terminate) is noted instead of ending the process; the
    /// second one ends it at once.
    pub fn watch() -> Self {
        let came = Arc::new(AtomicBool::new(false));
        let noted = Arc::clone(&came);
        // Where no handler can be had, Ctrl-C ends the process as it always does.
        let _ = ctrlc::set_handler(move || {
            if noted.swap(true, Ordering::SeqCst) {
                std::process::exit(i32::from(exit::INTERRUPTED));
            }
        });
        Self { came }
    }

    /// Whether it has come.
    pub fn came(&self) -> bool {
        self.came.load(Ordering::SeqCst)
    }
}
