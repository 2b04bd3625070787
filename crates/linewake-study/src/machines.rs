//! Figures of one machine over many shifts: OEE of its own, minor and long stops, mean times with intervals, histograms,
//! and the elements and KPIs of ISO 22400-2.

use crate::mean::{LEVEL, mean, ratio};
use linewake_kpi::content_times::ContentTimes;
use linewake_kpi::histogram::TimeHistogram;
use linewake_kpi::iso22400::{Figure, IsoElements};
use linewake_kpi::machine::{KpiValue, MachineOee, MachineSummary, MeanTime, StopClass, StopTimes};
use linewake_kpi::result::{PlannedTimes, ShiftResult, StateTimes, StationResult, StopResult};
use linewake_kpi::summary::Mean;
use linewake_model::time::Span;
use linewake_stats::estimate::{Estimate, student_t_quantile};
use linewake_stats::interval::{Ending, mtbf_two_sided};
use std::collections::BTreeMap;

const MTBF_METHOD: &str = "2 T / chi-square for a watch ended by time; holds for stops whose likelihood does not depend \
                           on how long ago the last one was (Epstein and Sobel 1953)";
const MTTR_METHOD: &str = "Student's t over the lengths of the stops that ended; holds for many stops that do not depend \
                           on each other";

/// Elements and KPIs of the line at its constraint; empty when the logs tell no state of it.
pub(crate) fn iso_of_line(shifts: &[ShiftResult]) -> Vec<KpiValue> {
    kpis(&shifts.iter().filter_map(IsoElements::of_line).collect::<Vec<_>>())
}

/// The figures of the station at that place.
pub(crate) fn machine(shifts: &[ShiftResult], place: usize) -> MachineSummary {
    let machine = Machine { shifts, place };
    let elements: Vec<IsoElements> =
        shifts.iter().filter_map(|shift| IsoElements::of_machine(shift, place)).collect();
    let has_states = elements.len() == shifts.len() && !shifts.is_empty();
    let state = |time: fn(&StateTimes) -> Span| {
        has_states
            .then(|| machine.share_of_window(|station| station.states.as_ref().map_or(Span::ZERO, time)))
    };
    let long_count = |stop: &StopResult| stop.count - stop.minor_count;
    let class = |count: &dyn Fn(&StopResult) -> u64, time: fn(&StopResult) -> Span| {
        has_states.then(|| StopClass {
            count: mean(&machine.own_stops(|stop| count(stop) as f64)),
            time_s: mean(&machine.own_stops(|stop| time(stop).seconds())),
        })
    };
    MachineSummary {
        oee: has_states.then(|| machine.oee(&elements)),
        starved_share: state(|times| times.starved),
        blocked_share: state(|times| times.blocked),
        minor_stops: class(&|stop| stop.minor_count, |stop| stop.minor_time),
        long_stops: class(&long_count, |stop| stop.begun_time - stop.minor_time),
        time_between_stops: machine.time_between_stops(),
        time_to_restore: machine.time_to_restore(),
        first_pass_yield: figure(&elements, "FPY"),
        throughput_per_h: machine.throughput(&elements),
        iso: if has_states { kpis(&elements) } else { Vec::new() },
        stops: machine.stop_times(),
        content_times: machine.content_times(),
    }
}

/// All figures of ISO 22400-2 that any of the shifts tells.
fn kpis(elements: &[IsoElements]) -> Vec<KpiValue> {
    let Some(all) = elements.iter().copied().reduce(|sum, next| sum.with(&next)) else { return Vec::new() };
    all.symbols().map(|symbol| KpiValue { symbol, value: figure(elements, symbol) }).collect()
}

/// An element is the mean a shift, a ratio that of the sums. `None` when there is nothing to divide by.
fn figure(elements: &[IsoElements], symbol: &str) -> Option<Mean> {
    let all = elements.iter().copied().reduce(|sum, next| sum.with(&next))?;
    match all.figure(symbol)? {
        // The same in every shift.
        Figure::Element(value) if symbol == "PRI" => {
            Some(Mean { mean: value, half_width: None, n: elements.len() })
        }
        Figure::Element(_) => {
            let each: Vec<f64> = elements.iter().map(|it| it.value(symbol).unwrap_or(0.0)).collect();
            Some(mean(&each))
        }
        // One more than the stops divides the sums: not a ratio of sums over shifts.
        Figure::Ratio(..) if matches!(symbol, "MTBF_iso" | "MTTR_iso") => {
            let value = all.value(symbol)?;
            Some(Mean { mean: value, half_width: without_one(elements, symbol), n: elements.len() })
        }
        Figure::Ratio(..) => {
            let parts = elements.iter().map(|it| match it.figure(symbol) {
                Some(Figure::Ratio(numerator, denominator)) => (numerator, denominator),
                _ => (0.0, 0.0),
            });
            let (numerators, denominators): (Vec<f64>, Vec<f64>) = parts.unzip();
            ratio(&numerators, &denominators)
        }
        Figure::Product(_) => {
            let value = all.value(symbol)?;
            Some(Mean { mean: value, half_width: without_one(elements, symbol), n: elements.len() })
        }
    }
}

/// Half the width of the interval of a figure that is no plain ratio of sums, by leaving out one shift at a time.
///
/// *Formula*: t(n - 1) sqrt((n - 1) / n sum (v_i - mean v)^2), v_i the figure without shift i.
/// *Source*: Tukey (1958), the jackknife (from memory). It holds for many shifts.
fn without_one(elements: &[IsoElements], symbol: &str) -> Option<f64> {
    let n = elements.len();
    if n < 2 {
        return None;
    }
    // Sums from the front and from the back, so that leaving one out is one addition.
    let mut front = vec![None; n];
    let mut back = vec![None; n];
    let add = |sum: Option<IsoElements>, next: &IsoElements| Some(sum.map_or(*next, |sum| sum.with(next)));
    for place in 1..n {
        front[place] = add(front[place - 1], &elements[place - 1]);
        back[n - 1 - place] = add(back[n - place], &elements[n - place]);
    }
    let mut values = Vec::with_capacity(n);
    for place in 0..n {
        let rest = match (front[place], back[place]) {
            (Some(front), Some(back)) => front.with(&back),
            (front, back) => front.or(back)?,
        };
        values.push(rest.value(symbol)?);
    }
    let count = n as f64;
    let error = Estimate::of(&values, LEVEL)?.standard_deviation()? * (count - 1.0) / count.sqrt();
    Some(error * student_t_quantile(0.5 + 0.5 * LEVEL, count - 1.0))
}

/// One station in all shifts.
struct Machine<'a> {
    shifts: &'a [ShiftResult],
    place: usize,
}

impl Machine<'_> {
    fn stations(&self) -> impl Iterator<Item = &StationResult> {
        self.shifts.iter().map(|shift| &shift.stations[self.place])
    }

    fn windows_s(&self) -> Vec<f64> {
        self.shifts.iter().map(|shift| shift.window_end.since(shift.window_start).seconds()).collect()
    }

    fn share_of_window(&self, time: impl Fn(&StationResult) -> Span) -> Mean {
        let times: Vec<f64> = self.stations().map(|station| time(station).seconds()).collect();
        ratio(&times, &self.windows_s()).unwrap_or_else(|| mean(&vec![0.0; times.len()]))
    }

    /// Sum over the own stops of each shift.
    fn own_stops(&self, value: impl Fn(&StopResult) -> f64) -> Vec<f64> {
        let own =
            |station: &StationResult| station.stops.iter().filter(|stop| !stop.planned).map(&value).sum();
        self.stations().map(own).collect()
    }

    fn oee(&self, elements: &[IsoElements]) -> MachineOee {
        let times: Vec<PlannedTimes> =
            self.stations().map(|station| station.planned_times.unwrap_or_default()).collect();
        let planned: Vec<f64> = times.iter().map(|it| it.planned_production_time.seconds()).collect();
        let available: Vec<f64> = times
            .iter()
            .map(|it| (it.planned_production_time - it.long_interruption_time).seconds())
            .collect();
        let running: Vec<f64> = elements.iter().map(|it| it.production.seconds()).collect();
        let ideal = |pieces: fn(&IsoElements) -> Option<u64>| -> Option<Vec<f64>> {
            let time = |it: &IsoElements| Some(it.run_time_per_unit_s? * pieces(it)? as f64);
            elements.iter().map(time).collect()
        };
        let (ideal_made, ideal_good) = (ideal(|it| it.produced), ideal(|it| it.produced.map(|_| it.good)));
        let made_any = elements.iter().any(|it| it.produced.is_some_and(|pieces| pieces > 0));
        let over = |numerators: &Option<Vec<f64>>, denominators: &[f64]| {
            ratio(numerators.as_ref().filter(|_| made_any)?, denominators)
        };
        let zero = || mean(&vec![0.0; self.shifts.len()]);
        MachineOee {
            ideal_rate_per_min: elements
                .iter()
                .find_map(|it| it.run_time_per_unit_s)
                .map(|time_s| 60.0 / time_s),
            availability: ratio(&available, &planned).unwrap_or_else(zero),
            performance: over(&ideal_made, &available),
            quality: figure(elements, "quality_ratio"),
            oee: over(&ideal_good, &planned),
            availability_iso: ratio(&running, &planned).unwrap_or_else(zero),
            performance_iso: over(&ideal_made, &running),
        }
    }

    fn throughput(&self, elements: &[IsoElements]) -> Option<Mean> {
        let pieces: Vec<f64> = elements.iter().map(|it| Some(it.produced? as f64)).collect::<Option<_>>()?;
        let hours: Vec<f64> = self.windows_s().iter().map(|window_s| window_s / 3600.0).collect();
        if pieces.len() == hours.len() { ratio(&pieces, &hours) } else { None }
    }

    /// Time over all shifts, added as whole microseconds.
    fn time_s(&self, time: fn(&StateTimes) -> Span) -> f64 {
        let times = self.stations().filter_map(|it| it.states.as_ref()).map(time);
        times.fold(Span::ZERO, |sum, time| sum + time).seconds()
    }

    /// Running time over own stops that began, as [`StationResult::running_time_between_stops_s`].
    fn time_between_stops(&self) -> Option<MeanTime> {
        let time_s = self.time_s(|it| it.running);
        let events: u64 = self.stations().map(StationResult::own_stops).sum();
        let interval = mtbf_two_sided(time_s, events, LEVEL, Ending::ByTime)?;
        Some(MeanTime {
            mean_s: (events > 0).then(|| time_s / events as f64),
            low_s: Some(interval.low),
            high_s: Some(interval.high).filter(|high| high.is_finite()),
            time_s,
            events,
            method: MTBF_METHOD,
        })
    }

    /// Time in own stops over own stops that began, as [`StationResult::time_to_restore_s`].
    fn time_to_restore(&self) -> Option<MeanTime> {
        let time_s = self.time_s(StateTimes::stopped);
        let events: u64 = self.stations().map(StationResult::own_stops).sum();
        if events == 0 {
            return None;
        }
        let mean_s = time_s / events as f64;
        let half_width = self.half_width_of_lengths_s();
        Some(MeanTime {
            mean_s: Some(mean_s),
            low_s: half_width.map(|half_width| (mean_s - half_width).max(0.0)),
            high_s: half_width.map(|half_width| mean_s + half_width),
            time_s,
            events,
            method: MTTR_METHOD,
        })
    }

    /// *Formula*: t(n - 1) s / sqrt n over the lengths of the own stops that ended; `None` from less than two.
    fn half_width_of_lengths_s(&self) -> Option<f64> {
        let own = || self.stations().flat_map(|it| &it.stops).filter(|stop| !stop.planned);
        let ended: u64 = own().map(|stop| stop.lengths.total()).sum();
        let ended_time: u128 = own().map(|stop| u128::from(stop.ended_time.0)).sum();
        let squares: u128 = own().map(|stop| stop.length_squares_us2).sum();
        if ended < 2 {
            return None;
        }
        let n = ended as f64;
        // n sum x^2 - (sum x)^2 in whole numbers, so that no digits are lost.
        let spread =
            u128::from(ended).checked_mul(squares)?.checked_sub(ended_time.checked_mul(ended_time)?)?;
        let deviation_s = (spread as f64 / (n * (n - 1.0))).sqrt() / 1e6;
        Some(student_t_quantile(0.5 + 0.5 * LEVEL, n - 1.0) * deviation_s / n.sqrt())
    }

    fn stop_times(&self) -> Vec<StopTimes> {
        let mut all = StopTimes::default();
        let mut rows: BTreeMap<(bool, &str), StopTimes> = BTreeMap::new();
        for station in self.stations() {
            all.running_between.merge(&station.running_between);
            for stop in &station.stops {
                if !stop.planned {
                    all.lengths.merge(&stop.lengths);
                }
                let row = rows.entry((stop.planned, &stop.reason)).or_insert_with(|| StopTimes {
                    reason: stop.reason.clone(),
                    planned: stop.planned,
                    ..StopTimes::default()
                });
                row.lengths.merge(&stop.lengths);
                row.running_between.merge(&stop.running_between);
            }
        }
        let empty = |histogram: &TimeHistogram| histogram.total() == 0;
        let mut rows: Vec<StopTimes> =
            rows.into_values().filter(|row| !empty(&row.lengths) || !empty(&row.running_between)).collect();
        rows.sort_by_key(|row| std::cmp::Reverse(row.lengths.total()));
        if empty(&all.lengths) {
            return rows;
        }
        rows.insert(0, all);
        rows
    }

    fn content_times(&self) -> Option<ContentTimes> {
        let mut sum: Option<ContentTimes> = None;
        for times in self.stations().filter_map(|station| station.content_times.as_ref()) {
            sum.get_or_insert_default().merge(times);
        }
        sum
    }
}

#[cfg(test)]
mod tests;
