//! What a variant brings against another line with the same luck.

use crate::summary::Mean;

/// What a variant brings against a base: variant less base in each shift, averaged, with the paired t interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedDifference {
    /// Good packs a shift.
    pub good_packs: Mean,
    /// OEE, as a share.
    pub oee: Mean,
    /// A, as a share.
    pub availability: Mean,
    /// P, as a share; `None` where a shift has none.
    pub performance: Option<Mean>,
    /// Q, as a share; `None` where a shift has none.
    pub quality: Option<Mean>,
}
