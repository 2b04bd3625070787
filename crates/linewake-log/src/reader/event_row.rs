//! From the fields of a row to its event.

use crate::columns::{COLUMNS, event, place};
use crate::event::{CallStep, Counter, EventKind, NO_CONTENT, NO_ITEM, PackStep, StationState};
use crate::header::LineFacts;
use crate::reader::shown;
use crate::row::{integer, millionths};
use crate::rows::Record;
use crate::words::Words;
use linewake_model::stop::{FIXED_REASONS, Reason};
use std::borrow::Cow;

/// Most pieces that a counter can tell: ten thousand a second for three years. Sums over all reasons hold it.
pub(super) const MOST_PIECES: u64 = 1 << 40;

/// Most piece-microseconds or milligrams that a counter can tell: a thousand pieces for thirty years.
pub(super) const MOST_OF_TIME_AND_MASS: u64 = 1 << 60;

/// The largest value that a counter can tell.
#[inline]
pub(super) fn most_of(counter: Counter) -> u64 {
    match counter {
        Counter::ContentTime
        | Counter::FullTime
        | Counter::EmptyTime
        | Counter::MovedLoadedTime
        | Counter::TimeInLine
        | Counter::TippedMg => MOST_OF_TIME_AND_MASS,
        Counter::Made
        | Counter::HandedOver
        | Counter::Rejected
        | Counter::EmptyPockets
        | Counter::Indexes
        | Counter::Cased
        | Counter::Lost
        | Counter::Escaped
        | Counter::Tagged => MOST_PIECES,
    }
}

/// The words by which rows name things.
pub(super) struct Names {
    stations: Words,
    reasons: Words,
    states: Words,
    counters: Words,
}

impl Names {
    pub(super) fn of(facts: &LineFacts) -> Self {
        Self {
            stations: Words::new(facts.stations.iter().map(|station| station.id.as_str())),
            reasons: Words::new(facts.reasons.iter().map(String::as_str)),
            states: Words::new(StationState::ALL.into_iter().map(StationState::word)),
            counters: Words::new(Counter::ALL.into_iter().map(Counter::word)),
        }
    }
}

/// A row of the events; its width is right.
pub(super) struct EventRow<'a> {
    pub(super) record: Record<'a>,
    pub(super) names: &'a Names,
}

impl EventRow<'_> {
    #[inline]
    pub(super) fn kind(&self) -> Result<EventKind, String> {
        use place::{CONTENT_AFTER, CONTENT_BEFORE, FROM, INTO, ITEM, KEY, MADE, REASON, TO, VALUE, WEIGHT};
        let word = &self.record[place::EVENT];
        let filled = match word {
            event::STATE => columns(&[FROM, TO, REASON, MADE, CONTENT_BEFORE, CONTENT_AFTER]),
            event::COUNT => columns(&[REASON, KEY, VALUE]),
            event::CONTENT => columns(&[VALUE]),
            event::CALL => columns(&[REASON, KEY]),
            event::PACK => columns(&[REASON, KEY, ITEM, INTO, WEIGHT]),
            event::WARM_UP_END | event::END => 0,
            event::META => return Err("a row `meta` stands among the events; they all come first".to_owned()),
            _ => {
                let what = shown(word);
                return Err(format!("event is \"{what}\"; known are {}", event::ALL));
            }
        };
        self.check_empty(filled)?;
        Ok(match word {
            event::STATE => EventKind::State {
                from: self.state(FROM)?,
                to: self.state(TO)?,
                reason: self.reason()?,
                made: self.at_most(MADE, MOST_PIECES)?,
                content_before: self.content_or_none(CONTENT_BEFORE)?,
                content_after: self.content_or_none(CONTENT_AFTER)?,
            },
            event::COUNT => self.count()?,
            event::CONTENT => EventKind::Content { pieces: self.content(VALUE)? },
            event::CALL => EventKind::Call {
                step: self.word(
                    KEY,
                    &[CallStep::Called, CallStep::Arrived, CallStep::Released],
                    CallStep::word,
                )?,
                reason: self.reason()?,
            },
            event::PACK => EventKind::Pack {
                step: self.word(KEY, &PackStep::ALL, PackStep::word)?,
                item: self.item_or_none(ITEM)?,
                into: self.item_or_none(INTO)?,
                reason: self.reason()?,
                weight_ug: if self.record[WEIGHT].is_empty() { 0 } else { self.millionths(WEIGHT)? },
            },
            event::WARM_UP_END => EventKind::WarmUpEnd,
            _ => EventKind::End,
        })
    }

    fn count(&self) -> Result<EventKind, String> {
        let counter = self.numbered(place::KEY, &self.names.counters).map(|number| Counter::ALL[number])?;
        let is_reasoned =
            matches!(counter, Counter::Rejected | Counter::Escaped | Counter::Tagged | Counter::Lost);
        let reason = self.reason()?;
        if reason != Reason::NONE && !is_reasoned {
            return Err(format!("column reason must be empty in a row of the counter {}", counter.word()));
        }
        Ok(EventKind::Count { counter, reason, value: self.at_most(place::VALUE, most_of(counter))? })
    }

    /// Columns that a row of this event does not use must be empty: else it means something that would be lost.
    fn check_empty(&self, filled: u32) -> Result<(), String> {
        let stray = self.record.filled() & !(filled | columns(&[place::TIME, place::EVENT, place::STATION]));
        if stray == 0 {
            return Ok(());
        }
        let event = shown(&self.record[place::EVENT]);
        Err(format!("column {} must be empty in a row `{event}`", COLUMNS[stray.trailing_zeros() as usize]))
    }

    #[inline]
    pub(super) fn station(&self) -> Result<u16, String> {
        let id = &self.record[place::STATION];
        self.names.stations.find(id).map(|number| number as u16).ok_or_else(|| {
            format!("station is \"{}\"; the header has {}", shown(id), listed(self.names.stations.all()))
        })
    }

    fn reason(&self) -> Result<Reason, String> {
        let word = &self.record[place::REASON];
        if word.is_empty() {
            return Ok(Reason::NONE);
        }
        self.names.reasons.find(word).map(|number| Reason(number as u16)).ok_or_else(|| {
            let (own, fixed) = (self.names.reasons.all().skip(FIXED_REASONS.len()), &FIXED_REASONS[1..]);
            let known = listed(own.chain(fixed.iter().copied().map(Into::into)));
            format!("reason is \"{}\"; the header has {known}", shown(word))
        })
    }

    fn state(&self, column: usize) -> Result<StationState, String> {
        self.numbered(column, &self.names.states).map(|number| StationState::ALL[number])
    }

    fn numbered(&self, column: usize, words: &Words) -> Result<usize, String> {
        let field = &self.record[column];
        words.find(field).ok_or_else(|| {
            format!("{} is \"{}\"; known are {}", COLUMNS[column], shown(field), listed(words.all()))
        })
    }

    /// A whole number that the sums of the accounting can hold.
    fn at_most(&self, column: usize, most: u64) -> Result<u64, String> {
        let number = self.integer(column)?;
        if number <= most {
            return Ok(number);
        }
        Err(format!("{} is {number}, which is too large: at most {most} can be told", COLUMNS[column]))
    }

    fn word<T: Copy>(&self, column: usize, all: &[T], word: fn(T) -> &'static str) -> Result<T, String> {
        let field = &self.record[column];
        let found = all.iter().copied().find(|&it| word(it).as_bytes() == field);
        found.ok_or_else(|| {
            format!(
                "{} is \"{}\"; known are {}",
                COLUMNS[column],
                shown(field),
                listed(all.iter().map(|&it| word(it).into()))
            )
        })
    }

    fn integer(&self, column: usize) -> Result<u64, String> {
        let field = &self.record[column];
        integer(field)
            .ok_or_else(|| format!("{} is \"{}\"; a whole number is due", COLUMNS[column], shown(field)))
    }

    pub(super) fn millionths(&self, column: usize) -> Result<u64, String> {
        let field = &self.record[column];
        millionths(field).ok_or_else(|| {
            format!(
                "{} is \"{}\"; a number with at most six decimals is due, such as 4.615385",
                COLUMNS[column],
                shown(field)
            )
        })
    }

    fn content(&self, column: usize) -> Result<u32, String> {
        let pieces = self.integer(column)?;
        u32::try_from(pieces).ok().filter(|&pieces| pieces != NO_CONTENT).ok_or_else(|| {
            format!("{} is {pieces}; at most {} pieces can be told", COLUMNS[column], NO_CONTENT - 1)
        })
    }

    fn content_or_none(&self, column: usize) -> Result<u32, String> {
        if self.record[column].is_empty() { Ok(NO_CONTENT) } else { self.content(column) }
    }

    fn item_or_none(&self, column: usize) -> Result<u64, String> {
        if self.record[column].is_empty() {
            return Ok(NO_ITEM);
        }
        let item = self.integer(column)?;
        if item == NO_ITEM {
            Err(format!("{} is {item}, which is too large", COLUMNS[column]))
        } else {
            Ok(item)
        }
    }
}

/// A set of columns, one bit each.
const fn columns(places: &[usize]) -> u32 {
    let (mut set, mut next) = (0, 0);
    while next < places.len() {
        set |= 1 << places[next];
        next += 1;
    }
    set
}

fn listed<'a>(words: impl Iterator<Item = Cow<'a, str>>) -> String {
    words.collect::<Vec<_>>().join(", ")
}
