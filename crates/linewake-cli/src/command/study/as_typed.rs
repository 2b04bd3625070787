//! A question in the words in which it is typed, so that the same results can be made again.

use crate::args::PlannedStops;
use crate::args::study::{Common, Measure, Question, Runs, Shape, Start};
use crate::args::value::{Vary, WarmUp};
use crate::report_folder::quoted;
use crate::seed::Seed;
use linewake_study::journal::Part;
use std::path::{Path, PathBuf};

impl Question {
    /// What all studies ask.
    pub(crate) fn common(&self) -> &Common {
        match self {
            Self::Buffers(it) => &it.common,
            Self::Split(it) => &it.common,
            Self::Losses(it) => &it.common,
            Self::Compare(it) => &it.common,
            Self::Sensitivity(it) => &it.common,
            Self::Acceptance(it) => &it.common,
            Self::Crew(it) => &it.common,
            Self::Order(it) => &it.common,
            Self::Scope(it) => &it.common,
            Self::Versus(it) => &it.common,
        }
    }

    /// What all studies ask, to be changed.
    pub(crate) fn common_mut(&mut self) -> &mut Common {
        match self {
            Self::Buffers(it) => &mut it.common,
            Self::Split(it) => &mut it.common,
            Self::Losses(it) => &mut it.common,
            Self::Compare(it) => &mut it.common,
            Self::Sensitivity(it) => &mut it.common,
            Self::Acceptance(it) => &mut it.common,
            Self::Crew(it) => &mut it.common,
            Self::Order(it) => &mut it.common,
            Self::Scope(it) => &mut it.common,
            Self::Versus(it) => &mut it.common,
        }
    }

    /// How long a run is, and how it begins; `None` where a log says it.
    pub(crate) fn shape(&self) -> Option<&Shape> {
        match self {
            Self::Buffers(it) => Some(&it.shape),
            Self::Split(it) => Some(&it.shape),
            Self::Losses(it) => Some(&it.shape),
            Self::Compare(it) => Some(&it.shape),
            Self::Sensitivity(it) => Some(&it.shape),
            Self::Acceptance(it) => Some(&it.shape),
            Self::Crew(it) => Some(&it.shape),
            Self::Order(it) => Some(&it.shape),
            Self::Scope(it) => Some(&it.shape),
            Self::Versus(_) => None,
        }
    }

    /// How many runs; `None` of a study that decides on the way.
    pub(crate) fn runs(&self) -> Option<&Runs> {
        match self {
            Self::Buffers(it) => Some(&it.runs),
            Self::Split(_) => None,
            Self::Losses(it) => Some(&it.runs),
            Self::Compare(it) => Some(&it.runs),
            Self::Sensitivity(it) => Some(&it.runs),
            Self::Acceptance(it) => Some(&it.runs),
            Self::Crew(it) => Some(&it.runs),
            Self::Order(it) => Some(&it.runs),
            Self::Scope(it) => Some(&it.runs),
            Self::Versus(_) => None,
        }
    }

    /// The part that is asked for.
    pub(crate) fn part(&self) -> Part {
        self.runs().and_then(|runs| runs.part).unwrap_or(Part::WHOLE)
    }

    /// The model files, as typed.
    pub(crate) fn models(&self) -> Vec<&Path> {
        match self {
            Self::Buffers(it) => vec![&it.model],
            Self::Split(it) => vec![&it.model],
            Self::Losses(it) => vec![&it.model],
            Self::Compare(it) => it.models.iter().map(AsRef::as_ref).collect(),
            Self::Sensitivity(it) => vec![&it.model],
            Self::Acceptance(it) => vec![&it.model],
            Self::Crew(it) => vec![&it.model],
            Self::Order(it) => vec![&it.model],
            Self::Scope(it) => vec![&it.model],
            Self::Versus(it) => vec![&it.model],
        }
    }

    /// Its word on the command line.
    pub(crate) fn word(&self) -> &'static str {
        match self {
            Self::Buffers(_) => "buffers",
            Self::Split(_) => "split",
            Self::Losses(_) => "losses",
            Self::Compare(_) => "compare",
            Self::Sensitivity(_) => "sensitivity",
            Self::Acceptance(_) => "acceptance",
            Self::Crew(_) => "crew",
            Self::Order(_) => "order",
            Self::Scope(_) => "scope",
            Self::Versus(_) => "versus",
        }
    }

    /// Its options, those that change no result left out.
    pub(crate) fn options(&self) -> Vec<String> {
        let mut words = Words(Vec::new());
        self.own_options(&mut words);
        if let Some(runs) = self.runs() {
            words.option("--shifts", runs.shifts);
        }
        let common = self.common();
        if let Seed::Fixed(seed) = common.seed {
            words.option("--seed", seed);
        }
        if let Some(shape) = self.shape() {
            words.perhaps("--hours", shape.hours);
            words.option("--start", if shape.start == Start::LongRun { "long-run" } else { "new-rolls" });
            match shape.warm_up {
                WarmUp::Fixed(seconds) => words.option("--warm-up", format!("{seconds} s")),
                WarmUp::Auto => words.option("--warm-up", "auto"),
            }
        }
        words.option("--confidence", common.confidence);
        match common.planned_stops {
            PlannedStops::AsModelled => {}
            PlannedStops::In => words.option("--planned-stops", "in"),
            PlannedStops::Out => words.option("--planned-stops", "out"),
        }
        words.0
    }

    fn own_options(&self, words: &mut Words) {
        match self {
            Self::Buffers(it) => {
                words.vary(&it.vary);
                words.flag("--one-at-a-time", it.one_at_a_time);
                words.option("--share", it.share);
                words.perhaps("--price-per-place", it.price_per_place);
                words.perhaps("--value-per-pack", it.value_per_pack);
                words.perhaps("--runs-per-year", it.runs_per_year);
            }
            Self::Split(it) => {
                words.each("--buffer", &it.buffer);
                words.perhaps("--total", it.total);
                words.option("--step", it.step);
                words.option("--least", it.least);
                words.option("--probability", it.probability);
                words.option("--indifference", it.indifference);
                words.option("--first-shifts", it.first_shifts);
                words.option("--most-shifts", it.most_shifts);
            }
            Self::Losses(it) => {
                words.each("--station", &it.station);
                words.flag("--without-speed-limits", it.without_speed_limits);
            }
            Self::Compare(it) => words.vary(&it.vary),
            Self::Sensitivity(it) => {
                words.option("--relative", it.relative);
                words.each("--only", &it.only);
                words.flag("--stated-only", it.stated_only);
            }
            Self::Acceptance(it) => {
                let measure = match it.measure {
                    Measure::Oee => "oee",
                    Measure::GoodPacks => "good-packs",
                    Measure::PacksPerHour => "packs-per-hour",
                };
                words.option("--measure", measure);
                words.perhaps("--limit", it.limit);
                words.option("--producer-risk", it.producer_risk);
                words.option("--consumer-risk", it.consumer_risk);
                words.option("--degraded", it.degraded);
                words.list("--factors", &it.factors);
                words.list("--lengths", &it.lengths);
                words.each("--rule", &it.rule);
            }
            Self::Crew(it) => {
                words.list("--operators", &it.operators);
                words.list("--response", &it.response);
            }
            Self::Order(it) => {
                words.option("--packs", it.packs);
                words.option("--most-shifts", it.most_shifts);
            }
            Self::Scope(it) => words.option("--probability", it.probability),
            Self::Versus(it) => {
                words.perhaps("--mapping", it.mapping.as_ref().map(|path| path.display()));
                let counts: Vec<String> = it.counts.iter().map(|path| path.display().to_string()).collect();
                words.each("--counts", &counts);
                words.option("--shifts", it.shifts);
                words.option("--explaining", it.explaining);
                words.option("--warm-up", format!("{} s", it.warm_up));
            }
        }
    }

    /// The command that makes the same results again.
    pub(crate) fn command(&self) -> String {
        let models = self.models().into_iter().map(|model| model.display().to_string());
        let parted = |word: String| match word.split_once('=') {
            Some((name, value)) if !value.starts_with('-') => format!("{name} {}", quoted(value)),
            _ => quoted(&word),
        };
        let (command, logs): (&str, &[PathBuf]) = match self {
            Self::Versus(it) => ("linewake", &it.logs),
            _ => ("linewake study", &[]),
        };
        let files = models.chain(logs.iter().map(|log| log.display().to_string()));
        let words: Vec<String> =
            files.map(|file| quoted(&file)).chain(self.options().into_iter().map(parted)).collect();
        format!("{command} {} {}", self.word(), words.join(" "))
    }
}

/// Options as words. A value is tied to its option, so that it may begin with a hyphen.
struct Words(Vec<String>);

impl Words {
    fn option(&mut self, name: &str, value: impl ToString) {
        self.0.push(format!("{name}={}", value.to_string()));
    }

    fn perhaps<T: ToString>(&mut self, name: &str, value: Option<T>) {
        if let Some(value) = value {
            self.option(name, value);
        }
    }

    fn flag(&mut self, name: &str, is_set: bool) {
        if is_set {
            self.0.push(name.to_owned());
        }
    }

    fn each(&mut self, name: &str, values: &[String]) {
        values.iter().for_each(|value| self.option(name, value));
    }

    fn list<T: ToString>(&mut self, name: &str, values: &[T]) {
        let values: Vec<String> = values.iter().map(ToString::to_string).collect();
        self.option(name, values.join(","));
    }

    fn vary(&mut self, all: &[Vary]) {
        for one in all {
            self.option("--vary", format!("{}={}", one.path, one.values));
        }
    }
}
