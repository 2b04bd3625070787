//! The web of the former: frames of pockets that move on together.

use crate::piece::Piece;
use linewake_model::stop::Reason;
use std::collections::VecDeque;

/// One index of the web.
#[derive(Clone, Debug, Default)]
pub(crate) struct WebFrame {
    /// Number of the index; its pockets are numbered `number * pockets + place`.
    pub(crate) number: u64,
    /// The pockets, lane by lane, in row order. Empty ones are `None`.
    pub(crate) pockets: Vec<Pocket>,
    /// Some pack in it is misprinted.
    pub(crate) has_misprint: bool,
}

/// One pocket.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Pocket {
    /// The product, and later the pack, in it.
    pub(crate) pack: Option<Piece>,
    /// Film spoilt while the pocket was empty: what is loaded into it is tagged.
    pub(crate) spoilt: Reason,
}

impl WebFrame {
    /// Number of the first pocket, and how many there are: packs bear the number of their pocket.
    pub(crate) fn numbers(&self) -> (u64, u64) {
        let pockets = self.pockets.len() as u64;
        (self.number * pockets, pockets)
    }

    /// Number of packs that a robot must pick: untagged ones.
    pub(crate) fn has_untagged(&self) -> bool {
        self.pockets.iter().any(|pocket| pocket.pack.is_some_and(|pack| pack.tag == Reason::NONE))
    }

    /// Pockets with product.
    pub(crate) fn filled(&self) -> u32 {
        self.pockets.iter().filter(|pocket| pocket.pack.is_some()).count() as u32
    }
}

/// The frames from forming (0) to cut.
#[derive(Debug)]
pub(crate) struct Web {
    frames: VecDeque<WebFrame>,
    pockets_of_frame: usize,
    next_number: u64,
    /// A frame that has been emptied, to be formed anew.
    spare: Option<WebFrame>,
    /// Pockets with product.
    filled: u32,
}

impl Web {
    /// A threaded web without product: a frame at every position from 0 to `cut`.
    pub(crate) fn new(cut: u32, pockets_of_frame: usize) -> Self {
        let mut web =
            Self { frames: VecDeque::new(), pockets_of_frame, next_number: 0, spare: None, filled: 0 };
        for _ in 0..=cut {
            web.form();
        }
        web
    }

    fn form(&mut self) {
        let mut frame = self.spare.take().unwrap_or_default();
        frame.number = self.next_number;
        frame.has_misprint = false;
        frame.pockets.clear();
        frame.pockets.resize(self.pockets_of_frame, Pocket::default());
        self.next_number += 1;
        self.frames.push_front(frame);
    }

    /// So many empty pockets have got product.
    pub(crate) fn fills(&mut self, pockets: u32) {
        self.filled += pockets;
    }

    /// The frame at that position.
    pub(crate) fn at(&mut self, position: u32) -> Option<&mut WebFrame> {
        self.frames.get_mut(position as usize)
    }

    /// All frames move on one position: a new one is formed, and the one at cut leaves the web.
    pub(crate) fn advance(&mut self) -> WebFrame {
        let out = self.frames.pop_back().unwrap_or_default();
        self.filled -= out.filled();
        self.form();
        out
    }

    /// Advances so far: frames formed, without those that the web was threaded with.
    pub(crate) fn advances(&self) -> u64 {
        self.next_number - self.frames.len() as u64
    }

    /// Gives back a frame that has been emptied.
    pub(crate) fn recycle(&mut self, frame: WebFrame) {
        self.spare = Some(frame);
    }

    /// Pockets with product.
    pub(crate) fn content(&self) -> u32 {
        self.filled
    }
}
