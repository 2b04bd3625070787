//! How masses, small shares and money are shown on the page of weights.

use crate::number;
use crate::table::{Cell, Table};

/// A mass to a tenth of a gram: "403.2 g".
pub(super) fn grams(value: f64) -> String {
    format!("{}\u{a0}g", number::fixed(value, 1))
}

/// A mass to a hundredth of a gram, zeros at the end left away.
pub(super) fn fine_grams(value: f64) -> String {
    format!("{}\u{a0}g", number::plain((value * 100.0).round() / 100.0))
}

/// A share in percent without its sign, with three significant digits; the smallest are told apart from none.
pub(super) fn small_percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent <= 0.0 {
        return "0".to_owned();
    }
    if percent < 0.0001 {
        return "<0.0001".to_owned();
    }
    let digits = (2.0 - percent.log10().floor()).clamp(0.0, 6.0) as usize;
    number::fixed(percent, digits)
}

/// The same with its sign.
pub(super) fn small_share(share: f64) -> String {
    format!("{}\u{a0}%", small_percent(share))
}

/// Money to three significant digits, without its currency.
pub(super) fn money(value: f64) -> String {
    if value.abs() < 0.5 {
        return "0".to_owned();
    }
    let step = 10_f64.powf((value.abs().log10().floor() - 2.0).max(0.0));
    number::fixed((value / step).round() * step, 0)
}

/// The same with its currency: "EUR 242,000".
pub(super) fn priced(currency: &str, value: f64) -> String {
    format!("{currency}\u{a0}{}", money(value.abs()))
}

/// A cell of a mass with so many decimals.
pub(super) fn mass_cell(value: f64, decimals: usize) -> Cell {
    Cell::figure(value, number::fixed(value, decimals))
}

/// A cell of a share; in percent on the page.
pub(super) fn share_cell(share: f64) -> Cell {
    Cell::figure(share, small_percent(share))
}

/// The probability that a lot passes, in percent without its sign: one decimal.
pub(super) fn probability(share: f64) -> String {
    if share > 0.0 && share < 0.0005 { "<0.1".to_owned() } else { number::percent_figure(share) }
}

/// A cell of such a probability.
pub(super) fn probability_cell(share: f64) -> Cell {
    Cell::figure(share, probability(share))
}

/// A cell whose row has its own unit and its own decimals: a number in files, words on the page.
pub(super) fn own_cell(value: Option<f64>, show: impl Fn(f64) -> String) -> Cell {
    value.map_or(Cell::Missing, |value| Cell::Words { raw: value.to_string(), shown: show(value) })
}

/// A cell of a share that may be missing.
pub(super) fn perhaps_share(share: Option<f64>) -> Cell {
    Cell::maybe(share, small_percent)
}

/// A cell of money that may be missing.
pub(super) fn perhaps_money(value: Option<f64>) -> Cell {
    Cell::maybe(value, money)
}

/// Whether a terminal gets it: the numbers behind curves stay in the files.
pub(super) fn is_in_text(table: &Table) -> bool {
    !matches!(table.name.as_str(), "curve" | "lots" | "gains" | "weigher-curve" | "hunting")
        && !table.rows.is_empty()
}
