//! Hand-written logs with answers worked by hand.

mod attribution;
mod convention;
mod oee;
mod packs;
mod story;
mod window;
