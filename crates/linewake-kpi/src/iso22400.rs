//! Time and quantity elements of ISO 22400-2 and the KPIs made of them, of the line at its constraint or of one machine.
//!
//! Formulas, symbols and sources stand in [`crate::definition`]. Elements of several shifts are added up, and a KPI of
//! many shifts is that of the sums: then the identities between KPIs hold for the many as for the one.

use crate::definition::{KPIS, KpiGroup};
use crate::result::{ShiftResult, StationResult};
use linewake_log::event::Counter;
use linewake_log::facts::kind;
use linewake_model::time::Span;

/// Elements of one machine, or of the line at its constraint, over a window or several.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct IsoElements {
    /// POT, the window.
    pub planned_operation: Span,
    /// PBT.
    pub planned_busy: Span,
    /// APT.
    pub production: Span,
    /// ASUT.
    pub set_up: Span,
    /// ADET; also the sum of the times to restoration, and CMT.
    pub delay: Span,
    /// FE, own stops that began.
    pub failures: u64,
    /// PRI, in seconds; `None` where nothing limits the rate.
    pub run_time_per_unit_s: Option<f64>,
    /// PQ; `None` where the log does not count pieces.
    pub produced: Option<u64>,
    /// GQ.
    pub good: u64,
    /// SQ.
    pub scrap: u64,
    /// IP and GP; `None` where nothing is inspected.
    pub inspected: Option<(u64, u64)>,
    /// PQ of the first operation that makes packs.
    pub first_operation: u64,
}

impl IsoElements {
    /// Of the line: times of the constraint, packs of the line. `None` when the log tells no state of the constraint.
    #[must_use]
    pub fn of_line(shift: &ShiftResult) -> Option<Self> {
        let place = shift.stations.iter().position(|station| station.id == shift.constraint)?;
        let good = shift.oee.good_packs;
        let rejected = shift.packs.rejected_packs;
        Some(Self {
            run_time_per_unit_s: Some(shift.oee.ideal_time_per_pack_s),
            produced: Some(shift.oee.total_packs),
            good,
            scrap: rejected,
            inspected: Some((good + rejected, good)),
            ..Self::times_of(shift, place)?
        })
    }

    /// Of one machine. `None` when the log tells no state of it.
    #[must_use]
    pub fn of_machine(shift: &ShiftResult, place: usize) -> Option<Self> {
        let times = Self::times_of(shift, place)?;
        let pieces = Pieces::of(shift, place);
        Some(Self {
            run_time_per_unit_s: shift.stations[place].ideal_rate_per_min.map(|rate| 60.0 / rate),
            produced: pieces.map(|it| it.finished),
            good: pieces.map_or(0, |it| it.finished.saturating_sub(it.spoilt)),
            scrap: pieces.map_or(0, |it| it.spoilt),
            inspected: pieces
                .filter(|it| it.inspects)
                .map(|it| (it.finished, it.finished.saturating_sub(it.spoilt))),
            ..times
        })
    }

    fn times_of(shift: &ShiftResult, place: usize) -> Option<Self> {
        let station = shift.stations.get(place)?;
        let (states, planned) = (station.states?, station.planned_times?);
        Some(Self {
            planned_operation: shift.window_end.since(shift.window_start),
            planned_busy: planned.planned_production_time,
            production: states.running,
            set_up: planned.set_up,
            delay: states.stopped(),
            failures: station.own_stops(),
            first_operation: shift.oee.total_packs,
            ..Self::default()
        })
    }

    /// The sum of two windows.
    #[must_use]
    pub fn with(mut self, other: &Self) -> Self {
        self.planned_operation += other.planned_operation;
        self.planned_busy += other.planned_busy;
        self.production += other.production;
        self.set_up += other.set_up;
        self.delay += other.delay;
        self.failures += other.failures;
        self.run_time_per_unit_s = self.run_time_per_unit_s.or(other.run_time_per_unit_s);
        self.produced = self.produced.map(|pieces| pieces + other.produced.unwrap_or(0)).or(other.produced);
        self.good += other.good;
        self.scrap += other.scrap;
        self.inspected = match (self.inspected, other.inspected) {
            (Some((all, good)), Some((more, more_good))) => Some((all + more, good + more_good)),
            (one, another) => one.or(another),
        };
        self.first_operation += other.first_operation;
        self
    }

    /// AUPT, production and set-up.
    #[must_use]
    pub fn processing(&self) -> Span {
        self.production + self.set_up
    }

    /// AUBT, processing and delay.
    #[must_use]
    pub fn busy(&self) -> Span {
        self.processing() + self.delay
    }

    /// ADOT, what is left of PBT.
    #[must_use]
    pub fn down(&self) -> Span {
        self.planned_busy - self.busy()
    }

    /// The value under a symbol of the groups of ISO 22400-2 in [`crate::definition::KPIS`], in the unit of its
    /// definition. `None` for another symbol, for what the log does not tell of this station, and when there is nothing
    /// to divide by.
    #[must_use]
    pub fn value(&self, symbol: &str) -> Option<f64> {
        let (numerator, denominator) = match self.figure(symbol)? {
            Figure::Element(value) => return Some(value),
            Figure::Ratio(numerator, denominator) => (numerator, denominator),
            Figure::Product(ratios) => {
                let factors = ratios.map(|(one, other)| (other > 0.0).then_some(one / other));
                return factors.into_iter().try_fold(1.0, |product, factor| Some(product * factor?));
            }
        };
        (denominator > 0.0).then(|| numerator / denominator)
    }

    /// What the value under a symbol is made of; `None` as for [`Self::value`], but for what divides by nothing.
    #[must_use]
    pub fn figure(&self, symbol: &str) -> Option<Figure> {
        let produced = self.produced.map(|pieces| pieces as f64);
        let run_time = self.run_time_per_unit_s;
        let (good, scrap) = (self.good as f64, self.scrap as f64);
        let (busy, production) = (self.planned_busy.seconds(), self.production.seconds());
        let events = self.failures as f64;
        let element = |value: f64| Some(Figure::Element(value));
        let ratio = |one: Span, other: Span| Some(Figure::Ratio(one.seconds(), other.seconds()));
        match symbol {
            "POT" => element(self.planned_operation.seconds()),
            "PBT" => element(busy),
            "PRI" => element(run_time?),
            "APT" => element(production),
            "ASUT" => element(self.set_up.seconds()),
            "AUPT" | "TBF" => element(self.processing().seconds()),
            "ADET" | "TTR" | "CMT" => element(self.delay.seconds()),
            "AUBT" => element(self.busy().seconds()),
            "ADOT" => element(self.down().seconds()),
            "FE" => element(events),
            "PQ" => element(produced?),
            "GQ" => produced.and(element(good)),
            "SQ" => produced.and(element(scrap)),
            "IP" => element(self.inspected?.0 as f64),
            "GP" => element(self.inspected?.1 as f64),
            "availability" => ratio(self.production, self.planned_busy),
            "effectiveness" => Some(Figure::Ratio(run_time? * produced?, production)),
            "quality_ratio" => Some(Figure::Ratio(good, produced?)),
            "oee_index" => produced.and(Some(Figure::Ratio(run_time? * good, busy))),
            "nee_index" => Some(Figure::Product([
                (self.processing().seconds(), busy),
                (run_time? * produced?, production),
                (good, produced?),
            ])),
            "AE" => ratio(self.busy(), self.planned_busy),
            "UE" => ratio(self.production, self.busy()),
            "TE" => ratio(self.production, self.production + self.delay),
            "setup_ratio" => ratio(self.set_up, self.processing()),
            "scrap_ratio" => Some(Figure::Ratio(scrap, produced?)),
            "FPY" => self.inspected.map(|(all, good)| Figure::Ratio(good as f64, all as f64)),
            "fall_off" => produced.and(Some(Figure::Ratio(scrap, self.first_operation as f64))),
            "MTBF_iso" => Some(Figure::Ratio(self.processing().seconds(), events + 1.0)),
            "MTTR_iso" => Some(Figure::Ratio(self.delay.seconds(), events + 1.0)),
            _ => None,
        }
    }

    /// The symbols of ISO 22400-2 that the log tells of this station, in the order of the definitions.
    pub fn symbols(&self) -> impl Iterator<Item = &'static str> {
        let of_iso = KPIS
            .iter()
            .filter(|kpi| matches!(kpi.group, KpiGroup::IsoTime | KpiGroup::IsoQuantity | KpiGroup::IsoKpi));
        of_iso.map(|kpi| kpi.symbol).filter(|symbol| self.figure(symbol).is_some())
    }
}

/// What a value is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure {
    /// An amount.
    Element(f64),
    /// Numerator and denominator.
    Ratio(f64, f64),
    /// The product of these ratios.
    Product([(f64, f64); 3]),
}

/// The pieces of one machine in the window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pieces {
    /// Finished, what was rejected there among them.
    pub(crate) finished: u64,
    /// Rejected there for a reason that was not tagged elsewhere, or tagged there.
    pub(crate) spoilt: u64,
    /// It judges each piece.
    inspects: bool,
}

impl Pieces {
    /// `None` where the log counts none (a bulk supply makes batches).
    pub(crate) fn of(shift: &ShiftResult, place: usize) -> Option<Self> {
        let station = &shift.stations[place];
        let made = match station.kind.as_str() {
            kind::BULK_SUPPLY => return None,
            // It counts arrays; what it hands over are portions.
            kind::LOADER => station.counted(Counter::HandedOver),
            _ => station.counted(Counter::Made),
        };
        let spoilt = spoilt_at(shift, place);
        let is_gate = matches!(
            station.kind.as_str(),
            kind::CHECKWEIGHER | kind::METAL_DETECTOR | kind::X_RAY | kind::LEAK_TEST
        );
        // What a robot drops it does not count as made.
        let finished = if station.kind == kind::PICK_ROBOT { made + spoilt } else { made };
        Some(Self { finished, spoilt, inspects: is_gate || station.kind == kind::MACHINE })
    }
}

fn spoilt_at(shift: &ShiftResult, place: usize) -> u64 {
    let tagged_elsewhere = |reason: &str| {
        shift.stations.iter().enumerate().any(|(other, station)| {
            other != place && rows(station, Counter::Tagged).any(|(tag, _)| tag == reason)
        })
    };
    let station = &shift.stations[place];
    let rejected = rows(station, Counter::Rejected).filter(|(reason, _)| !tagged_elsewhere(reason));
    rejected.map(|(_, pieces)| pieces).sum::<u64>() + station.counted(Counter::Tagged)
}

fn rows(station: &StationResult, counter: Counter) -> impl Iterator<Item = (&str, u64)> {
    let rows = station.counters.iter().filter(move |row| row.counter == counter.word());
    rows.map(|row| (row.reason.as_str(), row.value))
}
