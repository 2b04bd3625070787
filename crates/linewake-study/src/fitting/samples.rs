//! From the stops of shifts to samples: times between the stops of one reason on one clock, and their durations.

use super::history::{Clocks, ShiftHistory, StopSeen};
use linewake_kpi::study::fitting::FitClock;
use linewake_log::event::StationState;
use linewake_log::header::ShiftStart;
use linewake_model::stop::Reason;

/// With fewer whole times, the time up to the first stop is taken as whole too.
const LEAST_KEPT: usize = 2;

/// A shift that was read.
pub(super) struct Shift {
    /// Name of its group, such as "early"; empty where shifts have none.
    pub(super) group: String,
    /// How it begins, of a simulated one.
    pub(super) start: Option<ShiftStart>,
    pub(super) history: ShiftHistory,
}

/// Times one after the other on one clock, and what came of the last.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Window {
    /// Times seen to their end, each with the shift in which it ended.
    pub(super) complete: Vec<(f64, usize)>,
    /// What had passed of the last as the watch ended.
    pub(super) cut_off: f64,
}

impl Window {
    pub(super) fn length(&self) -> f64 {
        self.complete.iter().map(|(time, _)| time).sum::<f64>() + self.cut_off
    }
}

/// A duration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Duration {
    pub(super) seconds: f64,
    pub(super) shift: usize,
    pub(super) is_complete: bool,
}

/// Everything that the shifts tell of one reason of one station.
pub(super) struct Series<'a> {
    pub(super) station: usize,
    pub(super) reason: Reason,
    pub(super) shifts: &'a [Shift],
}

impl Series<'_> {
    fn stops(&self, shift: usize) -> impl Iterator<Item = &StopSeen> {
        self.shifts[shift].history.stations[self.station]
            .stops
            .iter()
            .filter(move |stop| stop.reason == self.reason)
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &StopSeen> {
        (0..self.shifts.len()).flat_map(move |shift| self.stops(shift))
    }

    /// The stops that struck while the machine waited: only a calendar clock does that.
    pub(super) fn while_waiting(&self) -> usize {
        self.all().filter(|stop| matches!(stop.from, StationState::Starved | StationState::Blocked)).count()
    }

    /// Times between stops on a clock. A simulated shift begins anew; on a real line the clock of running time and that of
    /// counts go on from one shift into the next, while the wall clock between shifts is not told. What passes before the
    /// first stop of a window that does not begin new is left out, unless hardly anything else is there.
    pub(super) fn windows(&self, clock: FitClock, part_used: bool) -> Vec<Window> {
        let show = |clocks: &Clocks| match clock {
            FitClock::RunningTime => clocks.running_s,
            FitClock::CalendarTime => clocks.calendar_s,
            FitClock::Count(_) => clocks.cycles as f64,
        };
        let begins_new = |start: Option<ShiftStart>| match start {
            Some(ShiftStart::NewRolls) => !part_used,
            // Consumables of a shift of the long run are part used at its start.
            Some(ShiftStart::LongRun) => !part_used && !matches!(clock, FitClock::Count(_)),
            None => false,
        };
        let mut windows: Vec<(Window, bool)> = Vec::new();
        for (number, shift) in self.shifts.iter().enumerate() {
            let goes_on = shift.start.is_none() && !matches!(clock, FitClock::CalendarTime);
            if windows.is_empty() || !goes_on {
                windows.push((Window::default(), begins_new(shift.start)));
            }
            let Some((window, _)) = windows.last_mut() else { continue };
            let mut since = 0.0;
            for stop in self.stops(number) {
                let passed = std::mem::take(&mut window.cut_off) + (show(&stop.began) - since).max(0.0);
                window.complete.push((passed, number));
                since = show(&stop.ended);
            }
            window.cut_off += (show(&shift.history.stations[self.station].end) - since).max(0.0);
        }
        let kept = |(window, is_new): &(Window, bool)| {
            if *is_new { window.complete.len() } else { window.complete.len().saturating_sub(1) }
        };
        if windows.iter().map(kept).sum::<usize>() >= LEAST_KEPT {
            for (window, _) in windows.iter_mut().filter(|(_, is_new)| !is_new) {
                if window.complete.is_empty() {
                    window.cut_off = 0.0;
                } else {
                    window.complete.remove(0);
                }
            }
        }
        windows.into_iter().map(|(window, _)| window).collect()
    }

    /// Durations: of the repair if `repairs_only`, else of the whole stop.
    pub(super) fn durations(&self, repairs_only: bool) -> Vec<Duration> {
        let of = |(shift, stop): (usize, &StopSeen)| {
            let seconds = stop.repaired_s + if repairs_only { 0.0 } else { stop.waited_s };
            Duration { seconds, shift, is_complete: stop.is_complete }
        };
        (0..self.shifts.len())
            .flat_map(|shift| self.stops(shift).map(move |stop| (shift, stop)))
            .map(of)
            .filter(|duration| duration.is_complete || duration.seconds > 0.0)
            .collect()
    }

    /// Moments at which stops began, on the wall clock of their shift: for the grid of the record.
    pub(super) fn begins(&self) -> Vec<f64> {
        self.all().map(|stop| stop.began.calendar_s).collect()
    }
}
