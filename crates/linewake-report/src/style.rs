//! Colours, fonts and the style sheet: the one place for how things look.
//!
//! Fills are the Okabe-Ito colours, which people with colour-blindness tell apart; those with a contrast below 3:1 on
//! white get a dark outline. None of them stands by itself: a hatch, a label or both say the same.

/// Black of all text in figures.
pub(crate) const TEXT: &str = "#1b1b1b";
/// Lesser text: 7:1 on white.
pub(crate) const QUIET: &str = "#555555";
/// Grid lines.
pub(crate) const GRID: &str = "#dddddd";
/// Lines that must be seen: outlines, whiskers.
pub(crate) const LINE: &str = "#333333";
/// The page.
pub(crate) const PAPER: &str = "#ffffff";
/// What a stop reached, behind the marks.
pub(crate) const WAKE: &str = "#f6ebd2";
/// A line that stands for nothing happening: 3:1 on white.
pub(crate) const IDLE: &str = "#8f8f8f";
/// The interval of a mean.
pub(crate) const MEAN: &str = "#0072B2";
/// Fonts of figures, as an attribute: the one that PNG files are drawn in, then fonts with the same widths.
pub(crate) const FIGURE_FONTS: &str = "'Liberation Sans', Arial, Helvetica, sans-serif";

/// What an area in a figure stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fill {
    /// Packs that are still there; a mean.
    Kept,
    /// Packs that were lost in one step.
    Lost,
    /// An own stop, being put right.
    Stop,
    /// An own stop, waiting for an operator.
    Waiting,
    /// Recovery from a stop.
    Recovery,
    /// A planned stop.
    Planned,
    /// Supply, start-up or rate: the line waits without a stop.
    NoStop,
    /// Waiting for something from upstream.
    Starved,
    /// Waiting for room downstream.
    Blocked,
    /// Slow cycles and empty pockets.
    Slow,
    /// Rejects and scrap.
    Reject,
    /// Rejects that are the consequence of a stop.
    Consequence,
    /// Still in the line; all that is not told apart.
    Rest,
}

/// Pattern over a fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hatch {
    /// Rising to the right.
    Rising,
    /// Falling to the right.
    Falling,
    /// Upright.
    Upright,
    /// Dots.
    Dots,
}

/// How a fill is painted.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Paint {
    /// Area.
    pub(crate) area: &'static str,
    /// Pattern over it and its colour.
    pub(crate) hatch: Option<(Hatch, &'static str)>,
    /// Outline.
    pub(crate) outline: &'static str,
}

impl Fill {
    /// A word that is unique to it.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Lost => "lost",
            Self::Stop => "stop",
            Self::Waiting => "waiting",
            Self::Recovery => "recovery",
            Self::Planned => "planned",
            Self::NoStop => "nostop",
            Self::Starved => "starved",
            Self::Blocked => "blocked",
            Self::Slow => "slow",
            Self::Reject => "reject",
            Self::Consequence => "consequence",
            Self::Rest => "rest",
        }
    }

    /// Its colour where a mark is too narrow for a hatch or an outline: 3:1 on white. There, the place of the mark
    /// (upper half, lower half, whole height) says the same as the colour.
    pub(crate) fn ink(self) -> &'static str {
        match self {
            Self::Starved => "#0072B2",
            Self::Stop => "#D55E00",
            Self::Blocked => "#7a5400",
            Self::Planned => "#6b6b6b",
            other => other.paint().outline,
        }
    }

    /// How it is painted.
    pub(crate) fn paint(self) -> Paint {
        let (area, hatch, outline) = match self {
            Self::Kept => ("#0072B2", None, "#00507d"),
            Self::Lost => ("#ffffff", Some((Hatch::Rising, "#D55E00")), "#D55E00"),
            Self::Stop => ("#D55E00", None, "#9c4500"),
            Self::Waiting => ("#ffffff", Some((Hatch::Falling, "#D55E00")), "#9c4500"),
            Self::Recovery => ("#f4c7a8", Some((Hatch::Upright, "#9c4500")), "#9c4500"),
            Self::Planned => ("#6b6b6b", None, "#1b1b1b"),
            Self::NoStop => ("#F0E442", Some((Hatch::Dots, "#5c5600")), "#5c5600"),
            Self::Starved => ("#56B4E9", None, "#1f5f87"),
            Self::Blocked => ("#E69F00", Some((Hatch::Rising, "#7a5400")), "#7a5400"),
            Self::Slow => ("#56B4E9", Some((Hatch::Falling, "#003f5e")), "#1f5f87"),
            Self::Reject => ("#CC79A7", None, "#7d3f62"),
            Self::Consequence => ("#ffffff", Some((Hatch::Falling, "#7d3f62")), "#7d3f62"),
            Self::Rest => ("#e4e4e4", Some((Hatch::Dots, "#555555")), "#555555"),
        };
        Paint { area, hatch, outline }
    }
}

/// A portion, and a pack that is not tagged, in a moving picture.
const PRODUCT: (&str, &str) = ("#009E73", "#00543d");
/// What a belt or table holds.
const CONTENT: (&str, &str) = ("#c5dfe9", "#1f5f87");
/// Edge of a wake.
const WAKE_EDGE: &str = "#8a6d1f";

/// The style sheet of a moving picture: its colours, and the layout that comes with its script.
pub(crate) fn replay_sheet() -> String {
    let colours = [
        ("text", TEXT),
        ("quiet", QUIET),
        ("grid", GRID),
        ("line", LINE),
        ("paper", PAPER),
        ("wake", WAKE),
        ("wake-line", WAKE_EDGE),
        ("starved", Fill::Starved.ink()),
        ("blocked", Fill::Blocked.ink()),
        ("stop", Fill::Stop.ink()),
        ("planned", Fill::Planned.ink()),
        ("content", CONTENT.0),
        ("content-line", CONTENT.1),
        ("product", PRODUCT.0),
        ("product-line", PRODUCT.1),
        ("tag", Fill::Reject.ink()),
        ("pocket", IDLE),
        ("focus", MEAN),
    ];
    let mut sheet = String::from(":root {");
    for (name, colour) in colours {
        sheet.push_str(&format!(" --replay-{name}: {colour};"));
    }
    sheet.push_str(" }\n");
    sheet.push_str(linewake_replay::SHEET);
    sheet
}

/// The style sheet of a page. No script, no address, nothing but system fonts.
pub(crate) const SHEET: &str = include_str!("page.css");

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Fill; 13] = [
        Fill::Kept,
        Fill::Lost,
        Fill::Stop,
        Fill::Waiting,
        Fill::Recovery,
        Fill::Planned,
        Fill::NoStop,
        Fill::Starved,
        Fill::Blocked,
        Fill::Slow,
        Fill::Reject,
        Fill::Consequence,
        Fill::Rest,
    ];

    fn luminance(colour: &str) -> f64 {
        let channel = |from: usize| {
            let value = u8::from_str_radix(&colour[from..from + 2], 16).unwrap();
            let value = f64::from(value) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// Limits of WCAG 2.2: 1.4.3 (text, 4.5:1) and 1.4.11 (graphics, 3:1).
    #[test]
    fn text_and_outlines_have_enough_contrast() {
        assert!(contrast(TEXT, "#ffffff") >= 4.5);
        assert!(contrast(QUIET, "#ffffff") >= 4.5 && contrast(QUIET, WAKE) >= 4.5);
        assert!(contrast(IDLE, PAPER) >= 3.0);
        assert!(contrast(PRODUCT.0, PAPER) >= 3.0 && contrast(PRODUCT.1, PAPER) >= 3.0);
        assert!(contrast(CONTENT.1, CONTENT.0) >= 3.0 && contrast(WAKE_EDGE, WAKE) >= 3.0);
        assert!(contrast(TEXT, WAKE) >= 4.5);
        for fill in ALL {
            let paint = fill.paint();
            assert!(contrast(paint.outline, "#ffffff") >= 3.0, "{fill:?}");
            assert!(contrast(fill.ink(), PAPER) >= 3.0 && contrast(fill.ink(), WAKE) >= 3.0, "{fill:?}");
            if let Some((_, line)) = paint.hatch {
                assert!(contrast(line, paint.area) >= 3.0, "{fill:?}");
            }
        }
    }

    #[test]
    fn no_two_fills_look_alike() {
        for (place, one) in ALL.iter().enumerate() {
            for other in &ALL[place + 1..] {
                assert_ne!(one.key(), other.key());
                let (a, b) = (one.paint(), other.paint());
                assert!(a.area != b.area || a.hatch != b.hatch, "{one:?} {other:?}");
            }
        }
    }

    #[test]
    fn style_sheet_names_no_address() {
        assert!(!SHEET.contains("url(") && !SHEET.contains("@import") && !SHEET.contains("//"));
        assert!(!SHEET.contains("</"));
    }
}
