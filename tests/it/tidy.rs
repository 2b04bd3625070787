//! The rules of the house that no compiler checks: direction of dependencies, module heads, paths in DEVELOPERS.md.

use linewake_tests::workspace_root;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Who may depend on whom among our own crates (section "Map" of DEVELOPERS.md).
const MAY_NAME: &[(&str, &[&str])] = &[
    ("stats", &[]),
    ("model", &["stats"]),
    ("log", &["model"]),
    ("engine", &["model", "log", "stats"]),
    ("kpi", &["model", "log"]),
    ("replay", &["model", "log", "kpi"]),
    ("study", &["stats", "model", "log", "engine", "kpi", "replay"]),
    ("report", &["stats", "model", "log", "kpi", "replay", "weights"]),
    ("weights", &["stats"]),
    ("desk", &["stats", "model", "log", "engine", "kpi", "study", "replay", "report", "weights"]),
    ("cli", &["stats", "model", "log", "engine", "kpi", "study", "replay", "report", "weights", "desk"]),
];

#[test]
fn dependencies_point_one_way() {
    let allowed: BTreeMap<_, _> = MAY_NAME.iter().copied().collect();
    let mut seen = 0;
    for entry in std::fs::read_dir(workspace_root().join("crates")).unwrap() {
        let folder = entry.unwrap().path();
        let name =
            folder.file_name().unwrap().to_str().unwrap().strip_prefix("linewake-").unwrap().to_owned();
        let may = allowed.get(name.as_str()).unwrap_or_else(|| panic!("{name} is not in the table"));
        let manifest = std::fs::read_to_string(folder.join("Cargo.toml")).unwrap();
        let normal = manifest.split("[dependencies]").nth(1).unwrap_or("").split("\n[").next().unwrap_or("");
        for line in normal.lines() {
            if let Some(named) =
                line.strip_prefix("linewake-").and_then(|rest| rest.split(['.', ' ', '=']).next())
            {
                assert!(may.contains(&named), "linewake-{name} must not depend on linewake-{named}");
            }
        }
        seen += 1;
    }
    assert_eq!(seen, MAY_NAME.len(), "every crate of the table exists");
}

fn rust_files(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && path.file_name().is_none_or(|name| name != "target") {
            rust_files(&path, into);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            into.push(path);
        }
    }
}

fn all_rust_files() -> Vec<PathBuf> {
    let mut files = Vec::new();
    for part in ["crates", "tests", "benches"] {
        rust_files(&workspace_root().join(part), &mut files);
    }
    assert!(files.len() > 50);
    files
}

#[test]
fn every_module_says_what_it_is_for() {
    let silent: Vec<_> = all_rust_files()
        .into_iter()
        .filter(|path| !std::fs::read_to_string(path).unwrap().starts_with("//!"))
        .collect();
    assert!(silent.is_empty(), "no `//!` head: {silent:?}");
}

/// A module past 500 lines that are not tests should be split by noun.
#[test]
fn modules_stay_small() {
    for path in all_rust_files() {
        if path.ends_with("tests.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let lines = text.lines().take_while(|line| !line.starts_with("#[cfg(test)]")).count();
        assert!(lines <= 500, "{} has {lines} lines", path.display());
    }
}

/// The same for the scripts of the pages, which have no tests in them.
#[test]
fn scripts_of_pages_stay_small() {
    let mut scripts = 0;
    for entry in std::fs::read_dir(workspace_root().join("crates")).unwrap() {
        let Ok(assets) = std::fs::read_dir(entry.unwrap().path().join("assets")) else { continue };
        for path in assets.map(|entry| entry.unwrap().path()) {
            if path.extension().is_some_and(|extension| extension == "js") {
                let lines = std::fs::read_to_string(&path).unwrap().lines().count();
                assert!(lines <= 500, "{} has {lines} lines", path.display());
                scripts += 1;
            }
        }
    }
    assert!(scripts > 15);
}

#[test]
fn only_one_file_names_a_generator() {
    for path in all_rust_files() {
        let is_home = path.ends_with("linewake-stats/src/stream.rs") || path.ends_with("tests/it/tidy.rs");
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(is_home || !text.contains("ChaCha8Rng"), "{} names the generator", path.display());
    }
}

#[test]
fn the_pure_crates_ban_clock_and_hash_order() {
    let clippy = |name: &str| {
        std::fs::read_to_string(workspace_root().join(format!("crates/linewake-{name}/clippy.toml")))
    };
    let first = clippy("engine").unwrap();
    assert!(first.contains("std::time::Instant::now") && first.contains("std::collections::HashMap"));
    for name in ["stats", "model", "log", "kpi", "replay", "study", "report", "weights"] {
        assert_eq!(clippy(name).unwrap(), first, "linewake-{name}");
    }
}

#[test]
fn paths_in_developers_md_exist() {
    let text = std::fs::read_to_string(workspace_root().join("DEVELOPERS.md")).unwrap();
    let mut paths = 0;
    for link in text.split("](").skip(1) {
        let path = link.split(')').next().unwrap();
        assert!(workspace_root().join(path).exists(), "DEVELOPERS.md names {path}, which does not exist");
        paths += 1;
    }
    assert!(paths > 20);
    assert!(text.lines().count() <= 150);
}
