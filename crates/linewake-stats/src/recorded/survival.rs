//! The share of times that are longer, from complete and cut-off times, whatever the law.
//!
//! *Source*: Kaplan and Meier (1958), Journal of the American Statistical Association 53, 457-481.

use super::Recorded;

/// A step of the survival curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurvivalStep {
    /// Time at which it falls.
    pub time: f64,
    /// Share of times that are longer.
    pub longer: f64,
    /// Complete times here.
    pub events: usize,
}

/// The survival curve, a step for each distinct complete time. A time cut off where another ends is taken as the longer
/// one.
#[must_use]
pub fn survival(record: &Recorded) -> Vec<SurvivalStep> {
    of_times(record.complete(), record.cut_off())
}

pub(crate) fn of_times(complete: &[f64], cut_off: &[f64]) -> Vec<SurvivalStep> {
    let mut times: Vec<(f64, bool)> =
        complete.iter().map(|time| (*time, false)).chain(cut_off.iter().map(|time| (*time, true))).collect();
    times.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
    let mut at_risk = times.len();
    let mut longer = 1.0;
    let mut steps = Vec::new();
    let mut place = 0;
    while place < times.len() {
        let time = times[place].0;
        let here = times[place..].iter().take_while(|(other, _)| *other <= time);
        let (mut events, mut all) = (0_usize, 0_usize);
        for (_, cut) in here {
            all += 1;
            events += usize::from(!cut);
        }
        if events > 0 {
            longer *= 1.0 - events as f64 / at_risk as f64;
            steps.push(SurvivalStep { time, longer, events });
        }
        at_risk -= all;
        place += all;
    }
    steps
}
