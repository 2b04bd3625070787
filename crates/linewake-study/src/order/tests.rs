//! Times to finish of lines that are known.

use super::*;
use crate::testing::{conclusion, conditions, line, machine, near, stop};

#[test]
fn a_line_without_stops_takes_its_time_and_its_breaks() {
    let shift = r#""shift": { "length": "1 h", "breaks": [{ "start": "30 min", "duration": "10 min" }] },"#;
    let base = line(shift, &[machine("one", "\"1 s\"", "")]);
    let options = OrderOptions { packs: 7000, most_shifts: 10 };
    let result = conclusion(&OrderStudy::prepare(base, options, &conditions(3, 1.0)).expect("a study"));
    // 3000 pieces a shift: two whole shifts and 1000 s; counted every 10 s.
    near(result.time_s.mean, 2.0 * 3600.0 + 1000.0, 10.0);
    assert_eq!((result.shifts_needed, result.unfinished), (3, 0));
    assert_eq!(result.done_within_shifts, [0.0, 0.0, 1.0]);
    near(result.spare_capacity, 1.0 - result.time_s.mean / 10_800.0, 1e-12);
    assert_eq!(result.quantiles.len(), 5);
}

/// A thousand seconds of work with exponential stops of 25 % of it: mean time 1,250 s (renewal: the stops within 1,000 s of
/// running are Poisson with mean 10, of 25 s each); 200 runs, standard deviation of one sqrt(10 x 2 x 25^2) = 112 s, so
/// 4 standard errors are 32 s (seed fixed).
#[test]
fn stops_lengthen_an_order_as_they_should() {
    let base = line("", &[machine("one", "\"1 s\"", &stop("jam", 100.0, 25.0))]);
    let options = OrderOptions { packs: 1000, most_shifts: 1 };
    let result = conclusion(&OrderStudy::prepare(base, options, &conditions(200, 1.0)).expect("a study"));
    near(result.time_s.mean, 1255.0, 32.0);
    let times: Vec<f64> = result.quantiles.iter().map(|quantile| quantile.time_s).collect();
    assert!(times.windows(2).all(|pair| pair[0] <= pair[1]));
    assert_eq!(result.histogram.iter().map(|bin| bin.count).sum::<u64>(), 200);
}

#[test]
fn an_order_out_of_reach_is_told() {
    let base = || line("", &[machine("one", "\"1 s\"", &stop("jam", 100.0, 100.0))]);
    let prepare = |packs, most_shifts| {
        OrderStudy::prepare(base(), OrderOptions { packs, most_shifts }, &conditions(3, 1.0))
    };
    assert!(prepare(0, 1).is_err() && prepare(10, 0).is_err());
    assert!(prepare(100_000, 1).expect_err("beyond the design rate").to_string().contains("28800"));
    // Possible at the design rate, not with half of the time lost.
    let study = prepare(28_000, 1).expect("a study");
    let stop = std::sync::atomic::AtomicBool::new(false);
    let workers = crate::replicate::Workers::new(Some(1), &stop).expect("threads");
    let error =
        study.conclude(&mut Runner::new(study.plan(), &workers, &|| {})).expect_err("no run makes it");
    assert!(error.to_string().contains("allow more shifts"), "{error}");
}
