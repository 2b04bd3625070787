//! Whether the times of a record stand on a grid: many plants poll every so many seconds, or people round.

/// Grids that are tried, in seconds, from the finest to the coarsest.
const GRIDS: [f64; 14] = [1.0, 2.0, 5.0, 6.0, 10.0, 12.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0];
/// So near to a multiple counts as on it, as a share of the grid, at most [`NEAR_S`].
const NEAR: f64 = 0.02;
const NEAR_S: f64 = 0.2;
/// Least share of the times that stand on a grid.
const LEAST_SHARE: f64 = 0.85;
/// Least number of times from which a grid is told.
const LEAST: usize = 8;

/// A grid that was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heaping {
    /// Its step, in seconds.
    pub grid: f64,
    /// Share of the times on it.
    pub share: f64,
}

/// The coarsest grid on which nearly all `times` (in seconds) stand; `None` when there is none, or too few times to tell.
///
/// A grid is told when 85 % of at least 8 times lie within 2 % of a step (at most 0.2 s) of a whole number of steps;
/// chance alone would put 4 % there. Times that are all the same stand on every grid that divides them, and tell none.
#[must_use]
pub fn heaping(times: &[f64]) -> Option<Heaping> {
    let above: Vec<f64> = times.iter().copied().filter(|time| time.is_finite() && *time > 0.0).collect();
    if above.len() < LEAST {
        return None;
    }
    let first = above[0];
    if above.iter().all(|time| (time - first).abs() < 1e-6) {
        return None;
    }
    GRIDS.iter().rev().find_map(|&grid| {
        let near = (NEAR * grid).min(NEAR_S);
        let on = |time: &&f64| (**time - libm::round(**time / grid) * grid).abs() <= near;
        let share = above.iter().filter(on).count() as f64 / above.len() as f64;
        (share >= LEAST_SHARE).then_some(Heaping { grid, share })
    })
}
