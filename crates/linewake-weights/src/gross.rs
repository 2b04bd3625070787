//! Tare and allowance for moisture: from the label to the gross weight that a full package has.
//!
//! *Source*: NIST Handbook 133 (2026), chapter 2, section 2.3.8 (read). Other regimes have other rules.

/// The allowance in grams for a product that may lose `percent` of its labelled quantity.
///
/// Not rounded; the handbook's example rounds to the scale division ([`to_division`]).
#[must_use]
pub fn moisture_allowance_g(label_g: f64, percent: f64) -> f64 {
    label_g * percent / 100.0
}

/// The nearest whole number of scale divisions; half a division goes up. The value itself for a division that is not
/// above 0.
#[must_use]
pub fn to_division(value_g: f64, division_g: f64) -> f64 {
    if division_g > 0.0 { libm::floor(value_g / division_g + 0.5) * division_g } else { value_g }
}

/// Gross weight of a package that holds just the labelled quantity.
///
/// ```
/// use linewake_weights::gross::{adjusted_nominal_gross_g, moisture_allowance_g, nominal_gross_g, to_division};
/// let allowance_g = to_division(moisture_allowance_g(907.0, 3.0), 1.0);
/// assert_eq!(allowance_g, 27.0);
/// assert_eq!(nominal_gross_g(907.0, 14.0), 921.0);
/// assert_eq!(adjusted_nominal_gross_g(907.0, 14.0, allowance_g), 894.0);
/// ```
#[must_use]
pub fn nominal_gross_g(label_g: f64, tare_g: f64) -> f64 {
    label_g + tare_g
}

/// The same less the allowance for moisture.
#[must_use]
pub fn adjusted_nominal_gross_g(label_g: f64, tare_g: f64, allowance_g: f64) -> f64 {
    nominal_gross_g(label_g, tare_g) - allowance_g
}

/// The sample error limit with an allowance: how far the mean may lie below the label.
///
/// In any unit, so long as both have the same.
#[must_use]
pub fn adjusted_sample_error_limit(sample_error_limit: f64, allowance: f64) -> f64 {
    sample_error_limit + allowance
}

/// The maximum allowable variation with an allowance; in any unit, so long as both have the same.
#[must_use]
pub fn adjusted_variation(maximum_allowable_variation: f64, allowance: f64) -> f64 {
    maximum_allowable_variation + allowance
}
