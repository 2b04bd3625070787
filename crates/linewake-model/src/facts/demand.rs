//! What one pack cut asks of each station, and what becomes of it: own times, stops and quality losses, in line order.

use super::expectation::WholeStop;
use super::inspection::{PrintAndVision, Weighing, reject_row_rate};
use super::pace::{Pace, fastest_step, pace};
use super::quality::{Quality, QualityLoss};
use super::shape::Shape;
use super::stops::{Calls, Comes, StopRate, own_stops, response};
use crate::line::{Line, StationIndex};
use crate::station::{FailSafe, Former, Gate, StationKind};
use crate::stop::Reason;

/// What one pack cut asks of a station.
#[derive(Clone, Debug)]
pub(super) struct StationDemand<'a> {
    /// Packs that reach it, for each pack cut.
    pub(super) share: f64,
    /// Own time for each pack that reaches it.
    pub(super) pace: Pace,
    pub(super) stops: Vec<StopRate<'a>>,
}

impl StationDemand<'_> {
    /// Own time for each pack cut, in seconds.
    pub(super) fn time_s(&self) -> f64 {
        self.pace.time_s * self.share
    }

    /// Running time for each pack cut, in seconds.
    pub(super) fn running_s(&self) -> f64 {
        self.pace.running_s * self.share
    }

    /// Stopped seconds for each pack cut, and stopped share of the time outside breaks, when no stop is hidden.
    pub(super) fn stopped(&self, shape: &Shape<'_>) -> (f64, f64) {
        self.stops.iter().fold((0.0, 0.0), |(per_pack, of_time), stop| {
            let (packs, seconds) = stop.in_line(shape);
            let length = stop.whole.mean_s();
            (per_pack + packs * length, of_time + seconds * length)
        })
    }
}

/// All stations, and the losses.
#[derive(Clone, Debug)]
pub(super) struct Demand<'a> {
    /// One per station, in line order.
    pub(super) stations: Vec<StationDemand<'a>>,
    pub(super) quality: Quality,
    pub(super) picks_per_pack: f64,
}

/// Which side to err on where a loss can only be estimated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lean {
    /// The most likely value, at set speed.
    Expected,
    /// The largest loss that is likely: for the figure without help.
    Cautious,
    /// The smallest loss, for an upper bound: fastest speed steps, feedback that takes off whatever lasts.
    Favourable,
}

/// Walks down the line with one pack that takes `seconds_per_pack`, stops included (it counts for stops that come with
/// the time).
pub(super) fn demand<'a>(line: &'a Line, shape: &Shape<'a>, seconds_per_pack: f64, lean: Lean) -> Demand<'a> {
    let mut walk = Walk {
        line,
        shape,
        seconds_per_pack,
        lean,
        share: 1.0,
        picks_per_pack: 0.0,
        defects: Vec::new(),
        weighed: false,
        quality: Quality::default(),
        stations: Vec::with_capacity(line.stations.len()),
    };
    if shape.former.is_none() {
        walk.defects_arise(&[]);
    }
    for station in 0..line.stations.len() {
        walk.pass(station);
    }
    walk.quality.good_share = walk.share;
    for (defect, share) in &walk.defects {
        if *share > 0.0 {
            let escape = QualityLoss {
                station: String::new(),
                reason: line.reason(*defect).to_owned(),
                share_of_cut: share * walk.share,
            };
            walk.quality.escapes.push(escape);
        }
    }
    Demand { stations: walk.stations, quality: walk.quality, picks_per_pack: walk.picks_per_pack }
}

struct Walk<'a, 's> {
    line: &'a Line,
    shape: &'s Shape<'a>,
    seconds_per_pack: f64,
    lean: Lean,
    /// Packs still in the flow, for each pack cut.
    share: f64,
    picks_per_pack: f64,
    /// Defects that no inspection has found, as shares of the packs in the flow.
    defects: Vec<(Reason, f64)>,
    /// A weigher has been passed.
    weighed: bool,
    quality: Quality,
    stations: Vec<StationDemand<'a>>,
}

impl<'a> Walk<'a, '_> {
    fn pass(&mut self, station: StationIndex) {
        let mut share = if self.shape.is_before_packs(station) { 1.0 } else { self.share };
        let mut picks = 0.0;
        let mut dropped = 0.0;
        if let (StationKind::PickRobot(robot), Some((_, former))) =
            (&self.line.stations[station].kind, self.shape.former)
        {
            let gripper = f64::from(robot.gripper.max(1));
            let whole_frames = self.quality.whole_frame_share;
            let all_tagged = print_and_vision(former).all_tagged(gripper);
            picks = (1.0 - whole_frames) * (1.0 - all_tagged) / gripper;
            self.picks_per_pack = picks;
            dropped = robot.drop_probability;
            // Picks are counted for each pack cut already.
            share = 1.0;
        }
        let speed = if self.lean == Lean::Favourable { fastest_step(self.line, station) } else { 1.0 };
        let pace = pace(self.line, self.shape, station, picks, speed);
        let mut stops = own_stops(self.line, station, pace, share);
        match &self.line.stations[station].kind {
            StationKind::Former(former) => self.former(station, former, pace, &mut stops),
            StationKind::PickRobot(_) => self.lose(station, Reason::DROPPED, dropped),
            StationKind::Gate(gate) => self.gate(station, gate, &mut stops),
            _ => {}
        }
        self.stations.push(StationDemand { share, pace, stops });
    }

    /// Takes a share of what is still in the flow out of it.
    fn lose(&mut self, station: StationIndex, reason: Reason, share: f64) {
        let share = share.clamp(0.0, 1.0);
        if share > 0.0 {
            self.quality.losses.push(QualityLoss {
                station: self.line.stations[station].id.clone(),
                reason: self.line.reason(reason).to_owned(),
                share_of_cut: self.share * share,
            });
            self.share *= 1.0 - share;
        }
    }

    fn defects_arise(&mut self, of_former: &[(Reason, f64)]) {
        let own = self.line.own_defects.iter().map(|defect| (defect.reason, defect.probability));
        self.defects = of_former.iter().copied().chain(own).collect();
    }

    fn fail_safe(
        &self,
        station: StationIndex,
        rule: &'a FailSafe,
        reason: Reason,
        per_pack: f64,
    ) -> StopRate<'a> {
        StopRate {
            reason: self.line.reason(reason).to_owned(),
            attended: true,
            planned: false,
            group: None,
            scrap_after_indexes: 0,
            whole: WholeStop { response_s: Some(response(self.line, station)), duration_s: &rule.duration_s },
            comes: Comes::PerPack(per_pack),
            calls: Calls::InStep,
        }
    }

    fn former(
        &mut self,
        station: StationIndex,
        former: &'a Former,
        pace: Pace,
        stops: &mut Vec<StopRate<'a>>,
    ) {
        let packs = self.shape.packs_per_index();
        let print = print_and_vision(former);
        if let Some(rule) = former.vision.as_ref().and_then(|vision| vision.stop_rule.as_ref()) {
            let per_pack = pace.cycles * print.tag_row_rate(rule.count, packs);
            stops.push(self.fail_safe(station, rule, Reason::TAGS_IN_ROW, per_pack));
        }
        let stops_per_index = |stop: &StopRate<'_>| {
            let (per_pack, per_second) = stop.in_line(self.shape);
            (per_pack + per_second * self.seconds_per_pack) * packs
        };
        let upstream = self.stations.iter().flat_map(|station| &station.stops);
        let first_off: f64 = upstream
            .chain(&*stops)
            .map(|stop| stops_per_index(stop) * f64::from(stop.scrap_after_indexes))
            .sum();
        let mut spoilt = Vec::new();
        if let Some(scrap) = &former.stop_scrap {
            let limit = scrap.longer_than.seconds();
            let long: f64 = stops.iter().map(|stop| stops_per_index(stop) * stop.whole.exceeds(limit)).sum();
            for &position in &scrap.positions {
                let filled = if scrap.empty_pockets { 1.0 } else { self.filled(former, position) };
                spoilt.push((position, scrap.reason, long * filled));
            }
        }
        spoilt.push((former.positions.seal, Reason::FIRST_OFF, first_off));
        spoilt.sort_by_key(|(position, ..)| *position);
        let inspection = former.positions.print_inspection.unwrap_or(former.positions.seal);
        let share_before = self.share;
        for (_, reason, share) in spoilt.iter().filter(|(position, ..)| *position < inspection) {
            self.lose(station, *reason, *share);
        }
        let tagged = print.misprint * print.sensitivity;
        let falsely = (1.0 - print.misprint) * print.false_tag;
        self.lose(station, Reason::MISPRINT, tagged);
        self.lose(station, Reason::FALSE_TAG, if tagged < 1.0 { falsely / (1.0 - tagged) } else { 0.0 });
        for (_, reason, share) in spoilt.iter().filter(|(position, ..)| *position >= inspection) {
            self.lose(station, *reason, *share);
        }
        let untagged = 1.0 - tagged - falsely;
        let whole_frames = 1.0 - self.share / (share_before * untagged.max(f64::MIN_POSITIVE));
        self.quality.whole_frame_share = whole_frames.clamp(0.0, 1.0);
        self.defects_arise(&[
            (Reason::MISPRINT, print.misprint * (1.0 - print.sensitivity) / untagged.max(f64::MIN_POSITIVE)),
            (Reason::LABEL_MISSING, former.label_missing_probability),
            (Reason::LEAK, former.leak_probability),
            (Reason::CONTAMINATED, former.contaminated_probability),
        ]);
    }

    /// Share of the time in which a position of the web holds product.
    fn filled(&self, former: &Former, position: u32) -> f64 {
        let zone = self.shape.loader.map_or(1, |loader| loader.indexes_per_array.max(1));
        let before = former.positions.load_at.saturating_sub(position);
        if position > former.positions.cut + 1 || before >= zone {
            0.0
        } else {
            f64::from(zone - before) / f64::from(zone)
        }
    }

    fn gate(&mut self, station: StationIndex, gate: &'a Gate, stops: &mut Vec<StopRate<'a>>) {
        // A second weigher sees packs that the first one let pass: it hardly rejects any.
        let favourable = self.lean == Lean::Favourable;
        let weigher = gate.weigher.filter(|_| !(favourable && self.weighed));
        let weighing = Weighing::of(self.shape, weigher, self.lean);
        self.weighed |= gate.weigher.is_some();
        let entering = self.share;
        if let Some(weighing) = &weighing {
            let (low, high) = weighing.rejects();
            self.lose(station, Reason::UNDERWEIGHT, low);
            self.lose(station, Reason::OVERWEIGHT, if low < 1.0 { high / (1.0 - low) } else { 0.0 });
        }
        let weighed = self.share;
        let (mut without, mut unfound) = (1.0, 1.0);
        for find in &gate.finds {
            let Some((_, share)) = self.defects.iter_mut().find(|(defect, _)| *defect == find.defect) else {
                continue;
            };
            let (had, found) = (*share, *share * find.probability);
            *share = if found < 1.0 { (had - found) / (1.0 - found) } else { 0.0 };
            without *= 1.0 - had;
            unfound *= 1.0 - found;
            self.lose(station, find.defect, found);
        }
        let falsely = if unfound > 0.0 { gate.false_reject * without / unfound } else { 0.0 };
        self.lose(station, Reason::FALSE_REJECT, falsely);
        let rejected = entering - self.share;
        let other = if weighed > 0.0 { 1.0 - self.share / weighed } else { 0.0 };
        if let Some(rule) = &gate.rejects_in_row {
            let per_pack = entering * reject_row_rate(weighing.as_ref(), other, rule.count);
            stops.push(self.fail_safe(station, rule, Reason::REJECTS_IN_ROW, per_pack));
        }
        if let Some(bin) = &gate.bin_full {
            let per_pack = rejected / f64::from(bin.count.max(1));
            stops.push(self.fail_safe(station, bin, Reason::BIN_FULL, per_pack));
        }
        if let Some(challenge) = &gate.challenge {
            stops.push(StopRate {
                reason: self.line.reason(Reason::CHALLENGE).to_owned(),
                attended: false,
                planned: true,
                group: None,
                scrap_after_indexes: 0,
                whole: WholeStop { response_s: None, duration_s: &challenge.duration_s },
                comes: Comes::Every(challenge.interval.seconds()),
                calls: Calls::Alone,
            });
        }
    }
}

fn print_and_vision(former: &Former) -> PrintAndVision {
    let inspected = former.positions.print_inspection.is_some();
    PrintAndVision::of(former.printer, former.vision.as_ref().filter(|_| inspected))
}
