//! Predicted ranges and p-values: the shifts of the log and the runs of the model shared out at random.

use super::figures::{Row, value};
use linewake_kpi::study::versus::{Compared, Figure, Verdict};
use linewake_stats::estimate::quantile_of;
use linewake_stats::multiple::holm;
use linewake_stats::permutation::{Stratum, observed, random_splits, two_sided};
use linewake_stats::stream::Streams;

/// Random splits for each test and each range.
const SPLITS: u64 = 9999;

/// Two sums count as the same when they differ by less than this share of themselves: times are added in different orders.
const SAME: f64 = 1e-9;

/// Log and model, with their random splits.
pub(super) struct Judge<'a> {
    /// Log against model.
    both: Vec<Stratum<'a>>,
    /// Runs of the model against each other: as many as the log has shifts against the rest.
    model: Vec<Stratum<'a>>,
    /// Figures of a row.
    width: usize,
    shifts: usize,
    runs: usize,
    seed: u64,
    level: f64,
}

/// A statistic of the sums of two samples.
type Statistic<'s> = dyn Fn(&[f64], &[f64]) -> Vec<f64> + 's;

impl<'a> Judge<'a> {
    /// Replication r of the model is a run of shift r modulo their number.
    pub(super) fn new(log: &'a [Row], model: &'a [Row], strata: &[usize], seed: u64, level: f64) -> Self {
        let count = strata.iter().max().map_or(0, |most| most + 1);
        let (mut both, mut own) = (vec![Stratum::default(); count], vec![Stratum::default(); count]);
        for (shift, row) in log.iter().enumerate() {
            both[strata[shift]].first.push(row);
        }
        for (run, row) in model.iter().enumerate() {
            let stratum = strata[run % strata.len()];
            both[stratum].second.push(row);
            let own: &mut Stratum<'_> = &mut own[stratum];
            // The first runs stand for a log.
            if run < log.len() { own.first.push(row) } else { own.second.push(row) }
        }
        let width = log.first().map_or(0, Vec::len);
        Self { both, model: own, width, shifts: log.len(), runs: model.len(), seed, level }
    }

    /// Smallest p-value that a split can have.
    pub(super) fn smallest_p_value(&self) -> f64 {
        let mut ways = 1.0;
        for stratum in &self.both {
            let (few, all) = (stratum.first.len(), stratum.first.len() + stratum.second.len());
            for place in 0..few {
                ways *= (all - place) as f64 / (few - place) as f64;
            }
        }
        let ways: f64 = ways;
        (2.0 / ways.min((SPLITS + 1) as f64)).min(1.0)
    }

    /// The headline figures, told or not.
    pub(super) fn figures(&self, wanted: &[(Figure, bool)], ideal_s: f64) -> Vec<Compared> {
        let values = |sums: &[f64]| -> Vec<f64> {
            let plain =
                |figure| Some(value(figure, sums, ideal_s)).filter(|it| it.is_finite()).unwrap_or(0.0);
            wanted.iter().map(|(figure, _)| plain(*figure)).collect()
        };
        let told: Vec<bool> = wanted.iter().map(|(_, told)| *told).collect();
        let of_log = |first: &[f64], _: &[f64]| values(first);
        let difference = |first: &[f64], second: &[f64]| less(&values(first), &values(second));
        let model = values(&self.sum_of_model());
        // Quality may be over 1: packs of before the window are good in it.
        let most = |figure| if figure == Figure::Availability { 1.0 } else { f64::INFINITY };
        let most: Vec<f64> = wanted.iter().map(|(figure, _)| most(*figure)).collect();
        let ranges = self.ranges(&model, &most, &difference);
        self.judged(&told, &model, &of_log, &difference, ranges)
    }

    /// Columns that are sums over the shifts, told or not.
    pub(super) fn sums(&self, wanted: &[(usize, bool)]) -> Vec<Compared> {
        let values = |sums: &[f64], times: f64| -> Vec<f64> {
            wanted.iter().map(|(column, _)| sums[*column] * times).collect()
        };
        let told: Vec<bool> = wanted.iter().map(|(_, told)| *told).collect();
        let (shifts, runs) = (self.shifts as f64, self.runs as f64);
        let of_log = |first: &[f64], _: &[f64]| values(first, 1.0);
        // The second sample is all runs with the log, or all but those that stand for it.
        let difference =
            |first: &[f64], second: &[f64]| less(&values(first, 1.0), &values(second, shifts / runs));
        let of_model = |first: &[f64], second: &[f64]| {
            less(&values(first, 1.0), &values(second, shifts / (runs - shifts)))
        };
        let model = values(&self.sum_of_model(), shifts / runs);
        let ranges = self.ranges(&model, &vec![f64::INFINITY; model.len()], &of_model);
        self.judged(&told, &model, &of_log, &difference, ranges)
    }

    fn sum_of_model(&self) -> Vec<f64> {
        let (first, second) = observed(&self.model, self.width);
        first.iter().zip(&second).map(|(one, other)| one + other).collect()
    }

    /// Where one log falls: the model's value and how far so many of its runs lie from the rest, but not below zero or above
    /// the most that the figure can be.
    fn ranges(&self, model: &[f64], most: &[f64], difference: &Statistic<'_>) -> Vec<(f64, f64)> {
        let mut apart: Vec<Vec<f64>> = vec![Vec::with_capacity(SPLITS as usize); model.len()];
        let mut stream = Streams::new(self.seed, 0).get("versus/ranges");
        random_splits(&self.model, self.width, SPLITS, &mut stream, &mut |first, second| {
            for (kept, value) in apart.iter_mut().zip(difference(first, second)) {
                kept.push(value);
            }
        });
        let tail = 0.5 * (1.0 - self.level);
        let range = |(values, (model, most)): (&mut Vec<f64>, (&f64, &f64))| {
            values.sort_by(f64::total_cmp);
            let at = |share: f64| (model + quantile_of(values, share).unwrap_or(0.0)).clamp(0.0, *most);
            (at(tail), at(1.0 - tail))
        };
        apart.iter_mut().zip(model.iter().zip(most)).map(range).collect()
    }

    fn judged(
        &self,
        told: &[bool],
        model: &[f64],
        of_log: &Statistic<'_>,
        difference: &Statistic<'_>,
        ranges: Vec<(f64, f64)>,
    ) -> Vec<Compared> {
        let (first, second) = observed(&self.both, self.width);
        let (values, apart) = (of_log(&first, &second), difference(&first, &second));
        let (mut at_most, mut at_least) = (vec![0_u64; model.len()], vec![0_u64; model.len()]);
        let mut stream = Streams::new(self.seed, 0).get("versus/tests");
        random_splits(&self.both, self.width, SPLITS, &mut stream, &mut |first, second| {
            for (place, value) in difference(first, second).into_iter().enumerate() {
                let slack = SAME * (1.0 + apart[place].abs() + model[place].abs());
                at_most[place] += u64::from(value <= apart[place] + slack);
                at_least[place] += u64::from(value >= apart[place] - slack);
            }
        });
        let p_values: Vec<Option<f64>> = (0..model.len())
            .map(|place| told[place].then(|| two_sided(at_most[place], at_least[place], SPLITS)))
            .collect();
        let corrected = holm(&p_values.iter().copied().flatten().collect::<Vec<f64>>());
        let mut corrected = corrected.into_iter();
        (0..model.len())
            .map(|place| {
                let p_corrected = p_values[place].and_then(|_| corrected.next());
                let (low, high) = ranges[place];
                let slack = SAME * (1.0 + high.abs());
                let verdict = match p_corrected {
                    None => Verdict::NotTold,
                    Some(p) if p <= 1.0 - self.level + SAME => Verdict::BeyondChance,
                    Some(_) if values[place] < low - slack || values[place] > high + slack => {
                        Verdict::OutsideAlone
                    }
                    Some(_) => Verdict::Within,
                };
                Compared {
                    predicted: model[place],
                    low,
                    high,
                    observed: told[place].then_some(values[place]),
                    p_value: p_values[place],
                    p_corrected,
                    verdict,
                }
            })
            .collect()
    }
}

fn less(first: &[f64], second: &[f64]) -> Vec<f64> {
    first.iter().zip(second).map(|(first, second)| first - second).collect()
}

/// Says it when the log is too short for a single stop reason to be told from chance.
pub(super) fn notes(smallest: f64, tests: usize, level: f64, shifts: usize) -> Option<String> {
    let needed = (1.0 - level) / tests.max(1) as f64;
    (smallest > needed).then(|| {
        format!(
            "with {shifts} {} of log and so few runs the smallest p-value is {smallest:.4}, so that no stop reason by itself can be \
             told from chance, of {tests} figures that are judged together: {} runs would do, and more shifts of log are better",
            if shifts == 1 { "shift" } else { "shifts" },
            (2.0 / needed).ceil()
        )
    })
}
