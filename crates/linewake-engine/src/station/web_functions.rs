//! What the web functions of the former do to packs, from the seal to the cut: defects, tags, print and vision.

use crate::luck::{Chance, name};
use crate::piece::{Piece, defect_bit};
use crate::station::former::Former;
use linewake_log::event::PackStep;
use linewake_model::line::Line;
use linewake_model::station;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use linewake_stats::stream::{Stream, Streams};

/// Luck of the former: the print chain, and what may happen to each pack.
#[derive(Debug)]
pub(super) struct FormerLuck {
    print_is_faulty: Option<bool>,
    print_chain: Stream,
    misprint: Chance,
    vision_finds: Chance,
    vision_false_tag: Chance,
    leak: Chance,
    label_missing: Chance,
    contaminated: Chance,
    /// Defects of the model, each with its bit.
    own: Vec<(Chance, Reason, u64)>,
}

impl FormerLuck {
    pub(super) fn new(line: &Line, id: &str, spec: &station::Former, streams: &Streams) -> Self {
        let chance = |quantity: &str, probability| Chance::new(streams, id, quantity, probability);
        let own = |defect: &linewake_model::line::OwnDefect| {
            let quantity = format!("defect {}", line.reason(defect.reason));
            (chance(&quantity, defect.probability), defect.reason, defect_bit(line, defect.reason))
        };
        Self {
            print_is_faulty: None,
            print_chain: streams.get(&name(id, "print chain")),
            misprint: chance("misprint", spec.printer.map_or(0.0, |printer| printer.q)),
            vision_finds: chance(
                "vision finds",
                spec.vision.as_ref().map_or(0.0, |vision| vision.sensitivity),
            ),
            vision_false_tag: chance(
                "vision false tag",
                spec.vision.as_ref().map_or(0.0, |vision| vision.false_tag),
            ),
            leak: chance("leak", spec.leak_probability),
            label_missing: chance("label missing", spec.label_missing_probability),
            contaminated: chance("contaminated", spec.contaminated_probability),
            own: line.own_defects.iter().map(own).collect(),
        }
    }
}

/// What happened to a pack in a dwell, to be told to the log.
pub(super) type Marks = Vec<(PackStep, Piece, Reason)>;

pub(super) fn tag(pack: &mut Piece, reason: Reason, marks: &mut Marks) {
    if pack.tag == Reason::NONE {
        pack.tag = reason;
        marks.push((PackStep::Tagged, *pack, reason));
    }
}

impl Former {
    /// The two-state print chain moves one step for each index; the first index is good.
    fn print_step(&mut self) -> bool {
        let Some(printer) = self.spec.printer else {
            return false;
        };
        let draw = self.luck.print_chain.open01();
        let faulty = match self.luck.print_is_faulty {
            None => false,
            Some(false) => draw < printer.p,
            Some(true) => draw >= printer.r,
        };
        self.luck.print_is_faulty = Some(faulty);
        faulty
    }

    /// Seal and print: leaks, misprints, product that stood open too long, first indexes after a stop.
    pub(super) fn seal(&mut self, calendar: Moment, marks: &mut Marks) {
        let faulty = self.print_step();
        let first_off = self.first_off > 0;
        self.first_off = self.first_off.saturating_sub(1);
        let Some(frame) = self.web.at(self.spec.positions.seal) else {
            return;
        };
        // Most indexes have nothing of all this.
        let (first, pockets) = frame.numbers();
        let leaks = self.luck.leak.happens_among(first, pockets);
        if !(faulty || first_off || leaks || self.open_time_limit.is_some()) {
            return;
        }
        frame.has_misprint |= faulty && self.luck.misprint.happens_among(first, pockets);
        for pack in frame.pockets.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            if faulty && self.luck.misprint.happens(pack.id) {
                mark(pack, Reason::MISPRINT, 1 << Reason::MISPRINT.0, marks);
            }
            if self.luck.leak.happens(pack.id) {
                mark(pack, Reason::LEAK, 1 << Reason::LEAK.0, marks);
            }
            if self.open_time_limit.is_some_and(|limit| calendar.since(pack.open_since) > limit) {
                tag(pack, Reason::AGED, marks);
            }
            if first_off {
                tag(pack, Reason::FIRST_OFF, marks);
            }
        }
    }

    /// Vision: tags misprinted packs, and now and then a right one. Returns the stop mode of the stop rule if it is due.
    pub(super) fn inspect(&mut self, marks: &mut Marks) -> Option<usize> {
        let vision = self.spec.vision.as_ref()?;
        let frame = self.web.at(self.spec.positions.print_inspection?)?;
        let mut tagged = false;
        let (first, pockets) = frame.numbers();
        let none = !frame.has_misprint && !self.luck.vision_false_tag.happens_among(first, pockets);
        let looked_at: &mut [_] = if none { &mut [] } else { &mut frame.pockets };
        for pack in looked_at.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            let misprinted = pack.has(1 << Reason::MISPRINT.0);
            let (found, reason) = if misprinted {
                (self.luck.vision_finds.happens(pack.id), Reason::MISPRINT)
            } else {
                (self.luck.vision_false_tag.happens(pack.id), Reason::FALSE_TAG)
            };
            if found {
                tagged = true;
                tag(pack, reason, marks);
            }
        }
        self.tagged_in_row = if tagged { self.tagged_in_row + 1 } else { 0 };
        let rule = vision.stop_rule.as_ref()?;
        if self.tagged_in_row >= rule.count {
            self.tagged_in_row = 0;
            return self.vision_stop;
        }
        None
    }

    pub(super) fn label(&mut self, marks: &mut Marks) {
        let Some(frame) = self.spec.positions.label.and_then(|position| self.web.at(position)) else {
            return;
        };
        let (first, pockets) = frame.numbers();
        if !self.luck.label_missing.happens_among(first, pockets) {
            return;
        }
        for pack in frame.pockets.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            if self.luck.label_missing.happens(pack.id) {
                mark(pack, Reason::LABEL_MISSING, 1 << Reason::LABEL_MISSING.0, marks);
            }
        }
    }

    /// Cut: from here on a filled pocket is a pack. Returns packs and empty pockets.
    pub(super) fn cut(&mut self, packs_wanted: bool, marks: &mut Marks) -> (u64, u64) {
        let Some(frame) = self.web.at(self.spec.positions.cut) else {
            return (0, 0);
        };
        let (first, pockets) = frame.numbers();
        let nothing = !packs_wanted && self.luck.own.is_empty();
        if nothing && !self.luck.contaminated.happens_among(first, pockets) {
            let packs = u64::from(frame.filled());
            return (packs, pockets - packs);
        }
        let (mut packs, mut empty) = (0, 0);
        for pocket in &mut frame.pockets {
            let Some(pack) = &mut pocket.pack else {
                empty += 1;
                continue;
            };
            packs += 1;
            if self.luck.contaminated.happens(pack.id) {
                mark(pack, Reason::CONTAMINATED, 1 << Reason::CONTAMINATED.0, marks);
            }
            for (chance, reason, bit) in &mut self.luck.own {
                if chance.happens(pack.id) {
                    mark(pack, *reason, *bit, marks);
                }
            }
            if packs_wanted {
                marks.push((PackStep::Cut, *pack, Reason::NONE));
            }
        }
        (packs, empty)
    }
}

fn mark(pack: &mut Piece, defect: Reason, bit: u64, marks: &mut Marks) {
    pack.defects |= bit;
    marks.push((PackStep::Defect, *pack, defect));
}
