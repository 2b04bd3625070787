//! The states of one station over time, in bounded memory, and their reduction to few bands.

use super::BandState;
use linewake_log::event::StationState;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Time of each state, and last of no known state.
pub(super) const CLASSES: usize = StationState::ALL.len() + 1;
const UNKNOWN: usize = CLASSES - 1;

/// Most segments kept while the log is read: what is put together then is at most half a pixel of the whole.
const MOST_SEGMENTS: usize = 8 * super::PAGE_WIDTH_PX as usize;

/// A stretch of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Segment {
    pub(super) end: Moment,
    /// Sum of the times.
    length: u64,
    /// Time in each state, in microseconds.
    pub(super) times: [u64; CLASSES],
    pub(super) shows: BandState,
    /// Stretches of own and planned stops in it.
    pub(super) stops: u64,
    /// The longest of them.
    longest: u64,
    longest_shows: BandState,
    pub(super) longest_reason: Reason,
    /// It is one stretch of one state.
    pub(super) pure: bool,
    /// It is a stop, or several that were put together.
    stop: bool,
}

impl Segment {
    fn new(end: Moment, state: Option<StationState>, reason: Reason, length: Span) -> Self {
        let mut times = [0; CLASSES];
        times[state.map_or(UNKNOWN, |state| state as usize)] = length.0;
        let shows = shown(state);
        let stop = matches!(shows, BandState::Stopped | BandState::Planned);
        Self {
            end,
            length: length.0,
            times,
            shows,
            stops: u64::from(stop),
            longest: if stop { length.0 } else { 0 },
            longest_shows: shows,
            longest_reason: if stop { reason } else { Reason::NONE },
            pure: true,
            stop,
        }
    }

    pub(super) fn length(&self) -> u64 {
        self.length
    }

    pub(super) fn start(&self) -> Moment {
        Moment(self.end.0.saturating_sub(self.length()))
    }

    /// Time in the class that a band shows.
    pub(super) fn time_of(&self, shows: BandState) -> u64 {
        let time = |state: StationState| self.times[state as usize];
        match shows {
            BandState::Running => time(StationState::Running),
            BandState::Starved => time(StationState::Starved),
            BandState::Blocked => time(StationState::Blocked),
            BandState::Stopped => time(StationState::StoppedWaiting) + time(StationState::StoppedRepair),
            BandState::Planned => time(StationState::Planned),
            BandState::Unknown => self.times[UNKNOWN],
        }
    }

    /// It shows a stop that is at least so long.
    pub(super) fn is_stop_of(&self, at_least: u64) -> bool {
        self.stop && self.length() >= at_least
    }

    /// Both together; shows what took most, as [`super`] says.
    fn joined(&self, next: &Self) -> Self {
        let mut joined = *self;
        joined.join(next);
        joined.shows = joined.mostly();
        joined
    }

    fn joined_as(&self, next: &Self, shows: BandState) -> Self {
        let mut joined = *self;
        joined.join(next);
        joined.shows = shows;
        joined
    }

    /// Puts the next one to it; what both show together is left to the caller.
    #[inline]
    fn join(&mut self, next: &Self) {
        self.end = next.end;
        self.length += next.length;
        for (time, more) in self.times.iter_mut().zip(next.times) {
            *time += more;
        }
        self.stops += next.stops;
        if next.longest > self.longest {
            self.longest = next.longest;
            self.longest_shows = next.longest_shows;
            self.longest_reason = next.longest_reason;
        }
        self.pure = false;
        self.stop = false;
    }

    /// Both together as a stop.
    fn joined_as_stop(&self, next: &Self) -> Self {
        let mut joined = self.joined(next);
        (joined.shows, joined.stop) = (joined.longest_shows, true);
        joined
    }

    fn mostly(&self) -> BandState {
        use BandState::{Blocked, Planned, Running, Starved, Stopped, Unknown};
        let most = [Stopped, Planned, Blocked, Starved, Running, Unknown]
            .into_iter()
            .reduce(|most, other| if self.time_of(other) > self.time_of(most) { other } else { most });
        match most {
            Some(Blocked | Starved) if self.time_of(Running) >= self.length() / 10 => Running,
            most => most.unwrap_or(Unknown),
        }
    }
}

/// What a band shows of a state.
pub(super) fn shown(state: Option<StationState>) -> BandState {
    match state {
        None => BandState::Unknown,
        Some(StationState::Running) => BandState::Running,
        Some(StationState::Starved) => BandState::Starved,
        Some(StationState::Blocked) => BandState::Blocked,
        Some(StationState::StoppedWaiting | StationState::StoppedRepair) => BandState::Stopped,
        Some(StationState::Planned) => BandState::Planned,
    }
}

/// The segments of one station up to now.
#[derive(Clone, Debug)]
pub(super) struct Segments {
    segments: Vec<Segment>,
    /// Nothing goes on from the last segment: another stop of the same name follows.
    broken: bool,
}

impl Segments {
    pub(super) fn new() -> Self {
        Self { segments: Vec::new(), broken: false }
    }

    pub(super) fn all(&self) -> &[Segment] {
        &self.segments
    }

    pub(super) fn clear(&mut self) {
        self.segments.clear();
        self.broken = false;
    }

    /// The next stop is another one, whatever its reason.
    pub(super) fn another_stop(&mut self) {
        self.broken = true;
    }

    /// The station was in a state from `since` to `at`.
    pub(super) fn add(&mut self, since: Moment, at: Moment, state: Option<StationState>, reason: Reason) {
        let length = at.since(since);
        if length == Span::ZERO {
            return;
        }
        let next = Segment::new(at, state, reason, length);
        let broken = std::mem::take(&mut self.broken);
        if let Some(last) = self.segments.last_mut()
            && last.pure
            && last.shows == next.shows
            && last.longest_reason == next.longest_reason
        {
            let stops = last.stops + u64::from(broken && next.stop);
            let longest = if broken { last.longest.max(next.longest) } else { last.longest + next.longest };
            let (shows, stop) = (last.shows, last.stop);
            *last = Segment { pure: true, stops, longest, stop, ..last.joined_as(&next, shows) };
            return;
        }
        self.segments.push(next);
        if self.segments.len() > MOST_SEGMENTS {
            let whole: u64 = self.segments.iter().map(Segment::length).sum();
            // At most two segments for each such time, so half of them are left.
            let tick = (whole / (MOST_SEGMENTS as u64 / 4)).max(1);
            let left = reduced(&self.segments, &Reduction { below: tick, stops_from: tick, exact: true });
            // The room stays for those to come.
            self.segments.clear();
            self.segments.extend_from_slice(&left);
        }
    }
}

/// How segments are put together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reduction {
    /// Shorter ones are put together until they are so long.
    pub(super) below: u64,
    /// Stops at least so long are kept.
    pub(super) stops_from: u64,
    /// Waits and work that are long enough are kept as they are; else neighbours that show the same are one.
    pub(super) exact: bool,
}

impl Reduction {
    fn keeps(&self, segment: &Segment) -> bool {
        segment.is_stop_of(self.stops_from) || (self.exact && segment.pure && segment.length() >= self.below)
    }

    fn append(&self, done: &mut Vec<Segment>, next: Segment) {
        match done.last_mut() {
            Some(last) if last.shows == next.shows && !self.keeps(last) && !self.keeps(&next) => {
                *last = last.joined_as(&next, next.shows);
            }
            _ => done.push(next),
        }
    }

    /// Puts what is too short by itself to the one before it, if that may change.
    fn append_rest(&self, done: &mut Vec<Segment>, rest: Segment) {
        match done.last_mut() {
            Some(last) if !self.keeps(last) => {
                let long = last.length() >= self.below;
                *last = if long { last.joined_as(&rest, last.shows) } else { last.joined(&rest) };
            }
            _ => done.push(rest),
        }
    }
}

/// The segments, put together.
pub(super) fn reduced(segments: &[Segment], rule: &Reduction) -> Vec<Segment> {
    let mut done: Vec<Segment> = Vec::new();
    // What is too short by itself, and whether it is more than one, so that what it shows is still to be found.
    let mut short: Option<(Segment, bool)> = None;
    let settled = |(mut short, several): (Segment, bool)| {
        if several {
            short.shows = short.mostly();
        }
        short
    };
    for segment in segments {
        if rule.keeps(segment) {
            if let Some(rest) = short.take() {
                rule.append_rest(&mut done, settled(rest));
            }
            done.push(*segment);
            continue;
        }
        let long = segment.length() >= rule.below;
        match &mut short {
            None if long => rule.append(&mut done, *segment),
            None => short = Some((*segment, false)),
            Some((together, several)) => {
                together.join(segment);
                *several = true;
                if long {
                    together.shows = segment.shows;
                    rule.append(&mut done, *together);
                    short = None;
                } else if together.length() >= rule.below {
                    together.shows = together.mostly();
                    rule.append(&mut done, *together);
                    short = None;
                }
            }
        }
    }
    if let Some(rest) = short {
        rule.append_rest(&mut done, settled(rest));
    }
    done
}

/// Stops of at least `stops_from` that lie less than `gap` apart become one, with what lies between.
pub(super) fn stops_together(segments: &[Segment], stops_from: u64, gap: u64) -> Vec<Segment> {
    let mut done: Vec<Segment> = Vec::new();
    // Place of the last stop in `done`, and the time since.
    let mut last: Option<(usize, u64)> = None;
    for segment in segments {
        if !segment.is_stop_of(stops_from) {
            done.push(*segment);
            last = last.map(|(place, since)| (place, since + segment.length()));
            continue;
        }
        match last {
            Some((place, since)) if since < gap => {
                let between = done.split_off(place + 1);
                let whole =
                    between.iter().chain([segment]).fold(done[place], |sum, it| sum.joined_as_stop(it));
                done[place] = whole;
                last = Some((place, 0));
            }
            _ => {
                done.push(*segment);
                last = Some((done.len() - 1, 0));
            }
        }
    }
    done
}
