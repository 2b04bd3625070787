//! One compared value: what is published, what we get, and whether the two agree.

/// A value of a reference table beside ours: a row of the page.
///
/// Families other than the simulated lines write `..Row::default()` for what they do not have.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    /// Letter and title of the family, as in "A. Serial lines with exponential service".
    pub family: &'static str,
    /// Id of the check, as in "A05".
    pub id: String,
    /// What is modelled, in a few words.
    pub model: String,
    /// What is compared.
    pub quantity: String,
    /// Where the published value comes from; says so where it is from memory.
    pub source: String,
    /// The published (or exactly computed) value.
    pub published: f64,
    /// Ours; NaN where there is none.
    pub ours: f64,
    /// Half the width of the 95 % interval of ours; `None` where ours is computed and not simulated.
    pub half_width: Option<f64>,
    /// Difference over the combined standard error; `None` where nothing is simulated.
    pub standardised: Option<f64>,
    /// The tolerance, in the words of the reference table.
    pub tolerance: String,
    /// Whether the two agree.
    pub verdict: Verdict,
    /// Anything a reader must know: a second run, a convention, why there is no value.
    pub note: String,
}

impl Default for Row {
    fn default() -> Self {
        Self {
            family: "",
            id: String::new(),
            model: String::new(),
            quantity: String::new(),
            source: String::new(),
            published: f64::NAN,
            ours: f64::NAN,
            half_width: None,
            standardised: None,
            tolerance: String::new(),
            verdict: Verdict::Differs,
            note: String::new(),
        }
    }
}

/// The outcome of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// Within the tolerance and, where simulated, within four combined standard errors.
    Agrees,
    /// Not so: the page turns red.
    Differs,
    /// Our model has no such line; the note says why.
    NotExpressible,
}

impl Verdict {
    /// Its words on the page.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Differs => "**DIFFERS**",
            Self::NotExpressible => "not expressible",
        }
    }
}

/// How long the runs are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RunSet {
    /// For every change.
    Short,
    /// On demand.
    Full,
}

impl RunSet {
    /// The set that the environment asks for: `LINEWAKE_THEORY=full`, else the short one.
    pub(crate) fn asked_for() -> Self {
        match std::env::var("LINEWAKE_THEORY") {
            Ok(word) if word == "full" => Self::Full,
            _ => Self::Short,
        }
    }
}
