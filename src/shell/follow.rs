//! Following a script: says when its file was written again.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::{Duration, SystemTime};

use crate::outside::modified;

/// Time between two looks at the file.
const BETWEEN_LOOKS: Duration = Duration::from_millis(200);

struct Watched {
    file: PathBuf,
    written: Option<SystemTime>,
}

/// Watches one file at a time and raises a flag when it changes.
pub(super) struct Follower {
    watched: Arc<Mutex<Option<Watched>>>,
    changed: Arc<AtomicBool>,
}

impl Follower {
    /// A follower of no file yet, and the flag it raises.
    pub(super) fn new() -> Self {
        Self {
            watched: Arc::default(),
            changed: Arc::default(),
        }
    }

    /// The flag that says that the file was written again.
    pub(super) fn changed(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.changed)
    }

    /// The file that is followed.
    pub(super) fn file(&self) -> Option<String> {
        let watched = self.watched.lock().unwrap_or_else(PoisonError::into_inner);
        let file = watched.as_ref()?.file.to_string_lossy().into_owned();
        Some(file)
    }

    /// Follows another file, or none where the name is empty.
    pub(super) fn follow(&self, file: &str) {
        let file = (!file.is_empty()).then(|| PathBuf::from(file));
        let mut watched = self.watched.lock().unwrap_or_else(PoisonError::into_inner);
        let first = watched.is_none();
        *watched = file.map(|file| Watched {
            written: modified(&file),
            file,
        });
        drop(watched);
        if first {
            let (watched, changed) = (Arc::downgrade(&self.watched), Arc::clone(&self.changed));
            std::thread::spawn(move || watch(&watched, &changed));
        }
    }
}

/// Looks at the file until nothing is followed any more.
fn watch(watched: &Weak<Mutex<Option<Watched>>>, changed: &AtomicBool) {
    while let Some(shared) = watched.upgrade() {
        {
            let mut watched = shared.lock().unwrap_or_else(PoisonError::into_inner);
            let Some(watched) = watched.as_mut() else {
                return;
            };
            let written = modified(&watched.file);
            // A file that is gone for a moment is one that an editor is about to replace.
            if written.is_some() && written != watched.written {
                watched.written = written;
                changed.store(true, Ordering::Relaxed);
            }
        }
        drop(shared);
        std::thread::sleep(BETWEEN_LOOKS);
    }
}
