//! One state at a time: stops of one machine that overlap are cut, planned stops that are left out come first, and
//! what lies outside the shifts goes. What a row loses by this is noted.
//!
//! Time is counted once. A break of the shift is stronger than a planned stop that is left out, and that is stronger
//! than any other stop: as in a simulated run, a stop pauses in it. Among equals the one that began first has the time,
//! of two that began together the one that stands first in the file.

use super::clock::Clock;
use super::dirt::{DirtKind, ListFile};
use super::dirt_book::DirtBook;
use super::mapping::{Effect, Meaning};
use super::stops::{Claim, minutes};
use super::waits;
use super::windows::{Window, Windows};
use crate::event::StationState;
use linewake_model::stop::Reason;
use std::collections::BTreeMap;

/// A stretch of time in which a station is not running; moments in microseconds since 1970.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stretch {
    /// Line of its row; 0 for a break of the shift and for what a wait of the constraint implies.
    pub(crate) line: u64,
    pub(crate) start: i64,
    pub(crate) end: i64,
    pub(crate) state: StationState,
    pub(crate) reason: Reason,
    pub(crate) rank: Rank,
}

/// Which stretch gives way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Rank {
    Break,
    LeftOut,
    Stop,
}

/// What the stations do when they are not running, and how much time each row counts for.
#[derive(Debug)]
pub(crate) struct Layout {
    /// By station, in order of time, without overlap, each within one shift that was worked; none of a station that the
    /// list does not name.
    pub(crate) stations: Vec<Vec<Stretch>>,
    /// Stop time that the rows count for, by line, in microseconds.
    pub(crate) counted: BTreeMap<u64, i64>,
}

impl Layout {
    pub(crate) fn new(
        claims: &[Claim],
        named: &[bool],
        constraint: usize,
        windows: &Windows<'_>,
        clock: &Clock,
        dirt: &mut DirtBook,
    ) -> Self {
        let breaks: Vec<Stretch> = windows.worked().flat_map(breaks_of).collect();
        let mut layout = Self { stations: Vec::with_capacity(named.len()), counted: BTreeMap::new() };
        for (station, &is_named) in named.iter().enumerate() {
            if !is_named {
                layout.stations.push(Vec::new());
                continue;
            }
            let mine = claims
                .iter()
                .filter(|claim| claim.meaning.whole_line || usize::from(claim.station) == station);
            let (mut left_out, mut stops): (Vec<Stretch>, Vec<Stretch>) =
                mine.map(stretch_of).partition(|stretch| stretch.rank == Rank::LeftOut);
            one_after_the_other(&mut left_out, clock, dirt);
            one_after_the_other(&mut stops, clock, dirt);
            let left_out = without(&left_out, &breaks, dirt);
            let mut above = [breaks.clone(), left_out].concat();
            above.sort_by_key(|it| it.start);
            let mut all = [without(&stops, &above, dirt), above].concat();
            all.sort_by_key(|it| it.start);
            let all = within_shifts(&all, windows, dirt);
            let mut here: BTreeMap<u64, i64> = BTreeMap::new();
            for stretch in all.iter().filter(|it| it.line > 0) {
                *here.entry(stretch.line).or_default() += stretch.end - stretch.start;
            }
            for (line, time) in here {
                let counted = layout.counted.entry(line).or_default();
                *counted = time.max(*counted);
            }
            layout.stations.push(all);
        }
        waits::pass_on(&mut layout.stations, constraint, named);
        layout
    }
}

fn breaks_of(window: &Window) -> impl Iterator<Item = Stretch> + '_ {
    window.breaks.iter().map(|&(start, end)| Stretch {
        line: 0,
        start,
        end,
        state: StationState::Planned,
        reason: Reason::BREAK,
        rank: Rank::Break,
    })
}

fn stretch_of(claim: &Claim) -> Stretch {
    let Meaning { reason, effect, .. } = claim.meaning;
    let (state, rank) = match effect {
        Effect::OwnStop => (StationState::StoppedRepair, Rank::Stop),
        Effect::Planned => (StationState::Planned, Rank::Stop),
        Effect::PlannedLeftOut => (StationState::Planned, Rank::LeftOut),
        Effect::Starved => (StationState::Starved, Rank::Stop),
        Effect::Blocked => (StationState::Blocked, Rank::Stop),
    };
    Stretch { line: claim.line, start: claim.start, end: claim.end, state, reason, rank }
}

/// Cuts what overlaps, in favour of what began first.
fn one_after_the_other(stretches: &mut Vec<Stretch>, clock: &Clock, dirt: &mut DirtBook) {
    stretches.sort_by_key(|it| (it.start, it.line));
    let mut last: Option<(i64, u64)> = None;
    stretches.retain_mut(|it| {
        if let Some((end, line)) = last
            && it.start < end
        {
            if it.end <= end {
                let what = format!("it lies within the stop of line {line}");
                dirt.note(ListFile::Stops, it.line, DirtKind::Overlap, what, "left out");
                return false;
            }
            let what = format!("it overlaps the stop of line {line} by {}", minutes(end - it.start));
            let done = format!("taken to begin when that one ends, {}", clock.words(end));
            dirt.note(ListFile::Stops, it.line, DirtKind::Overlap, what, done);
            it.start = end;
        }
        last = Some((it.end, it.line));
        true
    });
}

/// What remains of the stretches beside `above`, which is in order and without overlap.
fn without(stretches: &[Stretch], above: &[Stretch], dirt: &mut DirtBook) -> Vec<Stretch> {
    let mut remain = Vec::with_capacity(stretches.len());
    for stretch in stretches {
        let mut rest = *stretch;
        let first = above.partition_point(|it| it.end <= rest.start);
        for it in above[first..].iter().take_while(|it| it.start < stretch.end) {
            if it.start > rest.start {
                remain.push(Stretch { end: it.start, ..rest });
            }
            let covered = it.end.min(stretch.end) - it.start.max(stretch.start);
            let whose =
                if it.line == 0 { "a break of the shift".to_owned() } else { format!("line {}", it.line) };
            let what = format!("{} of it lie in a planned stop that is left out ({whose})", minutes(covered));
            dirt.note(ListFile::Stops, stretch.line, DirtKind::InBreak, what, "the stop pauses for it");
            rest.start = it.end;
        }
        if rest.start < rest.end {
            remain.push(rest);
        }
    }
    remain
}

/// The parts that lie in shifts that were worked.
fn within_shifts(stretches: &[Stretch], windows: &Windows<'_>, dirt: &mut DirtBook) -> Vec<Stretch> {
    let mut parts = Vec::with_capacity(stretches.len());
    for stretch in stretches {
        let mut inside = 0;
        for window in windows.worked_between(stretch.start, stretch.end) {
            let (start, end) = (stretch.start.max(window.start), stretch.end.min(window.end));
            if start < end {
                inside += end - start;
                parts.push(Stretch { start, end, ..*stretch });
            }
        }
        let outside = stretch.end - stretch.start - inside;
        if outside > 0 && stretch.line > 0 {
            let what = if inside == 0 {
                "it lies outside all shifts that were worked".to_owned()
            } else {
                format!("{} of it lie outside all shifts that were worked", minutes(outside))
            };
            let done = if inside == 0 { "left out" } else { "this part was left out" };
            dirt.note(ListFile::Stops, stretch.line, DirtKind::OutsideShifts, what, done);
        }
    }
    parts
}
