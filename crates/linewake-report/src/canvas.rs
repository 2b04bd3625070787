//! Drawing surface for figures: writes SVG, escapes every text, and remembers where each text stands, so that a test
//! can prove that no two overlap and none is cut off.

use crate::style::{FIGURE_FONTS, Fill, Hatch, LINE, PAPER, TEXT};
use std::fmt::Write;

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    /// At its start.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lettering {
    /// Size in pixels.
    pub(crate) size: f64,
    /// Colour.
    pub(crate) colour: &'static str,
    /// Heavier.
    pub(crate) bold: bool,
}

impl Lettering {
    /// The normal one.
    pub(crate) const BODY: Self = Self { size: 13.0, colour: TEXT, bold: false };
    /// Notes, axes, legends.
    pub(crate) const SMALL: Self = Self { size: 12.0, colour: crate::style::QUIET, bold: false };

    /// The same, heavier.
    pub(crate) fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// Width of a text in pixels, at least: with the widest of the usual fonts.
    pub(crate) fn width(self, text: &str) -> f64 {
        let thousandths: u32 = text.chars().map(advance).sum();
        let heavier = if self.bold { 1.13 } else { 1.0 };
        f64::from(thousandths) / 1000.0 * self.size * heavier
    }
}

/// Advance width of the printable ASCII characters in thousandths of the size: the wider of two fonts that come with
/// most systems (DejaVu Sans, Liberation Sans), measured in a browser.
const ADVANCE: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636,
    636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 556, 1015, 684, 686, 722, 770, 667, 611, 778, 752, 295,
    500, 667, 557, 863, 748, 787, 667, 787, 722, 667, 611, 732, 684, 989, 685, 667, 685, 390, 337, 390, 838,
    556, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521,
    392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];

fn advance(character: char) -> u32 {
    let place = (character as u32).checked_sub(32).and_then(|place| usize::try_from(place).ok());
    match place.and_then(|place| ADVANCE.get(place)) {
        Some(width) => u32::from(*width),
        None if matches!(character, '\u{a0}' | '·') => 318,
        None if matches!(character, '±' | '×' | '\u{2212}' | '≥' | '\u{e0}'..='\u{ff}') => 838,
        // Unknown letters: a full square, as wide as the widest scripts.
        None => 1000,
    }
}

/// A text and the box that it takes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TextBox {
    pub(crate) text: String,
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

/// A finished drawing.
#[derive(Clone, Debug)]
pub(crate) struct Drawing {
    /// SVG text.
    pub(crate) svg: String,
    /// Its width and height in pixels, and the texts on it: for the test that none overlap.
    #[cfg_attr(not(test), expect(dead_code, reason = "read by the overlap test"))]
    pub(crate) extent: (f64, f64),
    /// The texts.
    #[cfg_attr(not(test), expect(dead_code, reason = "read by the overlap test"))]
    pub(crate) texts: Vec<TextBox>,
    /// Areas, lines and dots: for the test that there are not too many.
    #[cfg_attr(not(test), expect(dead_code, reason = "read by the test of their number"))]
    pub(crate) marks: usize,
}

/// A drawing under way.
#[derive(Debug)]
pub(crate) struct Canvas {
    id: String,
    width: f64,
    body: String,
    fills: Vec<Fill>,
    texts: Vec<TextBox>,
    marks: usize,
}

impl Canvas {
    /// An empty one. `id` must be unique on a page: patterns and titles are named after it.
    pub(crate) fn new(id: &str, width: f64) -> Self {
        Self { id: id.to_owned(), width, body: String::new(), fills: Vec::new(), texts: Vec::new(), marks: 0 }
    }

    /// Its width in pixels.
    pub(crate) fn width(&self) -> f64 {
        self.width
    }

    /// A filled area.
    pub(crate) fn area(&mut self, x: f64, y: f64, width: f64, height: f64, fill: Fill) {
        self.marks += 1;
        let paint = fill.paint();
        let (x, y, width, height) = (tenth(x), tenth(y), tenth(width), tenth(height));
        let area = if paint.hatch.is_some() {
            if !self.fills.contains(&fill) {
                self.fills.push(fill);
            }
            format!("url(#{}-{})", self.id, fill.key())
        } else {
            paint.area.to_owned()
        };
        let _ = write!(
            self.body,
            r#"<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{area}" stroke="{}" stroke-width="0.8"/>"#,
            paint.outline
        );
    }

    /// A straight line.
    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), colour: &str, width: f64) {
        self.marks += 1;
        let _ = write!(
            self.body,
            r#"<line x1="{}" y1="{}" x2="{}" y2="{}" stroke="{colour}" stroke-width="{width}"/>"#,
            tenth(from.0),
            tenth(from.1),
            tenth(to.0),
            tenth(to.1)
        );
    }

    /// Solid areas of one colour without an outline, as one path: for marks that may be narrower than an outline.
    /// Each is left, top, width, height.
    pub(crate) fn marks(&mut self, marks: &[(f64, f64, f64, f64)], colour: &str) {
        if marks.is_empty() {
            return;
        }
        self.marks += marks.len();
        let _ = write!(self.body, r#"<path fill="{colour}" d=""#);
        for (x, y, width, height) in marks {
            // Widths keep their hundredths: many narrow marks side by side must not drift.
            let (x, width) = (hundredth(*x), hundredth(*width));
            let _ =
                write!(self.body, "M{x} {}h{width}v{height}h-{width}z", tenth(*y), height = tenth(*height));
        }
        self.body.push_str(r#""/>"#);
    }

    /// A line through points; dashed where `dash` is not empty.
    pub(crate) fn polyline(&mut self, points: &[(f64, f64)], colour: &str, width: f64, dash: &str) {
        self.marks += 1;
        let dash = if dash.is_empty() { String::new() } else { format!(r#" stroke-dasharray="{dash}""#) };
        let _ = write!(
            self.body,
            r#"<path d="{}" fill="none" stroke="{colour}" stroke-width="{width}" stroke-linejoin="round"{dash}/>"#,
            path(points)
        );
    }

    /// A closed area without an outline.
    pub(crate) fn polygon(&mut self, points: &[(f64, f64)], colour: &str) {
        self.marks += 1;
        let _ = write!(self.body, r#"<path d="{}z" fill="{colour}"/>"#, path(points));
    }

    /// A dot.
    pub(crate) fn dot(&mut self, x: f64, y: f64, radius: f64, fill: Fill) {
        self.marks += 1;
        let paint = fill.paint();
        let _ = write!(
            self.body,
            r#"<circle cx="{}" cy="{}" r="{}" fill="{}" stroke="{}" stroke-width="0.6"/>"#,
            tenth(x),
            tenth(y),
            tenth(radius),
            paint.area,
            paint.outline
        );
    }

    /// A small ring on white: a point of a line.
    pub(crate) fn ring(&mut self, x: f64, y: f64, radius: f64) {
        self.marks += 1;
        let _ = write!(
            self.body,
            r##"<circle cx="{}" cy="{}" r="{radius}" fill="{PAPER}" stroke="{LINE}" stroke-width="1.4"/>"##,
            tenth(x),
            tenth(y)
        );
    }

    /// Covers what is below, so that a text on it is not crossed by a line.
    pub(crate) fn blank(&mut self, x: f64, y: f64, width: f64, height: f64) {
        let _ = write!(
            self.body,
            r##"<rect x="{}" y="{}" width="{}" height="{}" fill="{PAPER}"/>"##,
            tenth(x),
            tenth(y),
            tenth(width),
            tenth(height)
        );
    }

    /// A text with its base line at `y`; nothing for an empty one.
    pub(crate) fn text(&mut self, x: f64, y: f64, anchor: Anchor, lettering: Lettering, text: &str) {
        if text.is_empty() {
            return;
        }
        let width = lettering.width(text);
        let (word, left) = match anchor {
            Anchor::Start => ("start", x),
            Anchor::Middle => ("middle", x - width / 2.0),
            Anchor::End => ("end", x - width),
        };
        self.texts.push(TextBox {
            text: text.to_owned(),
            left,
            right: left + width,
            top: y - lettering.size * 0.78,
            bottom: y + lettering.size * 0.22,
        });
        let weight = if lettering.bold { r#" font-weight="600""# } else { "" };
        let _ = write!(
            self.body,
            r#"<text x="{}" y="{}" text-anchor="{word}" font-size="{}" fill="{}"{weight}>{}</text>"#,
            tenth(x),
            tenth(y),
            lettering.size,
            lettering.colour,
            escaped(text)
        );
    }

    /// The drawing, with its name and what it shows in words.
    pub(crate) fn finish(self, height: f64, title: &str, description: &str) -> Drawing {
        let (id, width, height) = (&self.id, tenth(self.width), tenth(height));
        let mut svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img" aria-labelledby="{id}-title {id}-desc" font-family="{FIGURE_FONTS}">"#
        );
        let _ = write!(
            svg,
            r#"<title id="{id}-title">{}</title><desc id="{id}-desc">{}</desc>"#,
            escaped(title),
            escaped(description)
        );
        if !self.fills.is_empty() {
            svg.push_str("<defs>");
            for fill in &self.fills {
                svg.push_str(&pattern(id, *fill));
            }
            svg.push_str("</defs>");
        }
        svg.push_str(&self.body);
        svg.push_str("</svg>\n");
        Drawing { svg, extent: (self.width, height), texts: self.texts, marks: self.marks }
    }
}

fn pattern(id: &str, fill: Fill) -> String {
    let paint = fill.paint();
    let Some((hatch, line)) = paint.hatch else { return String::new() };
    let (turn, mark) = match hatch {
        Hatch::Rising => (r#" patternTransform="rotate(45)""#, "<path d=\"M1.5 0V6\""),
        Hatch::Falling => (r#" patternTransform="rotate(-45)""#, "<path d=\"M1.5 0V6\""),
        Hatch::Upright => ("", "<path d=\"M1.5 0V6\""),
        Hatch::Dots => (r#" patternTransform="rotate(45)""#, "<path d=\"M2 2H4\""),
    };
    format!(
        r#"<pattern id="{id}-{}" width="6" height="6" patternUnits="userSpaceOnUse"{turn}><rect width="6" height="6" fill="{}"/>{mark} stroke="{line}" stroke-width="1.2" fill="none"/></pattern>"#,
        fill.key(),
        paint.area
    )
}

/// Rounded to a tenth of a pixel: shorter, and the same text whatever the last bits.
fn tenth(value: f64) -> f64 {
    let rounded = (value * 10.0).round() / 10.0;
    // No "-0".
    rounded + 0.0
}

fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

fn path(points: &[(f64, f64)]) -> String {
    let mut path = String::new();
    for (place, (x, y)) in points.iter().enumerate() {
        let _ = write!(path, "{}{} {}", if place == 0 { 'M' } else { 'L' }, hundredth(*x), hundredth(*y));
    }
    path
}

/// Text for XML and HTML. Characters that XML does not allow become the replacement character.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {
                out.push('\u{fffd}');
            }
            other => out.push(other),
        }
    }
    out
}

/// The text in lines no wider than `width`, at most `most` of them; what does not fit ends in an ellipsis.
pub(crate) fn wrapped(text: &str, lettering: Lettering, width: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.peek() {
        let longer = if line.is_empty() { (*word).to_owned() } else { format!("{line} {word}") };
        if lettering.width(&longer) <= width || (line.is_empty() && lines.len() + 1 < most) {
            line = longer;
            words.next();
            continue;
        }
        if lines.len() + 1 == most {
            line = longer;
            break;
        }
        lines.push(std::mem::take(&mut line));
    }
    if !line.is_empty() {
        let more = if words.peek().is_some() && lettering.width(&line) <= width { "\u{2026}" } else { "" };
        lines.push(format!("{line}{more}"));
    }
    lines.into_iter().map(|line| shortened(&line, lettering, width)).collect()
}

/// The text, cut to `width` with an ellipsis.
pub(crate) fn shortened(text: &str, lettering: Lettering, width: f64) -> String {
    if lettering.width(text) <= width {
        return text.to_owned();
    }
    let mut kept: String = text.to_owned();
    while !kept.is_empty() && lettering.width(&kept) + lettering.width("\u{2026}") > width {
        kept.pop();
    }
    format!("{}\u{2026}", kept.trim_end())
}

/// Round steps from `low` to `high` for an axis, about `most` of them and never more.
pub(crate) fn ticks(low: f64, high: f64, most: usize) -> Vec<f64> {
    let range = high - low;
    if !(range.is_finite() && range > 0.0) || most < 2 {
        return vec![low];
    }
    let rough = range / (most - 1) as f64;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].iter().map(|factor| factor * power).find(|step| *step >= rough * 0.999);
    let step = step.unwrap_or(10.0 * power);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|place| place as f64 * step).collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Fails when a text of the drawing leaves it or touches another.
    pub(crate) fn assert_texts_are_clear(name: &str, drawing: &Drawing) {
        for (place, one) in drawing.texts.iter().enumerate() {
            let (width, height) = drawing.extent;
            assert!(
                one.left >= -0.5 && one.right <= width + 0.5 && one.top >= -0.5 && one.bottom <= height + 0.5,
                "{name}: {one:?} leaves {width} x {height}"
            );
            for other in &drawing.texts[place + 1..] {
                let apart = one.right <= other.left
                    || other.right <= one.left
                    || one.bottom <= other.top
                    || other.bottom <= one.top;
                assert!(apart, "{name}: {one:?} overlaps {other:?}");
            }
        }
    }

    #[test]
    fn hostile_text_is_escaped() {
        assert_eq!(escaped("<script>\"&'\u{1}"), "&lt;script&gt;&quot;&amp;&#39;\u{fffd}");
        let mut canvas = Canvas::new("figure", 100.0);
        canvas.text(0.0, 10.0, Anchor::Start, Lettering::BODY, "</text><script>");
        let svg = canvas.finish(20.0, "<b>", "\"><x>").svg;
        assert!(!svg.contains("<script>") && !svg.contains("<b>") && !svg.contains("<x>"));
    }

    #[test]
    fn long_text_is_wrapped_and_shortened() {
        let body = Lettering::BODY;
        let lines = wrapped("one two three four five six seven", body, 80.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines.iter().all(|line| body.width(line) <= 80.0));
        assert!(lines[1].ends_with('\u{2026}'));
        assert_eq!(wrapped("short", body, 80.0, 2), ["short"]);
        let word = "w".repeat(60);
        assert!(wrapped(&word, body, 80.0, 2).iter().all(|line| body.width(line) <= 80.0));
        assert!(wrapped("", body, 80.0, 2).is_empty());
    }

    #[test]
    fn ticks_are_round_and_within() {
        assert_eq!(ticks(0.0, 100.0, 6), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
        assert_eq!(ticks(0.0, 0.0, 6), [0.0]);
        let many = ticks(-30.0, 1_234.0, 5);
        assert!(many.len() <= 5 && many[0] >= -30.0 && many.iter().all(|tick| *tick <= 1_234.0));
    }
}
