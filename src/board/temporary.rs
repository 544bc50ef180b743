//! The folder for the files of studies: removed when the board ends, or by the next board where this one was killed.
use std::fs::{File, remove_dir_all, symlink_metadata};
use std::io::{Error, ErrorKind, Result};
use std::path::Path;
use tempfile::TempDir;

/// First part of the folder's name; six letters or digits follow.
const PREFIX: &str = "wideenough-board-";
const RANDOM: usize = 6;
/// File in it that its board keeps locked. The system opens the lock when the board ends, in whatever way.
const LOCK: &str = "running";
/// A board that begins at the same moment may take a folder that is not locked yet for one that was left.
const TRIES: usize = 4;

/// Folder of a running board.
pub struct Temporary {
    // Closed before the folder is removed, as some systems remove no open file.
    lock: Option<File>,
    folder: TempDir,
}

impl Temporary {
    /// Creates a folder of its own in `within`, and removes those that boards that are gone have left there.
    pub fn new(within: &Path) -> Result<Self> {
        remove_left(within);
        for _ in 0..TRIES {
            let folder = tempfile::Builder::new().prefix(PREFIX).rand_bytes(RANDOM).tempdir_in(within)?;
            let path = folder.path().join(LOCK);
            let lock = File::create_new(&path)?;
            if lock.try_lock().is_ok() && path.exists() {
                return Ok(Self { lock: Some(lock), folder });
            }
        }
        Err(Error::from(ErrorKind::ResourceBusy))
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        drop(self.lock.take());
    }
}

/// Removes the folders of boards that have been killed. What cannot be removed, such as that of another person, stays.
fn remove_left(within: &Path) {
    for entry in std::fs::read_dir(within).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let random = name.to_str().and_then(|name| name.strip_prefix(PREFIX));
        let ours =
            random.is_some_and(|r| r.len() == RANDOM && r.bytes().all(|byte| byte.is_ascii_alphanumeric()));
        let lock = entry.path().join(LOCK);
        // Neither a link nor a pipe is opened.
        if !ours
            || !entry.file_type().is_ok_and(|kind| kind.is_dir())
            || !symlink_metadata(&lock).is_ok_and(|about| about.is_file())
        {
            continue;
        }
        let Ok(lock) = File::options().read(true).write(true).open(&lock) else { continue };
        if lock.try_lock().is_ok() {
            drop(lock);
            _ = remove_dir_all(entry.path());
        }
    }
}
