//! What all requests share: the folder, the shifts that were run, and who may run shifts now.

use crate::folder::Folder;
use crate::shifts::Memory;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::{Semaphore, SemaphorePermit};

/// Pieces of work that may wait for their turn; more are refused.
const MOST_WAITING: u64 = 16;
/// Pages that are remembered.
const MOST_PAGES: usize = 64;

/// The state of a server.
pub(crate) struct Desk {
    /// Where the models are.
    pub(crate) folder: Folder,
    /// Shifts that were run lately.
    pub(crate) memory: Memory,
    /// One piece of work has all cores.
    turn: Semaphore,
    waiting: AtomicU64,
    running: AtomicU64,
    /// The work under way for each page: a new one ends it.
    pages: Mutex<BTreeMap<String, Arc<AtomicBool>>>,
    /// Raised when the server ends.
    closing: AtomicBool,
}

/// The right to run shifts. It ends when this is dropped.
pub(crate) struct Turn<'d> {
    desk: &'d Desk,
    _permit: SemaphorePermit<'d>,
}

impl Drop for Turn<'_> {
    fn drop(&mut self) {
        self.desk.running.fetch_sub(1, Ordering::SeqCst);
    }
}

impl Desk {
    /// With nothing run yet.
    pub(crate) fn new(folder: Folder) -> Self {
        Self {
            folder,
            memory: Memory::default(),
            turn: Semaphore::new(1),
            waiting: AtomicU64::new(0),
            running: AtomicU64::new(0),
            pages: Mutex::new(BTreeMap::new()),
            closing: AtomicBool::new(false),
        }
    }

    /// A flag for a new piece of work of that page; raises the one of its last.
    pub(crate) fn begin(&self, page: &str) -> Arc<AtomicBool> {
        let flag = Arc::new(AtomicBool::new(self.closing.load(Ordering::SeqCst)));
        let mut pages = self.pages.lock().unwrap_or_else(PoisonError::into_inner);
        if pages.len() >= MOST_PAGES && !pages.contains_key(page) {
            pages.retain(|_, flag| Arc::strong_count(flag) > 1);
        }
        if let Some(last) = pages.insert(page.to_owned(), Arc::clone(&flag)) {
            last.store(true, Ordering::SeqCst);
        }
        flag
    }

    /// Waits for the turn; `None` if too many wait already.
    pub(crate) async fn turn(&self) -> Option<Turn<'_>> {
        if self.waiting.fetch_add(1, Ordering::SeqCst) >= MOST_WAITING {
            self.waiting.fetch_sub(1, Ordering::SeqCst);
            return None;
        }
        let permit = self.turn.acquire().await;
        self.waiting.fetch_sub(1, Ordering::SeqCst);
        let permit = permit.ok()?;
        self.running.fetch_add(1, Ordering::SeqCst);
        Some(Turn { desk: self, _permit: permit })
    }

    /// Pieces of work under way.
    pub(crate) fn running(&self) -> u64 {
        self.running.load(Ordering::SeqCst)
    }

    /// Ends all work under way, and all that begins from now on.
    pub(crate) fn close(&self) {
        self.closing.store(true, Ordering::SeqCst);
        for flag in self.pages.lock().unwrap_or_else(PoisonError::into_inner).values() {
            flag.store(true, Ordering::SeqCst);
        }
    }
}
