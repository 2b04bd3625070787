//! Random streams, distributions, fits, estimates, intervals and test plans. Knows no line, no unit and no clock.

pub mod distribution;
pub mod estimate;
pub mod failure_times;
pub mod fit;
pub mod goodness_of_fit;
pub mod interval;
pub mod multiple;
pub mod permutation;
pub mod recorded;
pub mod renewal;
pub mod sampling_law;
pub mod selection;
pub mod series;
pub mod stream;
pub mod test_plan;

mod special;
