//! The figures of a shift, of the log and of the model alike, as one row of sums; what a log tells of them.

use crate::logs::LoggedShift;
use crate::record::{Keep, LedgerRecord, RunRecord};
use crate::trace::LoggedLine;
use linewake_kpi::study::versus::Figure;
use linewake_model::line::StationIndex;
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// Figures of one shift.
pub(super) type Row = Vec<f64>;

/// Place of the planned production time in seconds.
pub(super) const PLANNED: usize = 0;
/// Place of the time of long interruptions of the constraint in seconds.
pub(super) const LONG: usize = 1;
/// Place of the total packs.
pub(super) const TOTAL: usize = 2;
/// Place of the good packs.
pub(super) const GOOD: usize = 3;
/// Places before the stops.
const BEFORE_STOPS: usize = 4;

/// Which figures a row has: the four above, then count and time of each of these stops.
#[derive(Clone, Debug)]
pub(super) struct Columns {
    pub(super) stops: Vec<StopColumn>,
    ids: Vec<String>,
}

/// Stops of a station for a reason.
#[derive(Clone, Debug)]
pub(super) struct StopColumn {
    pub(super) station: StationIndex,
    pub(super) key: Reason,
    pub(super) word: String,
    pub(super) planned: bool,
    pub(super) modelled: bool,
}

impl Columns {
    pub(super) fn of(logged: &LoggedLine) -> Self {
        let line = &logged.line;
        let column = |station: StationIndex, key: Reason, planned: bool, modelled: bool| StopColumn {
            station,
            key,
            word: logged.word(key).to_owned(),
            planned,
            modelled,
        };
        let mut stops: Vec<StopColumn> = logged
            .reasons
            .iter()
            .map(|&(station, key)| {
                let planned = logged.is_planned_in_log((station, key));
                column(station, key, planned, logged.is_modelled((station, key)))
            })
            .collect();
        for (place, station) in line.stations.iter().enumerate() {
            if !logged.told.contains(&place) {
                let reasons = logged.own_reasons(place);
                stops.extend(reasons.into_iter().map(|key| column(place, key, false, true)));
            }
            if matches!(&station.kind, StationKind::Gate(gate) if gate.challenge.is_some()) {
                stops.push(column(place, Reason::CHALLENGE, true, true));
            }
        }
        Self { stops, ids: line.stations.iter().map(|station| station.id.clone()).collect() }
    }

    /// Place of the count of a stop.
    pub(super) fn count(stop: usize) -> usize {
        BEFORE_STOPS + 2 * stop
    }

    /// Place of the time of a stop.
    pub(super) fn time(stop: usize) -> usize {
        BEFORE_STOPS + 2 * stop + 1
    }

    /// Of a run of the model.
    pub(super) fn of_run(&self, record: &RunRecord) -> Row {
        self.row(record, Some)
    }

    /// Of a shift of the log, whose stations may be some of the model's only.
    pub(super) fn of_log(&self, shift: &LoggedShift) -> Row {
        let record = RunRecord::of(0, 0, 0, &shift.result, Keep { ledger: true, ..Keep::default() });
        let places: Vec<Option<usize>> = self
            .ids
            .iter()
            .map(|id| shift.result.stations.iter().position(|station| station.id == *id))
            .collect();
        self.row(&record, |station| places[station])
    }

    fn row(&self, record: &RunRecord, place: impl Fn(StationIndex) -> Option<usize>) -> Row {
        let ledger = record.ledger.as_ref();
        let mut row = vec![
            record.planned_production_time_s,
            ledger.map_or(0.0, |ledger| ledger.long_interruptions_s),
            record.total_packs as f64,
            record.good_packs as f64,
        ];
        for stop in &self.stops {
            let (count, time_s) = ledger
                .zip(place(stop.station))
                .map_or((0.0, 0.0), |(ledger, place)| stops_of(ledger, place, stop));
            row.extend([count, time_s]);
        }
        row
    }
}

fn stops_of(ledger: &LedgerRecord, station: usize, stop: &StopColumn) -> (f64, f64) {
    let rows = ledger
        .stops
        .iter()
        .filter(|row| row.station == station && row.reason == stop.word && row.planned == stop.planned);
    rows.fold((0.0, 0.0), |(count, time), row| (count + row.count as f64, time + row.time_s))
}

/// A headline figure of the sums over shifts; not a number where there is nothing to divide by.
pub(super) fn value(figure: Figure, sums: &[f64], ideal_s: f64) -> f64 {
    let (planned, long, total, good) = (sums[PLANNED], sums[LONG], sums[TOTAL], sums[GOOD]);
    match figure {
        Figure::Oee => good * ideal_s / planned,
        Figure::Availability => (planned - long) / planned,
        Figure::Performance => total * ideal_s / (planned - long),
        Figure::Quality => good / total,
        Figure::PacksPerHour => good * 3600.0 / planned,
    }
}

/// What the log tells.
#[derive(Clone, Debug)]
pub(super) struct Told {
    pub(super) good: bool,
    total: bool,
    waits: bool,
    pub(super) lacking: Vec<String>,
}

impl Told {
    pub(super) fn of(logged: &LoggedLine, shifts: &[LoggedShift]) -> Self {
        let is_simulated = shifts.iter().all(|shift| shift.header.seed.is_some());
        let any = |is: &dyn Fn(&LoggedShift) -> bool| is_simulated || shifts.iter().any(is);
        let good = any(&|shift| shift.result.oee.good_packs > 0);
        let total = any(&|shift| shift.result.oee.total_packs > 0);
        let waits = any(&|shift| {
            let constraint = shift.result.stations.iter().find(|it| it.id == shift.result.constraint);
            let states = constraint.and_then(|it| it.states);
            states.is_some_and(|states| states.starved + states.blocked > Span::ZERO)
        });
        let mut lacking = Vec::new();
        if !good {
            lacking.push(
                "good packs are not counted: there is no OEE, no quality and no output to compare".to_owned(),
            );
        }
        if !total {
            lacking.push(
                "total packs are not counted: there is no performance and no quality to compare".to_owned(),
            );
        }
        if !waits {
            lacking.push(
                "waits of the constraint are not written down: availability and performance of the log leave them out, and are \
                 not held against the model's"
                    .to_owned(),
            );
        }
        let silent: Vec<&str> = logged
            .line
            .stations
            .iter()
            .enumerate()
            .filter(|(place, station)| !logged.told.contains(place) && !station.stops.is_empty())
            .map(|(_, station)| station.id.as_str())
            .collect();
        if !silent.is_empty() {
            lacking.push(format!(
                "nothing is told of {}: their stops are drawn from the model",
                silent.join(", ")
            ));
        }
        if !shifts.iter().any(|shift| shift.stops.stops.iter().any(|stop| stop.waiting > Span::ZERO)) {
            lacking.push(
                "waiting for an operator is not told apart from repair: the logged stops go into the model with their whole length"
                    .to_owned(),
            );
        }
        let broken = shifts.iter().filter(|shift| shift.broken_off.is_some()).count();
        if broken > 0 {
            lacking.push(format!("{broken} of the logs break off: they count up to there"));
        }
        Self { good, total, waits, lacking }
    }

    pub(super) fn figure(&self, figure: Figure) -> bool {
        match figure {
            Figure::Oee | Figure::PacksPerHour => self.good,
            Figure::Availability => self.waits,
            Figure::Performance => self.total && self.waits,
            Figure::Quality => self.good && self.total,
        }
    }
}

/// What must be read beside the figures.
pub(super) fn notes(logged: &LoggedLine, shifts: &[LoggedShift]) -> Vec<String> {
    let mut notes = vec![
        "what a reason explains is how the model's good packs change when its drawn stops are replaced by the logged ones: a stop \
         comes again when its station has run as long as it had in the log, or at its time of the calendar if the model has it on the \
         calendar; parts do not add up to the whole, since stops hide each other"
            .to_owned(),
    ];
    let starts_at_work = shifts.iter().any(|shift| shift.header.seed.is_none());
    if starts_at_work {
        notes.push(
            "a shift of the log is predicted by itself, with a line at work and part-used consumables at its start; what one shift \
             leaves to the next is not carried over"
                .to_owned(),
        );
    }
    let others = shifts.iter().any(|shift| {
        let digest = &shift.header.model_digest;
        shift.header.seed.is_some() && *digest != logged.line.digest
    });
    if others {
        notes.push("the log was simulated from another model than this one".to_owned());
    }
    notes
}

/// A checksum of what the log tells (FNV-1a, 64 bits), so that a journal is not gone on with another log.
pub(super) fn checksum(shifts: &[LoggedShift]) -> String {
    let mut sum = 0xcbf2_9ce4_8422_2325_u64;
    let mut take = |value: u64| {
        for byte in value.to_le_bytes() {
            sum = (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    };
    for shift in shifts {
        take(shift.header.horizon.0);
        take(shift.result.oee.good_packs);
        take(shift.result.oee.total_packs);
        for stop in &shift.stops.stops {
            [u64::from(stop.station), u64::from(stop.reason.0), stop.at.0, stop.waiting.0, stop.repair.0]
                .into_iter()
                .for_each(&mut take);
        }
    }
    format!("{sum:016x}")
}
