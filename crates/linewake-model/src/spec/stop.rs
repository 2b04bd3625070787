//! Own stops of a station, as typed.

use super::distribution::{CountDistribution, TimeDistribution};
use super::share::InitialSpec;
use super::typed::{spec_object, spec_tagged, typed_by_tag};
use crate::quantity::{Length, Quantity};

spec_object! {
    /// One way in which a station stops by itself.
    pub struct StopSpec {
        /// Its name; unique at the station.
        pub reason: String,
        /// What brings it about.
        pub after: AfterSpec,
        /// How long it takes: the repair of an attended stop, the whole of any other.
        pub duration: TimeDistribution,
        /// Whether an operator must come first.
        pub attended: bool,
        /// What part of the first time or count is used already at the start (default: none).
        pub initial: Option<InitialSpec>,
        /// So many indexes sealed after the stop are tagged first_off (default 0); only up to the former.
        pub scrap_after: Option<u32>,
        /// Stops of this station with the same group that are due together are one stop, as long as the longest.
        pub group: Option<String>,
    }
}

spec_tagged! {
    /// What brings a stop about: a time on a clock, a count of what the station does, or a consumable.
    pub enum AfterSpec called "basis" {
        /// Time in which the station is running.
        RunningTime = "running_time" (TimeDistribution),
        /// Time on the wall, also while the station waits.
        CalendarTime = "calendar_time" (TimeDistribution),
        /// Cycles: indexes of the former, batches of the supply.
        Cycles = "cycles" (CountDistribution),
        /// Portions of the portioner or the infeed belt.
        Portions = "portions" (CountDistribution),
        /// Arrays of the loader.
        Arrays = "arrays" (CountDistribution),
        /// Picks of the robot.
        Picks = "picks" (CountDistribution),
        /// Packs of a belt, a table or a gate.
        Packs = "packs" (CountDistribution),
        /// Cases of the case packer.
        Cases = "cases" (CountDistribution),
        /// Pieces of a generic machine.
        Pieces = "pieces" (CountDistribution),
        /// A roll of film, ribbon or labels that runs out.
        Roll = "roll" (RollSpec),
        /// A magazine that runs empty.
        Magazine = "magazine" (MagazineSpec),
    }
}
typed_by_tag!(AfterSpec);

spec_object! {
    /// A roll: it lasts as many whole cycles as its length allows.
    pub struct RollSpec {
        /// Length of a new roll.
        pub length: Quantity<Length>,
        /// Length that one cycle of the station draws.
        pub per_cycle: Quantity<Length>,
    }
}

spec_object! {
    /// A magazine: it lasts as many whole cycles as its pieces allow.
    pub struct MagazineSpec {
        /// Pieces of a full magazine.
        pub pieces: u32,
        /// Pieces that one cycle of the station takes.
        pub per_cycle: u32,
    }
}
