//! Three figures of the long run that need no simulation: no help from buffers, full help, and the weakest block.
//!
//! The crew is never short, consumables are part used, quality losses are applied. Figures are good packs an hour of
//! planned production time: breaks (and challenges of the constraint) are left out of it or in it as the model says.

use super::bound;
use super::demand::{Demand, Lean, StationDemand, demand};
use super::pace::LoaderTimes;
use super::shape::{Shape, array_portions, stores};
use super::stop_free;
use super::stops::{Calls, Comes, StopRate};
use crate::line::{Line, StationIndex};
use crate::station::StationKind;
use linewake_stats::distribution::Distribution;
use serde::Serialize;
use std::ops::Range;

/// The three figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutputFigures {
    /// Every stop second of any station, and its response, costs the line a second.
    pub no_help: OutputFigure,
    /// The weakest station alone.
    pub full_help: OutputFigure,
    /// The weakest block of stations with no buffer between them: what very large buffers can reach.
    pub weakest_block: OutputFigure,
}

/// One figure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutputFigure {
    /// Good packs per hour of planned production time.
    pub good_packs_per_h: f64,
    /// Good packs per hour of the calendar, breaks included.
    pub good_packs_per_calendar_h: f64,
    /// Packs cut per hour outside breaks.
    pub cut_packs_per_h: f64,
    /// Good packs for each pack cut.
    pub good_share: f64,
    /// What the figure is.
    pub kind: FigureKind,
    /// Whether the long run without a short crew never lies on the other side of it.
    pub is_bound: bool,
    /// Why it is a bound, or why it is none.
    pub reasons: Vec<String>,
    /// Ids of the stations that set it: all, the weakest, or those of the weakest block.
    pub stations: Vec<String>,
}

/// What a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FigureKind {
    /// The line makes at least this.
    LowerBound,
    /// The line makes at most this.
    UpperBound,
    /// Neither.
    Estimate,
}

pub(super) fn output(line: &Line, shape: &Shape<'_>) -> OutputFigures {
    OutputFigures {
        no_help: no_help(line, shape),
        full_help: full_help(line, shape),
        weakest_block: block(line, shape),
    }
}

/// Seconds for each pack cut when every stop second of the stations of `range` costs a second.
///
/// *Formula*: (T + sum of stopped seconds for each pack) / (1 - sum of stopped shares of the time), with T the time
/// for each pack without stops. For stops that come with running time only it is T (1 + sum of repair over running
/// time between stops). *Source*: Buzacott (1967), Automatic transfer lines with buffer stocks, International Journal
/// of Production Research 5(3), 183-200 (formula from memory).
fn without_help_s(line: &Line, shape: &Shape<'_>, asked: &Demand<'_>, range: Range<StationIndex>) -> f64 {
    let time_s = stop_free::seconds_per_pack(line, shape, range.clone(), asked.picks_per_pack);
    let (mut per_pack, mut of_time) = (0.0, 0.0);
    for station in &asked.stations[range] {
        let stopped = station.stopped(shape);
        per_pack += stopped.0;
        of_time += stopped.1;
    }
    if of_time < 1.0 { (time_s + per_pack) / (1.0 - of_time) } else { f64::INFINITY }
}

/// The demand that agrees with the time for each pack that `seconds` makes of it.
fn settled<'a>(
    line: &'a Line,
    shape: &Shape<'a>,
    lean: Lean,
    seconds: impl Fn(&Demand<'a>) -> f64,
) -> (Demand<'a>, f64) {
    let mut pack_s = line.ideal_time_per_pack_s();
    let mut asked = demand(line, shape, pack_s, lean);
    for _ in 0..20 {
        let next = seconds(&asked);
        let settled = !next.is_finite() || (next - pack_s).abs() <= 1e-12 * pack_s;
        pack_s = next;
        if settled {
            break;
        }
        asked = demand(line, shape, pack_s, lean);
    }
    (asked, pack_s)
}

fn no_help(line: &Line, shape: &Shape<'_>) -> OutputFigure {
    let all = 0..line.stations.len();
    let (asked, pack_s) =
        settled(line, shape, Lean::Cautious, |asked| without_help_s(line, shape, asked, all.clone()));
    let good_share = asked.quality.good_share * (1.0 - aged_share(line, shape, &asked, pack_s));
    let doubts = bound::doubts_of_lower(line, shape);
    let is_bound = doubts.is_empty();
    let reasons = if is_bound {
        vec![
            "every stop second of any station, and its response, is taken to cost the line a second, and all work \
             times are constant: buffers can only hide some of it"
                .to_owned(),
        ]
    } else {
        doubts
    };
    let kind = if is_bound { FigureKind::LowerBound } else { FigureKind::Estimate };
    figure(line, shape, &asked, pack_s, good_share, kind, reasons, all)
}

fn full_help(line: &Line, shape: &Shape<'_>) -> OutputFigure {
    let weakest = |asked: &Demand<'_>| {
        let times = asked.stations.iter().map(|station| alone_s(line, shape, station)).enumerate();
        times.fold((0, 0.0), |worst: (usize, f64), one| if one.1 > worst.1 { one } else { worst })
    };
    let (asked, pack_s) = settled(line, shape, Lean::Favourable, |asked| weakest(asked).1);
    let station = weakest(&asked).0;
    let reasons = vec![
        "a line makes no more than its weakest station would if that never waited for the others; its stops, and the \
         response to them, are counted at the least that they can cost"
            .to_owned(),
    ];
    let good_share = asked.quality.good_share;
    figure(line, shape, &asked, pack_s, good_share, FigureKind::UpperBound, reasons, station..station + 1)
}

fn block(line: &Line, shape: &Shape<'_>) -> OutputFigure {
    let blocks = blocks(line);
    let weakest = |asked: &Demand<'_>| {
        let times =
            blocks.iter().map(|block| (block.clone(), without_help_s(line, shape, asked, block.clone())));
        times.fold((0..0, 0.0), |worst, one| if one.1 > worst.1 { one } else { worst })
    };
    let (asked, pack_s) = settled(line, shape, Lean::Expected, |asked| weakest(asked).1);
    let range = weakest(&asked).0;
    let reasons = vec![
        "the stations of a block have no buffer between them, so every stop second of one costs the block a second; \
         other blocks are taken to be hidden by very large buffers, which real ones only come near"
            .to_owned(),
    ];
    let good_share = asked.quality.good_share;
    figure(line, shape, &asked, pack_s, good_share, FigureKind::Estimate, reasons, range)
}

#[expect(clippy::too_many_arguments, reason = "one call builds each of the three figures")]
fn figure(
    line: &Line,
    shape: &Shape<'_>,
    asked: &Demand<'_>,
    pack_s: f64,
    good_share: f64,
    kind: FigureKind,
    reasons: Vec<String>,
    stations: Range<StationIndex>,
) -> OutputFigure {
    let cut_packs_per_h = if pack_s.is_finite() && pack_s > 0.0 { 3600.0 / pack_s } else { 0.0 };
    let working_share = 1.0 - shape.break_share;
    let in_planned = line.shift.breaks_in_planned_production_time;
    let planned_share = (if in_planned { 1.0 } else { working_share }) - left_out_share(line, asked);
    let per_calendar_h = cut_packs_per_h * good_share * working_share;
    OutputFigure {
        good_packs_per_h: if planned_share > 0.0 { per_calendar_h / planned_share } else { 0.0 },
        good_packs_per_calendar_h: per_calendar_h,
        cut_packs_per_h,
        good_share,
        kind,
        is_bound: kind != FigureKind::Estimate,
        reasons,
        stations: line.stations[stations].iter().map(|station| station.id.clone()).collect(),
    }
}

/// Share of the calendar that challenges of the constraint take, if the model leaves them out.
fn left_out_share(line: &Line, asked: &Demand<'_>) -> f64 {
    let StationKind::Gate(gate) = &line.stations[line.constraint].kind else {
        return 0.0;
    };
    if gate.challenge.as_ref().is_none_or(|challenge| challenge.in_planned_production_time) {
        return 0.0;
    }
    let planned = asked.stations[line.constraint].stops.iter().filter(|stop| stop.planned);
    planned
        .map(
            |stop| if let Comes::Every(interval) = stop.comes { stop.whole.mean_s() / interval } else { 0.0 },
        )
        .sum()
}

/// Stations between which there is no buffer: cut at the hopper, at belts and tables that store, and at the lane.
fn blocks(line: &Line) -> Vec<Range<StationIndex>> {
    let mut blocks = Vec::new();
    let mut start = 0;
    for (index, station) in line.stations.iter().enumerate() {
        let (cut_before, cut_after) = match &station.kind {
            StationKind::BulkSupply(_) => (false, true),
            StationKind::Accumulator(table) if stores(table) => (true, true),
            StationKind::CasePacker(_) => (true, false),
            _ => (false, false),
        };
        if cut_before && start < index {
            blocks.push(start..index);
            start = index;
        }
        if cut_after {
            blocks.push(start..index + 1);
            start = index + 1;
        }
    }
    if start < line.stations.len() {
        blocks.push(start..line.stations.len());
    }
    blocks
}

/// Least time for each pack cut that a station alone needs, stops included; asked with a favourable lean.
///
/// Where stops can fall together, or into breaks, the least that they can cost is taken: of a group the dearest
/// mode; a calendar stop starts its clock afresh later when it has waited for another stop, and is answered at once;
/// so are calls at the instant at which another stop ends; a stop uses up the wait for the cap on the speed, which is
/// running time less for others; repairs that go on in breaks are free there.
fn alone_s(line: &Line, shape: &Shape<'_>, asked: &StationDemand<'_>) -> f64 {
    let time_s = asked.time_s();
    // Seconds for each pack and shares of the time, first without delays of calendar stops, to know what delays them.
    let (mut per_pack, mut of_time) = (0.0, 0.0);
    for stop in &asked.stops {
        let (packs, seconds) = stop.alone(shape, 0.0);
        per_pack += packs * stop.whole.mean_s();
        of_time += seconds * stop.whole.mean_s();
    }
    let first_s = (time_s + per_pack) / (1.0 - of_time).max(f64::MIN_POSITIVE);
    let stopped_share: Vec<f64> = asked
        .stops
        .iter()
        .map(|stop| {
            let (packs, seconds) = stop.alone(shape, 0.0);
            (packs / first_s + seconds) * stop.whole.mean_s()
        })
        .collect();
    let in_running = running_left(asked, first_s, shape);
    let mut cost: Vec<(Option<u16>, f64, f64)> = Vec::new();
    for (number, stop) in asked.stops.iter().enumerate() {
        let others = asked.stops.iter().zip(&stopped_share).enumerate().filter(|(other, _)| *other != number);
        let delay_s = others.map(|(_, (other, share))| share * other.whole.mean_length_met_s()).sum();
        let (packs, seconds) = stop.alone(shape, delay_s);
        let length = least_cost_s(asked, number);
        let packs = if stop.is_on_running_time() { packs * in_running } else { packs };
        let (packs, seconds) = (packs * length, seconds * length);
        let known = cost.iter_mut().find(|(group, ..)| stop.group.is_some() && *group == stop.group);
        match known {
            Some(known) => {
                known.1 = known.1.max(packs);
                known.2 = known.2.max(seconds);
            }
            None => cost.push((stop.group, packs, seconds)),
        }
    }
    let (per_pack, of_time) = cost.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.1, sum.1 + one.2));
    let per_pack = (per_pack - saved_response_s(asked)).max(0.0);
    if of_time >= 1.0 {
        return f64::INFINITY;
    }
    (time_s + per_pack) / (1.0 - of_time) / (1.0 + free_repair(line, asked, &stopped_share))
}

/// Running time for each pack, as a share of that without stops, at least: the wait for the cap is running time, and a
/// stop uses it up.
fn running_left(asked: &StationDemand<'_>, pack_s: f64, shape: &Shape<'_>) -> f64 {
    let used_up = |stop: &StopRate<'_>| {
        let (packs, seconds) = stop.alone(shape, 0.0);
        (packs + seconds * pack_s) * stop.whole.mean_s().min(asked.pace.wait_for_cap_s)
    };
    let used_up_s: f64 = asked.stops.iter().map(used_up).sum();
    if used_up_s > 0.0 { (1.0 - used_up_s / asked.running_s()).max(0.0) } else { 1.0 }
}

/// The least that a stop of that number costs the station, in seconds.
fn least_cost_s(asked: &StationDemand<'_>, number: usize) -> f64 {
    let stop = &asked.stops[number];
    let others_attended =
        asked.stops.iter().enumerate().any(|(other, stop)| other != number && stop.attended);
    let length = if stop.calls == Calls::AfterOthers && others_attended {
        stop.whole.duration_s.mean()
    } else {
        stop.whole.mean_s()
    };
    (length - asked.pace.wait_for_cap_s).max(0.0)
}

/// Seconds of response for each pack cut that are saved because a call comes at the instant at which another stop of
/// the station ends, at most.
///
/// *Formula*: a response for each pair of stops that come due with one cycle; with stops m and n for each pack and c
/// cycles for each pack there are m n / c such pairs if they fall together by chance, and at most the smaller of m and n
/// otherwise.
fn saved_response_s(asked: &StationDemand<'_>) -> f64 {
    let cycles = asked.pace.cycles * asked.share;
    let at_cycle_end =
        |stop: &&StopRate<'_>| stop.attended && matches!(stop.calls, Calls::AtCycleEnd | Calls::InStep);
    let stops: Vec<_> = asked.stops.iter().filter(at_cycle_end).collect();
    let mut saved_s = 0.0;
    for (place, first) in stops.iter().enumerate() {
        for second in &stops[place + 1..] {
            let (Comes::PerPack(m), Comes::PerPack(n)) = (first.comes, second.comes) else {
                continue;
            };
            // Due together, stops of a group are one stop.
            if cycles <= 0.0 || (first.group.is_some() && first.group == second.group) {
                continue;
            }
            let by_chance = m * n / cycles;
            let in_step = first.calls == Calls::InStep && second.calls == Calls::InStep;
            let pairs = if in_step { m.min(n) } else { by_chance };
            saved_s += pairs * second.whole.response_s.map_or(0.0, Distribution::mean);
        }
    }
    saved_s
}

/// Repair seconds that fall into breaks, for each second outside them.
fn free_repair(line: &Line, asked: &StationDemand<'_>, stopped_share: &[f64]) -> f64 {
    let shift = &line.shift;
    let breaks_s: f64 = shift.breaks.iter().map(|rest| rest.duration.seconds()).sum();
    let working_s = shift.length.seconds() - breaks_s;
    if !shift.repairs_in_breaks || shift.breaks.is_empty() || working_s <= 0.0 {
        return 0.0;
    }
    let stops = asked.stops.iter().zip(stopped_share);
    let of_one = |length_s: f64| -> f64 {
        shift.breaks.iter().map(|rest| rest.duration.seconds().min(length_s)).sum()
    };
    stops.map(|(stop, share)| share * of_one(stop.whole.mean_length_met_s())).sum::<f64>() / working_s
}

/// Share of the packs that a stop of any station makes too old, when every stop holds up the loader and the web.
///
/// Each stop or break longer than the limit, less the time that product stands there anyway, costs what is exposed: a file, an
/// array, and the open pockets from the load zone to the seal.
fn aged_share(line: &Line, shape: &Shape<'_>, asked: &Demand<'_>, pack_s: f64) -> f64 {
    let (Some(loader), Some((_, former))) = (shape.loader, shape.former) else {
        return 0.0;
    };
    let Some(limit) = loader.open_time_limit else {
        return 0.0;
    };
    let packs = shape.packs_per_index();
    let first = (former.positions.load_at + 1).saturating_sub(loader.indexes_per_array);
    let open_frames = f64::from(former.positions.seal.saturating_sub(first));
    let waiting = (array_portions(loader) + f64::from(loader.array_rows)) / shape.portions_per_pack;
    let exposed = open_frames * packs + waiting;
    let index_s =
        stop_free::seconds_per_pack(line, shape, 0..line.stations.len(), asked.picks_per_pack) * packs;
    let usual_s = open_frames * index_s + LoaderTimes::of(loader).belt_b_s;
    let left_s = limit.seconds() - usual_s;
    if left_s <= 0.0 {
        return 1.0;
    }
    let stops = asked.stations.iter().flat_map(|station| &station.stops);
    let long_stops: f64 = stops
        .map(|stop| {
            let (per_pack, per_second) = stop.in_line(shape);
            (per_pack + per_second * pack_s) * stop.whole.exceeds(left_s)
        })
        .sum();
    // The age of product runs on in breaks.
    let breaks = line.shift.breaks.iter().filter(|rest| rest.duration.seconds() > left_s).count() as f64;
    let working_s = line.shift.length.seconds() * (1.0 - shape.break_share);
    let long_breaks = if working_s > 0.0 { breaks * pack_s / working_s } else { 0.0 };
    ((long_stops + long_breaks) * exposed).min(1.0)
}
