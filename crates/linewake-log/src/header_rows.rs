//! Reads the rows `meta`: from keys and values to a [`LogHeader`].

use crate::columns::{DETAIL_PACKS, DETAIL_STATES, meta, place};
use crate::event::Detail;
use crate::header::{Consequence, FORMAT_VERSION, LineFacts, LogHeader, ShiftStart, StationFacts};
use crate::reader::shown;
use crate::row::{integer, millionths};
use crate::rows::Record;
use crate::writer::first_double;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::{MICROS_PER_SECOND, Moment, Span};
use std::ops::RangeInclusive;

/// Longest time that a header can tell: ten years.
const LONGEST_US: u64 = 3653 * 24 * 3600 * MICROS_PER_SECOND;

/// Rates that a header can tell, in packs a minute: from one in two years.
const RATES_PER_MIN: RangeInclusive<f64> = 1e-6..=1e6;

/// Most portions in a piece.
const MOST_PORTIONS: u32 = 1000;

/// Most rows of a key: so that no file makes the header large.
const MOST_ROWS: usize = u16::MAX as usize;

/// What the rows read so far have told.
#[derive(Default)]
pub(crate) struct HeaderRows {
    format_version: Option<u64>,
    program_version: Option<String>,
    model_name: Option<String>,
    model_about: Option<String>,
    model_digest: Option<String>,
    seed: Option<u64>,
    replication: Option<u64>,
    start: Option<ShiftStart>,
    detail: Option<Detail>,
    warm_up: Option<u64>,
    horizon: Option<u64>,
    design_rate_per_min: Option<f64>,
    short_stop_limit: Option<u64>,
    constraint: Option<u16>,
    good_after: Option<u16>,
    reasons: Vec<String>,
    left_out: Vec<Reason>,
    stations: Vec<StationRows>,
    consequences: Vec<Consequence>,
}

struct StationRows {
    id: String,
    kind: String,
    has_states: Option<bool>,
    rate_per_min: Option<f64>,
    transit_to_constraint: Option<u64>,
    capacity: Option<u32>,
    portions_per_piece: Option<u32>,
    supplier: Option<String>,
}

type Told = Result<(), String>;

impl HeaderRows {
    /// Takes a row; its width is right and its event is `meta`.
    pub(crate) fn take(&mut self, record: &Record<'_>) -> Told {
        let row = Row::of(record)?;
        if self.format_version.is_none() && row.key != meta::FORMAT_VERSION {
            return Err(format!(
                "key is \"{}\"; the first row `meta` must tell the {}",
                row.key,
                meta::FORMAT_VERSION
            ));
        }
        match row.key {
            meta::FORMAT_VERSION => {
                let version = row.whole()?;
                if version != u64::from(FORMAT_VERSION) {
                    return Err(format!(
                        "the log has format version {version}; this program reads version {FORMAT_VERSION}"
                    ));
                }
                row.set(&mut self.format_version, version)
            }
            meta::PROGRAM_VERSION => row.set(&mut self.program_version, row.value.to_owned()),
            meta::MODEL_NAME => row.set(&mut self.model_name, row.value.to_owned()),
            meta::MODEL_ABOUT => row.set(&mut self.model_about, row.value.to_owned()),
            meta::MODEL_DIGEST => row.set(&mut self.model_digest, row.value.to_owned()),
            meta::SEED => row.set(&mut self.seed, row.whole()?),
            meta::REPLICATION => row.set(&mut self.replication, row.whole()?),
            meta::START => {
                let start = ShiftStart::ALL.into_iter().find(|start| start.word() == row.value);
                row.set(
                    &mut self.start,
                    start.ok_or_else(|| row.wrong("\"new_rolls\" or \"long_run\" is due"))?,
                )
            }
            meta::DETAIL => match row.value {
                DETAIL_STATES => row.set(&mut self.detail, Detail::States),
                DETAIL_PACKS => row.set(&mut self.detail, Detail::Packs),
                _ => Err(row.wrong("\"states\" or \"packs\" is due")),
            },
            meta::WARM_UP => row.set(&mut self.warm_up, row.micros()?),
            meta::HORIZON => row.set(&mut self.horizon, row.micros()?),
            meta::DESIGN_RATE => row.set(&mut self.design_rate_per_min, row.rate()?),
            meta::SHORT_STOP_LIMIT => row.set(&mut self.short_stop_limit, row.micros()?),
            meta::REASON => self.reason_row(&row),
            meta::STATION => self.station_row(&row),
            meta::CONSEQUENCE => self.consequence(&row),
            _ => self.station_fact(&row),
        }
    }

    fn reason_row(&mut self, row: &Row<'_>) -> Told {
        let number =
            u16::try_from(self.reasons.len()).map_err(|_| "there are too many reasons".to_owned())?;
        if number == 0 && !row.reason.is_empty() {
            return Err("the first reason must be the empty one, for \"no reason\"".to_owned());
        }
        match row.value {
            "" => {}
            meta::LEFT_OUT => self.left_out.push(Reason(number)),
            _ => return Err(row.wrong("\"left_out\" or nothing is due")),
        }
        self.reasons.push(row.reason.to_owned());
        Ok(())
    }

    fn station_row(&mut self, row: &Row<'_>) -> Told {
        if row.station.is_empty() {
            return Err("a station needs an id, in the column station".to_owned());
        }
        if self.stations.len() > MOST_ROWS {
            return Err("there are too many stations".to_owned());
        }
        self.stations.push(StationRows {
            id: row.station.to_owned(),
            kind: row.value.to_owned(),
            has_states: None,
            rate_per_min: None,
            transit_to_constraint: None,
            capacity: None,
            portions_per_piece: None,
            supplier: None,
        });
        Ok(())
    }

    fn station_fact(&mut self, row: &Row<'_>) -> Told {
        let number = self.stations.len().wrapping_sub(1);
        let known = [
            meta::HAS_STATES,
            meta::RATE,
            meta::TRANSIT,
            meta::CAPACITY,
            meta::PORTIONS_PER_PIECE,
            meta::SUPPLIER,
            meta::CONSTRAINT,
            meta::GOOD_AFTER,
        ];
        if !known.contains(&row.key) {
            return Err(format!(
                "key is \"{}\", which no row `meta` has in format version {FORMAT_VERSION}",
                row.key
            ));
        }
        let Some(station) = self.stations.last_mut().filter(|station| station.id == row.station) else {
            return Err(format!(
                "{} must follow the row `{}` of the station \"{}\"",
                row.key,
                meta::STATION,
                row.station
            ));
        };
        match row.key {
            meta::HAS_STATES => match row.value {
                "true" => row.set(&mut station.has_states, true),
                "false" => row.set(&mut station.has_states, false),
                _ => Err(row.wrong("true or false is due")),
            },
            meta::RATE => row.set(&mut station.rate_per_min, row.rate()?),
            meta::TRANSIT => row.set(&mut station.transit_to_constraint, row.micros()?),
            meta::CAPACITY => row.set(&mut station.capacity, row.small()?),
            meta::PORTIONS_PER_PIECE => {
                let portions = row.small()?;
                if !(1..=MOST_PORTIONS).contains(&portions) {
                    return Err(row.wrong("1 to 1000 is due"));
                }
                row.set(&mut station.portions_per_piece, portions)
            }
            meta::SUPPLIER => row.set(&mut station.supplier, row.value.to_owned()),
            meta::CONSTRAINT => row.set(&mut self.constraint, number as u16),
            _ => row.set(&mut self.good_after, number as u16),
        }
    }

    fn consequence(&mut self, row: &Row<'_>) -> Told {
        if self.consequences.len() > MOST_ROWS {
            return Err(format!("there are too many rows {}", meta::CONSEQUENCE));
        }
        let station = match row.station {
            "" => None,
            id => Some(number_of(self.stations.iter().map(|station| station.id.as_str()), id, "station")?),
        };
        let reason =
            |word: &str| number_of(self.reasons.iter().map(String::as_str), word, "reason").map(Reason);
        let (tag, stop) = (reason(row.reason)?, reason(row.from)?);
        self.consequences.push(Consequence { tag, station, stop, longer_than: Span(row.micros()?) });
        Ok(())
    }

    /// The header, when all rows are read.
    pub(crate) fn finish(self) -> Result<(LogHeader, Detail), String> {
        due(self.format_version, meta::FORMAT_VERSION)?;
        if let Some(id) = first_double(self.stations.iter().map(|station| station.id.as_str())) {
            return Err(format!("two stations have the id \"{id}\"; ids must differ"));
        }
        if let Some(word) = first_double(self.reasons.iter().map(String::as_str)) {
            return Err(format!("two reasons are called \"{word}\"; reasons must differ"));
        }
        if self.reasons.is_empty() {
            return Err(format!("the header has no row `{}`; the first is the empty one", meta::REASON));
        }
        let reasons = Numbered::of(&self.reasons)?;
        let consequences = self.consequences.into_iter().map(|it| Consequence {
            tag: reasons.number(it.tag),
            stop: reasons.number(it.stop),
            ..it
        });
        let facts = LineFacts {
            design_rate_per_min: due(self.design_rate_per_min, meta::DESIGN_RATE)?,
            constraint: due(self.constraint, meta::CONSTRAINT)?,
            good_after: due(self.good_after, meta::GOOD_AFTER)?,
            short_stop_limit: Span(due(self.short_stop_limit, meta::SHORT_STOP_LIMIT)?),
            left_out: self.left_out.into_iter().map(|reason| reasons.number(reason)).collect(),
            consequences: consequences.collect(),
            stations: self.stations.into_iter().map(StationRows::finish).collect::<Result<_, _>>()?,
            reasons: reasons.words,
        };
        let (warm_up, horizon) = (due(self.warm_up, meta::WARM_UP)?, due(self.horizon, meta::HORIZON)?);
        if warm_up > horizon {
            return Err(format!("{} lies behind the end of the run, {}", meta::WARM_UP, Moment(horizon)));
        }
        let header = LogHeader {
            program_version: self.program_version.unwrap_or_default(),
            model_name: due(self.model_name, meta::MODEL_NAME)?,
            model_about: self.model_about.unwrap_or_default(),
            model_digest: self.model_digest.unwrap_or_default(),
            seed: self.seed,
            replication: self.replication.unwrap_or(0),
            start: self.start,
            warm_up: Moment(warm_up),
            horizon: Moment(horizon),
            facts,
        };
        Ok((header, due(self.detail, meta::DETAIL)?))
    }
}

impl StationRows {
    fn finish(self) -> Result<StationFacts, String> {
        let missing = |key: &str| format!("the header has no row `{key}` for the station \"{}\"", self.id);
        Ok(StationFacts {
            has_states: self.has_states.ok_or_else(|| missing(meta::HAS_STATES))?,
            transit_to_constraint: Span(self.transit_to_constraint.ok_or_else(|| missing(meta::TRANSIT))?),
            id: self.id,
            kind: self.kind,
            rate_per_min: self.rate_per_min,
            capacity: self.capacity,
            portions_per_piece: self.portions_per_piece.unwrap_or(1),
            supplier: self.supplier,
        })
    }
}

/// The reasons with the numbers that they have everywhere: the fixed ones first, whatever their order in the log, so
/// that a break is known as one.
struct Numbered {
    words: Vec<String>,
    /// Number of each reason of the log.
    of_log: Vec<Reason>,
}

impl Numbered {
    fn of(told: &[String]) -> Result<Self, String> {
        let mut words: Vec<String> = FIXED_REASONS.iter().map(|&word| word.to_owned()).collect();
        let mut of_log = Vec::new();
        for word in told {
            let known = FIXED_REASONS.iter().position(|fixed| fixed == word);
            let number = u16::try_from(known.unwrap_or(words.len()))
                .map_err(|_| "there are too many reasons".to_owned())?;
            if known.is_none() {
                words.push(word.clone());
            }
            of_log.push(Reason(number));
        }
        Ok(Self { words, of_log })
    }

    fn number(&self, of_log: Reason) -> Reason {
        self.of_log.get(usize::from(of_log.0)).copied().unwrap_or(Reason::NONE)
    }
}

fn due<T>(told: Option<T>, key: &str) -> Result<T, String> {
    told.ok_or_else(|| format!("the header ends here without a row `{key}`"))
}

fn number_of<'a>(mut all: impl Iterator<Item = &'a str>, word: &str, what: &str) -> Result<u16, String> {
    let number = all.position(|it| it == word).and_then(|number| u16::try_from(number).ok());
    number.ok_or_else(|| format!("the header has no {what} \"{word}\" above this row"))
}

/// A row `meta`.
struct Row<'a> {
    station: &'a str,
    from: &'a str,
    reason: &'a str,
    key: &'a str,
    value: &'a str,
}

impl<'a> Row<'a> {
    fn of(record: &'a Record<'a>) -> Result<Self, String> {
        let text = |column: usize| {
            let field = &record[column];
            std::str::from_utf8(field).map_err(|_| format!("\"{}\" is not UTF-8 text", shown(field)))
        };
        Ok(Self {
            station: text(place::STATION)?,
            from: text(place::FROM)?,
            reason: text(place::REASON)?,
            key: text(place::KEY)?,
            value: text(place::VALUE)?,
        })
    }

    fn set<T>(&self, told: &mut Option<T>, value: T) -> Told {
        if told.is_some() {
            return Err(format!("{} stands there twice", self.key));
        }
        *told = Some(value);
        Ok(())
    }

    fn wrong(&self, due: &str) -> String {
        format!("{} is \"{}\"; {due}", self.key, shown(self.value.as_bytes()))
    }

    fn whole(&self) -> Result<u64, String> {
        integer(self.value.as_bytes()).ok_or_else(|| self.wrong("a whole number is due"))
    }

    fn small(&self) -> Result<u32, String> {
        u32::try_from(self.whole()?).map_err(|_| self.wrong("a smaller number is due"))
    }

    fn micros(&self) -> Result<u64, String> {
        let micros = millionths(self.value.as_bytes())
            .ok_or_else(|| self.wrong("seconds with at most six decimals are due"))?;
        if micros > LONGEST_US {
            return Err(self.wrong("at most ten years can be told"));
        }
        Ok(micros)
    }

    fn rate(&self) -> Result<f64, String> {
        let rate = self.value.parse::<f64>().ok().filter(|rate| RATES_PER_MIN.contains(rate));
        rate.ok_or_else(|| self.wrong("a rate over 0 is due, such as 104, and at most a million a minute"))
    }
}
