//! Expected stops: how often each mode of a station strikes for a pack or a second, and how long it holds.

use super::expectation::{WholeStop, mean_count};
use super::pace::Pace;
use super::shape::Shape;
use crate::line::{Line, StationIndex};
use crate::station::StationKind;
use crate::stop::{Basis, Initial, StopMode};
use linewake_stats::distribution::Distribution;

/// Expected stops of one mode.
#[derive(Clone, Debug)]
pub(super) struct StopRate<'a> {
    pub(super) reason: String,
    pub(super) attended: bool,
    pub(super) planned: bool,
    pub(super) group: Option<u16>,
    pub(super) scrap_after_indexes: u32,
    pub(super) whole: WholeStop<'a>,
    pub(super) comes: Comes,
    pub(super) calls: Calls,
}

/// How the number of stops grows.
#[derive(Clone, Copy, Debug)]
pub(super) enum Comes {
    /// With the work: so many for each pack cut.
    PerPack(f64),
    /// With the time: mean seconds of the clock between the end of one and the next.
    AfterSeconds(f64),
    /// With the running time of a belt, which also runs while no pack comes: mean seconds, and stops for each pack cut
    /// when pack follows pack.
    OnRunningBelt { between_s: f64, per_pack: f64 },
    /// At fixed times: every so many seconds.
    Every(f64),
}

/// Whether a call can come at the very instant at which another stop of the station ends: it is then answered without
/// a response time by the operator who is still there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Calls {
    /// It strikes in the middle of work, at a moment of its own.
    Alone,
    /// It strikes at the end of a cycle, which by chance may be that of another stop.
    AtCycleEnd,
    /// It strikes at the end of a cycle, which may be that of another stop time and again: counts that start in
    /// step, fail-safes.
    InStep,
    /// It waits until another stop is over.
    AfterOthers,
}

impl StopRate<'_> {
    /// Whether the clock of the mode is the running time of its station.
    pub(super) fn is_on_running_time(&self) -> bool {
        self.calls == Calls::Alone && !self.planned
    }

    /// Stops for each pack cut, and stops for each second outside breaks, in a line in which nothing hides a stop.
    pub(super) fn in_line(&self, shape: &Shape<'_>) -> (f64, f64) {
        let working = (1.0 - shape.break_share).max(f64::MIN_POSITIVE);
        let length = self.whole.mean_s();
        match self.comes {
            Comes::PerPack(stops) => (stops, 0.0),
            Comes::AfterSeconds(between) => (0.0, 1.0 / (between + length) / working),
            Comes::OnRunningBelt { between_s, .. } => (0.0, 1.0 / (between_s + length)),
            Comes::Every(interval) => (0.0, 1.0 / interval / working),
        }
    }

    /// The same for the station alone. `delay_s` is what a calendar stop loses by falling into another stop.
    pub(super) fn alone(&self, shape: &Shape<'_>, delay_s: f64) -> (f64, f64) {
        let length = self.whole.mean_s();
        match self.comes {
            Comes::PerPack(stops) | Comes::OnRunningBelt { per_pack: stops, .. } => (stops, 0.0),
            // Without the division by the working share: a stop that is due in a break waits for its end.
            Comes::AfterSeconds(between) => (0.0, 1.0 / (between + length + delay_s)),
            Comes::Every(_) => self.in_line(shape),
        }
    }
}

/// The response time that counts at a station.
pub(super) fn response(line: &Line, station: StationIndex) -> &Distribution {
    line.stations[station].response_s.as_ref().unwrap_or(&line.crew.response_s)
}

/// The own stop modes of a station. `share` is the packs that reach it for each pack cut.
pub(super) fn own_stops<'a>(
    line: &'a Line,
    station: StationIndex,
    pace: Pace,
    share: f64,
) -> Vec<StopRate<'a>> {
    let is_belt =
        matches!(line.stations[station].kind, StationKind::RigidBelt(_) | StationKind::Accumulator(_));
    let modes = line.stations[station].stops.iter();
    modes
        .map(|mode| {
            let comes = match mode.basis {
                Basis::RunningTime => {
                    let between_s = mode.between.mean();
                    let per_pack = pace.running_s * share / between_s;
                    if is_belt {
                        Comes::OnRunningBelt { between_s, per_pack }
                    } else {
                        Comes::PerPack(per_pack)
                    }
                }
                Basis::CalendarTime => Comes::AfterSeconds(mode.between.mean()),
                Basis::Count => Comes::PerPack(pace.cycles * share / mean_count(&mode.between)),
            };
            StopRate {
                reason: line.reason(mode.reason).to_owned(),
                attended: mode.attended,
                planned: false,
                group: mode.group,
                scrap_after_indexes: mode.scrap_after_indexes,
                whole: WholeStop {
                    response_s: mode.attended.then(|| response(line, station)),
                    duration_s: &mode.duration_s,
                },
                comes,
                calls: calls(mode),
            }
        })
        .collect()
}

fn calls(mode: &StopMode) -> Calls {
    match mode.basis {
        Basis::RunningTime => Calls::Alone,
        Basis::CalendarTime => Calls::AfterOthers,
        // Part used by a share of its own in each run, a constant count falls together with another one by chance only.
        Basis::Count if mode.between.is_constant() && matches!(mode.initial, Initial::Fraction(_)) => {
            Calls::InStep
        }
        Basis::Count => Calls::AtCycleEnd,
    }
}
