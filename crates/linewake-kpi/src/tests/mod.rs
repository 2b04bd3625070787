//! Hand-written logs with answers worked by hand.

mod attribution;
mod convention;
mod oee;
mod packs;
pub(crate) mod story;
mod window;
