//! The folder of model files that was named at the start: what is in it can be read, and new files written beside them.
//! Nothing outside it can be reached, by no name and by no link.

use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// Largest model file that the page works with. A line of 200 stations is far below it.
pub(crate) const LARGEST_BYTES: u64 = 1 << 20;
/// Most files that are listed.
const MOST_FILES: usize = 500;
/// Longest name of a file, in bytes.
const LONGEST_NAME: usize = 120;

/// A folder of model files.
#[derive(Clone, Debug)]
pub(crate) struct Folder {
    /// The folder, links followed.
    root: PathBuf,
    /// The files that may be seen, if the program was started for one: that one, and what was saved since.
    only: Option<Arc<Mutex<BTreeSet<String>>>>,
}

/// Why a file cannot be read or written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum FileError {
    /// No such file in the folder, or a name that is no plain file name.
    NoSuchFile(String),
    /// The name cannot be given to a file: why.
    Name(String),
    /// It is too large.
    TooLarge(String),
    /// It is no text.
    NotText(String),
    /// There is a file of that name, and it is not the one that the page knows.
    Changed(String),
    /// What the system says.
    System(String),
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchFile(name) => write!(f, "there is no model file {name} in the folder"),
            Self::Name(why) => f.write_str(why),
            Self::TooLarge(name) => {
                write!(f, "{name} is larger than {} kB; a model file is a few kilobytes", LARGEST_BYTES >> 10)
            }
            Self::NotText(name) => write!(f, "{name} is no UTF-8 text"),
            Self::Changed(name) => write!(
                f,
                "{name} exists and is not the file that this page opened; nothing was written: choose another name, or open it anew"
            ),
            Self::System(words) => f.write_str(words),
        }
    }
}

/// A model file as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Opened {
    /// Its text.
    pub(crate) text: String,
    /// Hash of its bytes: what a change of it must name.
    pub(crate) hash: String,
}

impl Folder {
    /// The folder, or the folder of one model file, which is then all that can be opened.
    ///
    /// # Errors
    /// If it does not exist, or the machine does not let us look.
    pub(crate) fn open(path: &Path) -> io::Result<Self> {
        let real = fs::canonicalize(path)?;
        if real.is_dir() {
            return Ok(Self { root: real, only: None });
        }
        match (real.parent(), real.file_name().and_then(|name| name.to_str())) {
            (Some(parent), Some(name)) => {
                let only = BTreeSet::from([name.to_owned()]);
                Ok(Self { root: parent.to_owned(), only: Some(Arc::new(Mutex::new(only))) })
            }
            _ => Err(io::Error::new(io::ErrorKind::InvalidInput, "no folder and no file")),
        }
    }

    /// Names of the model files, in alphabetical order: plain files that end in `.json`, links left out.
    pub(crate) fn list(&self) -> Vec<String> {
        let Ok(entries) = fs::read_dir(&self.root) else { return Vec::new() };
        let mut names: Vec<String> = entries
            .filter_map(Result::ok)
            .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()))
            .filter(|entry| entry.metadata().is_ok_and(|meta| meta.len() <= LARGEST_BYTES))
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|name| is_plain(name).is_ok() && self.may_be_seen(name))
            .collect();
        names.sort();
        names.truncate(MOST_FILES);
        names
    }

    /// Reads a file of the listing.
    ///
    /// # Errors
    /// A name that is not in the listing, whatever it leads to; a file that is too large or no text.
    pub(crate) fn read(&self, name: &str) -> Result<Opened, FileError> {
        let missing = || FileError::NoSuchFile(shown(name));
        is_plain(name).map_err(|_| missing())?;
        if !self.may_be_seen(name) {
            return Err(missing());
        }
        let bytes = self.bytes_of(name)?.ok_or_else(missing)?;
        let hash = hash_of(&bytes);
        let text = String::from_utf8(bytes).map_err(|_| FileError::NotText(name.to_owned()))?;
        Ok(Opened { text, hash })
    }

    /// Writes a file under a temporary name and renames it. A file that exists is replaced only if `known` is its hash.
    ///
    /// # Errors
    /// A name that is no plain file name ending in `.json`, a file that exists with another content, and what the system
    /// says.
    pub(crate) fn save(&self, name: &str, text: &str, known: Option<&str>) -> Result<String, FileError> {
        is_plain(name).map_err(FileError::Name)?;
        if text.len() as u64 > LARGEST_BYTES {
            return Err(FileError::TooLarge(name.to_owned()));
        }
        let system =
            |doing: &str, error: &io::Error| FileError::System(format!("cannot {doing} {name}: {error}"));
        let target = self.root.join(name);
        let is_there = target.symlink_metadata().is_ok();
        if is_there {
            let before = self.bytes_of(name)?.map(|bytes| hash_of(&bytes));
            if before.is_none() || before.as_deref() != known {
                return Err(FileError::Changed(name.to_owned()));
            }
        } else if known.is_some() {
            return Err(FileError::NoSuchFile(name.to_owned()));
        }
        let partial = self.root.join(format!(".{name}.partial-{}", std::process::id()));
        let written = fs::File::create_new(&partial)
            .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()));
        let placed = written.and_then(|()| {
            if !is_there {
                // Takes the name, and fails if a file of that name came into being meanwhile.
                fs::File::create_new(&target)?;
            }
            fs::rename(&partial, &target)
        });
        if placed.is_err() {
            let _left_only_if_it_cannot_go = fs::remove_file(&partial);
        }
        match placed {
            Ok(()) => {
                if let Some(only) = &self.only {
                    only.lock().unwrap_or_else(PoisonError::into_inner).insert(name.to_owned());
                }
                Ok(hash_of(text.as_bytes()))
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                Err(FileError::Changed(name.to_owned()))
            }
            Err(error) => Err(system("write", &error)),
        }
    }

    fn may_be_seen(&self, name: &str) -> bool {
        let names = |only: &Arc<Mutex<BTreeSet<String>>>| {
            only.lock().unwrap_or_else(PoisonError::into_inner).contains(name)
        };
        self.only.as_ref().is_none_or(names)
    }

    /// The bytes of a plain file directly in the folder; `None` if there is none, or it is a link.
    fn bytes_of(&self, name: &str) -> Result<Option<Vec<u8>>, FileError> {
        let path = self.root.join(name);
        let is_file = path.symlink_metadata().is_ok_and(|meta| meta.file_type().is_file());
        // Where a folder on the way was exchanged for a link, the real path is no longer in the folder.
        let is_inside = fs::canonicalize(&path).is_ok_and(|real| real.parent() == Some(self.root.as_path()));
        if !is_file || !is_inside {
            return Ok(None);
        }
        let mut bytes = Vec::new();
        let read =
            fs::File::open(&path).and_then(|file| file.take(LARGEST_BYTES + 1).read_to_end(&mut bytes));
        match read {
            Ok(_) if bytes.len() as u64 > LARGEST_BYTES => Err(FileError::TooLarge(name.to_owned())),
            Ok(_) => Ok(Some(bytes)),
            Err(error) => Err(FileError::System(format!("cannot read {name}: {error}"))),
        }
    }
}

/// SHA-256 in hexadecimal.
fn hash_of(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A name as it may be said back.
fn shown(name: &str) -> String {
    name.chars().filter(|letter| !letter.is_control()).take(LONGEST_NAME).collect()
}

/// Whether a name is one of a plain model file: no folder, no hidden file, nothing that a file system takes amiss.
fn is_plain(name: &str) -> Result<(), String> {
    let Some(stem) = name.strip_suffix(".json") else {
        return Err("the name of a model file ends in .json".to_owned());
    };
    let fits = |letter: char| letter.is_alphanumeric() || " -_.,()+".contains(letter);
    if stem.is_empty() || name.len() > LONGEST_NAME {
        return Err(format!("the name of a model file has 6 to {LONGEST_NAME} letters, .json among them"));
    }
    if name.starts_with(['.', ' ', '-']) || stem.ends_with([' ', '.']) || !stem.chars().all(fits) {
        return Err(
            "the name of a model file has letters, digits, blanks, - _ . , ( ) + and no folder".to_owned()
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder of its own below the one for temporary files, removed at the end.
    struct Scratch(PathBuf);

    impl Scratch {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(format!("linewake-desk-{name}-{}", std::process::id()));
            let _from_a_killed_run = fs::remove_dir_all(&path);
            fs::create_dir_all(path.join("models/inner")).expect("a folder");
            fs::write(path.join("models/a.json"), "{}").expect("a file");
            fs::write(path.join("models/notes.txt"), "text").expect("a file");
            fs::write(path.join("models/inner/b.json"), "{}").expect("a file");
            fs::write(path.join("outside.json"), "secret").expect("a file");
            Self(path)
        }

        fn models(&self) -> Folder {
            Folder::open(&self.0.join("models")).expect("the folder")
        }
    }

    impl Drop for Scratch {
        fn drop(&mut self) {
            let _gone = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn only_plain_files_of_the_folder_can_be_read() {
        let scratch = Scratch::new("read");
        let folder = scratch.models();
        assert_eq!(folder.list(), ["a.json"]);
        assert_eq!(folder.read("a.json").expect("a model").text, "{}");
        let absolute = scratch.0.join("outside.json").display().to_string();
        for name in [
            "../outside.json",
            "inner/b.json",
            "notes.txt",
            "",
            ".",
            "..",
            "b.json",
            "a.json\0",
            &absolute,
            "./a.json",
            "..\\outside.json",
        ] {
            assert!(matches!(folder.read(name), Err(FileError::NoSuchFile(_))), "{name}");
        }
        fs::write(scratch.0.join("models/large.json"), vec![b' '; LARGEST_BYTES as usize + 1])
            .expect("a file");
        assert!(matches!(folder.read("large.json"), Err(FileError::TooLarge(_))));
        fs::write(scratch.0.join("models/binary.json"), [0xff, 0xfe]).expect("a file");
        assert!(matches!(folder.read("binary.json"), Err(FileError::NotText(_))));
    }

    #[cfg(unix)]
    #[test]
    fn no_link_leads_out() {
        let scratch = Scratch::new("links");
        let folder = scratch.models();
        let models = scratch.0.join("models");
        std::os::unix::fs::symlink(scratch.0.join("outside.json"), models.join("link.json")).expect("a link");
        assert_eq!(folder.list(), ["a.json"]);
        assert!(matches!(folder.read("link.json"), Err(FileError::NoSuchFile(_))));
        assert!(matches!(folder.save("link.json", "{}", None), Err(FileError::Changed(_))));
        assert_eq!(fs::read_to_string(scratch.0.join("outside.json")).expect("still there"), "secret");
    }

    #[test]
    fn nothing_is_overwritten_unseen() {
        let scratch = Scratch::new("save");
        let folder = scratch.models();
        assert!(matches!(folder.save("a.json", "{ }", None), Err(FileError::Changed(_))));
        assert!(matches!(folder.save("a.json", "{ }", Some("00")), Err(FileError::Changed(_))));
        let hash = folder.read("a.json").expect("a model").hash;
        let new = folder.save("a.json", "{ }", Some(&hash)).expect("the hash is right");
        assert_eq!(folder.read("a.json").expect("a model"), Opened { text: "{ }".to_owned(), hash: new });
        folder.save("new one.json", "{}", None).expect("a new file");
        assert!(matches!(folder.save("gone.json", "{}", Some(&hash)), Err(FileError::NoSuchFile(_))));
        for name in ["../b.json", "b.txt", ".json", ".hidden.json", "a/b.json", "a:b.json", "a.json/"] {
            assert!(matches!(folder.save(name, "{}", None), Err(FileError::Name(_))), "{name}");
        }
        let left: Vec<String> = fs::read_dir(scratch.0.join("models"))
            .expect("the folder")
            .map(|entry| entry.expect("an entry").file_name().into_string().expect("a name"))
            .filter(|name| name.contains("partial"))
            .collect();
        assert!(left.is_empty(), "{left:?}");
    }

    #[test]
    fn one_model_is_all_that_can_be_opened() {
        let scratch = Scratch::new("one");
        fs::write(scratch.0.join("models/b.json"), "{}").expect("a file");
        let folder = Folder::open(&scratch.0.join("models/a.json")).expect("the file");
        assert_eq!(folder.list(), ["a.json"]);
        assert!(matches!(folder.read("b.json"), Err(FileError::NoSuchFile(_))));
        assert!(folder.save("b.json", "{ }", None).is_err());
        folder.save("variant.json", "{ }", None).expect("a new file beside it");
        assert_eq!(folder.list(), ["a.json", "variant.json"]);
    }
}
