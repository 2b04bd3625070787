//! Portions and packs while events come in.

use crate::{Gone, ItemKind, ItemReplay, Visit, Way};
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use std::collections::BTreeMap;

#[derive(Clone, Debug)]
pub(super) struct Items {
    former: Option<usize>,
    items: BTreeMap<(ItemKind, u64), ItemReplay>,
    /// Marks are kept.
    begun: bool,
}

impl Items {
    pub(super) fn new(former: Option<usize>) -> Self {
        Self { former, items: BTreeMap::new(), begun: false }
    }

    /// What the items of a station are: portions before the web.
    pub(super) fn kind_at(&self, station: usize) -> ItemKind {
        if self.former.is_some_and(|former| station < former) { ItemKind::Portion } else { ItemKind::Pack }
    }

    /// Where the item is now, if it is on its way.
    pub(super) fn station_of(&self, kind: ItemKind, number: u64) -> Option<usize> {
        let item = self.items.get(&(kind, number)).filter(|it| it.gone.is_none())?;
        item.visits.last().map(|visit| usize::from(visit.0))
    }

    /// The item comes into a station; it begins there if it is not known.
    pub(super) fn visits(&mut self, kind: ItemKind, number: u64, station: usize, at: Moment, clock: u64) {
        let begun = self.begun;
        let item = self.items.entry((kind, number)).or_insert_with(|| ItemReplay {
            kind,
            number,
            visits: Vec::new(),
            picked_us: None,
            cut_us: None,
            tagged: None,
            gone: None,
        });
        if !begun {
            item.visits.clear();
        }
        item.visits.push(Visit(station as u16, at.0, clock));
    }

    /// A portion comes into a pocket; a second one changes nothing.
    pub(super) fn fills(&mut self, pocket: u64, former: usize, at: Moment, clock: u64) {
        if !self.items.contains_key(&(ItemKind::Pack, pocket)) {
            self.visits(ItemKind::Pack, pocket, former, at, clock);
        }
    }

    /// Something is noted of an item.
    pub(super) fn of(&mut self, kind: ItemKind, number: u64, note: impl FnOnce(&mut ItemReplay)) {
        if let Some(item) = self.items.get_mut(&(kind, number)) {
            note(item);
        }
    }

    /// The item goes; before the window it is forgotten.
    pub(super) fn goes(
        &mut self,
        kind: ItemKind,
        number: u64,
        at: Moment,
        how: Way,
        reason: Reason,
        keep: bool,
    ) {
        if !keep {
            self.items.remove(&(kind, number));
            return;
        }
        self.of(kind, number, |it| it.gone = Some(Gone { at_us: at.0, how, reason: reason.0 }));
    }

    /// From here on all visits are kept.
    pub(super) fn begin_window(&mut self) {
        self.begun = true;
    }

    pub(super) fn finish(self) -> Vec<ItemReplay> {
        self.items.into_values().collect()
    }
}
