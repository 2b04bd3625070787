//! From the results of many shifts to one summary: means with intervals, ranges of one shift, averaged ledger and Pareto.

use crate::balance::balance;
use crate::machines::{iso_of_line, machine};
use crate::mean::{LEVEL, mean, range, ratio};
use linewake_kpi::pareto::StopPareto;
use linewake_kpi::result::{CauseKind, Doubt, Ledger, Oee, Packs, ShiftResult, StationResult};
use linewake_kpi::summary::{
    CauseSummary, ContentSummary, HourSummary, LedgerSummary, Mean, PacksSummary, ParetoSummaryRow,
    ReasonMean, RejectSummary, ShiftFigures, StartKind, StateMeans, StationSummary, Summary,
};
use linewake_log::event::Counter;
use linewake_log::header::LineFacts;
use linewake_model::time::Span;
use linewake_stats::estimate;
use std::collections::BTreeMap;

/// What the shifts of one kind of start amounted to together, simulated or read from logs; `None` if there are none.
/// `facts` are those of their line, `warm_up` is what was dropped before each of them.
///
/// Shares (A, P, Q, OEE) are ratios of sums over the shifts, so that OEE = A x P x Q holds for the summary too; other
/// figures are means a shift. A row that is missing in a shift counts there as 0.
#[must_use]
pub fn summarise(
    facts: &LineFacts,
    warm_up: Span,
    start: StartKind,
    shifts: &[ShiftResult],
) -> Option<Summary> {
    let first = shifts.first()?;
    let set = Set { shifts };
    let oee = set.oee_shares();
    let good = set.each(|shift| shift.oee.good_packs as f64);
    let each_oee = set.each(|shift| shift.oee.oee);
    Some(Summary {
        start,
        level: LEVEL,
        window_s: set.window_s(),
        warm_up_s: warm_up.seconds(),
        design_rate_per_min: first.design_rate_per_min,
        short_stop_limit_s: first.short_stop_limit.seconds(),
        conventions: first.conventions,
        constraint: first.constraint.clone(),
        good_after: first.good_after.clone(),
        total_at: first.total_at.clone(),
        planned_production_time_s: set.mean_oee(|oee| oee.planned_production_time.seconds()).mean,
        left_out_s: set.mean_oee(|oee| oee.left_out.seconds()).mean,
        good_packs: mean(&good),
        good_packs_range: range(&good),
        oee: oee.oee,
        oee_range: range(&each_oee),
        availability: oee.availability,
        performance: oee.performance,
        quality: oee.quality,
        availability_iso: oee.availability_iso,
        performance_iso: oee.performance_iso,
        quality_without_in_line: oee.quality_without_in_line,
        long_interruptions: set.mean_oee(|oee| oee.long_interruptions as f64),
        long_interruption_time_s: set.mean_oee(|oee| oee.long_interruption_time.seconds()),
        short_interruptions: set.mean_oee(|oee| oee.short_interruptions as f64),
        short_interruption_time_s: set.mean_oee(|oee| oee.short_interruption_time.seconds()),
        packs: set.packs(),
        ledger: set.ledger(),
        pareto: set.pareto(),
        stations: (0..first.stations.len()).map(|station| set.station(station)).collect(),
        iso: iso_of_line(shifts),
        timeline: None,
        output: set.output(),
        balance: balance(facts, shifts),
        shifts: figures(shifts),
        doubts: doubts(shifts),
    })
}

/// The results of all shifts.
struct Set<'a> {
    shifts: &'a [ShiftResult],
}

struct OeeShares {
    oee: Mean,
    availability: Mean,
    performance: Option<Mean>,
    quality: Option<Mean>,
    availability_iso: Mean,
    performance_iso: Option<Mean>,
    quality_without_in_line: Option<Mean>,
}

/// A row of the ledger: kind, place of the station, reason.
type CauseKey<'a> = (CauseKind, Option<usize>, &'a str);

impl Set<'_> {
    /// Length of a shift; the mean where they differ, as real ones do.
    fn window_s(&self) -> f64 {
        let first = self.shifts.first().map_or(Span::ZERO, window);
        if self.shifts.iter().all(|shift| window(shift) == first) {
            return first.seconds();
        }
        self.average(|shift| window(shift).seconds())
    }

    fn each(&self, value: impl Fn(&ShiftResult) -> f64) -> Vec<f64> {
        self.shifts.iter().map(value).collect()
    }

    fn mean_of(&self, value: impl Fn(&ShiftResult) -> f64) -> Mean {
        mean(&self.each(value))
    }

    /// The plain mean, where no interval is asked for.
    fn average(&self, value: impl Fn(&ShiftResult) -> f64) -> f64 {
        estimate::mean(&self.each(value)).unwrap_or(0.0)
    }

    fn mean_oee(&self, value: impl Fn(&Oee) -> f64) -> Mean {
        self.mean_of(|shift| value(&shift.oee))
    }

    fn mean_packs(&self, value: impl Fn(&Packs) -> f64) -> Mean {
        self.mean_of(|shift| value(&shift.packs))
    }

    fn mean_ledger(&self, value: impl Fn(&Ledger) -> f64) -> Mean {
        self.mean_of(|shift| value(&shift.ledger))
    }

    /// A share of sums over the shifts; 0 where there is nothing to divide by.
    fn share(&self, numerator: impl Fn(&Oee) -> f64, denominator: impl Fn(&Oee) -> f64) -> Option<Mean> {
        ratio(&self.each(|shift| numerator(&shift.oee)), &self.each(|shift| denominator(&shift.oee)))
    }

    fn oee_shares(&self) -> OeeShares {
        let planned = |oee: &Oee| oee.planned_production_time.seconds();
        let running = |oee: &Oee| oee.running.seconds();
        let available = |oee: &Oee| (oee.planned_production_time - oee.long_interruption_time).seconds();
        let ideal_good = |oee: &Oee| oee.good_packs as f64 * oee.ideal_time_per_pack_s;
        let ideal_total = |oee: &Oee| oee.total_packs as f64 * oee.ideal_time_per_pack_s;
        let defined = self.shifts.iter().any(|shift| shift.oee.performance.is_some());
        let zero = || mean(&vec![0.0; self.shifts.len()]);
        let past_gate = self.each(|shift| {
            let change = shift.packs.in_line_at_end_packs - shift.packs.in_line_at_start_packs;
            shift.oee.total_packs as f64 - change as f64
        });
        OeeShares {
            oee: self.share(ideal_good, planned).filter(|_| defined).unwrap_or_else(zero),
            availability: self.share(available, planned).unwrap_or_else(zero),
            performance: self.share(ideal_total, available).filter(|_| defined),
            quality: self
                .share(|oee| oee.good_packs as f64, |oee| oee.total_packs as f64)
                .filter(|_| defined),
            availability_iso: self.share(running, planned).unwrap_or_else(zero),
            performance_iso: self.share(ideal_total, running).filter(|_| defined),
            quality_without_in_line: ratio(&self.each(|shift| shift.oee.good_packs as f64), &past_gate),
        }
    }

    fn packs(&self) -> PacksSummary {
        let has_cases = self.shifts.iter().any(|shift| shift.packs.good_in_cases_packs.is_some());
        let mut escaped: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for (number, shift) in self.shifts.iter().enumerate() {
            for row in &shift.packs.escaped {
                self.row(&mut escaped, row.reason.as_str())[number] += row.packs as f64;
            }
        }
        let mut escaped: Vec<ReasonMean> = escaped
            .into_iter()
            .map(|(reason, packs)| ReasonMean { reason: reason.to_owned(), packs: mean(&packs) })
            .collect();
        escaped.sort_by(|one, other| other.packs.mean.total_cmp(&one.packs.mean));
        PacksSummary {
            total_packs: self.mean_oee(|oee| oee.total_packs as f64),
            good_in_cases_packs: has_cases
                .then(|| self.mean_packs(|packs| packs.good_in_cases_packs.unwrap_or(0) as f64)),
            good_waiting_packs: has_cases
                .then(|| self.mean_packs(|packs| packs.good_waiting_packs.unwrap_or(0) as f64)),
            cases: self.mean_packs(|packs| packs.cases as f64),
            escaped,
            rejected_packs: self.mean_packs(|packs| packs.rejected_packs as f64),
            empty_pockets: self.mean_packs(|packs| packs.empty_pockets as f64),
            in_line_at_start_packs: self.mean_packs(|packs| packs.in_line_at_start_packs as f64),
            in_line_at_end_packs: self.mean_packs(|packs| packs.in_line_at_end_packs as f64),
        }
    }

    /// The values of a row, one for each shift, 0 where nothing has been put in.
    fn row<'r, K: Ord>(&self, rows: &'r mut BTreeMap<K, Vec<f64>>, key: K) -> &'r mut Vec<f64> {
        rows.entry(key).or_insert_with(|| vec![0.0; self.shifts.len()])
    }

    fn ledger(&self) -> LedgerSummary {
        LedgerSummary {
            design_packs: self.mean_ledger(|ledger| ledger.design_packs),
            causes: self.causes(),
            slow_cycles_packs: self.mean_ledger(|ledger| ledger.slow_cycles_packs),
            empty_pockets: self.mean_ledger(|ledger| ledger.empty_pockets as f64),
            rejects: self.rejects(),
            still_in_line_packs: self.mean_ledger(|ledger| ledger.still_in_line_packs as f64),
            good_packs: self.mean_ledger(|ledger| ledger.good_packs as f64),
        }
    }

    fn causes(&self) -> Vec<CauseSummary> {
        #[derive(Default)]
        struct Sums<'a> {
            station: &'a str,
            time: Span,
            waiting: Span,
            consequent: u64,
        }
        let mut packs: BTreeMap<CauseKey<'_>, Vec<f64>> = BTreeMap::new();
        let mut sums: BTreeMap<CauseKey<'_>, Sums<'_>> = BTreeMap::new();
        for (number, shift) in self.shifts.iter().enumerate() {
            for cause in &shift.ledger.causes {
                let key = (cause.kind, cause.station_index, cause.reason.as_str());
                self.row(&mut packs, key)[number] += cause.packs;
                let sum = sums.entry(key).or_default();
                sum.station = &cause.station;
                sum.time += cause.time;
                sum.waiting += cause.waiting;
                sum.consequent += cause.consequent_packs;
            }
        }
        let shifts = self.shifts.len() as f64;
        let per_min = self.shifts.first().map_or(0.0, |shift| shift.design_rate_per_min);
        let mut rows: Vec<CauseSummary> = sums
            .iter()
            .map(|(key, sum)| CauseSummary {
                kind: key.0,
                station_index: key.1,
                station: sum.station.to_owned(),
                reason: key.2.to_owned(),
                time_s: sum.time.seconds() / shifts,
                waiting_s: sum.waiting.seconds() / shifts,
                packs: mean(&packs[key]),
                waiting_packs: sum.waiting.seconds() * per_min / 60.0 / shifts,
                consequent_packs: sum.consequent as f64 / shifts,
            })
            .collect();
        rows.sort_by(|one, other| other.time_s.total_cmp(&one.time_s));
        rows
    }

    fn rejects(&self) -> Vec<RejectSummary> {
        let mut packs: BTreeMap<(usize, &str), Vec<f64>> = BTreeMap::new();
        let mut named: BTreeMap<(usize, &str), (&str, bool)> = BTreeMap::new();
        for (number, shift) in self.shifts.iter().enumerate() {
            for row in &shift.ledger.rejects {
                let key = (row.station_index, row.reason.as_str());
                self.row(&mut packs, key)[number] += row.packs as f64;
                named.insert(key, (&row.station, row.consequence_of_stop));
            }
        }
        let mut rows: Vec<RejectSummary> = named
            .into_iter()
            .map(|(key, (station, consequence_of_stop))| RejectSummary {
                station_index: key.0,
                station: station.to_owned(),
                reason: key.1.to_owned(),
                packs: mean(&packs[&key]),
                consequence_of_stop,
            })
            .collect();
        rows.sort_by(|one, other| other.packs.mean.total_cmp(&one.packs.mean));
        rows
    }

    fn pareto(&self) -> Vec<ParetoSummaryRow> {
        let each: Vec<StopPareto> =
            self.shifts.iter().map(|shift| StopPareto::of(std::slice::from_ref(shift))).collect();
        let shifts = self.shifts.len() as f64;
        let values = |row: &linewake_kpi::pareto::ParetoRow,
                      value: fn(&linewake_kpi::pareto::ParetoRow) -> f64| {
            let values: Vec<f64> = each
                .iter()
                .map(|pareto| {
                    let same = pareto.rows.iter().find(|it| {
                        it.station_index == row.station_index
                            && it.kind == row.kind
                            && it.reason == row.reason
                    });
                    same.map_or(0.0, value)
                })
                .collect();
            mean(&values)
        };
        let rows = StopPareto::of(self.shifts).rows.into_iter().map(|row| ParetoSummaryRow {
            count: (row.kind != CauseKind::Supply).then(|| values(&row, |it| it.count as f64)),
            stopped_s: values(&row, |it| it.stopped.seconds()),
            packs: values(&row, |it| it.packs),
            kind: row.kind,
            station_index: row.station_index,
            waiting_s: row.waiting.seconds() / shifts,
            recovery_packs: row.recovery_packs / shifts,
            consequent_packs: row.consequent_packs as f64 / shifts,
            share: row.share,
            cumulative_share: row.cumulative_share,
            station: row.station,
            reason: row.reason,
        });
        rows.collect()
    }

    fn station(&self, station: usize) -> StationSummary {
        let results = || self.shifts.iter().map(|shift| &shift.stations[station]);
        let first = &self.shifts[0].stations[station];
        // A real log can be silent about a machine in one shift and tell of it in another: means are over what is told.
        let told: Vec<_> = results().filter_map(|it| it.states.as_ref()).collect();
        let state = |time: fn(&linewake_kpi::result::StateTimes) -> Span| {
            let times: Vec<f64> = told.iter().map(|it| time(it).seconds()).collect();
            estimate::mean(&times).unwrap_or(0.0)
        };
        let states = (!told.is_empty()).then(|| StateMeans {
            running_s: state(|it| it.running),
            starved_s: state(|it| it.starved),
            blocked_s: state(|it| it.blocked),
            stopped_waiting_s: state(|it| it.stopped_waiting),
            stopped_repair_s: state(|it| it.stopped_repair),
            planned_s: state(|it| it.planned),
        });
        let all_stops: u64 = results().map(StationResult::own_stops).sum();
        let per_stop = |time: fn(&linewake_kpi::result::StateTimes) -> Span| {
            let whole = told.iter().fold(Span::ZERO, |sum, it| sum + time(it));
            (all_stops > 0 && states.is_some()).then(|| whole.seconds() / all_stops as f64)
        };
        StationSummary {
            id: first.id.clone(),
            kind: first.kind.clone(),
            states,
            own_stops: self.average(|shift| shift.stations[station].own_stops() as f64),
            running_time_between_stops_s: per_stop(|it| it.running),
            time_to_restore_s: per_stop(linewake_kpi::result::StateTimes::stopped),
            made_pieces: self.average(|shift| shift.stations[station].counted(Counter::Made) as f64),
            content: self.content(station),
            machine: machine(self.shifts, station),
        }
    }

    fn content(&self, station: usize) -> Option<ContentSummary> {
        let contents: Vec<_> =
            self.shifts.iter().filter_map(|shift| Some((shift, shift.stations[station].content?))).collect();
        let (_, first) = contents.first()?;
        let window: f64 = contents.iter().map(|(shift, _)| window(shift).seconds()).sum();
        let share = |time: f64| if window > 0.0 { time / window } else { 0.0 };
        let means: Vec<f64> = contents.iter().filter_map(|(_, content)| content.mean_pieces).collect();
        Some(ContentSummary {
            capacity_pieces: first.capacity_pieces,
            mean_pieces: estimate::mean(&means),
            full_share: share(contents.iter().map(|(_, content)| content.full.seconds()).sum()),
            empty_share: share(contents.iter().map(|(_, content)| content.empty.seconds()).sum()),
        })
    }

    fn output(&self) -> Vec<HourSummary> {
        let hours = self.shifts.iter().map(|shift| shift.output.len()).max().unwrap_or(0);
        let hour = |hour: usize| {
            // A shift that was over before says nothing of this hour.
            let bins: Vec<_> = self.shifts.iter().filter_map(|shift| shift.output.get(hour)).collect();
            let good: Vec<f64> = bins.iter().map(|bin| bin.good_packs as f64).collect();
            let longest = bins.iter().max_by_key(|bin| bin.length)?;
            Some(HourSummary {
                start_s: longest.start.seconds(),
                length_s: longest.length.seconds(),
                good_packs: mean(&good),
                range: range(&good),
            })
        };
        (0..hours).filter_map(hour).collect()
    }
}

fn window(shift: &ShiftResult) -> Span {
    shift.window_end.since(shift.window_start)
}

fn figures(shifts: &[ShiftResult]) -> Vec<ShiftFigures> {
    let figures = shifts.iter().zip(0..).map(|(shift, replication)| ShiftFigures {
        replication,
        good_packs: shift.oee.good_packs,
        total_packs: shift.oee.total_packs,
        oee: shift.oee.oee,
        availability: shift.oee.availability,
        performance: shift.oee.performance,
        quality: shift.oee.quality,
        availability_iso: shift.oee.availability_iso,
        performance_iso: shift.oee.performance_iso,
    });
    figures.collect()
}

fn doubts(shifts: &[ShiftResult]) -> Vec<String> {
    let mut counted: BTreeMap<String, usize> = BTreeMap::new();
    for doubt in shifts.iter().flat_map(|shift| &shift.doubts) {
        *counted.entry(words(doubt)).or_default() += 1;
    }
    counted
        .into_iter()
        .map(|(doubt, count)| format!("{doubt} (in {count} of {} shifts)", shifts.len()))
        .collect()
}

fn words(doubt: &Doubt) -> String {
    match doubt {
        Doubt::NoEnd => "the log has no end: the result stops at its last event".to_owned(),
        Doubt::NoWarmUpEnd => {
            "the log does not tell the end of the warm-up: everything was counted".to_owned()
        }
        Doubt::NoState(station) => format!("the log does not tell the state of {station} at all times"),
        Doubt::StateGap(station, rows) => {
            format!("{rows} state rows of {station} do not go on from the state before")
        }
        Doubt::TimeGoesBack(events) => format!("{events} events lie before the one they follow"),
        Doubt::UnknownName(events) => {
            format!("{events} events name a station or reason that the log does not know")
        }
    }
}

#[cfg(test)]
mod tests;
