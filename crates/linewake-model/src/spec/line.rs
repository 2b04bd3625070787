//! The model file as typed: the line, its shift, crew and trade.

use super::distribution::TimeDistribution;
use super::share::ShareSpec;
use super::station::StationSpec;
use super::typed::{spec_object, spec_words};
use super::uncertainty::UncertaintySpec;
use crate::quantity::{Mass, Quantity, Rate, Time};

spec_object! {
    /// A line of portioned food from bulk supply to case, or a line of generic machines.
    pub struct LineSpec {
        /// Where the schema of this file is, for editors; the program does not read it.
        pub schema = "$schema": Option<String>,
        /// Version of the format: 1.
        #[schemars(range(min = 1, max = 1))]
        pub model_version: u32,
        /// Name of the line.
        pub name: String,
        /// What the model shows and where its figures come from.
        pub about: Option<String>,
        /// The shift (default: 8 h without breaks).
        pub shift: Option<ShiftSpec>,
        /// Design rate of the line in packs; the ideal time per pack of the OEE.
        pub design_rate: Quantity<Rate>,
        /// Id of the station on which the OEE is judged (default: the former; in a line of generic machines the
        /// slowest one, if there is one slowest).
        pub constraint: Option<String>,
        /// Shortest interruption of the constraint that counts against availability (default 300 s).
        pub short_stop_limit: Option<Quantity<Time>>,
        /// The people who look after the whole line; required if a stop is attended.
        pub crew: Option<CrewSpec>,
        /// Defects that this model adds to the fixed ones.
        pub defects: Option<Vec<DefectSpec>>,
        /// Money and lots, for the studies that need them.
        pub trade: Option<TradeSpec>,
        /// How sure values of this model are, for the studies that need it.
        pub uncertainty: Option<Vec<UncertaintySpec>>,
        /// The stations in line order.
        pub stations: Vec<StationSpec>,
    }
}

spec_object! {
    /// The shift: the natural length of a run.
    pub struct ShiftSpec {
        /// Its length, breaks included.
        pub length: Quantity<Time>,
        /// Breaks of the whole line.
        pub breaks: Option<Vec<BreakSpec>>,
        /// The kitchen goes on preparing in breaks (default false).
        pub supply_in_breaks: Option<bool>,
        /// A stop under repair is finished in the break (default false).
        pub repairs_in_breaks: Option<bool>,
        /// Breaks count as downtime in planned production time (default false: they are left out).
        pub breaks_in_planned_production_time: Option<bool>,
    }
}

spec_object! {
    /// A break.
    pub struct BreakSpec {
        /// Time from the start of the shift.
        pub start: Quantity<Time>,
        /// Its length.
        pub duration: Quantity<Time>,
    }
}

spec_object! {
    /// The operators.
    pub struct CrewSpec {
        /// How many people.
        pub operators: u32,
        /// How long the one who comes needs to be there.
        pub response: TimeDistribution,
        /// Which waiting call is served first (default first_come).
        pub order: Option<CallOrderSpec>,
    }
}

spec_words! {
    /// Which waiting call is served first.
    pub enum CallOrderSpec {
        /// The one that came first.
        FirstCome = "first_come",
        /// That of the station with the smallest call_priority.
        StationPriority = "station_priority",
    }
}

spec_object! {
    /// A defect that the model adds; it arises when a pack is cut (in a line of generic machines: when a piece
    /// enters).
    pub struct DefectSpec {
        /// Its name.
        pub name: String,
        /// Probability for each pack.
        pub probability: ShareSpec,
    }
}

spec_object! {
    /// Money and lots.
    pub struct TradeSpec {
        /// Labelled net weight.
        pub nominal: Option<Quantity<Mass>>,
        /// One lot is so much time of output.
        pub lot: Option<Quantity<Time>>,
        /// Currency of the prices, as in "EUR".
        pub currency: Option<String>,
        /// Price of a kilogram of product.
        pub product_per_kg: Option<f64>,
        /// Value of a pack.
        pub pack_value: Option<f64>,
        /// Shifts a day.
        pub shifts_per_day: Option<f64>,
        /// Days a year.
        pub days_per_year: Option<f64>,
    }
}
