//! Quality losses in the long run, from cutting to the last gate.

use serde::Serialize;

/// What becomes of packs cut, as shares of them.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Quality {
    /// Packs that leave the flow, in line order; with `good_share` they add up to 1.
    pub losses: Vec<QualityLoss>,
    /// Packs handed over by the last gate, escapes included.
    pub good_share: f64,
    /// Packs among the good ones with a defect that nothing finds.
    pub escapes: Vec<QualityLoss>,
    /// Frames tagged as a whole (stop scrap, first_off): their groups are not picked.
    #[serde(skip)]
    pub(super) whole_frame_share: f64,
}

/// One row: so many packs for each pack cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct QualityLoss {
    /// Id of the station that tags or rejects; empty for an escape.
    pub station: String,
    /// Reason.
    pub reason: String,
    /// Share of the packs cut, 0 to 1.
    pub share_of_cut: f64,
}
