//! What flows: a portion, later a pack; in a line of generic machines a piece.

use linewake_model::line::Line;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::Moment;

/// A portion, pack or piece on its way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Piece {
    /// Number of the portion, later of the pocket it lies in.
    pub(crate) id: u64,
    /// Mass in micrograms; 0 in a line of generic machines.
    pub(crate) weight_ug: u64,
    /// When its first station began it (of several portions: the first one).
    pub(crate) born: Moment,
    /// When its product was first laid open, in calendar time (loader).
    pub(crate) open_since: Moment,
    /// Defects that it carries, one bit each; see [`defect_bit`].
    pub(crate) defects: u64,
    /// Why it is to be left behind; [`Reason::NONE`] if it is not.
    pub(crate) tag: Reason,
}

impl Piece {
    pub(crate) fn new(id: u64, weight_ug: u64, born: Moment) -> Self {
        Self { id, weight_ug, born, open_since: Moment::ZERO, defects: 0, tag: Reason::NONE }
    }

    pub(crate) fn has(&self, bit: u64) -> bool {
        self.defects & bit != 0
    }
}

/// The bit of a defect: fixed ones by their number, those of the model behind them.
pub(crate) fn defect_bit(line: &Line, defect: Reason) -> u64 {
    if usize::from(defect.0) < FIXED_REASONS.len() {
        return 1 << defect.0;
    }
    let own = line.own_defects.iter().position(|own| own.reason == defect);
    own.map_or(0, |place| 1 << (FIXED_REASONS.len() + place))
}

/// The defects that a bit set names, in the order of their bits.
pub(crate) fn defects_of(line: &Line, bits: u64) -> impl Iterator<Item = Reason> + '_ {
    let fixed = (0..FIXED_REASONS.len() as u16).map(Reason);
    let own = line.own_defects.iter().map(|own| own.reason);
    fixed.chain(own).enumerate().filter(move |(bit, _)| bits >> bit & 1 == 1).map(|(_, reason)| reason)
}
