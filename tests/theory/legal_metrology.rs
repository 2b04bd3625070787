//! Place of the tables of legal metrology: sampling plans and limits of EU directive 76/211/EEC and of NIST Handbook
//! 133. There are no rows yet; the page says so.

use crate::row::{Row, RunSet};

/// The rows of the page.
pub(crate) fn rows(_set: RunSet) -> Vec<Row> {
    Vec::new()
}
