//! How pieces become packs on a line: where packs begin, and how many portions, arrays and kilograms one takes.

use super::feedback::{Behaviour, behaviour};
use crate::line::{Line, StationIndex};
use crate::station::{Accumulator, Former, Loader, PickRobot, Portioner, StationKind, UNLIMITED};

/// The stations that shape the flow, found once.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape<'a> {
    pub(super) portioner: Option<&'a Portioner>,
    pub(super) loader: Option<&'a Loader>,
    pub(super) former: Option<(StationIndex, &'a Former)>,
    pub(super) robot: Option<(StationIndex, &'a PickRobot)>,
    /// Portions of a pack: loads into one zone.
    pub(super) portions_per_pack: f64,
    /// Share of the shift that is break.
    pub(super) break_share: f64,
    /// The loop of the weight feedback, if there is one.
    pub(super) feedback: Option<Behaviour>,
}

impl<'a> Shape<'a> {
    pub(super) fn of(line: &'a Line) -> Self {
        let mut shape = Self {
            portioner: None,
            loader: None,
            former: None,
            robot: None,
            portions_per_pack: 1.0,
            break_share: 0.0,
            feedback: None,
        };
        for (index, station) in line.stations.iter().enumerate() {
            match &station.kind {
                StationKind::Portioner(portioner) => shape.portioner = Some(portioner),
                StationKind::Loader(loader) => {
                    shape.loader = Some(loader);
                    shape.portions_per_pack = f64::from(loader.loads_per_zone.max(1));
                }
                StationKind::Former(former) => shape.former = Some((index, former)),
                StationKind::PickRobot(robot) => shape.robot = Some((index, robot)),
                _ => {}
            }
        }
        let breaks: f64 = line.shift.breaks.iter().map(|rest| rest.duration.seconds()).sum();
        let length = line.shift.length.seconds();
        if length > 0.0 {
            shape.break_share = (breaks / length).clamp(0.0, 1.0);
        }
        shape.feedback = behaviour(line, &shape);
        shape
    }

    /// Whether the station handles portions, not packs.
    pub(super) fn is_before_packs(&self, station: StationIndex) -> bool {
        self.former.is_some_and(|(former, _)| station < former)
    }

    /// Pieces that the station handles for one pack.
    pub(super) fn pieces_per_pack(&self, station: StationIndex) -> f64 {
        if self.is_before_packs(station) { self.portions_per_pack } else { 1.0 }
    }

    /// Packs of one index; 1 in a line without a former.
    pub(super) fn packs_per_index(&self) -> f64 {
        self.former.map_or(1.0, |(_, former)| former.pockets().max(1) as f64)
    }

    /// Arrays that the loader makes for one pack.
    pub(super) fn arrays_per_pack(&self) -> f64 {
        self.loader.map_or(0.0, |loader| self.portions_per_pack / array_portions(loader).max(1.0))
    }

    /// Mean weight of a pack in grams; with feedback what its mean is held to, within the limits of the correction.
    pub(super) fn pack_g(&self) -> Option<f64> {
        let weight = &self.portioner?.weight;
        let portions = self.portions_per_pack;
        let correction = weight.feedback.map_or(0.0, |feedback| {
            let wanted = feedback.target_g / portions - weight.mean_g;
            wanted.min(feedback.highest_g).max(feedback.lowest_g)
        });
        Some(portions * (weight.mean_g + correction))
    }
}

/// Portions of an array.
pub(super) fn array_portions(loader: &Loader) -> f64 {
    f64::from(loader.lanes) * f64::from(loader.array_rows)
}

/// Whether an accumulator stores anything; capacity 0 is a direct hand-over.
pub(super) fn stores(accumulator: &Accumulator) -> bool {
    accumulator.capacity > 0
}

/// Capacity in pieces, `None` when it never fills.
pub(super) fn capacity(accumulator: &Accumulator) -> Option<f64> {
    (accumulator.capacity != UNLIMITED).then(|| f64::from(accumulator.capacity))
}

/// What a station is, in the words of the trade.
pub(super) fn kind_words(kind: &StationKind) -> &'static str {
    use crate::station::GateKind;
    match kind {
        StationKind::BulkSupply(_) => "bulk supply",
        StationKind::Portioner(_) => "portioner",
        StationKind::Accumulator(accumulator) if accumulator.is_belt => "accumulating belt",
        StationKind::Accumulator(_) => "table",
        StationKind::Loader(_) => "loader",
        StationKind::Former(_) => "former",
        StationKind::PickRobot(_) => "pick robot",
        StationKind::RigidBelt(_) => "rigid belt",
        StationKind::Gate(gate) => match gate.kind {
            GateKind::Checkweigher => "checkweigher",
            GateKind::MetalDetector => "metal detector",
            GateKind::XRay => "X-ray",
            GateKind::LeakTest => "leak test",
        },
        StationKind::CasePacker(_) => "case packer",
        StationKind::Machine(_) => "machine",
        StationKind::Arrivals(_) => "arrivals",
    }
}
