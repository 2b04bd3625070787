//! The quantities of the reference table, from what was seen of the replications.

use crate::measured::{Measured, variance_rate};
use crate::model_of::Model;
use crate::observer::{StationTotals, Window};
use linewake_log::event::{Counter, StationState};
use linewake_model::station::StationKind;

/// All replications of one model.
#[derive(Debug)]
pub(crate) struct Seen<'m> {
    pub model: &'m Model,
    pub windows: Vec<Window>,
}

impl Seen<'_> {
    /// The quantity of that name; `None` if the model has no such thing.
    pub(crate) fn quantity(&self, name: &str) -> Option<Measured> {
        let (base, number) = match name.split_once('[') {
            Some((base, rest)) => (base, rest.strip_suffix(']')?.parse::<usize>().ok()?.checked_sub(1)?),
            None => (name, 0),
        };
        // The causes of a block are numbered too, and all stop one machine.
        let machine = *self.model.machines.get(if base == "down_share" { 0 } else { number })?;
        let last = self.model.line.stations.len() - 1;
        let state = |state: StationState| self.share(|window| window.stations[machine].in_state(state));
        let us_in_unit = self.model.unit_s * 1e6;
        Some(match base {
            "throughput" | "production_rate" | "efficiency" => {
                self.per_unit(|window| window.stations[last].counted(Counter::HandedOver))
            }
            "working" => state(StationState::Running),
            "starved" => state(StationState::Starved),
            "blocked" => state(StationState::Blocked),
            "down" => self.share(|window| window.stations[machine].down()),
            "down_share" => {
                let reason = self.model.line.stations[machine].stops.get(number)?.reason;
                let stopped = |window: &Window| window.stations[machine].stopped_us.get(&reason).copied();
                self.share(|window| stopped(window).unwrap_or(0) as f64)
            }
            "availability" => self.share(|window| window.length_us as f64 - window.stations[machine].down()),
            "mean_storage" | "Lq" => {
                let storage = *self.model.storages.get(number)?;
                self.share(|window| window.stations[storage].counted(Counter::ContentTime))
            }
            "WIP" | "mean_buffer" | "L" => {
                let storage = *self.model.storages.get(number)?;
                self.share(|window| self.between(window, storage))
            }
            "mean_time_in_line" | "W" => self.ratio(
                |window| window.stations[last].counted(Counter::TimeInLine) / us_in_unit,
                |window| window.stations[last].counted(Counter::HandedOver),
            ),
            "Wq" => self.ratio(|window| window.waits.1 as f64 / us_in_unit, |window| window.waits.0 as f64),
            "output_variance_rate" => {
                let batches: Vec<Vec<u64>> =
                    self.windows.iter().map(|window| window.batches.clone()).collect();
                let window = &self.windows[0];
                variance_rate(&batches, window.length_us as f64 / window.batches.len() as f64 / us_in_unit)
            }
            "failures_per_1000_time_units" => {
                let stops = |window: &Window| {
                    window.stations[machine].entries[StationState::StoppedRepair as usize] as f64
                };
                self.per_unit(|window| 1000.0 * stops(window))
            }
            _ => return self.interference(base),
        })
    }

    /// Quantities of machines that share repair workers.
    fn interference(&self, name: &str) -> Option<Measured> {
        let machines = self.model.machines.len() as f64;
        let waiting =
            |window: &Window| total(window, |station| station.in_state(StationState::StoppedWaiting));
        let repair = |window: &Window| total(window, |station| station.in_state(StationState::StoppedRepair));
        let calls = |window: &Window| total(window, |station| station.calls as f64);
        let all = |window: &Window| machines * window.length_us as f64;
        Some(match name {
            "mean_running" => self.share(|window| all(window) - waiting(window) - repair(window)),
            "mean_waiting_for_repair" => self.share(waiting),
            // The share of machines that are not waiting for a worker.
            "efficiency_factor_F" => self.share(|window| (all(window) - waiting(window)) / machines),
            // A state of length zero leaves no row, so each change into waiting is a call that had to wait.
            "probability_repair_must_wait_D" => self.ratio(
                |window| {
                    total(window, |station| station.entries[StationState::StoppedWaiting as usize] as f64)
                },
                calls,
            ),
            "mean_wait_per_failure" => {
                self.ratio(|window| waiting(window) / (self.model.unit_s * 1e6), calls)
            }
            "worker_utilisation" => self.share(|window| repair(window) / f64::from(self.model.workers)),
            _ => return None,
        })
    }

    /// Pieces between two machine actions, times microseconds: in the storage, in the machine after it, and finished but
    /// blocked in the machine before it.
    fn between(&self, window: &Window, storage: usize) -> f64 {
        let after = &window.stations[storage + 1];
        let before = &window.stations[storage - 1];
        let blocked = match self.model.line.stations[storage - 1].kind {
            StationKind::Machine(_) => before.in_state(StationState::Blocked),
            _ => 0.0,
        };
        let held = window.length_us as f64 - after.in_state(StationState::Starved);
        window.stations[storage].counted(Counter::ContentTime) + held + blocked
    }

    /// Of the length of the window.
    pub(crate) fn share(&self, of: impl Fn(&Window) -> f64) -> Measured {
        self.ratio(of, |window| window.length_us as f64)
    }

    /// By time unit.
    pub(crate) fn per_unit(&self, of: impl Fn(&Window) -> f64) -> Measured {
        let us_in_unit = self.model.unit_s * 1e6;
        self.ratio(of, |window| window.length_us as f64 / us_in_unit)
    }

    /// Sum over sum.
    pub(crate) fn ratio(&self, of: impl Fn(&Window) -> f64, by: impl Fn(&Window) -> f64) -> Measured {
        let values: Vec<f64> = self.windows.iter().map(of).collect();
        let lengths: Vec<f64> = self.windows.iter().map(by).collect();
        Measured::ratio_of(&values, &lengths)
    }

    /// Units in all windows together.
    pub(crate) fn units(&self) -> f64 {
        self.windows.iter().map(|window| window.length_us as f64).sum::<f64>() / (self.model.unit_s * 1e6)
    }
}

fn total(window: &Window, of: impl Fn(&StationTotals) -> f64) -> f64 {
    window.stations.iter().map(of).sum()
}
