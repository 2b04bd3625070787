//! The line as one sketch: its stations in order as plain shapes, with their rates and what belts and tables hold.

use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, wrapped};
use crate::figure::Figure;
use crate::input::RunReport;
use crate::number;
use crate::style::{Fill, LINE, PAPER};
use crate::wording;
use linewake_log::facts::kind;

/// Most stations in a row of the wide layout.
const IN_A_ROW: usize = 12;
/// Most stations that are drawn; what is beyond them is said.
const MOST: usize = 36;
/// Half width and half height of a shape.
const HALF: (f64, f64) = (17.0, 14.0);
const NAME: Lettering = Lettering { size: 11.5, ..Lettering::BODY };
const SMALL_NAME: Lettering = Lettering { size: 10.5, ..Lettering::BODY };
const NOTE: Lettering = Lettering { size: 11.0, ..Lettering::SMALL };

/// A station as the sketch shows it.
struct Stop<'a> {
    id: &'a str,
    kind: &'a str,
    /// "104/min" or "60 pieces"; empty where neither is known.
    figure: String,
    /// Said above it, in words.
    role: &'static str,
    sets_pace: bool,
}

/// The way in which the line runs on the sketch.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Right,
    Down,
}

/// The sketch of the line of a report.
pub(crate) fn sketch(report: &RunReport) -> Figure {
    let summary = report.main();
    let all = stops(report);
    let title = "The line, from left to right".to_owned();
    let told = all.iter().map(|stop| {
        let figure = if stop.figure.is_empty() { String::new() } else { format!(", {}", stop.figure) };
        let role = if stop.role.is_empty() { String::new() } else { format!(", {}", stop.role) };
        format!("{} ({}{figure}{role})", stop.id, wording::station_kind(stop.kind))
    });
    let description = format!("In order: {}.", told.collect::<Vec<_>>().join("; "));
    let more = if all.len() > MOST {
        format!(" The first {MOST} of {} stations are drawn.", all.len())
    } else {
        String::new()
    };
    let rates =
        if report.facts.is_some() { "/min: the best rate of a station in packs a minute. " } else { "" };
    let caption = format!(
        "{rates}Pieces: what a belt or table holds at most. Filled: {}, at which OEE is judged.{more}",
        summary.constraint
    );
    let drawn = &all[..all.len().min(MOST)];
    Figure {
        name: "line".to_owned(),
        wide: wide(drawn, &title, &description),
        narrow: narrow(drawn, "The line, from top to bottom", &description),
        title,
        caption,
    }
}

fn stops(report: &RunReport) -> Vec<Stop<'_>> {
    let summary = report.main();
    let stations = summary.stations.iter().enumerate();
    stations
        .map(|(place, station)| {
            let facts = report.facts.as_ref().and_then(|facts| facts.stations.get(place));
            let content = station.content.and_then(|content| content.capacity_pieces);
            let capacity = facts.and_then(|facts| facts.capacity).or(content);
            let holds = matches!(station.kind.as_str(), kind::ACCUMULATING_BELT | kind::ACCUMULATING_TABLE);
            let figure = match (capacity, facts.and_then(|facts| facts.rate_per_min)) {
                (Some(capacity), _) if holds => {
                    format!("{} pieces", number::fixed(f64::from(capacity), 0))
                }
                (_, Some(rate)) if !holds && rate.is_finite() => format!("{}/min", number::plain(rate)),
                _ => String::new(),
            };
            let sets_pace = station.id == summary.constraint;
            let role = if sets_pace {
                "OEE judged here"
            } else if station.id == summary.good_after {
                "good after this"
            } else {
                ""
            };
            Stop { id: &station.id, kind: &station.kind, figure, role, sets_pace }
        })
        .collect()
}

fn wide(stops: &[Stop<'_>], title: &str, description: &str) -> Drawing {
    let mut canvas = Canvas::new("line-wide", WIDE);
    let rows = stops.len().div_ceil(IN_A_ROW).max(1);
    let in_a_row = stops.len().div_ceil(rows).max(1);
    let column = WIDE / in_a_row as f64;
    let words = stops.iter().flat_map(|stop| stop.id.split_whitespace());
    let is_tight = words.map(|word| NAME.bold().width(word)).fold(0.0, f64::max) > column - 6.0;
    let (name, room) = if is_tight { (SMALL_NAME, column - 1.0) } else { (NAME, column - 6.0) };
    let mut top = 0.0;
    for row in stops.chunks(in_a_row) {
        let roles: Vec<Vec<String>> = row.iter().map(|it| wrapped(it.role, NOTE, room, 2)).collect();
        let names: Vec<Vec<String>> =
            row.iter().map(|it| wrapped(it.id, lettering(it, name), room, 3)).collect();
        let above = roles.iter().map(Vec::len).max().unwrap_or(0) as f64 * 13.0;
        let middle = top + above + 8.0 + HALF.1;
        let at = |place: usize| (place as f64 + 0.5) * column;
        canvas.line((at(0), middle), (at(row.len() - 1), middle), LINE, 1.2);
        let mut lowest = middle;
        for (place, stop) in row.iter().enumerate() {
            let x = at(place);
            shape(&mut canvas, stop, x, middle, Way::Right);
            for (line, words) in roles[place].iter().enumerate() {
                let lines = roles[place].len() - line;
                let y = middle - HALF.1 - 7.0 - (lines - 1) as f64 * 13.0;
                canvas.text(x, y, Anchor::Middle, NOTE.bold(), words);
            }
            let mut y = middle + HALF.1 + 24.0;
            for words in &names[place] {
                canvas.text(x, y, Anchor::Middle, lettering(stop, name), words);
                y += 13.0;
            }
            canvas.text(x, y, Anchor::Middle, NOTE, &shortened(&stop.figure, NOTE, room));
            lowest = lowest.max(y + 4.0);
        }
        top = lowest + 10.0;
    }
    canvas.finish((top - 6.0).max(20.0), title, description)
}

fn narrow(stops: &[Stop<'_>], title: &str, description: &str) -> Drawing {
    let mut canvas = Canvas::new("line-narrow", NARROW);
    let pitch = 2.0 * HALF.1 + 14.0;
    let x = HALF.0 + 8.0;
    let at = |place: usize| HALF.1 + 4.0 + place as f64 * pitch;
    canvas.line((x, at(0)), (x, at(stops.len().max(1) - 1)), LINE, 1.2);
    let left = x + HALF.0 + 18.0;
    for (place, stop) in stops.iter().enumerate() {
        let y = at(place);
        shape(&mut canvas, stop, x, y, Way::Down);
        let (name, room) = (lettering(stop, NAME), NARROW - left - 4.0);
        let second = [stop.figure.as_str(), stop.role];
        let second: Vec<&str> = second.into_iter().filter(|words| !words.is_empty()).collect();
        let first_y = if second.is_empty() { y + 4.0 } else { y - 2.0 };
        canvas.text(left, first_y, Anchor::Start, name, &shortened(stop.id, name, room));
        canvas.text(left, y + 12.0, Anchor::Start, NOTE, &shortened(&second.join(" · "), NOTE, room));
    }
    canvas.finish(at(stops.len().max(1) - 1) + HALF.1 + 10.0, title, description)
}

fn lettering(stop: &Stop<'_>, name: Lettering) -> Lettering {
    if stop.sets_pace { name.bold() } else { name }
}

/// The shape of a station, its middle at that place.
fn shape(canvas: &mut Canvas, stop: &Stop<'_>, x: f64, y: f64, way: Way) {
    let (left, right, top, bottom) = (x - HALF.0, x + HALF.0, y - HALF.1, y + HALF.1);
    let ink = if stop.sets_pace { PAPER } else { LINE };
    match stop.kind {
        kind::BULK_SUPPLY | kind::ARRIVALS => {
            // A hopper.
            canvas.blank(left, top, 2.0 * HALF.0, 2.0 * HALF.1);
            let corners = [(left, top), (right, top), (x + 5.0, bottom), (x - 5.0, bottom)];
            closed(canvas, &corners);
            return;
        }
        kind::ACCUMULATING_BELT | kind::RIGID_BELT => {
            belt(canvas, x, y, stop.kind == kind::ACCUMULATING_BELT);
            return;
        }
        kind::ACCUMULATING_TABLE => {
            frame(canvas, stop, x, y);
            for row in [-7.0, 0.0, 7.0] {
                for column in [-10.0, -3.3, 3.3, 10.0] {
                    canvas.dot(x + column, y + row, 1.9, Fill::Starved);
                }
            }
            return;
        }
        _ => frame(canvas, stop, x, y),
    }
    match stop.kind {
        // A knife.
        kind::PORTIONER => canvas.line((x + 5.0, top + 4.0), (x + 5.0, bottom - 4.0), ink, 2.0),
        // Lanes that come together.
        kind::LOADER => {
            for lane in [-8.0, 0.0, 8.0] {
                canvas.line((left + 4.0, y + lane), (x, y + lane), ink, 1.4);
            }
            canvas.line((x, y - 8.0), (x, y + 8.0), ink, 1.4);
            canvas.line((x, y), (right - 4.0, y), ink, 1.4);
        }
        // Pockets in a web.
        kind::FORMER => {
            for pocket in [-11.0, -1.0, 9.0] {
                let (from, to) = (x + pocket - 2.0, x + pocket + 4.0);
                canvas.line((from, y - 3.0), (from, y + 5.0), ink, 1.4);
                canvas.line((from, y + 5.0), (to, y + 5.0), ink, 1.4);
                canvas.line((to, y + 5.0), (to, y - 3.0), ink, 1.4);
            }
            canvas.line((left + 3.0, y - 3.0), (right - 3.0, y - 3.0), ink, 1.0);
        }
        // An arm that lifts.
        kind::PICK_ROBOT => {
            canvas.line((x - 9.0, top + 6.0), (x + 9.0, top + 6.0), ink, 1.6);
            canvas.line((x, top + 6.0), (x, y + 3.0), ink, 1.6);
            canvas.line((x - 5.0, y + 3.0), (x + 5.0, y + 3.0), ink, 1.6);
        }
        // What it finds leaves the line sideways.
        kind::CHECKWEIGHER | kind::METAL_DETECTOR | kind::X_RAY | kind::LEAK_TEST => {
            canvas.line((left + 4.0, y), (right - 4.0, y), ink, 1.4);
            let (start, tip, barbs) = match way {
                Way::Right => ((x, y), (x, bottom + 9.5), [(x - 3.5, bottom + 5.0), (x + 3.5, bottom + 5.0)]),
                Way::Down => ((x, y), (right + 9.5, y), [(right + 5.0, y - 3.5), (right + 5.0, y + 3.5)]),
            };
            canvas.line(start, tip, LINE, 1.4);
            for barb in barbs {
                canvas.line(barb, tip, LINE, 1.4);
            }
        }
        // A carton with its flaps.
        kind::CASE_PACKER => {
            canvas.line((x - 8.0, y - 4.0), (x - 8.0, y + 8.0), ink, 1.4);
            canvas.line((x - 8.0, y + 8.0), (x + 8.0, y + 8.0), ink, 1.4);
            canvas.line((x + 8.0, y + 8.0), (x + 8.0, y - 4.0), ink, 1.4);
            canvas.line((x - 8.0, y - 4.0), (x - 12.0, y - 8.0), ink, 1.4);
            canvas.line((x + 8.0, y - 4.0), (x + 12.0, y - 8.0), ink, 1.4);
        }
        _ => {}
    }
}

/// A box; filled where OEE is judged.
fn frame(canvas: &mut Canvas, stop: &Stop<'_>, x: f64, y: f64) {
    let (left, top) = (x - HALF.0, y - HALF.1);
    if stop.sets_pace {
        canvas.area(left, top, 2.0 * HALF.0, 2.0 * HALF.1, Fill::Kept);
    } else {
        canvas.blank(left, top, 2.0 * HALF.0, 2.0 * HALF.1);
        let (right, bottom) = (x + HALF.0, y + HALF.1);
        closed(canvas, &[(left, top), (right, top), (right, bottom), (left, bottom)]);
    }
}

/// A belt between two rollers; with pieces on it if it accumulates.
fn belt(canvas: &mut Canvas, x: f64, y: f64, accumulates: bool) {
    let (left, right) = (x - HALF.0, x + HALF.0);
    canvas.blank(left, y - 3.0, 2.0 * HALF.0, 8.0);
    canvas.line((left, y - 3.0), (right, y - 3.0), LINE, 1.3);
    canvas.line((left, y + 5.0), (right, y + 5.0), LINE, 1.3);
    for roller in [left + 1.0, right - 1.0] {
        canvas.line((roller, y - 3.0), (roller, y + 5.0), LINE, 1.3);
    }
    if accumulates {
        for piece in [-12.0, -6.0, 0.0, 6.0, 12.0] {
            canvas.dot(x + piece, y - 6.0, 1.9, Fill::Starved);
        }
    }
}

fn closed(canvas: &mut Canvas, corners: &[(f64, f64)]) {
    for (place, corner) in corners.iter().enumerate() {
        canvas.line(*corner, corners[(place + 1) % corners.len()], LINE, 1.3);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::canvas::tests::assert_texts_are_clear;
    use crate::example;

    #[test]
    fn every_station_is_drawn_in_order_with_its_rate_or_capacity() {
        let figure = sketch(&example::report(3));
        for drawing in [&figure.wide, &figure.narrow] {
            let drawn = |word: &str| drawing.texts.iter().filter(|text| text.text.contains(word)).count();
            assert_eq!((drawn("110/min"), drawn("60 pieces")), (8, 2));
            assert_eq!((drawn("checkweigher"), drawn("kitchen")), (1, 1));
        }
        assert!(
            figure.wide.svg.contains("kitchen (bulk supply); portioner (portioner, 110/min); infeed belt")
        );
    }

    #[test]
    fn long_lines_are_drawn_in_rows_and_their_rest_is_told() {
        for many in [1, 2, 12, 13, 25, 36, 60] {
            let mut report = example::report(3);
            let station = report.main().stations[4].clone();
            for summary in &mut report.summaries {
                summary.stations = vec![station.clone(); many];
            }
            report.facts = None;
            let figure = sketch(&report);
            assert_texts_are_clear(&format!("{many} wide"), &figure.wide);
            assert_texts_are_clear(&format!("{many} narrow"), &figure.narrow);
            assert_eq!(figure.caption.contains("of 60 stations are drawn"), many == 60);
        }
    }
}
