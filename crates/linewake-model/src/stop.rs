//! Own stops of a station, and the reasons by which stops, rejects and planned stops are named.

use linewake_stats::distribution::Distribution;

/// Index into [`crate::line::Line::reasons`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Reason(pub u16);

macro_rules! fixed_reasons {
    ($($name:ident = $number:literal, $text:literal, $meaning:literal;)*) => {
        impl Reason {
            $(#[doc = $meaning] pub const $name: Self = Self($number);)*
        }
        /// The reasons that every model has, at the front of [`crate::line::Line::reasons`], in this order.
        pub const FIXED_REASONS: &[&str] = &[$($text),*];
    };
}

fixed_reasons! {
    NONE = 0, "", "No reason: running, starved, blocked.";
    MISPRINT = 1, "misprint", "Defect: the print is faulty.";
    LABEL_MISSING = 2, "label_missing", "Defect: no label.";
    LEAK = 3, "leak", "Defect: the seal leaks.";
    CONTAMINATED = 4, "contaminated", "Defect: foreign body.";
    UNDERWEIGHT = 5, "underweight", "Measured under the low limit.";
    OVERWEIGHT = 6, "overweight", "Measured over the high limit.";
    HELD_IN_SEAL = 7, "held_in_seal", "Stood in the seal position during a long stop.";
    AGED = 8, "aged", "Product stood open longer than the limit.";
    FIRST_OFF = 9, "first_off", "First indexes after a stop.";
    DROPPED = 10, "dropped", "Lost between pick and place.";
    FALSE_REJECT = 11, "false_reject", "A right pack that a gate rejected.";
    FALSE_TAG = 12, "false_tag", "A right pack that vision tagged.";
    BREAK = 13, "break", "Planned: a break of the whole line.";
    CHALLENGE = 14, "challenge", "Planned: the routine test of a gate.";
    REJECTS_IN_ROW = 15, "rejects_in_row", "Fail-safe: so many rejects in a row.";
    BIN_FULL = 16, "bin_full", "Fail-safe: the reject bin is full.";
    TAGS_IN_ROW = 17, "tags_in_row", "Vision stop rule: so many indexes in a row with a tagged pack.";
    INJECTED = 18, "injected", "A stop that the run plan asks for, besides the drawn ones.";
}

/// One way in which a station stops by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct StopMode {
    /// Its name.
    pub reason: Reason,
    /// What the time or count between stops is measured on.
    pub basis: Basis,
    /// Time (seconds on the basis clock) or count between stops; a drawn count is rounded up to at least 1.
    pub between: Distribution,
    /// Length in seconds: of the repair for an attended stop, of the whole stop otherwise.
    pub duration_s: Distribution,
    /// An operator must come first.
    pub attended: bool,
    /// What part of the first time or count is used already at time 0.
    pub initial: Initial,
    /// So many indexes sealed after the stop are tagged first_off; only on stations up to the former.
    pub scrap_after_indexes: u32,
    /// Modes of one station with the same group that are due together are one stop, as long as the longest.
    pub group: Option<u16>,
    /// Given as a roll or a magazine: a consumable, part used in a shift of the long run.
    pub consumable: bool,
}

/// What the time or count between stops is measured on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Seconds in which the station is running (operation-dependent).
    RunningTime,
    /// Seconds of calendar time, also while starved or blocked (time-dependent).
    CalendarTime,
    /// The station's own cycles: portions, arrays, indexes, picks, packs, cases or pieces.
    Count,
}

/// What part of the first time or count between stops is used already at time 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Initial {
    /// Nothing: all is new, unless the run plan has consumables part used. (A model that states "new" gives a
    /// fraction of 0, which stands.)
    New,
    /// This share, 0 to 1.
    Fraction(f64),
    /// A share drawn uniformly from 0 to 1 for each replication.
    Uniform,
}
