//! Reads a stop as it is asked for: `STATION@TIME+DURATION`.

use linewake_engine::plan::InjectedStop;
use linewake_model::line::Line;
use linewake_model::quantity::{Quantity, Time};
use linewake_model::spec::suggest;
use linewake_model::time::{Moment, Span};
use std::fmt;

/// Why a stop cannot be put in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AskError {
    /// The text as typed.
    pub typed: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub hint: String,
}

impl fmt::Display for AskError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "stop \"{}\": {}", self.typed, self.what)?;
        if !self.hint.is_empty() {
            write!(f, "; {}", self.hint)?;
        }
        Ok(())
    }
}

impl std::error::Error for AskError {}

/// Reads `tray_sealer@1h20min+40s`: at that time of the shift the station stops for so long. Times may have several
/// parts and blanks: "1 h 20 min".
///
/// # Errors
/// If a part is missing, no station has that id (the nearest one is named) or the station has no states, a time cannot be
/// read, the time is not within the shift, or the duration is zero or longer than the shift.
pub fn parse_stop(line: &Line, typed: &str) -> Result<InjectedStop, AskError> {
    let error = |what: String, hint: String| AskError { typed: typed.to_owned(), what, hint };
    let form = || "write STATION@TIME+DURATION, such as former@1h20min+40s".to_owned();
    let (station, rest) = typed.rsplit_once('@').ok_or_else(|| error("there is no @".to_owned(), form()))?;
    let (at, duration) = rest.split_once('+').ok_or_else(|| error("there is no +".to_owned(), form()))?;

    let station = station.trim();
    let index = line.station(station).ok_or_else(|| {
        let known: Vec<&str> = line.stations.iter().map(|it| it.id.as_str()).collect();
        error(format!("no station \"{station}\""), suggest::hint(station, &known))
    })?;
    let has_states = linewake_log::header::LineFacts::of(line).stations[index].has_states;
    if !has_states {
        let what = format!("{station} has no states of its own, so it cannot stop");
        return Err(error(what, "stop the machine before or behind it".to_owned()));
    }
    let at_s = seconds(at).map_err(|(what, hint)| error(what, hint))?;
    let duration_s = seconds(duration).map_err(|(what, hint)| error(what, hint))?;
    let shift_s = line.shift.length.seconds();
    let shift = words(shift_s);
    if at_s >= shift_s {
        return Err(error(
            format!("{} is not within the shift of {shift}", at.trim()),
            format!("give a time before {shift}"),
        ));
    }
    if duration_s <= 0.0 || duration_s > shift_s {
        return Err(error(
            format!("a stop of {} is none", duration.trim()),
            format!("give a length over 0 s, up to the shift's {shift}"),
        ));
    }
    let at = Moment::ZERO + Span::from_seconds(at_s);
    Ok(InjectedStop { station: index, at, duration: Span::from_seconds(duration_s) })
}

/// A time of one or several parts, each a number and its unit.
fn seconds(text: &str) -> Result<f64, (String, String)> {
    let mut sum_s = 0.0;
    let mut part = String::new();
    let mut unit_began = false;
    let add = |part: &str| {
        Quantity::<Time>::parse(part).map(Quantity::value).map_err(|error| (error.what, error.hint))
    };
    for letter in text.trim().chars() {
        let is_number = letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-');
        if is_number && unit_began {
            sum_s += add(part.trim())?;
            part.clear();
            unit_began = false;
        }
        unit_began |= letter.is_alphabetic();
        part.push(letter);
    }
    sum_s += add(part.trim())?;
    if sum_s < 0.0 || !sum_s.is_finite() {
        return Err((
            format!("{} is no time of a shift", text.trim()),
            "give a time of 0 s or more".to_owned(),
        ));
    }
    Ok(sum_s)
}

fn words(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    if minutes < 120.0 { format!("{minutes} min") } else { format!("{} h", minutes / 60.0) }
}
