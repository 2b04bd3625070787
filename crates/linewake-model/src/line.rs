//! A checked line: ids resolved, every rule of the model met. The engine takes nothing else.

use crate::station::Station;
use crate::stop::Reason;
use crate::time::{Moment, Span};
use linewake_stats::distribution::Distribution;

/// Micrograms in a gram. Mass is an integer count of micrograms, so that its balance is exact.
pub const MICROGRAMS_PER_GRAM: f64 = 1e6;

/// Place of a station in [`Line::stations`], in line order from the supply to the case packer.
pub type StationIndex = usize;

/// A whole line, proven consistent. Made only by [`crate::parse`] (or [`crate::check`]).
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name of the line, as typed.
    pub name: String,
    /// What the model shows and where its figures come from, as typed.
    pub about: String,
    /// SHA-256 of the model as strict JSON (comments and blanks do not count), in hexadecimal.
    pub digest: String,
    /// Length of a shift and its breaks.
    pub shift: Shift,
    /// Design rate of the line in packs per minute; its inverse is the ideal time per pack of the OEE.
    pub design_rate_per_min: f64,
    /// The station on which the line's OEE is judged.
    pub constraint: StationIndex,
    /// Shortest interruption of the constraint that counts against availability.
    pub short_stop_limit: Span,
    /// The people who look after the whole line.
    pub crew: Crew,
    /// Defects that this model adds to the fixed ones; they arise when a pack is cut (in a line of generic
    /// machines: when a piece enters).
    pub own_defects: Vec<OwnDefect>,
    /// Every reason for a stop, a reject or a planned stop. [`crate::stop::Reason`] is an index into it; the first
    /// entries are the fixed ones of [`crate::stop::FIXED_REASONS`].
    pub reasons: Vec<String>,
    /// The stations in line order.
    pub stations: Vec<Station>,
    /// Money and lots, for the studies that need them.
    pub trade: Option<Trade>,
    /// How sure values of the model are; empty if nothing is stated.
    pub uncertainty: Vec<Uncertainty>,
}

/// How far a value of the model may be from the truth.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertainty {
    /// Its full path, as [`crate::change::ModelTree::full_path`] gives it.
    pub path: String,
    /// Value in the model, as typed.
    pub value: String,
    /// Half of the range, as a share of the value: it lies anywhere between (1 - this) and (1 + this) times the value in
    /// the model, each as likely as any other. Between 0 and 1, both left out.
    pub relative: f64,
    /// The half range as stated: "25 %" or "2 s".
    pub stated: String,
}

/// The shift: the natural horizon of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Shift {
    /// Length, breaks included.
    pub length: Span,
    /// Breaks in rising order, not touching each other, within the shift; they freeze the whole line.
    pub breaks: Vec<Break>,
    /// The kitchen goes on preparing in breaks.
    pub supply_in_breaks: bool,
    /// A stop under repair is finished in the break.
    pub repairs_in_breaks: bool,
    /// Breaks count as downtime in planned production time (default: they are left out).
    pub breaks_in_planned_production_time: bool,
}

/// A break of the whole line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Break {
    /// Calendar time at which it begins.
    pub start: Moment,
    /// Its length.
    pub duration: Span,
}

/// The operators of the line.
#[derive(Clone, Debug, PartialEq)]
pub struct Crew {
    /// How many people; at least 1 if any stop is attended.
    pub operators: u32,
    /// Response time in seconds, unless a station states its own.
    pub response_s: Distribution,
    /// Which waiting call is served first.
    pub order: CallOrder,
}

/// The order in which waiting calls for an operator are served.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CallOrder {
    /// The call that came first.
    FirstCome,
    /// The station with the smallest [`Station::call_priority`]; among equals the call that came first.
    StationPriority,
}

/// A defect that the model adds.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnDefect {
    /// Its name in [`Line::reasons`].
    pub reason: Reason,
    /// Probability for each pack, 0 to 1.
    pub probability: f64,
}

/// Money and lots (invented figures in the shipped models).
#[derive(Clone, Debug, PartialEq)]
pub struct Trade {
    /// Labelled net weight in grams.
    pub nominal_g: Option<f64>,
    /// What one lot is: so much time of output.
    pub lot: Option<Span>,
    /// Currency, as typed ("EUR").
    pub currency: String,
    /// Price of a kilogram of product.
    pub product_per_kg: Option<f64>,
    /// Value of a pack.
    pub pack_value: Option<f64>,
    /// Shifts a day.
    pub shifts_per_day: Option<f64>,
    /// Days a year.
    pub days_per_year: Option<f64>,
}

impl Line {
    /// The station of that id.
    #[must_use]
    pub fn station(&self, id: &str) -> Option<StationIndex> {
        self.stations.iter().position(|station| station.id == id)
    }

    /// The words of a reason.
    #[must_use]
    pub fn reason(&self, reason: Reason) -> &str {
        &self.reasons[usize::from(reason.0)]
    }

    /// Ideal time per pack in seconds, from the design rate.
    #[must_use]
    pub fn ideal_time_per_pack_s(&self) -> f64 {
        60.0 / self.design_rate_per_min
    }
}
