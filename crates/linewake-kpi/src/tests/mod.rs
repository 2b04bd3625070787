//! Hand-written logs with answers worked by hand.

mod attribution;
mod oee;
mod packs;
mod story;
mod window;
