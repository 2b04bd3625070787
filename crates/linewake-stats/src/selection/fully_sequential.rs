//! The fully sequential procedure of Kim and Nelson: designs are dropped one by one as they turn out worse.

use super::kim_nelson;
use crate::estimate::{mean, variance};

/// What is asked of a choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Probability of choosing the best if it is better than all others by at least the indifference zone, and otherwise
    /// one that is worse than the best by less than it; between 1 / designs and 1.
    pub probability: f64,
    /// Differences below this do not matter; above 0.
    pub indifference: f64,
    /// Observations of each design before the first is dropped, at least 2.
    pub first: u64,
    /// Most observations of a design. If they are used up the promise does not hold.
    pub most: u64,
}

/// How a choice came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The chosen design.
    pub best: usize,
    /// Observations that each design had when it was dropped or, for the last ones, at the end.
    pub observations: Vec<u64>,
    /// Designs that were dropped, in that order.
    pub dropped: Vec<usize>,
    /// The procedure came to its end; otherwise the best mean was taken when the observations were used up.
    pub is_decided: bool,
}

/// Chooses the design with the largest mean.
///
/// `observe(designs, from, to)` gives for each of these designs its observations with numbers `from` to before `to`.
/// Observations of the same number may share their luck across designs, which the procedure profits from;
/// observations of different numbers are independent and about normal. They are asked for in blocks, and looked at one
/// number after the other.
///
/// *Formula*: with eta and h^2 of [`kim_nelson`], n_0 first observations, the indifference zone d, and S^2 the variance
/// of the differences of two designs in the first stage, design i is dropped at r observations if another l still in play
/// has a mean above that of i by more than max(0, d / (2 r) (h^2 S^2 / d^2 - r)).
/// *Source*: Kim and Nelson (2001), A Fully Sequential Procedure for Indifference-Zone Selection in Simulation, ACM
/// Transactions on Modeling and Computer Simulation 11(3), 251-273, with c = 1 (from memory). It holds with common random
/// numbers.
///
/// `Ok(None)` for a wish that the procedure cannot meet: out of range, or an `observe` that gives another number of values
/// than asked for.
///
/// # Errors
/// Whatever `observe` says.
pub fn fully_sequential<E>(
    designs: usize,
    wish: Wish,
    mut observe: impl FnMut(&[usize], u64, u64) -> Result<Vec<Vec<f64>>, E>,
) -> Result<Option<Choice>, E> {
    const BLOCK: u64 = 8;
    let Ok(first) = usize::try_from(wish.first) else { return Ok(None) };
    let Some((_, h_square)) = kim_nelson(designs, first, 1.0 - wish.probability) else { return Ok(None) };
    if !(wish.indifference > 0.0 && wish.indifference.is_finite() && wish.most >= wish.first) {
        return Ok(None);
    }
    let mut sums = vec![0.0; designs];
    let mut seen = vec![0_u64; designs];
    let mut in_play: Vec<usize> = (0..designs).collect();
    let start = observe(&in_play, 0, wish.first)?;
    if start.len() != designs || start.iter().any(|values| values.len() != first) {
        return Ok(None);
    }
    for (design, values) in start.iter().enumerate() {
        sums[design] = mean(values).unwrap_or(0.0) * first as f64;
        seen[design] = wish.first;
    }
    let spread = spreads(&start);
    let mut dropped = Vec::new();
    let mut number = wish.first;
    let mut block: Vec<Vec<f64>> = Vec::new();
    let mut block_designs: Vec<usize> = Vec::new();
    let (mut block_from, mut block_to) = (number, number);
    loop {
        let limit = |one: usize, other: usize| {
            let d = wish.indifference;
            let r = number as f64;
            (d / (2.0 * r) * (h_square * spread[one][other] / (d * d) - r)).max(0.0)
        };
        let at = |design: usize| sums[design] / number as f64;
        let loses = |&design: &usize| {
            in_play.iter().any(|&other| other != design && at(design) < at(other) - limit(design, other))
        };
        let out: Vec<usize> = in_play.iter().copied().filter(loses).collect();
        in_play.retain(|design| !out.contains(design));
        dropped.extend(out);
        // Once all limits are 0 only equal means are left.
        let is_over = in_play.len() == 1
            || in_play
                .iter()
                .all(|&one| in_play.iter().all(|&other| one == other || limit(one, other) <= 0.0));
        if is_over || number == wish.most {
            let best = in_play
                .iter()
                .copied()
                .reduce(|best, next| if at(next) > at(best) { next } else { best })
                .unwrap_or(0);
            return Ok(Some(Choice { best, observations: seen, dropped, is_decided: is_over }));
        }
        if number == block_to {
            (block_from, block_to) = (number, (number + BLOCK).min(wish.most));
            block = observe(&in_play, block_from, block_to)?;
            block_designs.clone_from(&in_play);
            let due = usize::try_from(block_to - block_from).unwrap_or(0);
            if block.len() != block_designs.len() || block.iter().any(|values| values.len() != due) {
                return Ok(None);
            }
        }
        let place = usize::try_from(number - block_from).unwrap_or(0);
        for (values, &design) in block.iter().zip(&block_designs) {
            if in_play.contains(&design) {
                sums[design] += values[place];
                seen[design] += 1;
            }
        }
        number += 1;
    }
}

/// Variance of the differences of each two designs.
fn spreads(values: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let of = |one: &[f64], other: &[f64]| {
        let differences: Vec<f64> = one.iter().zip(other).map(|(one, other)| one - other).collect();
        variance(&differences).unwrap_or(0.0)
    };
    values.iter().map(|one| values.iter().map(|other| of(one, other)).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distribution::normal_quantile;
    use crate::stream::Streams;
    use std::convert::Infallible;

    fn choose(means: &[f64], shared: f64, wish: Wish, seed: u64) -> Choice {
        let streams = Streams::new(seed, 0);
        let draw = |name: String, number: u64| normal_quantile(streams.indexed(&name).open01_at(number));
        let observe = |designs: &[usize], from: u64, to: u64| {
            let values = designs.iter().map(|design| {
                (from..to)
                    .map(|number| {
                        let own = draw(format!("own {design}"), number);
                        let common = draw("common".to_owned(), number);
                        means[*design] + shared * common + (1.0 - shared) * own
                    })
                    .collect()
            });
            Ok::<_, Infallible>(values.collect())
        };
        match fully_sequential(means.len(), wish, observe) {
            Ok(choice) => choice.expect("a wish in range"),
        }
    }

    const WISH: Wish = Wish { probability: 0.9, indifference: 0.5, first: 10, most: 100_000 };

    /// The slippage case, all others worse by just the zone, is the hardest. Promised 0.9; of 400 tries at least 341 are
    /// right with probability 0.999 if it is kept exactly (binomial), and a procedure that is right less often than 0.8
    /// passes with less than 0.006.
    #[test]
    fn the_promise_is_kept_in_the_hardest_case() {
        for shared in [0.0, 0.5] {
            let right =
                (0..400).filter(|seed| choose(&[0.0, 0.5, 0.0, 0.0, 0.0], shared, WISH, *seed).best == 1);
            let right = right.count();
            assert!(right >= 341, "{right} of 400 with a shared part of {shared}");
        }
    }

    #[test]
    fn shared_luck_and_clear_differences_save_observations() {
        let total = |choice: &Choice| choice.observations.iter().sum::<u64>();
        let all = |means: &[f64], shared| {
            (0..50).map(|seed| total(&choose(means, shared, WISH, seed))).sum::<u64>()
        };
        assert!(all(&[0.0, 0.5, 0.0], 0.8) < all(&[0.0, 0.5, 0.0], 0.0));
        assert!(all(&[0.0, 9.0, 0.0], 0.0) < all(&[0.0, 0.5, 0.0], 0.0));
        let choice = choose(&[0.0, 9.0, 0.0], 0.0, WISH, 1);
        assert_eq!((choice.best, choice.is_decided, choice.dropped.len()), (1, true, 2));
        assert_eq!(choice.observations, [10, 10, 10]);
    }

    #[test]
    fn equal_designs_end_too_and_used_up_observations_are_told() {
        assert!(choose(&[1.0, 1.0, 1.0], 0.0, WISH, 3).is_decided);
        let short = Wish { most: 12, ..WISH };
        let choice = choose(&[0.0, 0.1], 0.0, short, 3);
        assert!(!choice.is_decided && choice.observations == [12, 12]);
        // No spread at all: the best is seen at once.
        assert_eq!(choose(&[1.0, 2.0, 3.0], 1.0, WISH, 1).observations, [10, 10, 10]);
    }

    #[test]
    fn wishes_out_of_range_are_refused() {
        let observe = |designs: &[usize], from: u64, to: u64| {
            Ok::<_, Infallible>(vec![vec![0.0; (to - from) as usize]; designs.len()])
        };
        for wish in [
            Wish { probability: 0.3, ..WISH },
            Wish { probability: 1.0, ..WISH },
            Wish { indifference: 0.0, ..WISH },
            Wish { first: 1, ..WISH },
            Wish { most: 5, ..WISH },
        ] {
            assert_eq!(fully_sequential(3, wish, observe), Ok(None), "{wish:?}");
        }
        assert_eq!(fully_sequential(1, WISH, observe), Ok(None));
        let short = |_: &[usize], _: u64, _: u64| Ok::<_, Infallible>(vec![vec![0.0]]);
        assert_eq!(fully_sequential(3, WISH, short), Ok(None));
    }
}
