//! Machine states under the names of ISA-TR88.00.02, for a line whose machines report theirs in these names.
//!
//! Names are what counts: published numberings differ, so a number is a view of a name and never stands alone. This
//! program makes no claim of conformity.

use linewake_log::event::StationState;
use linewake_model::stop::Reason;
use serde::Serialize;

/// One state of ISA-TR88.00.02.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct NamedState {
    /// Its name.
    pub name: &'static str,
    /// Its number in ISA-TR88.00.02-2022 (read on a public page of constants of that edition).
    pub number: u8,
    /// Its number in OPC 30060, which counts in another order (read for these five only).
    pub opc_30060: Option<u8>,
    /// Which of our states map onto it, in words; empty for those that a log does not tell.
    pub ours: &'static str,
}

macro_rules! states {
    ($($name:literal = $number:literal, $opc:expr, $ours:literal;)*) => {
        /// All states, in the order of their numbers in ISA-TR88.00.02-2022; 0 is undefined.
        pub const STATES: &[NamedState] =
            &[$(NamedState { name: $name, number: $number, opc_30060: $opc, ours: $ours }),*];
    };
}

states! {
    "Clearing" = 1, None, "";
    "Stopped" = 2, Some(0), "planned: a break";
    "Starting" = 3, None, "";
    "Idle" = 4, None, "";
    "Suspended" = 5, Some(12), "starved and blocked: the cause lies outside the machine";
    "Execute" = 6, Some(4), "running";
    "Stopping" = 7, None, "";
    "Aborting" = 8, None, "";
    "Aborted" = 9, None, "";
    "Holding" = 10, None, "";
    "Held" = 11, Some(15),
        "an own stop, waiting for an operator or being put right: the cause lies inside the machine; planned: a test";
    "Unholding" = 12, Some(16), "";
    "Suspending" = 13, None, "";
    "Unsuspending" = 14, None, "";
    "Resetting" = 15, None, "";
    "Completing" = 16, None, "";
    "Complete" = 17, None, "";
}

/// What the mapping rests on.
pub const SOURCE: &str = "Suspended for a cause outside the machine and Held for one inside: read in a public node set of \
                          OPC 30050; planned stops from memory. A stop that opens a guard or an emergency stop would be \
                          Aborted: a log has own stops only, so it is listed under Held";

/// The state of that name.
#[must_use]
pub fn named(name: &str) -> Option<&'static NamedState> {
    STATES.iter().find(|state| state.name == name)
}

/// The state that one of ours maps onto.
///
/// # Panics
/// Never: each of ours maps onto one of [`STATES`] (tested).
#[must_use]
pub fn state_of(state: StationState, reason: Reason) -> &'static NamedState {
    named(state.isa_tr88_state(reason)).expect("each state maps onto one of the list")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_of_ours_has_a_name() {
        for state in StationState::ALL {
            for reason in [Reason::NONE, Reason::BREAK, Reason::CHALLENGE] {
                assert!(!state_of(state, reason).ours.is_empty());
            }
        }
    }

    #[test]
    fn numbers_rise_without_a_gap() {
        for (place, state) in STATES.iter().enumerate() {
            assert_eq!(usize::from(state.number), place + 1);
        }
    }
}
