//! The script that draws a replay: modules of one concern each, joined into one where a page carries it.

/// The modules of the picture: file name and text, each after those that it imports.
const MODULES: &[(&str, &str)] = &[
    ("times.js", include_str!("../assets/times.js")),
    ("places.js", include_str!("../assets/places.js")),
    ("moment.js", include_str!("../assets/moment.js")),
    ("canvas.js", include_str!("../assets/canvas.js")),
    ("bands.js", include_str!("../assets/bands.js")),
    ("line.js", include_str!("../assets/line.js")),
    ("legend.js", include_str!("../assets/legend.js")),
    ("frame.js", include_str!("../assets/frame.js")),
    ("steer.js", include_str!("../assets/steer.js")),
    ("replay.js", include_str!("../assets/replay.js")),
];

/// What draws a replay, as one ES module that imports nothing: it exports `mount(element, replay, options)` and
/// `placesAt(replay, t_us)`. A page whose policy names its script by a hash can then carry it in one element.
#[must_use]
pub fn module() -> String {
    let texts: Vec<String> = MODULES.iter().map(|(_, text)| without_imports(text)).collect();
    texts.join("\n")
}

/// The text without its import statements, each of which takes one line: what they name stands above in the same module.
fn without_imports(text: &str) -> String {
    text.lines().filter(|line| !line.starts_with("import ")).flat_map(|line| [line, "\n"]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::{BTreeMap, BTreeSet};

    /// Names that stand at the head of a line after one of the words of a declaration.
    fn declared<'a>(text: &'a str, before: &'a str) -> impl Iterator<Item = &'a str> {
        text.lines().filter_map(move |line| {
            let rest = line.strip_prefix(before)?;
            let rest = ["function ", "class ", "const "].iter().find_map(|kind| rest.strip_prefix(kind))?;
            rest.split(|letter: char| !letter.is_ascii_alphanumeric() && letter != '_').next()
        })
    }

    /// The names that a module imports, and the file that each comes from.
    fn imports(text: &str) -> Vec<(&str, &str)> {
        let lines = text.lines().filter_map(|line| line.strip_prefix("import { "));
        lines
            .flat_map(|line| {
                let (names, from) =
                    line.split_once(" } from './").expect("one line: import { a, b } from './file.js';");
                let file = from.strip_suffix("';").expect("an import ends its line");
                names.split(", ").map(move |name| (name, file))
            })
            .collect()
    }

    /// Words of the code: no comments, and no names of properties.
    fn words(text: &str) -> BTreeSet<&str> {
        let code = text
            .lines()
            .filter(|line| !line.starts_with("import "))
            .filter_map(|line| line.split("// ").next());
        code.filter(|line| !line.trim_start().starts_with(['*', '/']))
            .flat_map(|line| {
                line.split(|letter: char| !letter.is_ascii_alphanumeric() && !"_.'".contains(letter))
            })
            .map(|word| word.split('.').next().unwrap_or_default())
            .collect()
    }

    /// What each module uses of others it imports, from a module above it: so the joined script does what the modules say.
    #[test]
    fn a_module_imports_what_it_uses_from_modules_above_it() {
        let mut home = BTreeMap::new();
        for (file, text) in MODULES {
            home.extend(declared(text, "export ").map(|name| (name, *file)));
        }
        assert!(home.len() > 20);
        let mut above: BTreeSet<&str> = BTreeSet::new();
        for (file, text) in MODULES {
            let imported: BTreeMap<_, _> = imports(text).into_iter().collect();
            for (name, from) in &imported {
                assert!(above.contains(from), "{file} imports {from}, which does not stand above it");
                assert_eq!(home.get(name), Some(from), "{file} imports {name} from {from}");
            }
            let used = words(text);
            for (name, from) in home.iter().filter(|(_, from)| *from != file) {
                assert_eq!(used.contains(name), imported.contains_key(name), "{name} of {from} in {file}");
            }
            above.insert(*file);
        }
    }

    #[test]
    fn joined_modules_share_no_name_and_import_nothing() {
        let joined = module();
        assert!(!joined.lines().any(|line| line.trim_start().starts_with("import")));
        let mut names: Vec<_> = declared(&joined, "export ").chain(declared(&joined, "")).collect();
        assert!(names.contains(&"mount") && names.contains(&"placesAt"));
        names.sort_unstable();
        let all = names.len();
        names.dedup();
        assert_eq!(names.len(), all, "a name is declared in two modules");
    }

    /// A file beside the others that is in no page would go unnoticed.
    #[test]
    fn every_script_is_in_the_page() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/assets");
        let mut scripts = 0;
        for entry in std::fs::read_dir(folder).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if name.ends_with(".js") {
                assert!(MODULES.iter().any(|(file, _)| *file == name), "{name} is left out");
                scripts += 1;
            }
        }
        assert_eq!(scripts, MODULES.len());
    }
}
