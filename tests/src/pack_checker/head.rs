//! From the hopper to the pockets: portions.

use super::conveyors::shares;
use super::{Check, Time, fail};
use linewake_model::line::{Line, MICROGRAMS_PER_GRAM};
use linewake_model::station::{BulkSupply, Loader, Portioner, StationKind};
use linewake_model::time::Span;
use std::collections::{BTreeMap, VecDeque};

/// A portion on its way to a pocket.
#[derive(Clone, Copy, Debug)]
pub(super) struct Portion {
    pub(super) weight_ug: u64,
    /// Line time at which it was cut.
    pub(super) born: u64,
    /// Calendar time at which it came into the loader.
    pub(super) open_since: u64,
}

/// Hopper, portioner and loader.
#[derive(Clone, Debug)]
pub(super) struct Head {
    supply: BulkSupply,
    portioner: Portioner,
    portioner_exact: bool,
    portioner_fastest: f64,
    pub(super) loader: Loader,
    loader_exact: bool,
    loader_fastest: f64,
    /// Portions that are in no pocket yet.
    pub(super) portions: BTreeMap<u64, Portion>,
    pub(super) batches: u64,
    pub(super) tipped_ug: u64,
    pub(super) tipped_mg: u64,
    pub(super) drawn_ug: u64,
    pub(super) cut: u64,
    last_cut_ran: u64,
    /// The portion that the portioner holds.
    pub(super) holding: Option<u64>,
    /// Portions in the loader, in the order in which they came.
    pub(super) in_loader: VecDeque<u64>,
    pub(super) loads: u64,
    last_load_ran: u64,
    /// Portions of the load of this instant, and the pockets they went into.
    pub(super) load: Vec<(u64, u64)>,
}

impl Head {
    /// Of a full line; none for a line of generic machines.
    pub(super) fn of(line: &Line) -> Option<Self> {
        let StationKind::BulkSupply(supply) = &line.stations.first()?.kind else { return None };
        let StationKind::Portioner(portioner) = &line.stations.get(1)?.kind else { return None };
        let StationKind::Loader(loader) = &line.stations.get(3)?.kind else { return None };
        let (portioner_control, loader_control) =
            (line.stations[1].speed_control.as_ref(), line.stations[3].speed_control.as_ref());
        Some(Self {
            supply: supply.clone(),
            portioner: portioner.clone(),
            portioner_exact: portioner_control.is_none(),
            portioner_fastest: shares(portioner_control).1,
            loader: loader.clone(),
            loader_exact: loader_control.is_none(),
            loader_fastest: shares(loader_control).1,
            portions: BTreeMap::new(),
            batches: 0,
            tipped_ug: 0,
            tipped_mg: 0,
            drawn_ug: 0,
            cut: 0,
            last_cut_ran: 0,
            holding: None,
            in_loader: VecDeque::new(),
            loads: 0,
            last_load_ran: 0,
            load: Vec::new(),
        })
    }

    pub(super) fn level_ug(&self) -> u64 {
        self.tipped_ug - self.drawn_ug
    }

    /// What the hopper must hold for a cut to start.
    pub(super) fn nominal_ug(&self) -> u64 {
        (self.portioner.weight.mean_g * MICROGRAMS_PER_GRAM + 0.5).floor() as u64
    }

    /// Another batch does not fit.
    pub(super) fn hopper_is_full(&self) -> bool {
        self.level_ug() + self.supply.batch_ug > self.supply.hopper_ug
    }

    pub(super) fn tips(&mut self, batch: u64, mass_ug: u64) -> Check {
        if batch != self.batches || mass_ug != self.supply.batch_ug {
            return fail(format!("batch {batch} of {mass_ug} ug follows {} batches", self.batches));
        }
        if self.hopper_is_full() {
            return fail(format!("a batch is tipped on {} ug and does not fit", self.level_ug()));
        }
        self.batches += 1;
        self.tipped_ug += mass_ug;
        self.tipped_mg += mass_ug / 1000;
        Ok(())
    }

    pub(super) fn cuts(&mut self, portion: u64, weight_ug: u64, time: Time) -> Check {
        if portion != self.cut {
            return fail(format!("portion {portion} follows {} portions", self.cut));
        }
        if let Some(there) = self.holding {
            return fail(format!("portion {portion} is cut while {there} waits"));
        }
        if weight_ug > self.level_ug() {
            return fail(format!("{weight_ug} ug are drawn from {} ug", self.level_ug()));
        }
        // A portion is never below 1 g, unless the hopper ran out.
        if weight_ug < 1_000_000 && weight_ug != self.level_ug() {
            return fail(format!("portion {portion} weighs {weight_ug} ug"));
        }
        let (took, due) =
            (time.ran - self.last_cut_ran, Span::from_seconds(60.0 / self.portioner.rate_per_min));
        if took < due.at_speed(self.portioner_fastest).0 || self.portioner_exact && took != due.0 {
            return fail(format!("portion {portion} took {took} us, and a cut takes {} us", due.0));
        }
        self.last_cut_ran = time.ran;
        self.cut += 1;
        self.drawn_ug += weight_ug;
        self.holding = Some(portion);
        self.portions.insert(portion, Portion { weight_ug, born: time.line, open_since: 0 });
        Ok(())
    }

    pub(super) fn portioner_releases(&mut self, portion: u64) -> Check {
        if self.holding.take_if(|held| *held == portion).is_none() {
            return fail(format!("the portioner does not hold portion {portion}"));
        }
        Ok(())
    }

    fn array(&self) -> usize {
        self.loader.lanes as usize * self.loader.array_rows as usize
    }

    pub(super) fn enters_loader(&mut self, portion: u64, time: Time) -> Check {
        self.in_loader.push_back(portion);
        if self.in_loader.len() > self.array() + self.loader.array_rows as usize {
            return fail(format!("{} portions are in the loader", self.in_loader.len()));
        }
        let Some(portion) = self.portions.get_mut(&portion) else { return fail("unknown portion") };
        portion.open_since = time.at;
        Ok(())
    }

    /// A portion is laid into a pocket. Returns it.
    pub(super) fn loads(&mut self, portion: u64, pocket: u64) -> Result<Portion, String> {
        if self.in_loader.pop_front() != Some(portion) {
            return Err(format!("portion {portion} is not the first in the loader"));
        }
        self.load.push((portion, pocket));
        self.portions.remove(&portion).ok_or_else(|| format!("portion {portion} is unknown"))
    }

    /// The instant is over: if there was a load, it was a whole array, in whole frames, in the loader's own time.
    /// Returns the first frame of it.
    pub(super) fn instant_over(
        &mut self,
        pockets: u64,
        rows_per_index: u64,
        time: Time,
    ) -> Result<Option<u64>, String> {
        if self.load.is_empty() {
            return Ok(None);
        }
        let (rows, lanes) = (self.loader.array_rows as usize, u64::from(self.loader.lanes));
        if self.load.len() != self.array() {
            return Err(format!(
                "{} portions were loaded, and an array has {}",
                self.load.len(),
                self.array()
            ));
        }
        let mut filled: Vec<u64> = self.load.iter().map(|(_, pocket)| *pocket).collect();
        filled.sort_unstable();
        let first = filled[0] / pockets;
        let zone = first * pockets..(first + u64::from(self.loader.indexes_per_array)) * pockets;
        if !filled.iter().copied().eq(zone) {
            return Err(format!("the array does not fill the zone from frame {first} on: {filled:?}"));
        }
        let lane_of = |pocket: u64| pocket % pockets / rows_per_index;
        for (lane, file) in (0..lanes).zip(self.load.chunks(rows)) {
            if file.iter().any(|(_, pocket)| lane_of(*pocket) != lane) {
                return Err(format!("file {lane} does not lie in one lane: {file:?}"));
            }
        }
        let [transfer, traverse, load, back] =
            [self.loader.file_transfer, self.loader.traverse, self.loader.load, self.loader.return_];
        let took = time.ran - self.last_load_ran;
        let cycle = |share: f64| {
            let at = |span: Span| span.at_speed(share).0;
            let returned = if self.loads == 0 { 0 } else { at(back) };
            returned + lanes * at(transfer) + (lanes - 1) * at(traverse) + at(load)
        };
        if took < cycle(self.loader_fastest) || self.loader_exact && took != cycle(1.0) {
            return Err(format!(
                "the array took {took} us of the loader's running time, not {} us",
                cycle(1.0)
            ));
        }
        self.last_load_ran = time.ran;
        self.loads += 1;
        self.load.clear();
        Ok(Some(first))
    }
}
