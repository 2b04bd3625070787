//! A weigher's file: CSV with a heading row, one row for each pack, plain or gzip.
//!
//! Headings are compared without regard to capitals. `weight_g` (or `weight_kg`, `weight_oz`, `weight_lb`) is due; `batch`
//! (any word) and `time_s` (seconds, rising) may be there; other columns are passed over.

use crate::source::Source;
use std::fmt;
use std::io::{self, Read};

/// Largest file that is read, unpacked.
const LARGEST_BYTES: u64 = 256 << 20;

/// What a weigher's file tells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WeigherFile {
    /// Weights in grams, in the order of the rows.
    pub weights_g: Vec<f64>,
    /// Batch of each, numbered in the order in which they come; empty without that column.
    pub batches: Vec<usize>,
    /// Time of each in seconds; empty without that column.
    pub times_s: Vec<f64>,
}

/// Why a weigher's file cannot be read.
#[derive(Debug)]
pub enum WeigherFileError {
    /// The file cannot be read, or its compression is damaged.
    Read(io::Error),
    /// A row is wrong.
    Row {
        /// Line of the file, from 1.
        line: u64,
        /// What is wrong and what would be right.
        what: String,
    },
}

impl fmt::Display for WeigherFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read(error) => write!(f, "the weigher's file cannot be read: {error}"),
            Self::Row { line, what } => write!(f, "line {line}: {what}"),
        }
    }
}

impl std::error::Error for WeigherFileError {}

/// Grams in one unit, by its word in the heading.
const UNITS: [(&str, f64); 4] =
    [("weight_g", 1.0), ("weight_kg", 1000.0), ("weight_oz", 28.349_523_125), ("weight_lb", 453.592_37)];

/// Reads a weigher's file.
///
/// # Errors
/// It cannot be read, is larger than 256 MB, has no column of weights, or a row whose weight is no number above 0, whose
/// time goes back, or that is too short.
pub fn read(file: impl Read) -> Result<WeigherFile, WeigherFileError> {
    let mut bytes = Vec::new();
    let source = Source::new(file).map_err(WeigherFileError::Read)?;
    source.take(LARGEST_BYTES + 1).read_to_end(&mut bytes).map_err(WeigherFileError::Read)?;
    let wrong = |line: usize, what: String| Err(WeigherFileError::Row { line: line as u64 + 1, what });
    if bytes.len() as u64 > LARGEST_BYTES {
        return wrong(0, format!("the file is larger than {} MB", LARGEST_BYTES >> 20));
    }
    let text = String::from_utf8_lossy(&bytes);
    let mut lines =
        text.trim_start_matches('\u{feff}').lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let Some((_, heading)) = lines.next() else { return wrong(0, "the file is empty".to_owned()) };
    let delimiter = [';', '\t', ','].into_iter().find(|it| heading.contains(*it)).unwrap_or(',');
    let clean = |cell: &str| cell.trim().trim_matches('"').trim().to_owned();
    let heads: Vec<String> = heading.split(delimiter).map(|cell| clean(cell).to_lowercase()).collect();
    let place = |name: &str| heads.iter().position(|head| head == name);
    let found = UNITS.iter().find_map(|(name, grams)| Some((place(name)?, *grams)));
    let Some((weight_at, grams)) = found else {
        let what = format!(
            "no column of weights among {}; name one weight_g (or weight_kg, weight_oz, weight_lb)",
            heads.join(", ")
        );
        return wrong(0, what);
    };
    let (batch_at, time_at) = (place("batch"), place("time_s"));
    let mut read = WeigherFile::default();
    let mut batches: Vec<String> = Vec::new();
    for (line, row) in lines {
        let cells: Vec<String> = row.split(delimiter).map(clean).collect();
        let cell = |at: usize| cells.get(at).map_or("", String::as_str);
        let number = |text: &str| {
            let text = if delimiter == ',' { text.to_owned() } else { text.replace(',', ".") };
            text.parse::<f64>().ok().filter(|it| it.is_finite())
        };
        match number(cell(weight_at)) {
            Some(weight) if weight > 0.0 => read.weights_g.push(weight * grams),
            _ => {
                let what = format!("\"{}\" is no weight; a number above 0 is due", short(cell(weight_at)));
                return wrong(line, what);
            }
        }
        if let Some(at) = batch_at {
            // Batches follow one another: the last one is nearly always the one.
            let name = cell(at);
            let place = batches.iter().rposition(|known| known == name).unwrap_or_else(|| {
                batches.push(name.to_owned());
                batches.len() - 1
            });
            read.batches.push(place);
        }
        if let Some(at) = time_at {
            match number(cell(at)) {
                Some(time) if read.times_s.last().is_none_or(|last| *last <= time) => read.times_s.push(time),
                Some(_) => {
                    return wrong(line, "the time goes back; rows must be in order of time".to_owned());
                }
                None => {
                    let what = format!("\"{}\" is no time in seconds", short(cell(at)));
                    return wrong(line, what);
                }
            }
        }
    }
    if read.weights_g.is_empty() {
        return wrong(0, "the file has a heading and no rows".to_owned());
    }
    Ok(read)
}

fn short(cell: &str) -> String {
    cell.chars().take(40).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_several_kinds_are_read() {
        let file = read("\u{feff}Time_s,Weight_g,Batch\n0,401.5,a\n0.5,402,a\n\n1,399,b\n".as_bytes())
            .expect("a file");
        assert_eq!(file.weights_g, [401.5, 402.0, 399.0]);
        assert_eq!(file.batches, [0, 0, 1]);
        assert_eq!(file.times_s, [0.0, 0.5, 1.0]);
        let file = read("\"weight_kg\";other\n0,4;x\n0,5;y\n".as_bytes()).expect("a file");
        assert_eq!(file.weights_g, [400.0, 500.0]);
        assert!(file.batches.is_empty() && file.times_s.is_empty());
    }

    #[test]
    fn wrong_files_are_refused_with_the_line() {
        for (text, line, words) in [
            ("", 1, "empty"),
            ("weight\n400\n", 1, "weight_g"),
            ("weight_g\n", 1, "no rows"),
            ("weight_g\n400\nx\n", 3, "no weight"),
            ("weight_g\n-1\n", 2, "no weight"),
            ("weight_g\nNaN\n", 2, "no weight"),
            ("weight_g,time_s\n400,2\n400,1\n", 3, "goes back"),
            ("weight_g,time_s\n400,\n", 2, "no time"),
        ] {
            match read(text.as_bytes()) {
                Err(WeigherFileError::Row { line: found, what }) => {
                    assert!(found == line && what.contains(words), "{text}: {found} {what}");
                }
                other => panic!("{text}: {other:?}"),
            }
        }
    }
}
