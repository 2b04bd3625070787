//! The folder of the results: it appears whole or not at all, and no folder of others is touched.
//!
//! Everything is written into a new folder beside the wanted one, which takes its name at the end. A list of the files
//! in it marks a folder as ours.

use crate::failure::Failure;
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Name of the file that marks a folder as made by linewake, and lists what it put there.
const MARKER: &str = ".linewake-folder";

/// First line of the marker.
const MARKER_HEAD: &str =
    "linewake made this folder and replaces it when it is told to write here again. Its files:";

/// A folder that is being written.
pub(crate) struct OutputFolder {
    target: PathBuf,
    partial: PathBuf,
    files: BTreeSet<String>,
    /// Parents that did not exist before, the outermost first.
    made_parents: Vec<PathBuf>,
    force: bool,
    finished: bool,
}

impl OutputFolder {
    /// Looks whether `target` may be written, and begins a folder beside it. With `force` a folder that linewake made
    /// is replaced even if others have put files into it.
    pub(crate) fn begin(target: &Path, force: bool) -> Result<Self, Failure> {
        let target = resolved(target)?;
        may_be_replaced(&target, force)?;
        let (Some(parent), Some(name)) = (target.parent(), target.file_name()) else {
            return Err(Failure::failed(
                format!("{} cannot be replaced", target.display()),
                "choose another --out",
            ));
        };
        let made_parents = missing_parents(parent);
        fs::create_dir_all(parent).map_err(|error| Failure::of_file("make the folder", parent, &error))?;
        let partial = parent.join(beside(name, "partial"));
        let folder = Self {
            target: target.clone(),
            partial,
            files: BTreeSet::new(),
            made_parents,
            force,
            finished: false,
        };
        if folder.partial.exists() {
            // Left by a process of the same number that was killed.
            remove(&folder.partial)?;
        }
        fs::create_dir(&folder.partial)
            .map_err(|error| Failure::of_file("write to the folder", parent, &error))?;
        Ok(folder)
    }

    /// Writes one file; `name` may have folders in it, separated by "/".
    pub(crate) fn write(&mut self, name: &str, content: &[u8]) -> Result<(), Failure> {
        let mut file = self.create(name)?;
        let shown = self.target.join(name);
        file.write_all(content).map_err(|error| Failure::of_file("write", &shown, &error))
    }

    /// Opens a new file for writing.
    pub(crate) fn create(&mut self, name: &str) -> Result<fs::File, Failure> {
        let path = self.partial.join(name);
        let shown = self.target.join(name);
        let made = match path.parent() {
            Some(parent) => fs::create_dir_all(parent),
            None => Ok(()),
        };
        self.files.insert(name.to_owned());
        made.and_then(|()| fs::File::create_new(&path))
            .map_err(|error| Failure::of_file("write", &shown, &error))
    }

    /// Where a file of that name will be, for messages.
    pub(crate) fn shown(&self, name: &str) -> PathBuf {
        self.target.join(name)
    }

    /// Everything is written: the folder takes its name.
    pub(crate) fn finish(mut self) -> Result<(), Failure> {
        let list: Vec<&str> = self.files.iter().map(String::as_str).collect();
        let marker = format!("{MARKER_HEAD}\n{}\n", list.join("\n"));
        self.write(MARKER, marker.as_bytes())?;
        let failed = |error: io::Error| Failure::of_file("write to the folder", &self.target, &error);
        let old = self.target.with_file_name(beside(self.target.file_name().unwrap_or_default(), "old"));
        // It may have changed while the lines ran.
        may_be_replaced(&self.target, self.force)?;
        let replaces = self.target.exists();
        if replaces {
            fs::rename(&self.target, &old).map_err(failed)?;
        }
        if let Err(error) = fs::rename(&self.partial, &self.target) {
            if replaces {
                let _tells_the_first_error = fs::rename(&old, &self.target);
            }
            return Err(failed(error));
        }
        self.finished = true;
        if replaces { remove(&old) } else { Ok(()) }
    }
}

impl Drop for OutputFolder {
    fn drop(&mut self) {
        if self.finished {
            return;
        }
        let _best_effort = fs::remove_dir_all(&self.partial);
        for parent in self.made_parents.iter().rev() {
            let _stays_when_others_use_it = fs::remove_dir(parent);
        }
    }
}

/// Looks whether `target` may be written, and makes it a folder of ours that will hold `files` before it is complete. With
/// `anew` what linewake put there is taken away first.
pub(crate) fn open_for(target: &Path, force: bool, anew: bool, files: &[String]) -> Result<(), Failure> {
    let target = resolved(target)?;
    may_be_replaced(&target, force)?;
    if anew && target.exists() {
        remove(&target)?;
    }
    let failed = |error: io::Error| Failure::of_file("make the folder", &target, &error);
    fs::create_dir_all(&target).map_err(failed)?;
    let mut ours =
        fs::read_to_string(target.join(MARKER)).ok().and_then(|marker| listed(&marker)).unwrap_or_default();
    ours.extend(files.iter().cloned());
    let list: Vec<&str> = ours.iter().map(String::as_str).collect();
    let marker = target.join(MARKER);
    fs::write(&marker, format!("{MARKER_HEAD}\n{}\n", list.join("\n")))
        .map_err(|error| Failure::of_file("write", &marker, &error))
}

/// Looks whether `target` may be written.
pub(crate) fn look_at(target: &Path, force: bool) -> Result<(), Failure> {
    may_be_replaced(&resolved(target)?, force)
}

/// The folder itself, links followed, as an absolute path.
fn resolved(target: &Path) -> Result<PathBuf, Failure> {
    let known = if target.exists() { fs::canonicalize(target) } else { std::path::absolute(target) };
    known.map_err(|error| Failure::of_file("find the folder", target, &error))
}

fn may_be_replaced(target: &Path, force: bool) -> Result<(), Failure> {
    if !target.exists() {
        return Ok(());
    }
    let shown = target.display();
    if !target.is_dir() {
        return Err(Failure::failed(
            format!("{shown} is a file, not a folder"),
            "choose another folder with --out",
        ));
    }
    let found = files_in(target).map_err(|error| Failure::of_file("read the folder", target, &error))?;
    if found.is_empty() && !target.join(MARKER).exists() {
        return Ok(());
    }
    let Some(ours) = fs::read_to_string(target.join(MARKER)).ok().and_then(|marker| listed(&marker)) else {
        let what = format!("{shown} was not made by linewake, and is left as it is");
        return Err(Failure::failed(what, "choose another folder with --out, or empty this one yourself"));
    };
    let foreign: Vec<&str> = found.iter().map(String::as_str).filter(|file| !ours.contains(*file)).collect();
    if let Some(one) = foreign.first()
        && !force
    {
        let more = if foreign.len() > 1 { format!(" and {} more", foreign.len() - 1) } else { String::new() };
        let what = format!("{shown} holds files that linewake did not put there: {one}{more}");
        return Err(Failure::failed(
            what,
            "move them, choose another folder with --out, or replace all with --force",
        ));
    }
    Ok(())
}

/// Whether linewake made that folder.
pub(crate) fn is_ours(folder: &Path) -> bool {
    fs::read_to_string(folder.join(MARKER)).is_ok_and(|marker| listed(&marker).is_some())
}

/// The files that a marker lists; `None` if it is none.
fn listed(marker: &str) -> Option<BTreeSet<String>> {
    let mut lines = marker.lines();
    (lines.next()? == MARKER_HEAD).then(|| lines.map(str::to_owned).collect())
}

/// All files below a folder but the marker, with "/" between folders. A link counts as a file.
fn files_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((folder, prefix)) = open.pop() {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.file_type()?.is_dir() {
                open.push((entry.path(), format!("{name}/")));
            } else if name != MARKER {
                found.push(name);
            }
        }
    }
    found.sort();
    Ok(found)
}

fn missing_parents(parent: &Path) -> Vec<PathBuf> {
    let mut missing: Vec<PathBuf> =
        parent.ancestors().take_while(|folder| !folder.exists()).map(Path::to_owned).collect();
    missing.reverse();
    missing
}

/// A hidden name beside `name` that no other process uses.
fn beside(name: &std::ffi::OsStr, what: &str) -> OsString {
    let mut beside = OsString::from(".");
    beside.push(name);
    beside.push(format!(".{what}-{}", std::process::id()));
    beside
}

fn remove(folder: &Path) -> Result<(), Failure> {
    fs::remove_dir_all(folder).map_err(|error| Failure::of_file("remove the folder", folder, &error))
}
