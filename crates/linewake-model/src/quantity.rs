//! Quantities as people write them, "90/min", "405 g", "2 h": the one parser and the way back to text.

use crate::units::{self, Kind, Unit};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// A number and its unit, as typed. `D` says what it measures, so that a mass cannot stand for a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity<D> {
    number: f64,
    unit: &'static Unit,
    dimension: PhantomData<D>,
}

/// Marks what a [`Quantity`] measures.
pub trait Dimension: Copy + fmt::Debug + PartialEq + 'static {
    /// The kind of unit that is right.
    const KIND: Kind;
    /// Its name in the schema.
    const NAME: &'static str;
    /// Examples for the schema and the documentation.
    const EXAMPLES: &'static [&'static str];
}

macro_rules! dimensions {
    ($($name:ident, $examples:expr, $meaning:literal;)*) => {$(
        #[doc = $meaning]
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub struct $name;
        impl Dimension for $name {
            const KIND: Kind = Kind::$name;
            const NAME: &'static str = stringify!($name);
            const EXAMPLES: &'static [&'static str] = &$examples;
        }
    )*};
}

dimensions! {
    Time, ["4.6 s", "350 ms", "15 min", "8 h"], "A time; in seconds as a value.";
    Rate, ["104/min", "6240/h"], "Pieces by time; per minute as a value.";
    Mass, ["405 g", "300 kg"], "A mass; in grams as a value.";
    Length, ["6 m", "320 mm"], "A length; in metres as a value.";
    Speed, ["0.6 m/s", "36 m/min"], "A speed; in metres per second as a value.";
    Share, ["12.5 %"], "A share of a whole; 0.5 is half.";
}

/// Why a text is no quantity of the kind that is due; `hint` says what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub hint: String,
}

impl<D: Dimension> Quantity<D> {
    /// Reads a number with its unit; blanks between the two are allowed, and around them.
    ///
    /// # Errors
    /// If there is no number, the number is not finite, the unit is missing, unknown, or of another kind.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let (number, unit) = parse_as(text, D::KIND)?;
        Ok(Self { number, unit, dimension: PhantomData })
    }

    /// `number` in the base unit (s, per min, g, m, m/s).
    ///
    /// # Panics
    /// Never: each kind has a unit of factor 1, or (a share) one that is divided out.
    #[must_use]
    pub fn in_base(value: f64) -> Self {
        let unit = units::by_symbol(D::KIND.usual().trim_start()).expect("each kind has a usual unit");
        Self { number: value / unit.numerator * unit.denominator, unit, dimension: PhantomData }
    }

    /// Stands for a quantity that could not be read and was reported; every comparison with it is false.
    pub(crate) fn unreadable() -> Self {
        Self::in_base(f64::NAN)
    }

    /// Value in the base unit: seconds, per minute, grams, metres, metres per second, share of 1.
    #[must_use]
    pub fn value(self) -> f64 {
        self.number * self.unit.numerator / self.unit.denominator
    }
}

impl<D> fmt::Display for Quantity<D> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gap = if self.unit.symbol.starts_with('/') { "" } else { " " };
        write!(f, "{}{gap}{}", self.number, self.unit.symbol)
    }
}

/// Regular expression of a quantity of that kind, for the schema.
pub(crate) fn pattern(kind: Kind) -> String {
    let symbols: Vec<&str> = units::of_kind(kind).map(|unit| unit.symbol).collect();
    format!(r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*({})\s*$", symbols.join("|"))
}

impl<D: Dimension> JsonSchema for Quantity<D> {
    fn schema_name() -> Cow<'static, str> {
        D::NAME.into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let (kind, examples) = (D::KIND, D::EXAMPLES);
        json_schema!({
            "type": "string",
            "description": format!("{} with its unit: {}", kind.with_article(), units::listed(kind)),
            "pattern": pattern(kind),
            "examples": examples
        })
    }
}

fn parse_as(text: &str, kind: Kind) -> Result<(f64, &'static Unit), QuantityError> {
    let error = |what: String, hint: String| Err(QuantityError { what, hint });
    let trimmed = text.trim();
    let (digits, symbol) = trimmed.split_at(number_length(trimmed));
    let symbol = symbol.trim_start();
    let units = units::listed(kind);
    let example = format!("{} as a number and its unit ({units})", kind.with_article());
    if let Some((whole, rest)) = trimmed.split_once(',')
        && whole.chars().all(|c| c.is_ascii_digit())
        && rest.starts_with(|c: char| c.is_ascii_digit())
    {
        return error(
            format!("\"{text}\" has a comma in its number"),
            format!("write a decimal point and no thousands separator, as in \"{whole}.{rest}\""),
        );
    }
    let Ok(number) = digits.parse::<f64>() else {
        return error(format!("\"{text}\" does not begin with a number"), format!("write {example}"));
    };
    if !number.is_finite() {
        return error(format!("\"{text}\" is too large"), format!("write {example} that exists"));
    }
    if symbol.is_empty() {
        return error(
            format!("\"{text}\" has no unit"),
            format!("write \"{digits}{}\", or another of {units}", kind.usual()),
        );
    }
    match units::by_symbol(symbol) {
        Some(unit) if unit.kind == kind => Ok((number, unit)),
        Some(unit) => error(
            format!("\"{text}\" is {}, and {} is due here", unit.kind.with_article(), kind.with_article()),
            format!("write {example}"),
        ),
        None => error(format!("\"{symbol}\" is no unit of {}", kind.with_article()), format!("use {units}")),
    }
}

/// Length of the decimal number at the front of `text`: sign, digits, point, exponent.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let sign = |at: usize| at + usize::from(matches!(bytes.get(at), Some(b'-' | b'+')));
    let mut end = digits(sign(0));
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let exponent = digits(sign(end + 1));
        if bytes.get(exponent - 1).is_some_and(u8::is_ascii_digit) {
            end = exponent;
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn time(text: &str) -> f64 {
        Quantity::<Time>::parse(text).expect(text).value()
    }

    #[test]
    fn reads_what_people_write() {
        assert_eq!(time("350 ms").to_bits(), 0.35_f64.to_bits());
        assert_eq!(time("2h").to_bits(), 7200.0_f64.to_bits());
        assert_eq!(time(" 4.6  s ").to_bits(), 4.6_f64.to_bits());
        assert_eq!(time("1e2 s").to_bits(), 100.0_f64.to_bits());
        let rate = Quantity::<Rate>::parse("6240/h").expect("a rate");
        assert_eq!(rate.value().to_bits(), 104.0_f64.to_bits());
        assert_eq!(Quantity::<Rate>::parse("2 /s").expect("a rate").value().to_bits(), 120.0_f64.to_bits());
        assert_eq!(
            Quantity::<Mass>::parse("1 lb").expect("a mass").value().to_bits(),
            453.592_37_f64.to_bits()
        );
        assert_eq!(Quantity::<Mass>::parse("-6 g").expect("a mass").value().to_bits(), (-6.0_f64).to_bits());
    }

    #[test]
    fn prints_back_in_the_unit_it_was_written_in() {
        for text in ["350 ms", "2 h", "104/min", "0.6 m/s", "12.5 %", "-6 g"] {
            let printed = match text {
                "104/min" => Quantity::<Rate>::parse(text).map(|quantity| quantity.to_string()),
                "0.6 m/s" => Quantity::<Speed>::parse(text).map(|quantity| quantity.to_string()),
                "12.5 %" => Quantity::<Share>::parse(text).map(|quantity| quantity.to_string()),
                "-6 g" => Quantity::<Mass>::parse(text).map(|quantity| quantity.to_string()),
                _ => Quantity::<Time>::parse(text).map(|quantity| quantity.to_string()),
            };
            assert_eq!(printed.as_deref(), Ok(text));
        }
    }

    #[test]
    fn says_what_would_be_right() {
        let error = |text| Quantity::<Time>::parse(text).expect_err(text);
        assert_eq!(error("5").hint, "write \"5 s\", or another of ms, s, min or h");
        assert!(error("4,6 s").hint.contains("\"4.6 s\""));
        assert_eq!(error("5 kg").what, "\"5 kg\" is a mass, and a time is due here");
        assert_eq!(error("5 sec").what, "\"sec\" is no unit of a time");
        for text in ["", "s", "NaN s", "inf s", "-", "e5 s", "."] {
            assert!(error(text).what.contains("does not begin with a number"), "{text}");
        }
        assert!(error("1e999 s").what.contains("too large"));
    }
}
