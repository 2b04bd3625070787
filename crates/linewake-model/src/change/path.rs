//! Paths of a model: how they are read, what they lead to, and the nearest one to a mistyped path.

use serde_json::Value;
use std::fmt;

/// A path that leads nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PathError {
    /// The path as typed.
    pub path: String,
    /// The nearest path of the model.
    pub nearest: String,
}

impl fmt::Display for PathError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the model has no \"{}\"; the nearest it has is \"{}\"", self.path, self.nearest)
    }
}

impl std::error::Error for PathError {}

impl PathError {
    pub(super) fn of(path: &str, root: &Value) -> Self {
        let mut known = Vec::new();
        collect(root, &mut Place::default(), root, &mut known);
        let typed: Vec<char> = path.to_lowercase().chars().take(LONGEST).collect();
        let nearest = known
            .into_iter()
            .map(|(shown, full)| {
                let least = distance(&typed, &shown).min(distance(&typed, &full));
                (least, shown)
            })
            .min_by_key(|(distance, _)| *distance)
            .map_or_else(String::new, |(_, shown)| shown);
        Self { path: path.to_owned(), nearest }
    }
}

/// Characters of a path that are compared.
const LONGEST: usize = 120;

/// One step of a path as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Step {
    Key(String),
    /// What stands in brackets: a place from 0 or a name.
    Element(String),
}

/// A place in the tree: keys and list places from the root.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Place(Vec<Turn>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Turn {
    Key(String),
    Element(usize),
}

fn steps_of(path: &str) -> Option<Vec<Step>> {
    let mut steps = Vec::new();
    let mut rest = path.trim();
    while !rest.is_empty() {
        rest = rest.trim_start();
        if let Some(inside) = rest.strip_prefix('[') {
            let (name, after) = inside.split_once(']')?;
            steps.push(Step::Element(name.trim().to_owned()));
            rest = after;
        } else {
            let rest_of_key = rest.strip_prefix('.').unwrap_or(rest);
            let end = rest_of_key.find(['.', '[']).unwrap_or(rest_of_key.len());
            let key = rest_of_key[..end].trim();
            if key.is_empty() {
                return None;
            }
            steps.push(Step::Key(key.to_owned()));
            rest = &rest_of_key[end..];
        }
    }
    (!steps.is_empty()).then_some(steps)
}

impl Place {
    pub(super) fn find(root: &Value, path: &str) -> Option<Self> {
        Self::follow(root, &steps_of(path)?)
    }

    /// The object in which the last key of the path would stand, and that key.
    pub(super) fn find_parent(root: &Value, path: &str) -> Option<(Self, String)> {
        let mut steps = steps_of(path)?;
        let Some(Step::Key(key)) = steps.pop() else { return None };
        let mut place = Self::follow(root, &steps)?;
        let mut value = place.get(root)?;
        // The key belongs within a value that is named by one key, not beside that key.
        while let Some((only, inner)) = only_key(value)
            && inner.is_object()
        {
            place.0.push(Turn::Key(only.to_owned()));
            value = inner;
        }
        value.is_object().then_some((place, key))
    }

    fn follow(root: &Value, steps: &[Step]) -> Option<Self> {
        let mut place = Self::default();
        let mut value = root;
        for step in steps {
            match step {
                Step::Key(key) => {
                    // A key that only says what the value is may be left out.
                    while value.get(key).is_none() {
                        let (only, inner) = only_key(value)?;
                        place.0.push(Turn::Key(only.to_owned()));
                        value = inner;
                    }
                    place.0.push(Turn::Key(key.clone()));
                    value = value.get(key)?;
                }
                Step::Element(name) => {
                    let list = value.as_array()?;
                    let named = list.iter().position(|element| name_of(element) == Some(name));
                    let number = named.or_else(|| name.parse().ok().filter(|place| *place < list.len()))?;
                    place.0.push(Turn::Element(number));
                    value = list.get(number)?;
                }
            }
        }
        Some(place)
    }

    pub(super) fn get<'v>(&self, root: &'v Value) -> Option<&'v Value> {
        self.0.iter().try_fold(root, |value, turn| match turn {
            Turn::Key(key) => value.get(key),
            Turn::Element(place) => value.get(place),
        })
    }

    pub(super) fn get_mut<'v>(&self, root: &'v mut Value) -> Option<&'v mut Value> {
        self.0.iter().try_fold(root, |value, turn| match turn {
            Turn::Key(key) => value.get_mut(key),
            Turn::Element(place) => value.get_mut(place),
        })
    }

    pub(super) fn remove(&self, root: &mut Value) {
        let Some((last, before)) = self.0.split_last() else { return };
        match (Self(before.to_vec()).get_mut(root), last) {
            (Some(Value::Object(object)), Turn::Key(key)) => {
                object.remove(key);
            }
            (Some(Value::Array(list)), Turn::Element(place)) if *place < list.len() => {
                list.remove(*place);
            }
            _ => {}
        }
    }

    /// The last key, if the path ends in one.
    pub(super) fn last_key(&self) -> Option<String> {
        match self.0.last() {
            Some(Turn::Key(key)) => Some(key.clone()),
            _ => None,
        }
    }

    pub(super) fn then_key(&self, key: &str) -> Self {
        let mut turns = self.0.clone();
        turns.push(Turn::Key(key.to_owned()));
        Self(turns)
    }

    pub(super) fn then_element(&self, element: usize) -> Self {
        let mut turns = self.0.clone();
        turns.push(Turn::Element(element));
        Self(turns)
    }

    /// For people: elements by their names, without the key that says what a station is.
    pub(super) fn shown(&self, root: &Value) -> String {
        let mut text = String::new();
        let mut value = Some(root);
        let mut after_station = false;
        for turn in &self.0 {
            match turn {
                Turn::Key(key) => {
                    value = value.and_then(|value| value.get(key));
                    if !after_station {
                        text.push_str(if text.is_empty() { "" } else { "." });
                        text.push_str(key);
                    }
                    after_station = false;
                }
                Turn::Element(place) => {
                    value = value.and_then(|value| value.get(place));
                    let name = value.and_then(name_of).filter(|name| !name.contains(']'));
                    match name {
                        Some(name) => text.push_str(&format!("[{name}]")),
                        None => text.push_str(&format!("[{place}]")),
                    }
                    after_station = value.is_some_and(|value| only_key(value).is_some());
                }
            }
        }
        text
    }

    /// All keys and list places as they stand in the file.
    fn full(&self) -> String {
        let mut text = String::new();
        for turn in &self.0 {
            match turn {
                Turn::Key(key) if text.is_empty() => text.push_str(key),
                Turn::Key(key) => text.push_str(&format!(".{key}")),
                Turn::Element(place) => text.push_str(&format!("[{place}]")),
            }
        }
        text
    }

    /// Id of the station that the place belongs to.
    pub(super) fn station(&self, root: &Value) -> Option<String> {
        match self.0.as_slice() {
            [Turn::Key(key), Turn::Element(place), ..] if key == "stations" => {
                name_of(root.get("stations")?.get(place)?).map(str::to_owned)
            }
            _ => None,
        }
    }
}

/// The only key of an object, and its value.
pub(super) fn only_key(value: &Value) -> Option<(&str, &Value)> {
    let object = value.as_object()?;
    let mut entries = object.iter();
    let (key, inner) = entries.next()?;
    entries.next().is_none().then_some((key.as_str(), inner))
}

/// The name by which an element of a list is called: its id, reason or name, also under the key that says what it is.
fn name_of(element: &Value) -> Option<&str> {
    let own = |value: &'_ Value| ["id", "reason", "name"].into_iter().find(|key| value[*key].is_string());
    if let Some(key) = own(element) {
        return element[key].as_str();
    }
    let (_, inner) = only_key(element)?;
    own(inner).and_then(|key| inner[key].as_str())
}

/// Every place that holds a value, as shown and in full, in lower case for the comparison but for what is shown.
fn collect(value: &Value, place: &mut Place, root: &Value, known: &mut Vec<(String, String)>) {
    match value {
        Value::Object(object) => {
            for (key, inner) in object {
                place.0.push(Turn::Key(key.clone()));
                collect(inner, place, root, known);
                place.0.pop();
            }
        }
        Value::Array(list) => {
            for (number, inner) in list.iter().enumerate() {
                place.0.push(Turn::Element(number));
                collect(inner, place, root, known);
                place.0.pop();
            }
        }
        _ => known.push((place.shown(root), place.full())),
    }
}

/// Edits (insert, delete, replace) that turn the typed path into the known one.
fn distance(typed: &[char], known: &str) -> usize {
    let known: Vec<char> = known.to_lowercase().chars().take(LONGEST).collect();
    let mut row: Vec<usize> = (0..=known.len()).collect();
    for (i, a) in typed.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in known.iter().enumerate() {
            let replaced = diagonal + usize::from(a != b);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[known.len()]
}
