//! Stations whose state has changed in this instant: a set that is emptied in line order.

use linewake_model::line::StationIndex;

/// A set of stations.
#[derive(Debug)]
pub(crate) struct Changed {
    /// The first 64 stations, one bit each: most lines have no more.
    first: u64,
    /// Those behind them.
    others: Vec<u64>,
    any_other: bool,
}

impl Changed {
    /// Room for so many stations.
    pub(crate) fn new(stations: usize) -> Self {
        Self { first: 0, others: vec![0; stations.saturating_sub(64).div_ceil(64)], any_other: false }
    }

    #[inline]
    pub(crate) fn insert(&mut self, station: StationIndex) {
        if station < 64 {
            self.first |= 1 << station;
        } else {
            self.others[station / 64 - 1] |= 1 << (station % 64);
            self.any_other = true;
        }
    }

    /// True if a station is in it.
    #[inline]
    pub(crate) fn any(&self) -> bool {
        self.first != 0 || self.any_other
    }

    pub(crate) fn clear(&mut self) {
        self.first = 0;
        self.others.fill(0);
        self.any_other = false;
    }

    /// Takes the first station in line order out of it.
    #[inline]
    pub(crate) fn take_first(&mut self) -> Option<StationIndex> {
        if self.first != 0 {
            let bit = self.first.trailing_zeros() as usize;
            self.first &= self.first - 1;
            return Some(bit);
        }
        if self.any_other { self.take_first_other() } else { None }
    }

    #[cold]
    fn take_first_other(&mut self) -> Option<StationIndex> {
        for (place, word) in self.others.iter_mut().enumerate() {
            if *word != 0 {
                let bit = word.trailing_zeros() as usize;
                *word &= *word - 1;
                return Some((place + 1) * 64 + bit);
            }
        }
        self.any_other = false;
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gives_each_station_once_in_line_order() {
        let mut changed = Changed::new(130);
        assert!(!changed.any());
        for station in [129, 3, 64, 3, 0, 129] {
            changed.insert(station);
        }
        assert!(changed.any());
        let order: Vec<_> = std::iter::from_fn(|| changed.take_first()).collect();
        assert_eq!(order, [0, 3, 64, 129]);
        assert!(!changed.any());
    }
}
