//! Runs the program in process, and gives tests folders of their own.

use linewake_cli::exit::Exit;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// What the program answered.
#[derive(Debug)]
pub struct Answer {
    /// How it ended.
    pub exit: Exit,
    /// What it printed on the standard output.
    pub out: String,
    /// What it printed on the standard error.
    pub err: String,
}

/// Runs `linewake` with these arguments, in process.
///
/// # Panics
/// If it prints something that is not UTF-8.
pub fn linewake<T: AsRef<str>>(arguments: &[T]) -> Answer {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = std::iter::once("linewake").chain(arguments.iter().map(AsRef::as_ref));
    let exit = linewake_cli::run(all, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("the program prints UTF-8");
    Answer { exit, out: text(out), err: text(err) }
}

/// A folder for one test, removed with everything in it when it goes out of scope.
#[derive(Debug)]
pub struct TestFolder(PathBuf);

impl TestFolder {
    /// A new, empty folder.
    ///
    /// # Panics
    /// If it cannot be made.
    #[must_use]
    pub fn new() -> Self {
        static NEXT: AtomicU64 = AtomicU64::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("linewake-test-{}-{number}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        Self(path)
    }

    /// The folder.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// Path of a file or folder in it, as an argument.
    #[must_use]
    pub fn of(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    /// All files below it, hidden ones too, with "/" between folders, sorted; an empty folder ends with "/".
    ///
    /// # Panics
    /// If it cannot be read.
    #[must_use]
    pub fn files(&self) -> Vec<String> {
        let mut files = Vec::new();
        collect(&self.0, "", &mut files);
        files.sort();
        files
    }
}

fn collect(folder: &Path, prefix: &str, files: &mut Vec<String>) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    for entry in entries {
        let entry = entry.unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            let before = files.len();
            collect(&entry.path(), &format!("{name}/"), files);
            if files.len() == before {
                files.push(format!("{name}/"));
            }
        } else {
            files.push(name);
        }
    }
}

impl Default for TestFolder {
    fn default() -> Self {
        Self::new()
    }
}

impl Drop for TestFolder {
    fn drop(&mut self) {
        let _left_to_the_system = std::fs::remove_dir_all(&self.0);
    }
}
