//! The regimes that come with the program.

use super::{Regime, RegimeError};

const FILES: [&str; 5] = [
    include_str!("../../data/eu-76-211.json"),
    include_str!("../../data/nist-hb133.json"),
    include_str!("../../data/oiml-r87.json"),
    include_str!("../../data/nz-aqs.json"),
    include_str!("../../data/minimum-weight.json"),
];

/// Texts of the files that come with the program, as a start for a file of one's own.
#[must_use]
pub fn texts() -> &'static [&'static str] {
    &FILES
}

impl Regime {
    /// Reads a regime file.
    ///
    /// # Errors
    /// Text that is not of this form, or figures that make no table or plan; the message says where.
    pub fn parse(text: &str) -> Result<Self, RegimeError> {
        let regime: Self =
            serde_json::from_str(text).map_err(|error| RegimeError::not_of_the_form(&error))?;
        regime.check()?;
        Ok(regime)
    }

    /// All regimes that come with the program.
    #[must_use]
    pub fn all() -> Vec<Self> {
        FILES.iter().map(|text| Self::of(text)).collect()
    }

    /// The regime of that id among those that come with the program.
    #[must_use]
    pub fn built_in(id: &str) -> Option<Self> {
        Self::all().into_iter().find(|regime| regime.id == id)
    }

    /// EU average rules, directive 76/211/EEC.
    #[must_use]
    pub fn eu_76_211() -> Self {
        Self::of(FILES[0])
    }

    /// NIST Handbook 133, meat and poultry included.
    #[must_use]
    pub fn nist_hb133() -> Self {
        Self::of(FILES[1])
    }

    /// OIML R 87:2004.
    #[must_use]
    pub fn oiml_r87() -> Self {
        Self::of(FILES[2])
    }

    /// Average quantity system of the New Zealand type.
    #[must_use]
    pub fn nz_aqs() -> Self {
        Self::of(FILES[3])
    }

    /// Minimum weight: no pack below the nominal quantity.
    #[must_use]
    pub fn minimum_weight() -> Self {
        Self::of(FILES[4])
    }

    fn of(text: &str) -> Self {
        Self::parse(text).expect("a file that a test parses")
    }
}
