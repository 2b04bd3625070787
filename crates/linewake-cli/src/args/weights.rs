//! Options of `linewake weights`.

use super::mass::{LabelMass, Lot, MassLimits, Masses, gain, lot, mass, masses, masses_or_none};
use super::value::{positive, share};
use crate::seed::Seed;
use clap::{Args, ValueHint};
use std::path::PathBuf;

/// Find the target weight: legal packs at the least giveaway.
///
/// For a regime of net contents (tables and sampling plans are data, with edition and clause): giveaway in g/pack, kg/shift
/// and money, rejects by limit, shares below T1 and T2, the probability that a lot passes, and the smallest target that
/// keeps what is promised; the same with another spread, feedback gain or reject limit. Then the weight feedback: which
/// gain helps, and from which on it hunts. Weights, checkweigher and prices come from the model. Nothing here is a
/// statement of conformity: local law governs, editions differ, and qualified people decide.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake weights models/alder-hill-mince.json
  linewake weights models/alder-hill-mince.json --regime nist-hb133 --table usda --plan category-b
  linewake weights models/alder-hill-mince.json --regime minimum-weight --rejected 3%
  linewake weights models/alder-hill-mince-drift.json --try-gain 0.1,0.2 --try-sd 3g,2g
  linewake weights --print-regime eu-76-211")]
pub(crate) struct Weights {
    /// The model file; "-" reads it from the standard input
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath, required_unless_present = "print_regime")]
    pub(crate) model: Option<PathBuf>,

    /// Tables and plans: eu-76-211, nist-hb133, oiml-r87, nz-aqs, minimum-weight, or a file of the same form
    #[arg(long, value_name = "REGIME", default_value = "eu-76-211")]
    pub(crate) regime: String,

    /// Table of the regime, such as usda (meat and poultry) of nist-hb133; without it, its first
    #[arg(long, value_name = "TABLE")]
    pub(crate) table: Option<String>,

    /// Sampling plan of the regime, such as category-b of nist-hb133; without it, its first
    #[arg(long, value_name = "PLAN")]
    pub(crate) plan: Option<String>,

    /// Labelled net weight, such as "400 g" or "1 lb" (a label in pounds is looked up in pounds); without it, the model's
    #[arg(long, value_name = "MASS", value_parser = mass)]
    pub(crate) nominal: Option<LabelMass>,

    /// A lot: a number of packs, or a time of output such as "1 h"; without it, the model's
    #[arg(long, allow_negative_numbers = true, value_name = "LOT", value_parser = lot)]
    pub(crate) lot: Option<Lot>,

    /// Allowance for loss of moisture, as a share of the labelled weight, where the regime has one
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "0%", value_parser = share)]
    pub(crate) moisture: f64,

    /// At most this share of the packs that leave is below T1; without it, what the regime's planning rule says
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", value_parser = share)]
    pub(crate) below_t1: Option<f64>,

    /// At most this share of the packs that leave is below T2; without it, what the regime's planning rule says
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", value_parser = share)]
    pub(crate) below_t2: Option<f64>,

    /// A lot passes its test with at least this probability; without it 99%, where the regime has a plan
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", value_parser = share)]
    pub(crate) lot_passes: Option<f64>,

    /// At most this share of packs is rejected; 100% asks for nothing
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "1%", value_parser = share)]
    pub(crate) rejected: f64,

    /// Try these standard deviations from pack to pack, such as "3 g,2 g"
    #[arg(long, value_name = "LIST", value_parser = masses)]
    pub(crate) try_sd: Option<Masses>,

    /// Try feedback with these gains, for a pack; 0 is none. A pack of several portions has the gain of a portion times
    /// their number
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = gain)]
    pub(crate) try_gain: Option<Vec<f64>>,

    /// Try these lower reject limits, such as "391 g,none"
    #[arg(long, value_name = "LIST", value_parser = masses_or_none)]
    pub(crate) try_low: Option<MassLimits>,

    /// Try these upper reject limits, such as "420 g,none"
    #[arg(long, value_name = "LIST", value_parser = masses_or_none)]
    pub(crate) try_high: Option<MassLimits>,

    /// For a line without weight feedback: weighed packs between two corrections of the one that it could have; without it,
    /// 50
    #[arg(long, allow_negative_numbers = true, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub(crate) every: Option<u32>,

    /// Price of a kilogram of product; without it, the model's
    #[arg(long, allow_negative_numbers = true, value_name = "PRICE", value_parser = positive)]
    pub(crate) price_per_kg: Option<f64>,

    /// What a rejected pack costs; without it, the model's value of a pack
    #[arg(long, allow_negative_numbers = true, value_name = "PRICE", value_parser = positive)]
    pub(crate) pack_value: Option<f64>,

    /// Currency of the prices; without it, the model's
    #[arg(long, value_name = "NAME")]
    pub(crate) currency: Option<String>,

    /// Packs that leave in a shift; without it, the figure of linewake check without help from buffers
    #[arg(long, allow_negative_numbers = true, value_name = "N", value_parser = positive)]
    pub(crate) packs_per_shift: Option<f64>,

    /// Shifts in a year; without it, the model's shifts a day times its days a year
    #[arg(long, allow_negative_numbers = true, value_name = "N", value_parser = positive)]
    pub(crate) shifts_per_year: Option<f64>,

    /// Lots simulated at each target
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(100..=1_000_000))]
    pub(crate) tests: u64,

    /// Seed of all chance: a whole number, or "random" (the seed taken is printed)
    #[arg(
        long,
        allow_negative_numbers = true,
        value_name = "SEED",
        default_value = "1",
        env = "LINEWAKE_SEED",
        hide_env_values = true
    )]
    pub(crate) seed: Seed,

    /// Folder of the results; without it, linewake-out/ and the name of the model file with "-weights"
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,

    /// Print that regime as a file, as a start for a file of one's own
    #[arg(long, value_name = "REGIME", conflicts_with = "model")]
    pub(crate) print_regime: Option<String>,
}
