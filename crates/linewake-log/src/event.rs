//! Events: the interface between the engine and everything that looks at a run.
//!
//! The engine pushes each event into an [`EventSink`] as it happens and keeps no history. Events come in rising
//! order of time; the order of events of one moment is the order in which the engine worked them off.

use linewake_model::stop::Reason;
use linewake_model::time::Moment;

/// State of a station (mapping to ISA-TR88.00.02: [`StationState::isa_tr88_state`]).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum StationState {
    /// Working on something.
    Running,
    /// Ready, waiting for something from upstream.
    Starved,
    /// Finished, waiting for room downstream.
    Blocked,
    /// In an own stop, waiting until an operator has arrived.
    StoppedWaiting,
    /// In an own stop, being put right (or clearing by itself).
    StoppedRepair,
    /// Planned stop: break, test, changeover.
    Planned,
}

impl StationState {
    /// All states, in the order of their numbers.
    pub const ALL: [Self; 6] = [
        Self::Running,
        Self::Starved,
        Self::Blocked,
        Self::StoppedWaiting,
        Self::StoppedRepair,
        Self::Planned,
    ];

    /// Its word in the log.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::Starved => "starved",
            Self::Blocked => "blocked",
            Self::StoppedWaiting => "stopped_waiting",
            Self::StoppedRepair => "stopped_repair",
            Self::Planned => "planned",
        }
    }

    /// The machine state of ISA-TR88.00.02 that it maps onto: Execute; Suspended for a cause outside the machine, Held
    /// for one inside; a planned stop is Held for a test and Stopped for a break (planned ones from memory).
    #[must_use]
    pub fn isa_tr88_state(self, reason: Reason) -> &'static str {
        match self {
            Self::Running => "Execute",
            Self::Starved | Self::Blocked => "Suspended",
            Self::StoppedWaiting | Self::StoppedRepair => "Held",
            Self::Planned if reason == Reason::BREAK => "Stopped",
            Self::Planned => "Held",
        }
    }

    /// An own or a planned stop: neither working nor waiting for a neighbour.
    #[must_use]
    #[inline]
    pub fn is_stop(self) -> bool {
        matches!(self, Self::StoppedWaiting | Self::StoppedRepair | Self::Planned)
    }

    /// An own stop, in either of its parts.
    #[must_use]
    #[inline]
    pub fn is_own_stop(self) -> bool {
        matches!(self, Self::StoppedWaiting | Self::StoppedRepair)
    }
}

/// What a counter of a station counts, from the start of the run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Counter {
    /// Pieces (portions, arrays, indexes, packs) finished by the station: a former's are packs cut.
    Made,
    /// Pieces handed over to the next station (pieces; the last station's left the line).
    HandedOver,
    /// Packs rejected here, for the reason of the row.
    Rejected,
    /// Empty pockets cut (trim).
    EmptyPockets,
    /// Indexes advanced.
    Indexes,
    /// Cases made.
    Cased,
    /// Arrivals that found no room.
    Lost,
    /// Packs handed over (by the station after which they are good) that carry a defect nothing found; reason = defect.
    Escaped,
    /// Packs that vision or a stop tagged here, for the reason of the row.
    Tagged,
    /// Mass tipped into the hopper, in milligrams, rounded.
    TippedMg,
    /// Content x time, in piece-microseconds: divided by the time it gives the mean content.
    ContentTime,
    /// Microseconds in which the belt or table was full.
    FullTime,
    /// Microseconds in which the belt or table was empty.
    EmptyTime,
    /// Microseconds in which a rigid belt moved with packs on it.
    MovedLoadedTime,
    /// Sum of the times that pieces spent in the line, in microseconds, over the pieces that left it (last station).
    TimeInLine,
}

impl Counter {
    /// Its word in the log.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Made => "made",
            Self::HandedOver => "handed_over",
            Self::Rejected => "rejected",
            Self::EmptyPockets => "empty_pockets",
            Self::Indexes => "indexes",
            Self::Cased => "cased",
            Self::Lost => "lost",
            Self::Escaped => "escaped",
            Self::Tagged => "tagged",
            Self::TippedMg => "tipped_mg",
            Self::ContentTime => "content_time_us",
            Self::FullTime => "full_time_us",
            Self::EmptyTime => "empty_time_us",
            Self::MovedLoadedTime => "moved_loaded_time_us",
            Self::TimeInLine => "time_in_line_us",
        }
    }

    /// All counters, in the order of their numbers.
    pub const ALL: [Self; 15] = [
        Self::Made,
        Self::HandedOver,
        Self::Rejected,
        Self::EmptyPockets,
        Self::Indexes,
        Self::Cased,
        Self::Lost,
        Self::Escaped,
        Self::Tagged,
        Self::TippedMg,
        Self::ContentTime,
        Self::FullTime,
        Self::EmptyTime,
        Self::MovedLoadedTime,
        Self::TimeInLine,
    ];
}

/// A step of a call for an operator.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum CallStep {
    /// The station called.
    Called,
    /// An operator is at the station and begins.
    Arrived,
    /// The operator is free again.
    Released,
}

impl CallStep {
    /// Its word in the log.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Called => "called",
            Self::Arrived => "arrived",
            Self::Released => "released",
        }
    }
}

/// A step in the life of a portion, pocket or pack (only at pack detail).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum PackStep {
    /// A batch was tipped into the hopper; item = batch, weight = its mass.
    Tipped,
    /// The portioner finished a portion; item = portion, weight = its mass. It stands at the portioner.
    Portioned,
    /// The item came into this station (from the one before).
    Entered,
    /// The portion was laid into a pocket; item = portion, into = pocket.
    Loaded,
    /// The pocket was cut and is a pack from now on; weight = sum of its portions.
    Cut,
    /// A defect came into being; reason = defect.
    Defect,
    /// The pack was tagged; reason = the reason of the tag.
    Tagged,
    /// The pack left the line here into a bin (or was dropped); reason = why.
    Rejected,
    /// The robot has the pack in its gripper.
    Picked,
    /// The pack left the line in a case; into = case.
    Cased,
    /// The piece left the line at its end (a line that does not end in a case packer).
    Left,
    /// The arrival found no room.
    Lost,
    /// All frames of the web have moved on one position (end of the advance); item = advances so far. A pocket of
    /// frame f then stands `advances - f` positions beyond the cut.
    Advanced,
}

impl PackStep {
    /// Its word in the log.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Tipped => "tipped",
            Self::Portioned => "portioned",
            Self::Entered => "entered",
            Self::Loaded => "loaded",
            Self::Cut => "cut",
            Self::Defect => "defect",
            Self::Tagged => "tagged",
            Self::Rejected => "rejected",
            Self::Picked => "picked",
            Self::Cased => "cased",
            Self::Left => "left",
            Self::Lost => "lost",
            Self::Advanced => "advanced",
        }
    }

    /// All steps, in the order of their numbers.
    pub const ALL: [Self; 13] = [
        Self::Tipped,
        Self::Portioned,
        Self::Entered,
        Self::Loaded,
        Self::Cut,
        Self::Defect,
        Self::Tagged,
        Self::Rejected,
        Self::Picked,
        Self::Cased,
        Self::Left,
        Self::Lost,
        Self::Advanced,
    ];
}

/// No item number: the field is empty in the log.
pub const NO_ITEM: u64 = u64::MAX;

/// One event of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// When, in calendar time since the start of the run.
    pub at: Moment,
    /// Index of the station in line order.
    pub station: u16,
    /// What.
    pub kind: EventKind,
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EventKind {
    /// The station changed its state. At time 0 every station with states has one such row with `from` = `to`.
    State {
        /// The state it leaves.
        from: StationState,
        /// The state it enters.
        to: StationState,
        /// Why, for stops and planned stops.
        reason: Reason,
        /// Pieces finished by the station so far ([`Counter::Made`]).
        made: u64,
        /// Content of the belt, table or hopper-side neighbour before the station, [`NO_CONTENT`] if it has none.
        content_before: u32,
        /// Content of the belt or table after the station, [`NO_CONTENT`] if it has none.
        content_after: u32,
    },
    /// A counter stands at `value` (written every 10 s where it has changed, at the end of the warm-up and of the run).
    Count {
        /// What is counted.
        counter: Counter,
        /// For which reason; [`Reason::NONE`] for counters without one.
        reason: Reason,
        /// The count from the start of the run.
        value: u64,
    },
    /// Content of a belt, table, loader, web, gate or lane in pieces (written like the counters).
    Content {
        /// Pieces.
        pieces: u32,
    },
    /// A call for an operator.
    Call {
        /// Called, arrived or released.
        step: CallStep,
        /// The reason of the stop.
        reason: Reason,
    },
    /// A step of a portion, pocket or pack.
    Pack {
        /// Which step.
        step: PackStep,
        /// Number of the portion, pocket, pack or batch.
        item: u64,
        /// Number of the pocket or case that it went into; [`NO_ITEM`] if none.
        into: u64,
        /// Reason of a tag, defect or reject.
        reason: Reason,
        /// Mass in micrograms; 0 where it does not apply.
        weight_ug: u64,
    },
    /// The warm-up is over; the counters of this moment follow. Station 0 by convention.
    WarmUpEnd,
    /// The run is over; the counters of this moment came before. Station 0 by convention.
    End,
}

/// Stands for "no belt or table there".
pub const NO_CONTENT: u32 = u32::MAX;

/// How much a run tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// State changes, calls, counters and contents.
    States,
    /// Every portion and pack besides.
    Packs,
}

/// Takes the events of a run as they happen.
pub trait EventSink {
    /// How much this sink wants to be told.
    fn detail(&self) -> Detail;
    /// Takes one event.
    fn record(&mut self, event: &Event);
}

/// A sink that forgets everything, for timing the bare engine.
#[derive(Clone, Copy, Debug, Default)]
pub struct Forget;

impl EventSink for Forget {
    fn detail(&self) -> Detail {
        Detail::States
    }
    fn record(&mut self, _event: &Event) {}
}

/// Keeps all events in memory, for tests.
#[derive(Clone, Debug)]
pub struct Keep {
    /// How much it wants to be told.
    pub detail: Detail,
    /// What it was told.
    pub events: Vec<Event>,
}

impl Keep {
    /// An empty one.
    #[must_use]
    pub fn new(detail: Detail) -> Self {
        Self { detail, events: Vec::new() }
    }
}

impl EventSink for Keep {
    fn detail(&self) -> Detail {
        self.detail
    }
    fn record(&mut self, event: &Event) {
        self.events.push(*event);
    }
}

/// Two sinks that are told the same.
impl<A: EventSink, B: EventSink> EventSink for (A, B) {
    fn detail(&self) -> Detail {
        self.0.detail().max(self.1.detail())
    }
    fn record(&mut self, event: &Event) {
        self.0.record(event);
        self.1.record(event);
    }
}

impl<S: EventSink + ?Sized> EventSink for &mut S {
    fn detail(&self) -> Detail {
        (**self).detail()
    }
    fn record(&mut self, event: &Event) {
        (**self).record(event);
    }
}
