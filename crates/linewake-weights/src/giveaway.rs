//! What is given away at a target, and what is rejected for it.

use crate::packs::{Gate, Leaving, Packs, PacksError};

/// What a target costs for each pack. Mass in grams, shares of all packs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Giveaway {
    /// Mean true weight of the packs that leave, less the nominal quantity.
    pub per_pack_g: f64,
    /// Share rejected as too light.
    pub rejected_low: f64,
    /// Share rejected as too heavy.
    pub rejected_high: f64,
    /// Mean true weight of rejected packs; 0 where nothing is rejected.
    pub rejected_mean_g: f64,
}

/// What it costs over a number of packs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GiveawayTotal {
    /// Product given away in packs that leave, in kilograms.
    pub given_away_kg: f64,
    /// Product in rejected packs, in kilograms; what of it can be used again is not known here.
    pub rejected_kg: f64,
    /// Money given away, in the currency of the price.
    pub money: f64,
}

impl Giveaway {
    /// Of packs at a weigher, against a nominal quantity.
    ///
    /// # Errors
    /// Figures that are no packs or no weigher, or a weigher that rejects everything.
    pub fn of(packs: &Packs, gate: &Gate, nominal_g: f64) -> Result<Self, PacksError> {
        let leaving = Leaving::of(packs, gate)?;
        let rejected = leaving.rejected_low + leaving.rejected_high;
        // All packs together have the mean before the weigher.
        let rejected_mean_g = if rejected > 1e-12 {
            (packs.mean_g - leaving.passed * leaving.leaving_mean_g) / rejected
        } else {
            0.0
        };
        Ok(Self {
            per_pack_g: leaving.leaving_mean_g - nominal_g,
            rejected_low: leaving.rejected_low,
            rejected_high: leaving.rejected_high,
            rejected_mean_g,
        })
    }

    /// Over `leaving` packs that leave (a shift's, a year's), at a price of product for each kilogram.
    #[must_use]
    pub fn over(&self, leaving: f64, price_per_kg: f64) -> GiveawayTotal {
        let rejected = self.rejected_low + self.rejected_high;
        let given_away_kg = self.per_pack_g * leaving / 1000.0;
        GiveawayTotal {
            given_away_kg,
            rejected_kg: self.rejected_mean_g * leaving * rejected / (1.0 - rejected) / 1000.0,
            money: given_away_kg * price_per_kg,
        }
    }
}
