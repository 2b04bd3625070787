//! Test plans: what they promise, held by their own operating characteristic. Published plans are in the theory tests.

use super::{MtbfPlan, PlanError, SamplingPlan, SequentialPlan, Verdict};
use crate::stream::Streams;

/// Both risks are kept, and no plan with fewer failures could keep both.
#[test]
fn the_shortest_mtbf_plan_keeps_both_risks() {
    for (promised, too_low, producer, consumer) in
        [(3.0, 1.0, 0.2, 0.2), (300.0, 200.0, 0.1, 0.1), (5.0, 1.0, 0.05, 0.3), (1e6, 1e3, 0.01, 0.01)]
    {
        let plan = MtbfPlan::shortest(promised, too_low, producer, consumer).expect("a plan");
        assert!(1.0 - plan.acceptance_probability(promised) <= producer);
        assert!((plan.acceptance_probability(too_low) - consumer).abs() < 1e-10);
        if plan.accept > 0 {
            let mut shorter = MtbfPlan { accept: plan.accept - 1, ..plan };
            // As short as the consumer's risk allows with one failure fewer.
            while shorter.acceptance_probability(too_low) < consumer {
                shorter.duration *= 0.9999;
            }
            assert!(1.0 - shorter.acceptance_probability(promised) > producer);
        }
    }
}

#[test]
fn mtbf_plans_are_checked() {
    let plan = MtbfPlan::shortest;
    assert_eq!(
        plan(0.0, 1.0, 0.1, 0.1),
        Err(PlanError::NotPositive { figure: "the promised time", value: 0.0 })
    );
    assert!(matches!(plan(2.0, f64::INFINITY, 0.1, 0.1), Err(PlanError::NotPositive { .. })));
    assert!(matches!(plan(1.0, 1.0, 0.1, 0.1), Err(PlanError::NotAbove { .. })));
    assert!(matches!(plan(2.0, 1.0, 0.0, 0.1), Err(PlanError::NotBetween0And1 { .. })));
    assert!(matches!(plan(2.0, 1.0, 0.1, f64::NAN), Err(PlanError::NotBetween0And1 { .. })));
    assert!(matches!(plan(2.0, 1.0, 0.5, 0.5), Err(PlanError::RisksTooLarge { .. })));
    assert_eq!(plan(1.000_1, 1.0, 0.01, 0.01), Err(PlanError::TooLong { failures: 20_000 }));
    assert!(MtbfPlan { duration: 1.0, accept: 1 }.acceptance_probability(0.0).is_nan());
    assert!(MtbfPlan { duration: f64::NAN, accept: 1 }.acceptance_probability(1.0).is_nan());
}

/// By hand: 2 pieces, none bad: (1 - p)^2.
#[test]
fn sampling_plan_by_hand() {
    let plan = SamplingPlan::new(2, 0).expect("a plan");
    assert!((plan.acceptance_probability(0.1) - 0.81).abs() < 1e-15);
    assert!(plan.acceptance_probability(-0.1).is_nan());
    assert_eq!(SamplingPlan::new(2, 2), Err(PlanError::AcceptsAll { pieces: 2, accept: 2 }));
    assert!(SamplingPlan::new(0, 0).is_err());
}

/// Wald's bounds: the risks of 2,000 tests of each share stay below alpha / (1 - beta) and beta / (1 - alpha), with
/// 4 standard errors on top (wrong alarm 3 in 100,000 each, seed fixed).
#[test]
fn sequential_test_keeps_its_risks() {
    let (good, bad, producer, consumer) = (0.01, 0.1, 0.05, 0.1);
    let plan = SequentialPlan::new(good, bad, producer, consumer).expect("a plan");
    let mut stream = Streams::new(31, 0).get("pieces");
    let mut wrong = |share: f64, verdict: Verdict| {
        let mut count = 0;
        for _ in 0..2000 {
            let mut seen = 0;
            let reached = (1..)
                .map(|pieces| {
                    seen += u64::from(stream.open01() < share);
                    plan.verdict(pieces, seen)
                })
                .find(|verdict| *verdict != Verdict::GoOn);
            count += i32::from(reached == Some(verdict));
        }
        f64::from(count) / 2000.0
    };
    let most = |risk: f64| risk + 4.0 * (risk / 2000.0).sqrt();
    assert!(wrong(good, Verdict::Reject) < most(producer / (1.0 - consumer)));
    assert!(wrong(bad, Verdict::Accept) < most(consumer / (1.0 - producer)));
}

#[test]
fn sequential_plan_at_its_beginning_and_checked() {
    let plan = SequentialPlan::new(0.01, 0.1, 0.05, 0.1).expect("a plan");
    assert_eq!((plan.accept_number(1), plan.reject_number(1)), (None, None));
    assert_eq!(plan.verdict(0, 0), Verdict::GoOn);
    assert_eq!(
        (plan.verdict(2, 2), plan.verdict(23, 0), plan.verdict(24, 0)),
        (Verdict::Reject, Verdict::GoOn, Verdict::Accept)
    );
    assert!(matches!(SequentialPlan::new(0.1, 0.1, 0.05, 0.1), Err(PlanError::NotAbove { .. })));
    assert!(matches!(SequentialPlan::new(0.0, 0.1, 0.05, 0.1), Err(PlanError::NotBetween0And1 { .. })));
    assert!(matches!(SequentialPlan::new(0.1, 1.0, 0.05, 0.1), Err(PlanError::NotBetween0And1 { .. })));
    assert!(matches!(SequentialPlan::new(0.1, 0.2, 0.6, 0.4), Err(PlanError::RisksTooLarge { .. })));
}

#[test]
fn errors_say_what_would_be_right() {
    for error in [
        PlanError::NotPositive { figure: "the promised time", value: -1.0 },
        PlanError::NotBetween0And1 { figure: "producer's risk", value: 5.0 },
        PlanError::NotAbove {
            upper: "the bad share",
            upper_value: 0.1,
            lower: "the good share",
            lower_value: 0.2,
        },
        PlanError::RisksTooLarge { producer: 0.5, consumer: 0.5 },
        PlanError::AcceptsAll { pieces: 5, accept: 9 },
        PlanError::TooLong { failures: 20_000 },
    ] {
        let message = error.to_string();
        assert!(message.starts_with(char::is_lowercase) && message.len() > 40, "{message}");
    }
}
