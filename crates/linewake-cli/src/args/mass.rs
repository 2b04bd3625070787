//! Values of options that are masses, or lists of them.

use linewake_model::quantity::{Mass, Quantity, Time};

/// A labelled weight: in pounds where the label is in pounds or ounces.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LabelMass {
    /// As typed.
    pub(crate) typed: String,
    /// In grams.
    pub(crate) grams: f64,
    /// The label is in pounds or ounces.
    pub(crate) is_in_pounds: bool,
}

/// Masses in grams.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Masses {
    /// As typed.
    pub(crate) typed: String,
    /// In grams.
    pub(crate) grams: Vec<f64>,
}

/// Limits in grams; `None` is no limit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct MassLimits {
    /// As typed.
    pub(crate) typed: String,
    /// In grams.
    pub(crate) grams: Vec<Option<f64>>,
}

/// A lot.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Lot {
    /// So many packs.
    Packs(u64),
    /// The output of so much time: seconds, and as typed.
    Time(f64, String),
}

pub(super) fn mass(text: &str) -> Result<LabelMass, String> {
    let is_in_pounds = ["lb", "oz"].iter().any(|unit| text.trim_end().ends_with(unit));
    Ok(LabelMass { typed: text.trim().to_owned(), grams: grams(text)?, is_in_pounds })
}

pub(super) fn masses(text: &str) -> Result<Masses, String> {
    let grams = text.split(',').map(grams).collect::<Result<_, _>>()?;
    Ok(Masses { typed: text.trim().to_owned(), grams })
}

pub(super) fn masses_or_none(text: &str) -> Result<MassLimits, String> {
    let one = |part: &str| if part.trim() == "none" { Ok(None) } else { grams(part).map(Some) };
    let grams = text.split(',').map(one).collect::<Result<_, _>>()?;
    Ok(MassLimits { typed: text.trim().to_owned(), grams })
}

pub(super) fn lot(text: &str) -> Result<Lot, String> {
    if let Ok(packs) = text.trim().parse::<u64>() {
        return if packs > 0 { Ok(Lot::Packs(packs)) } else { Err("a lot has at least one pack".to_owned()) };
    }
    match Quantity::<Time>::parse(text) {
        Ok(time) if time.value() > 0.0 => Ok(Lot::Time(time.value(), text.trim().to_owned())),
        _ => Err("give a whole number of packs, or a time of output such as \"1 h\"".to_owned()),
    }
}

/// A gain: a number from 0 to 10.
pub(super) fn gain(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(gain) if (0.0..=10.0).contains(&gain) => Ok(gain),
        _ => Err("give gains from 0 to 10, such as 0.1,0.2".to_owned()),
    }
}

fn grams(text: &str) -> Result<f64, String> {
    let value =
        Quantity::<Mass>::parse(text).map_err(|error| format!("{}; {}", error.what, error.hint))?.value();
    if value > 0.0 { Ok(value) } else { Err("give a mass above 0".to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_have_units_and_lists_have_commas() {
        assert_eq!(masses("3 g, 2.5 g").map(|it| it.grams), Ok(vec![3.0, 2.5]));
        assert_eq!(masses_or_none("393 g,none").map(|it| it.grams), Ok(vec![Some(393.0), None]));
        let pound = mass("1 lb").expect("a mass");
        assert!(pound.is_in_pounds && (pound.grams - 453.592_37).abs() < 1e-9);
        assert!(!mass("400 g").expect("a mass").is_in_pounds);
        for wrong in ["", "3", "3 s", "-1 g", "0 g", "3 g,,2 g"] {
            assert!(masses(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_lot_is_a_count_or_a_time() {
        assert_eq!(lot("6240"), Ok(Lot::Packs(6240)));
        assert_eq!(lot("1 h"), Ok(Lot::Time(3600.0, "1 h".to_owned())));
        assert!(lot("0").is_err() && lot("-3").is_err() && lot("1 kg").is_err() && gain("-1").is_err());
    }
}
