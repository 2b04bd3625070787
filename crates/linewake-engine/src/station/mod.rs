//! The mechanics of each kind of station, one file each.

pub(crate) mod accumulator;
pub(crate) mod arrivals;
pub(crate) mod case_packer;
pub(crate) mod former;
pub(crate) mod gate;
pub(crate) mod loader;
pub(crate) mod machine;
pub(crate) mod pick_robot;
pub(crate) mod portioner;
pub(crate) mod rigid_belt;
pub(crate) mod supply;
pub(crate) mod web;
mod web_functions;

/// What is special to a station.
#[derive(Debug)]
pub(crate) enum Unit {
    Supply(Box<supply::Supply>),
    Portioner(Box<portioner::Portioner>),
    Accumulator(Box<accumulator::Accumulator>),
    Loader(Box<loader::Loader>),
    Former(Box<former::Former>),
    Robot(Box<pick_robot::Robot>),
    RigidBelt(Box<rigid_belt::RigidBelt>),
    Gate(Box<gate::Gate>),
    CasePacker(Box<case_packer::CasePacker>),
    Machine(Box<machine::Machine>),
    Arrivals(Box<arrivals::Arrivals>),
}

impl Unit {
    /// Pieces in the station. Product in the hopper is mass, not pieces.
    pub(crate) fn content(&self) -> u32 {
        match self {
            Self::Supply(_) => 0,
            Self::Portioner(unit) => u32::from(unit.holding.is_some()),
            Self::Accumulator(unit) => unit.content(),
            Self::Loader(unit) => unit.content(),
            Self::Former(unit) => unit.content(),
            Self::Robot(unit) => unit.content(),
            Self::RigidBelt(unit) => unit.content(),
            Self::Gate(unit) => u32::from(unit.in_hand.is_some()),
            Self::CasePacker(unit) => unit.content(),
            Self::Machine(unit) => u32::from(unit.in_hand.is_some()),
            Self::Arrivals(unit) => u32::from(unit.holding.is_some()),
        }
    }
}

/// A getter for the unit of a station whose kind is known from the line; a wrong kind is a bug of the engine.
macro_rules! unit_getter {
    ($name:ident, $variant:ident, $type:ty) => {
        impl crate::world::World<'_> {
            #[inline]
            pub(crate) fn $name(&mut self, station: linewake_model::line::StationIndex) -> &mut $type {
                match &mut self.units[station] {
                    $crate::station::Unit::$variant(unit) => unit,
                    other => unreachable!("station {station} is not of this kind: {other:?}"),
                }
            }
        }
    };
}
pub(crate) use unit_getter;
