//! Which files a report is read from: the ones that were named, and those in the folders that were named.

use crate::failure::Failure;
use crate::output_folder;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A file, and how the report names it: without the folders that the user named.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct LogFile {
    pub(crate) path: PathBuf,
    pub(crate) name: String,
}

/// The files, those of a folder in order of their names.
pub(crate) fn log_files(named: &[PathBuf]) -> Result<Vec<LogFile>, Failure> {
    let mut files = Vec::new();
    for path in named {
        let cannot_read = |error| Failure::of_file("read", path, &error);
        if fs::metadata(path).map_err(cannot_read)?.is_dir() {
            let folder = logs_of(path);
            let before = files.len();
            collect(&folder, "", &mut files)?;
            files[before..].sort_by(|one, other| one.name.cmp(&other.name));
            if files.len() == before {
                let what = format!("there is no log in the folder {}", folder.display());
                return Err(Failure::failed(what, "logs end in .csv or .csv.gz"));
            }
        } else {
            let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
            files.push(LogFile { path: path.clone(), name });
        }
    }
    once_each(&files)?;
    Ok(files)
}

/// Nothing that is read may lie in the folder that is to be replaced.
pub(crate) fn outside_of(files: &[LogFile], target: &Path) -> Result<(), Failure> {
    let Ok(target) = fs::canonicalize(target) else { return Ok(()) };
    let inside = |file: &&LogFile| fs::canonicalize(&file.path).is_ok_and(|path| path.starts_with(&target));
    match files.iter().find(inside) {
        None => Ok(()),
        Some(file) => Err(Failure::failed(
            format!(
                "the log {} lies in {}, which the report would replace",
                file.path.display(),
                target.display()
            ),
            "choose another folder with --out",
        )),
    }
}

/// The results of a run hold tables as well, which are CSV too: their logs have a folder of their own.
fn logs_of(folder: &Path) -> PathBuf {
    let logs = folder.join("logs");
    if output_folder::is_ours(folder) && logs.is_dir() { logs } else { folder.to_owned() }
}

fn collect(folder: &Path, prefix: &str, files: &mut Vec<LogFile>) -> Result<(), Failure> {
    let cannot_read = |error| Failure::of_file("read the folder", folder, &error);
    for entry in fs::read_dir(folder).map_err(cannot_read)? {
        let path = entry.map_err(cannot_read)?.path();
        let Some(name) = path.file_name().map(|name| name.to_string_lossy().into_owned()) else { continue };
        if path.is_dir() {
            collect(&path, &format!("{prefix}{name}/"), files)?;
        } else if is_log(&name) {
            files.push(LogFile { name: format!("{prefix}{name}"), path });
        }
    }
    Ok(())
}

fn is_log(name: &str) -> bool {
    let name = name.to_lowercase();
    !name.starts_with('.') && (name.ends_with(".csv") || name.ends_with(".csv.gz"))
}

/// A log that is named twice would count twice.
fn once_each(files: &[LogFile]) -> Result<(), Failure> {
    let mut seen: BTreeMap<PathBuf, &LogFile> = BTreeMap::new();
    for file in files {
        let whole = fs::canonicalize(&file.path).unwrap_or_else(|_| file.path.clone());
        if let Some(first) = seen.insert(whole, file) {
            let (one, other) = (first.path.display(), file.path.display());
            return Err(Failure::usage(
                format!("{one} and {other} are the same file, and its shift would count twice"),
                "name each log once",
            ));
        }
    }
    Ok(())
}
