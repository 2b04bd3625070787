//! The seed: a number, or drawn from the machine's entropy when the user asks for a random one. Nowhere else does
//! chance from outside come in.

use std::hash::{BuildHasher, RandomState};
use std::str::FromStr;

/// Largest seed: every reader of JSON keeps whole numbers up to it (2^53 - 1).
pub(crate) const LARGEST: u64 = (1 << 53) - 1;

/// The seed as asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seed {
    /// This one.
    Fixed(u64),
    /// Any; it is printed.
    Random,
}

impl Seed {
    /// The seed to run with.
    pub(crate) fn settle(self) -> u64 {
        match self {
            Self::Fixed(seed) => seed,
            // Nine digits at most: a seed is read out and typed again.
            Self::Random => RandomState::new().hash_one("seed") % 999_999_999 + 1,
        }
    }
}

impl FromStr for Seed {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if text == "random" {
            return Ok(Self::Random);
        }
        match text.parse() {
            Ok(seed) if seed <= LARGEST => Ok(Self::Fixed(seed)),
            _ => Err(format!("give a whole number from 0 to {LARGEST}, or \"random\"")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_or_random() {
        assert_eq!("42".parse(), Ok(Seed::Fixed(42)));
        assert_eq!("random".parse(), Ok(Seed::Random));
        for wrong in ["", "-1", "1.5", "rnd", "9007199254740992"] {
            assert!(wrong.parse::<Seed>().is_err(), "{wrong}");
        }
        assert!((1..=LARGEST).contains(&Seed::Random.settle()));
    }
}
