//! "Did you mean": the known word nearest to a mistyped one.

/// The word of `known` that is nearest to `typed`, if it is near enough to be meant.
pub fn nearest<'k>(typed: &str, known: &[&'k str]) -> Option<&'k str> {
    let typed = typed.to_lowercase();
    let limit = (typed.chars().count() / 3).max(1);
    known
        .iter()
        .map(|word| (distance(&typed, &word.to_lowercase()), *word))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

/// A hint with the nearest word, or with all of them.
pub fn hint(typed: &str, known: &[&str]) -> String {
    match nearest(typed, known) {
        Some(word) => format!("did you mean \"{word}\"?"),
        None if known.is_empty() => String::new(),
        None => format!("known here: {}", known.join(", ")),
    }
}

/// Edits (insert, delete, replace, swap of neighbours) that turn one word into the other.
fn distance(from: &str, to: &str) -> usize {
    let from: Vec<char> = from.chars().take(64).collect();
    let to: Vec<char> = to.chars().take(64).collect();
    let mut rows = vec![(0..=to.len()).collect::<Vec<usize>>()];
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in to.iter().enumerate() {
            let mut best = (rows[i][j] + usize::from(a != b)).min(rows[i][j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b {
                best = best.min(rows[i - 1][j - 1] + 1);
            }
            row.push(best);
        }
        rows.push(row);
    }
    rows[from.len()][to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_words_are_suggested_and_far_ones_are_not() {
        let known = ["array_rows", "file_transfer", "traverse", "load"];
        assert_eq!(nearest("array_row", &known), Some("array_rows"));
        assert_eq!(nearest("travesre", &known), Some("traverse"));
        assert_eq!(nearest("Load", &known), Some("load"));
        assert_eq!(nearest("colour", &known), None);
    }
}
