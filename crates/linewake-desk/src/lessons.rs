//! The lessons: data files that name a line, a change of it, a question and a reason. What a lesson finds is simulated.

use linewake_engine::plan::{InjectedStop, RunPlan};
use linewake_kpi::study::trial::TrialResult;
use linewake_kpi::summary::StartKind;
use linewake_model::line::Line;
use linewake_model::quantity::{Quantity, Time};
use linewake_model::time::{Moment, Span};
use linewake_study::plan::{BaseModel, Conditions};
use linewake_study::replicate::{ReplicateError, Workers};
use linewake_study::trial::{Measure, Side, trial};
use serde::Deserialize;

/// The lessons, in their order.
const LESSONS: &[&str] = &[
    include_str!("../lessons/1-absorbed-stop.json"),
    include_str!("../lessons/2-full-buffer.json"),
    include_str!("../lessons/3-starved-or-blocked.json"),
    include_str!("../lessons/4-faster-beside.json"),
    include_str!("../lessons/5-two-that-meet.json"),
    include_str!("../lessons/6-one-operator-fewer.json"),
    include_str!("../lessons/7-wrong-place.json"),
    include_str!("../lessons/8-reject-burst.json"),
    include_str!("../lessons/9-film-change.json"),
];

/// The lines that they are about, all of them invented.
const LINES: &[(&str, &str)] = &[
    ("quiet", include_str!("../lessons/lines/quiet.json")),
    ("balanced", include_str!("../lessons/lines/balanced.json")),
    ("crewed", include_str!("../lessons/lines/crewed.json")),
    ("shaky-feeder", include_str!("../lessons/lines/shaky-feeder.json")),
    ("trays", include_str!("../lessons/lines/trays.json")),
];

/// A lesson as its file has it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Lesson {
    pub(crate) id: String,
    pub(crate) title: String,
    /// Name of the line.
    line: String,
    pub(crate) aim: String,
    pub(crate) situation: Vec<String>,
    pub(crate) question: String,
    pub(crate) unit: String,
    measure: Asked,
    base: Scenario,
    variant: Scenario,
    /// Whether the line has its own stops.
    luck: bool,
    /// Runs of each side.
    pub(crate) runs: u64,
    seed: u64,
    start: Begin,
    /// A guess that is off the range by no more than this is close.
    close: f64,
    pub(crate) why: Vec<String>,
    /// What the lesson says comes out, on average; tests hold it to that.
    #[cfg_attr(not(test), expect(dead_code, reason = "read by the tests of the lessons"))]
    claim: Claim,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(not(test), expect(dead_code, reason = "read by the tests of the lessons"))]
struct Claim {
    low: f64,
    high: f64,
}

/// What is asked for.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum Asked {
    /// Good packs that the change costs.
    PacksLost {},
    /// Good packs that the change brings.
    PacksGained {},
    /// Seconds in which a station is starved because of the change.
    StarvedS { station: String },
}

/// How a shift begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Begin {
    NewRolls,
    LongRun,
}

/// Values and stops put in.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Scenario {
    set: Vec<(String, String)>,
    stops: Vec<Stop>,
}

/// A stop put in.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stop {
    station: String,
    at: String,
    duration: String,
}

/// A lesson that can be run.
#[derive(Clone, Debug)]
pub(crate) struct Prepared {
    pub(crate) lesson: Lesson,
    pub(crate) base: Side,
    pub(crate) variant: Side,
    measure: Measure,
}

/// What a lesson finds, and how a guess is scored against it.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    /// In the unit of the question: a loss is a number above 0.
    pub(crate) found: TrialResult,
    /// A guess within these ends is close.
    pub(crate) close: (f64, f64),
}

/// All lessons, in order.
///
/// # Errors
/// In words, if a data file is not right; a test keeps them right.
pub(crate) fn all() -> Result<Vec<Lesson>, String> {
    LESSONS.iter().map(|text| serde_json::from_str(text).map_err(|error| error.to_string())).collect()
}

/// The lesson of that name.
pub(crate) fn named(id: &str) -> Option<Lesson> {
    all().ok()?.into_iter().find(|lesson| lesson.id == id)
}

impl Lesson {
    /// Seed of its runs.
    pub(crate) fn seed(&self) -> u64 {
        self.seed
    }

    /// The text of its line.
    pub(crate) fn line_text(&self) -> Option<&'static str> {
        LINES.iter().find(|(name, _)| *name == self.line).map(|(_, text)| *text)
    }

    /// Reads its line and sets up both sides.
    ///
    /// # Errors
    /// In words, if the data file is not right.
    pub(crate) fn prepare(self) -> Result<Prepared, String> {
        let text = self.line_text().ok_or_else(|| format!("no line {}", self.line))?;
        let model = BaseModel::parse(text).map_err(|error| error.to_string())?;
        let side = |scenario: &Scenario| -> Result<Side, String> {
            let line = model.variant(&scenario.set).map_err(|error| error.to_string())?.line;
            let plan = self.plan(&line, &scenario.stops)?;
            Ok(Side { line, plan })
        };
        let (base, variant) = (side(&self.base)?, side(&self.variant)?);
        let measure = match &self.measure {
            Asked::PacksLost {} | Asked::PacksGained {} => Measure::GoodPacks,
            Asked::StarvedS { station } => {
                Measure::Starved(base.line.station(station).ok_or_else(|| format!("no station {station}"))?)
            }
        };
        Ok(Prepared { lesson: self, base, variant, measure })
    }

    fn plan(&self, line: &Line, stops: &[Stop]) -> Result<RunPlan, String> {
        let start = match self.start {
            Begin::NewRolls => StartKind::NewRolls,
            Begin::LongRun => StartKind::LongRun,
        };
        let conditions = Conditions { start, warm_up: Span::from_seconds(3600.0), ..Conditions::default() };
        let seconds = |text: &str| {
            Quantity::<Time>::parse(text)
                .map(|time| Span::from_seconds(time.value()))
                .map_err(|error| error.what)
        };
        let injected = stops.iter().map(|stop| {
            Ok(InjectedStop {
                station: line.station(&stop.station).ok_or_else(|| format!("no station {}", stop.station))?,
                at: Moment::ZERO + seconds(&stop.at)?,
                duration: seconds(&stop.duration)?,
            })
        });
        let injected = injected.collect::<Result<Vec<_>, String>>()?;
        Ok(RunPlan { own_stops: self.luck, injected, ..conditions.run_plan(line) })
    }
}

impl Prepared {
    /// Runs it.
    ///
    /// # Errors
    /// If the work was stopped.
    pub(crate) fn run(
        &self,
        workers: &Workers<'_>,
        done: &(dyn Fn() + Sync),
    ) -> Result<Outcome, ReplicateError> {
        let lesson = &self.lesson;
        // What is lost is asked for as a number above 0: the sides change places.
        let (base, variant) = match lesson.measure {
            Asked::PacksLost {} => (&self.variant, &self.base),
            Asked::PacksGained {} | Asked::StarvedS { .. } => (&self.base, &self.variant),
        };
        let found = trial(base, variant, self.measure, lesson.seed, lesson.runs, workers, done)?;
        let close = (found.range.p10 - lesson.close, found.range.p90 + lesson.close);
        Ok(Outcome { found, close })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicBool;

    fn found(lesson: &Lesson) -> TrialResult {
        let stop = AtomicBool::new(false);
        let workers = Workers::new(None, &stop).expect("threads");
        let prepared = lesson.clone().prepare().unwrap_or_else(|error| panic!("{}: {error}", lesson.id));
        prepared.run(&workers, &|| {}).expect("not stopped").found
    }

    fn of(id: &str) -> Lesson {
        named(id).unwrap_or_else(|| panic!("no lesson {id}"))
    }

    #[test]
    fn lessons_are_complete_and_their_lines_are_invented() {
        let lessons = all().unwrap_or_else(|error| panic!("{error}"));
        assert!(lessons.len() >= 8);
        for (place, lesson) in lessons.iter().enumerate() {
            assert!(lesson.id.starts_with(&format!("{}-", place + 1)), "{}", lesson.id);
            let text = lesson.line_text().unwrap_or_else(|| panic!("{}: no line", lesson.id));
            assert!(text.contains("invented"), "{}", lesson.id);
            assert!(lesson.question.ends_with('?') && lesson.why.len() >= 2 && !lesson.aim.is_empty());
            assert!(!lesson.situation.is_empty() && lesson.close > 0.0);
            lesson.clone().prepare().unwrap_or_else(|error| panic!("{}: {error}", lesson.id));
        }
    }

    /// Each lesson finds what it says, and the sign is sure: where chance is in it, the 95 % interval of the mean excludes
    /// 0 and the size lies in what the text says.
    #[test]
    fn what_each_lesson_claims_is_found() {
        for lesson in all().expect("lessons") {
            let found = found(&lesson);
            let mean = found.mean.mean;
            assert!((lesson.claim.low..=lesson.claim.high).contains(&mean), "{}: {mean}", lesson.id);
            if lesson.claim.low > 0.0 {
                assert!(mean > found.mean.half_width.unwrap_or(0.0), "{}: {found:?}", lesson.id);
            }
        }
    }

    /// What the texts of the lessons say besides: the stops that are harmless alone, the other side of the press.
    #[test]
    fn what_the_reasons_say_besides_is_found() {
        let with = |id: &str, change: &dyn Fn(&mut Lesson)| {
            let mut lesson = of(id);
            change(&mut lesson);
            found(&lesson).mean.mean
        };
        // 2: the stop of 40 s alone, and the first one alone.
        for stop in 0..2 {
            let alone = with("2-full-buffer", &|it| {
                it.base.stops.clear();
                it.variant.stops = vec![it.variant.stops[stop].clone()];
            });
            assert!(alone.abs() < 1e-9, "{alone}");
        }
        // 3: nothing is starved by the stop of the packer, and both stops cost.
        let packer = with("3-starved-or-blocked", &|it| {
            it.variant.stops.remove(0);
        });
        assert!(packer.abs() < 3.0, "{packer}");
        // 5: each of the two alone.
        for stop in 0..2 {
            let alone =
                with("5-two-that-meet", &|it| it.variant.stops = vec![it.variant.stops[stop].clone()]);
            assert!(alone.abs() < 1e-9, "{alone}");
        }
        // 1: a stop longer than the table covers does cost.
        let long = with("1-absorbed-stop", &|it| it.variant.stops[0].duration = "100 s".to_owned());
        assert!(long > 8.0, "{long}");
    }
}
