//! From the sums of a run to its result: OEE and its factors, and the ledger of losses from design to good.
//!
//! Times are added as integer microseconds and packs as integers; both become packs at the design rate only at the
//! end, so the rows of the ledger add up to nothing but the rounding of a sum.

use crate::accumulator::{Accumulator, HOUR_US};
use crate::attribution::CauseSum;
use crate::result::{
    CauseKind, CauseRow, ContentResult, CounterResult, Doubt, Ledger, Oee, OutputBin, Packs, PlannedTimes,
    ReasonCount, RejectRow, ShiftResult, StateTimes, StationResult, StopResult,
};
use crate::state_clocks::StopSum;
use linewake_log::event::{Counter, StationState};
use linewake_log::facts::kind;
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// The result of an accumulated run.
pub(crate) fn result_of(run: &Accumulator, doubts: Vec<Doubt>) -> ShiftResult {
    let facts = &run.facts;
    let id_of = |station: usize| facts.stations.get(station).map(|it| it.id.clone()).unwrap_or_default();
    let rejects = rejects(run);
    let packs = packs(run);
    let still_in_line = packs.in_line_at_end_packs - packs.in_line_at_start_packs;
    let oee = oee(run, still_in_line);
    ShiftResult {
        window_start: run.window_start,
        window_end: run.now,
        design_rate_per_min: facts.design_rate_per_min,
        short_stop_limit: facts.short_stop_limit,
        conventions: run.conventions,
        constraint: id_of(usize::from(facts.constraint)),
        good_after: id_of(usize::from(facts.good_after)),
        total_at: id_of(run.total_at),
        oee,
        ledger: ledger(run, &oee, rejects, still_in_line),
        packs,
        stations: (0..facts.stations.len()).map(|station| station_result(run, station)).collect(),
        output: output(run),
        doubts,
    }
}

fn oee(run: &Accumulator, still_in_line: i64) -> Oee {
    let times = &run.interruptions[usize::from(run.facts.constraint)];
    let planned_production_time = run.now.since(run.window_start) - times.left_out;
    let good = run.counts.gain(usize::from(run.facts.good_after), Counter::HandedOver);
    let total = run.counts.gain(run.total_at, Counter::Made);
    let ideal_time_per_pack_s = 60.0 / run.facts.design_rate_per_min;
    let share = |time: Span| {
        if planned_production_time == Span::ZERO {
            0.0
        } else {
            time.0 as f64 / planned_production_time.0 as f64
        }
    };
    let availability = share(planned_production_time - times.long_time);
    let defined = total > 0 && planned_production_time > times.long_time;
    let available_s = (planned_production_time - times.long_time).seconds();
    let past_the_gate = total as i64 - still_in_line;
    Oee {
        planned_production_time,
        left_out: times.left_out,
        running: times.running,
        long_interruptions: times.long,
        long_interruption_time: times.long_time,
        short_interruptions: times.short,
        short_interruption_time: times.short_time,
        ideal_time_per_pack_s,
        total_packs: total,
        good_packs: good,
        availability,
        performance: defined.then(|| total as f64 * ideal_time_per_pack_s / available_s),
        quality: defined.then(|| good as f64 / total as f64),
        oee: if defined {
            good as f64 * ideal_time_per_pack_s / planned_production_time.seconds()
        } else {
            0.0
        },
        availability_iso: share(times.running),
        performance_iso: (defined && times.running > Span::ZERO)
            .then(|| total as f64 * ideal_time_per_pack_s / times.running.seconds()),
        quality_without_in_line: (past_the_gate > 0).then(|| good as f64 / past_the_gate as f64),
    }
}

/// Packs cut and not yet past the last gate: cut less good less rejected, from the start of the run.
fn in_line(run: &Accumulator) -> (i64, i64) {
    let good_after = usize::from(run.facts.good_after);
    let (total_start, total_end) = run.counts.start_and_end(run.total_at, Counter::Made);
    let (good_start, good_end) = run.counts.start_and_end(good_after, Counter::HandedOver);
    let (mut start, mut end) = (total_start as i64 - good_start as i64, total_end as i64 - good_end as i64);
    for station in run.total_at..=good_after {
        let (rejected_start, rejected_end) = run.counts.start_and_end(station, Counter::Rejected);
        start -= rejected_start as i64;
        end -= rejected_end as i64;
    }
    (start, end)
}

fn packs(run: &Accumulator) -> Packs {
    let facts = &run.facts;
    let good_after = usize::from(facts.good_after);
    let last = facts.stations.len().saturating_sub(1);
    let (in_line_at_start_packs, in_line_at_end_packs) = in_line(run);
    // A plant's log may have the case packer's stops and nothing that it counts.
    let tells_of_cases = run.counts.contents(last).is_some() || !run.counts.gains(last).is_empty();
    let ends_in_cases = facts.stations.get(last).is_some_and(|it| it.kind == kind::CASE_PACKER)
        && last > good_after
        && tells_of_cases;
    let in_cases = ends_in_cases.then(|| run.counts.gain(last, Counter::HandedOver));
    let good = run.counts.gain(good_after, Counter::HandedOver);
    let escaped = run.counts.reasons(good_after, Counter::Escaped);
    let mut escaped: Vec<_> = escaped.map(|(reason, value)| (reason, value.gain())).collect();
    escaped.sort_unstable();
    Packs {
        good_in_cases_packs: in_cases,
        good_waiting_packs: in_cases.map(|cased| good as i64 - cased as i64),
        cases: (0..=last).map(|station| run.counts.gain(station, Counter::Cased)).sum(),
        escaped: escaped
            .into_iter()
            .filter(|(_, packs)| *packs > 0)
            .map(|(reason, packs)| ReasonCount { reason: word(run, reason), packs })
            .collect(),
        rejected_packs: (run.total_at..=good_after).map(|it| run.counts.gain(it, Counter::Rejected)).sum(),
        empty_pockets: run.counts.gain(run.total_at, Counter::EmptyPockets),
        in_line_at_start_packs,
        in_line_at_end_packs,
    }
}

fn ledger(run: &Accumulator, oee: &Oee, rejects: Vec<RejectRow>, still_in_line_packs: i64) -> Ledger {
    let packs_in = |time: Span| time.seconds() * run.facts.design_rate_per_min / 60.0;
    let empty_pockets = run.counts.gain(run.total_at, Counter::EmptyPockets);
    Ledger {
        design_packs: packs_in(oee.planned_production_time),
        causes: causes(run, packs_in),
        slow_cycles_packs: packs_in(oee.running) - oee.total_packs as f64 - empty_pockets as f64,
        empty_pockets,
        rejects,
        still_in_line_packs,
        good_packs: oee.good_packs,
    }
}

fn causes(run: &Accumulator, packs_in: impl Fn(Span) -> f64) -> Vec<CauseRow> {
    let mut sums: Vec<(CauseSum, u64)> = Vec::new();
    let mut consequent = run.consequent.clone();
    for sum in run.attribution.sums() {
        let stop = sum.cause.station.filter(|_| sum.cause.kind == CauseKind::Stop);
        let packs = stop.and_then(|station| consequent.remove(&(station, sum.cause.reason)));
        if sum.time > Span::ZERO || packs.is_some() {
            sums.push((*sum, packs.unwrap_or(0)));
        }
    }
    for ((station, reason), packs) in consequent {
        let cause = crate::attribution::Cause { kind: CauseKind::Stop, station: Some(station), reason };
        sums.push((CauseSum { cause, time: Span::ZERO, waiting: Span::ZERO }, packs));
    }
    sums.sort_by(|(one, _), (other, _)| other.time.cmp(&one.time).then(one.cause.cmp(&other.cause)));
    let rows = sums.into_iter().map(|(sum, consequent_packs)| CauseRow {
        kind: sum.cause.kind,
        station_index: sum.cause.station,
        station: sum.cause.station.map(|station| run.facts.stations[station].id.clone()).unwrap_or_default(),
        reason: word(run, sum.cause.reason),
        time: sum.time,
        waiting: sum.waiting,
        packs: packs_in(sum.time),
        waiting_packs: packs_in(sum.waiting),
        consequent_packs,
    });
    rows.collect()
}

fn rejects(run: &Accumulator) -> Vec<RejectRow> {
    let mut rows: Vec<(u64, usize, Reason)> = Vec::new();
    for station in run.total_at..=usize::from(run.facts.good_after) {
        let plain = run.counts.plain(station, Counter::Rejected).gain();
        rows.push((plain, station, Reason::NONE));
        rows.extend(
            run.counts
                .reasons(station, Counter::Rejected)
                .map(|(reason, value)| (value.gain(), station, reason)),
        );
    }
    rows.retain(|(packs, ..)| *packs > 0);
    rows.sort_by(|(one, place, reason), (other, other_place, other_reason)| {
        other.cmp(one).then((place, reason).cmp(&(other_place, other_reason)))
    });
    let rows = rows.into_iter().map(|(packs, station_index, reason)| RejectRow {
        station_index,
        station: run.facts.stations[station_index].id.clone(),
        reason: word(run, reason),
        packs,
        consequence_of_stop: run.facts.consequences.iter().any(|it| it.tag == reason),
    });
    rows.collect()
}

fn station_result(run: &Accumulator, station: usize) -> StationResult {
    let facts = &run.facts.stations[station];
    let clock = &run.clocks.stations[station];
    let window = run.now.since(run.window_start);
    let time = |counter| Span(run.counts.gain(station, counter));
    let mut stops: Vec<&StopSum> = clock.stops().collect();
    stops.sort_by(|one, other| {
        (other.waiting + other.repair).cmp(&(one.waiting + one.repair)).then(one.reason.cmp(&other.reason))
    });
    let counters = run.counts.gains(station);
    let has_mean = run.counts.start_and_end(station, Counter::ContentTime).1 > 0
        || run.counts.start_and_end(station, Counter::EmptyTime).1 > 0;
    let content_time = run.counts.gain(station, Counter::ContentTime);
    StationResult {
        id: facts.id.clone(),
        kind: facts.kind.clone(),
        supplier: facts.supplier.clone(),
        states: clock.state.map(|_| StateTimes {
            running: clock.time(StationState::Running),
            starved: clock.time(StationState::Starved),
            blocked: clock.time(StationState::Blocked),
            stopped_waiting: clock.time(StationState::StoppedWaiting),
            stopped_repair: clock.time(StationState::StoppedRepair),
            planned: clock.time(StationState::Planned),
        }),
        planned_times: clock.state.map(|_| planned_times(run, station)),
        ideal_rate_per_min: ideal_rate_per_min(run, station),
        stops: stops.into_iter().map(|sum| stop_result(run, sum)).collect(),
        running_between: clock.running_between.clone(),
        content_times: run.counts.contents(station).map(|content| content.times.clone()),
        content: run.counts.contents(station).map(|content| ContentResult {
            capacity_pieces: facts.capacity,
            at_start_pieces: content.at_start,
            at_end_pieces: content.now,
            mean_pieces: (has_mean && window > Span::ZERO).then(|| content_time as f64 / window.0 as f64),
            full: time(Counter::FullTime),
            empty: time(Counter::EmptyTime),
        }),
        counters: counters
            .into_iter()
            .map(|(counter, reason, value)| CounterResult {
                counter: counter.word(),
                reason: word(run, reason),
                value,
            })
            .collect(),
    }
}

/// Rates are in packs; before the former a piece is a portion, of which a pack may have several.
fn ideal_rate_per_min(run: &Accumulator, station: usize) -> Option<f64> {
    if station == usize::from(run.facts.constraint) {
        return Some(run.facts.design_rate_per_min);
    }
    let portions = |station: usize| f64::from(run.facts.stations[station].portions_per_piece.max(1));
    Some(run.facts.stations[station].rate_per_min? * portions(run.total_at) / portions(station))
}

fn planned_times(run: &Accumulator, station: usize) -> PlannedTimes {
    let times = &run.interruptions[station];
    let rule = run.conventions.planned_stops;
    let is_set_up = |sum: &&StopSum| {
        sum.planned
            && !matches!(sum.reason, Reason::BREAK | Reason::CHALLENGE)
            && !rule.leave_out(&run.facts.left_out, sum.reason)
    };
    let set_up = run.clocks.stations[station].stops().filter(is_set_up);
    PlannedTimes {
        planned_production_time: run.now.since(run.window_start) - times.left_out,
        left_out: times.left_out,
        set_up: set_up.fold(Span::ZERO, |sum, stop| sum + stop.repair),
        long_interruptions: times.long,
        long_interruption_time: times.long_time,
        short_interruptions: times.short,
        short_interruption_time: times.short_time,
    }
}

fn stop_result(run: &Accumulator, sum: &StopSum) -> StopResult {
    StopResult {
        reason: word(run, sum.reason),
        planned: sum.planned,
        count: sum.count,
        waiting: sum.waiting,
        repair: sum.repair,
        minor_count: sum.minor,
        minor_time: sum.minor_time,
        begun_time: sum.begun_time,
        lengths: sum.lengths.clone(),
        ended_time: sum.ended_time,
        length_squares_us2: sum.squares_us2,
        running_between: sum.running_between.clone(),
    }
}

fn output(run: &Accumulator) -> Vec<OutputBin> {
    let hours = run.now.since(run.window_start).0.div_ceil(HOUR_US);
    let bins = (0..hours).map(|hour| {
        let start = run.window_start + Span(hour * HOUR_US);
        let length = run.now.since(start).min(Span(HOUR_US));
        let good_packs =
            usize::try_from(hour).ok().and_then(|hour| run.good_by_hour.get(hour)).copied().unwrap_or(0);
        OutputBin { start, length, good_packs }
    });
    bins.collect()
}

/// The words of a reason; of one that the header does not know, its number.
fn word(run: &Accumulator, reason: Reason) -> String {
    let known = run.facts.reasons.get(usize::from(reason.0)).cloned();
    known.unwrap_or_else(|| format!("reason {}", reason.0))
}
