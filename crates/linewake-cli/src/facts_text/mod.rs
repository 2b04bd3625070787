//! The facts of a line, as the text that `linewake check` prints.

mod cycle;
mod output;
mod stages;
mod stops;

use anstyle::Style;
use linewake_model::facts::Facts;
use linewake_model::line::Line;
use linewake_model::station::StationKind;

/// Style of a heading.
const HEADING: Style = Style::new().bold();

/// Widest line of running text.
const WIDTH: usize = 100;

/// The facts of the line in the file of that name.
pub(crate) fn text(file: &str, line: &Line, facts: &Facts, warnings: usize) -> String {
    let pieces = Pieces::of(line);
    let warned = match warnings {
        0 => "no problems".to_owned(),
        1 => "1 warning".to_owned(),
        more => format!("{more} warnings"),
    };
    let mut text = format!("{file}: {}; {warned}\n", line.name);
    text.push_str(&format!(
        "Design rate {} {pieces}/min, judged at {}. With nothing stopping the line cuts {:.1} {pieces}/min.\n",
        facts.design_rate_per_min, facts.constraint, facts.stop_free_packs_per_min,
    ));
    stages::ladder(facts, pieces, &mut text);
    cycle::former(facts, &mut text);
    cycle::loader(facts, &mut text);
    cycle::robot(facts, &mut text);
    stages::capacities(facts, pieces, &mut text);
    stages::buffers(facts, &mut text);
    stages::supply(facts, &mut text);
    stops::stations(facts, &mut text);
    stops::consumables(facts, pieces, &mut text);
    cycle::detections(facts, &mut text);
    output::quality(facts, pieces, &mut text);
    output::figures(line, facts, pieces, &mut text);
    text
}

/// What the line makes, in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pieces {
    Packs,
    Pieces,
}

impl Pieces {
    fn of(line: &Line) -> Self {
        let former = line.stations.iter().any(|station| matches!(station.kind, StationKind::Former(_)));
        if former { Self::Packs } else { Self::Pieces }
    }
}

impl std::fmt::Display for Pieces {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(if *self == Self::Packs { "packs" } else { "pieces" })
    }
}

fn heading(title: &str, text: &mut String) {
    text.push_str(&format!("\n{HEADING}{title}{HEADING:#}\n"));
}

/// Seconds to the millisecond, without needless zeros.
fn seconds(value: f64) -> String {
    if !value.is_finite() {
        return "never".to_owned();
    }
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A length of time in the unit that suits it.
fn duration(value_s: f64) -> String {
    if !value_s.is_finite() {
        "never".to_owned()
    } else if value_s < 120.0 {
        format!("{value_s:.1} s")
    } else if value_s < 7200.0 {
        format!("{:.1} min", value_s / 60.0)
    } else {
        format!("{:.1} h", value_s / 3600.0)
    }
}

/// A share in per cent.
fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

/// A share in per cent with its sign.
fn margin(share: f64) -> String {
    format!("{:+.1} %", share * 100.0)
}

/// A rate with one decimal.
fn rate(value: f64) -> String {
    if value.is_finite() { format!("{value:.1}") } else { "unlimited".to_owned() }
}

/// A share of any size in per cent, with three figures.
fn small_percent(share: f64) -> String {
    let value = share * 100.0;
    let whole_digits = if value > 0.0 { value.log10().floor() as i32 + 1 } else { 1 };
    let decimals = usize::try_from((3 - whole_digits).clamp(1, 8)).unwrap_or(1);
    format!("{value:.decimals$} %")
}

/// A reason as people say it.
fn reason(word: &str) -> String {
    word.replace('_', " ")
}

/// Running text in lines of at most a hundred letters, each indented by so many blanks.
fn filled(words: &str, indent: usize) -> String {
    let (mut lines, mut line) = (String::new(), String::new());
    for word in words.split_whitespace() {
        if !line.is_empty() && indent + line.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push_str(&format!("{:indent$}{line}\n", ""));
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines + &format!("{:indent$}{line}\n", "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_for_people() {
        assert_eq!(seconds(4.615_384_6), "4.615");
        assert_eq!(seconds(3.4), "3.4");
        assert_eq!(seconds(-0.000_01), "0");
        assert_eq!(seconds(f64::INFINITY), "never");
        assert_eq!(duration(34.6), "34.6 s");
        assert_eq!(duration(9230.0), "2.6 h");
        assert_eq!(margin(0.077), "+7.7 %");
        assert_eq!(small_percent(0.000_023), "0.00230 %");
        assert_eq!(small_percent(0.985), "98.5 %");
        assert_eq!(small_percent(0.0), "0.00 %");
    }

    #[test]
    fn running_text_is_filled() {
        let text = filled(&"word ".repeat(40), 4);
        assert_eq!(text.lines().count(), 3);
        assert!(text.lines().all(|line| line.starts_with("    word") && line.len() <= WIDTH));
    }
}
