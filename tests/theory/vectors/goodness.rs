//! Goodness of fit: the statistics of two samples, the tables, and whether the tables keep their level.

use super::{Ours, Vector, number, numbers};
use crate::row::RunSet;
use linewake_stats::distribution::{Distribution, normal_quantile};
use linewake_stats::goodness_of_fit::{
    Distance, EXPONENTIAL_1986, LEVELS, Tested, from_exponential, from_known, from_normal, from_weibull,
};
use linewake_stats::stream::{Stream, Streams};

pub(super) fn ours(vector: &Vector, set: RunSet) -> Vec<Ours> {
    match vector.id.as_str() {
        "GOF-1" | "GOF-2" => statistics(&numbers(vector, "data")),
        "GOF-3" => tables(&numbers(vector, "levels")),
        "GOF-4" => levels_kept(number(vector, "n") as usize, set),
        id => panic!("{id}: which test?"),
    }
}

fn statistics(data: &[f64]) -> Vec<Ours> {
    let distance = from_exponential(data).expect("times");
    let turned_down = distance.turned_down_at().is_some_and(|level| level <= 0.05);
    vec![
        Ours::new("D", distance.kolmogorov_smirnov),
        Ours::new("KS_mod", distance.kolmogorov_smirnov_modified),
        Ours::new("A2", distance.anderson_darling),
        Ours::new("A2_mod", distance.anderson_darling_modified),
        Ours::new("reject_5pct", f64::from(u8::from(turned_down))),
    ]
}

fn tables(levels: &[f64]) -> Vec<Ours> {
    let list = |path: &str, table: Option<[f64; 4]>| {
        let table = table.expect("a table");
        let value = |level: &f64| {
            LEVELS.iter().position(|kept| kept.total_cmp(level).is_eq()).map(|place| table[place])
        };
        Ours::list(path, levels.iter().map(value))
    };
    let mut ours = list("AD_normal", Tested::Normal.anderson_darling_table());
    ours.extend(list("AD_gumbel", Tested::Gumbel.anderson_darling_table()));
    ours.extend(list("AD_expon_stephens", Tested::Exponential.anderson_darling_table()));
    ours.extend(list("AD_expon_scipy117", Some(EXPONENTIAL_1986)));
    ours.extend(list("KS_all_known", Tested::Known.kolmogorov_smirnov_table()));
    ours.extend(list("KS_normal", Tested::Normal.kolmogorov_smirnov_table()));
    ours.extend(list("KS_expon", Tested::Exponential.kolmogorov_smirnov_table()));
    ours
}

/// Samples of each family, tested for it: how many exceed the 5 % value.
fn levels_kept(n: usize, set: RunSet) -> Vec<Ours> {
    let samples = match set {
        RunSet::Short => 20_000,
        RunSet::Full => 400_000,
    };
    let exponential = Distribution::Exponential { mean: 3.0 };
    let weibull = Distribution::Weibull { shape: 1.7, scale: 5.0 };
    let anderson = |distance: Distance| distance.anderson_darling_modified.expect("a table");
    let kolmogorov = |distance: Distance| distance.kolmogorov_smirnov_modified.expect("a table");
    let mut counts = [0_u32; 7];
    let streams = Streams::new(1, 0);
    let mut normal_stream = streams.get("goodness/normal");
    let mut exponential_stream = streams.get("goodness/exponential");
    let mut weibull_stream = streams.get("goodness/weibull");
    for _ in 0..samples {
        let normal: Vec<f64> = (0..n).map(|_| 7.0 + 2.0 * normal_quantile(normal_stream.open01())).collect();
        let drawn = |distribution: &Distribution, stream: &mut Stream| -> Vec<f64> {
            (0..n).map(|_| distribution.sample(stream)).collect()
        };
        let times = drawn(&exponential, &mut exponential_stream);
        let from_normal = from_normal(&normal).expect("values");
        let from_exponential = from_exponential(&times).expect("times");
        let from_known = from_known(&times, &exponential).expect("times");
        let from_weibull = from_weibull(&drawn(&weibull, &mut weibull_stream)).expect("times");
        let beyond = [
            anderson(from_normal) > Tested::Normal.anderson_darling_table().expect("a table")[1],
            anderson(from_weibull) > Tested::Gumbel.anderson_darling_table().expect("a table")[1],
            anderson(from_exponential) > Tested::Exponential.anderson_darling_table().expect("a table")[1],
            anderson(from_exponential) > EXPONENTIAL_1986[1],
            kolmogorov(from_known) > Tested::Known.kolmogorov_smirnov_table().expect("a table")[1],
            kolmogorov(from_normal) > Tested::Normal.kolmogorov_smirnov_table().expect("a table")[1],
            kolmogorov(from_exponential)
                > Tested::Exponential.kolmogorov_smirnov_table().expect("a table")[1],
        ];
        for (count, beyond) in counts.iter_mut().zip(beyond) {
            *count += u32::from(beyond);
        }
    }
    let paths = [
        "AD_normal",
        "AD_gumbel",
        "AD_expon_stephens",
        "AD_expon_scipy117",
        "KS_all_known",
        "KS_normal",
        "KS_expon",
    ];
    let total = f64::from(samples);
    paths
        .into_iter()
        .zip(counts)
        .map(|(path, count)| {
            let share = f64::from(count) / total;
            Ours::new(path, share)
                .simulated(1.96 * (share * (1.0 - share) / total).sqrt())
                .noted(format!("share of {samples} samples beyond the 5 % value of GOF-3"))
        })
        .collect()
}
