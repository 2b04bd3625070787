//! The one table of units: what a quantity of a model file may be written in.

/// What kind of quantity a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Time; base unit second.
    Time,
    /// Pieces by time; base unit per minute. The key says which pieces.
    Rate,
    /// Mass; base unit gram.
    Mass,
    /// Length; base unit metre.
    Length,
    /// Speed; base unit metre per second.
    Speed,
    /// Share of a whole; base unit 1, so that "50 %" is 0.5.
    Share,
}

impl Kind {
    /// Its name within a sentence: "a time", "a rate".
    #[must_use]
    pub fn with_article(self) -> &'static str {
        match self {
            Self::Time => "a time",
            Self::Rate => "a rate",
            Self::Mass => "a mass",
            Self::Length => "a length",
            Self::Speed => "a speed",
            Self::Share => "a share",
        }
    }

    /// The unit that a hint proposes, as it follows the number ("5 s", "90/min").
    #[must_use]
    pub fn usual(self) -> &'static str {
        match self {
            Self::Time => " s",
            Self::Rate => "/min",
            Self::Mass => " g",
            Self::Length => " m",
            Self::Speed => " m/s",
            Self::Share => " %",
        }
    }
}

/// One row of the table: one of this unit is `numerator / denominator` of the base unit, exactly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As it is written.
    pub symbol: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Times this ...
    pub numerator: f64,
    /// ... over this is the base unit. A fraction, because 0.001 has no exact binary form and 1/1000 rounds once.
    pub denominator: f64,
    /// Its name in words.
    pub name: &'static str,
}

const fn unit(
    symbol: &'static str,
    kind: Kind,
    numerator: f64,
    denominator: f64,
    name: &'static str,
) -> Unit {
    Unit { symbol, kind, numerator, denominator, name }
}

/// All units. The pound and the ounce are the avoirdupois ones, the inch and the foot those of 1959, which fixed
/// them at exactly 0.45359237 kg and 25.4 mm (from memory).
pub const UNITS: &[Unit] = &[
    unit("ms", Kind::Time, 1.0, 1000.0, "milliseconds"),
    unit("s", Kind::Time, 1.0, 1.0, "seconds"),
    unit("min", Kind::Time, 60.0, 1.0, "minutes"),
    unit("h", Kind::Time, 3600.0, 1.0, "hours"),
    unit("/s", Kind::Rate, 60.0, 1.0, "a second"),
    unit("/min", Kind::Rate, 1.0, 1.0, "a minute"),
    unit("/h", Kind::Rate, 1.0, 60.0, "an hour"),
    unit("mg", Kind::Mass, 1.0, 1000.0, "milligrams"),
    unit("g", Kind::Mass, 1.0, 1.0, "grams"),
    unit("kg", Kind::Mass, 1000.0, 1.0, "kilograms"),
    unit("lb", Kind::Mass, 45_359_237.0, 100_000.0, "pounds"),
    unit("oz", Kind::Mass, 28_349_523_125.0, 1_000_000_000.0, "ounces"),
    unit("mm", Kind::Length, 1.0, 1000.0, "millimetres"),
    unit("cm", Kind::Length, 1.0, 100.0, "centimetres"),
    unit("m", Kind::Length, 1.0, 1.0, "metres"),
    unit("in", Kind::Length, 254.0, 10_000.0, "inches"),
    unit("ft", Kind::Length, 3048.0, 10_000.0, "feet"),
    unit("m/s", Kind::Speed, 1.0, 1.0, "metres a second"),
    unit("m/min", Kind::Speed, 1.0, 60.0, "metres a minute"),
    unit("%", Kind::Share, 1.0, 100.0, "per cent"),
];

/// The units of one kind, in the order of the table.
pub fn of_kind(kind: Kind) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |unit| unit.kind == kind)
}

/// The unit written so, if there is one. Case matters: "M" is no metre.
#[must_use]
pub fn by_symbol(symbol: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.symbol == symbol)
}

/// "ms, s, min or h".
#[must_use]
pub fn listed(kind: Kind) -> String {
    let symbols: Vec<&str> = of_kind(kind).map(|unit| unit.symbol).collect();
    match symbols.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symbols_are_unique() {
        for (place, unit) in UNITS.iter().enumerate() {
            assert!(UNITS[place + 1..].iter().all(|other| other.symbol != unit.symbol), "{}", unit.symbol);
        }
    }

    #[test]
    fn each_kind_has_its_usual_unit() {
        for kind in [Kind::Time, Kind::Rate, Kind::Mass, Kind::Length, Kind::Speed, Kind::Share] {
            let usual = by_symbol(kind.usual().trim_start()).expect("the usual unit is in the table");
            assert_eq!(usual.kind, kind);
        }
        assert_eq!(listed(Kind::Time), "ms, s, min or h");
    }
}
