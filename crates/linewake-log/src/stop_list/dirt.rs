//! Rows of a stop list that are not as they should be, and what was done about them.

use linewake_model::time::Span;
use std::fmt;

/// Which of the two files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ListFile {
    /// The stop list (with the counts, if they stand in it).
    Stops,
    /// The file of counts.
    Counts,
}

impl fmt::Display for ListFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Stops => "stop list",
            Self::Counts => "file of counts",
        })
    }
}

/// A row that is not as it should be. A row with two faults is told of twice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DirtyRow {
    /// The file it stands in.
    pub file: ListFile,
    /// Line of the file on which the row begins, from 1.
    pub line: u64,
    /// What sort of fault.
    pub kind: DirtKind,
    /// What is wrong with it, in words.
    pub what: String,
    /// What was done: how it was repaired, or that it was left out.
    pub done: String,
    /// Stop time that the row counts for in the end, over all shifts; zero if it was left out or is no stop.
    pub counted: Span,
}

macro_rules! kinds {
    ($($name:ident, $word:literal, $meaning:literal;)*) => {
        /// What sort of fault a row has.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum DirtKind {
            $(#[doc = $meaning] $name,)*
        }

        impl DirtKind {
            /// All kinds.
            pub const ALL: &[Self] = &[$(Self::$name),*];

            /// Its words in lists.
            #[must_use]
            pub fn words(self) -> &'static str {
                match self { $(Self::$name => $word,)* }
            }
        }
    };
}

kinds! {
    ByteOrderMark, "byte-order mark", "The file begins with a byte-order mark.";
    Encoding, "encoding", "The row is not in the stated encoding.";
    OpenQuote, "open quote", "A quote swallows what look like rows.";
    LineBreak, "line break in a cell", "A cell holds a line break.";
    EmptyRow, "empty row", "All cells are empty.";
    RepeatedHeading, "repeated heading", "The headings stand here once more.";
    Width, "number of cells", "The row has too few cells, or too many.";
    UnknownMachine, "unknown machine", "The mapping has no machine of that name.";
    AmbiguousMachine, "two machines of one name", "The mapping has two machines of that name.";
    UnknownReason, "unknown reason", "The mapping does not name that reason.";
    NoReason, "no reason", "The row names no reason.";
    UnreadableTime, "unreadable time", "A time fits none of the stated forms.";
    DateOrder, "date order", "A date can be read in two orders.";
    ClockForward, "clock put forward", "A time that the clock skipped.";
    ClockBack, "clock put back", "A time that the clock showed twice.";
    NoStart, "no start", "The row has no start.";
    NoEnd, "no end", "The row has no end.";
    Reversed, "runs backwards", "The end lies before the start.";
    NextDay, "end on the next day", "The end lies before the start because it is on the next day.";
    NoLength, "no length", "The stop begins and ends at the same time.";
    TooLong, "too long", "The stop is longer than a stop can be.";
    DurationDisagrees, "duration disagrees", "Start and end say another length than the duration.";
    Duplicate, "repeated", "The row stands in the file a second time.";
    Overlap, "overlap", "The row overlaps another one of the same machine.";
    OutsideShifts, "outside shifts", "The row lies outside all shifts, or a part of it.";
    InBreak, "in a break", "The stop lies in a planned stop that is left out, or a part of it.";
    NumberForm, "form of a number", "A number has other marks than stated.";
    NoNumber, "no number", "A number is due and there is none.";
    CountReset, "count reset", "A running total fell: the counter began anew.";
    CountsDisagree, "counts disagree", "Good and rejected packs of a shift are more than its total.";
    CountAcrossShifts, "count across shifts", "A count's period lies in two shifts.";
}

impl fmt::Display for DirtKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}
