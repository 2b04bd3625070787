//! Quality losses, and the three figures of the long-run output.

use super::{Pieces, filled, heading, reason, small_percent};
use crate::aligned::{Aligned, Side};
use linewake_model::facts::{Facts, OutputFigure};
use linewake_model::line::Line;
use linewake_report::analytic::kind_words;

pub(super) fn quality(facts: &Facts, pieces: Pieces, text: &mut String) {
    let quality = &facts.quality;
    if quality.losses.is_empty() && quality.escapes.is_empty() {
        return;
    }
    heading(&format!("Quality losses, as shares of the {pieces} cut (most likely values)"), text);
    let mut table = Aligned::new(&[("station", Side::Left), ("reason", Side::Left), ("share", Side::Right)]);
    for loss in &quality.losses {
        table.row([loss.station.clone(), reason(&loss.reason), small_percent(loss.share_of_cut)]);
    }
    table.row(["", "good", &small_percent(quality.good_share)]);
    for escape in &quality.escapes {
        let reason = format!("of them {}, found by nothing", reason(&escape.reason));
        table.row(["", &reason, &small_percent(escape.share_of_cut)]);
    }
    text.push_str(&table.text());
}

pub(super) fn figures(line: &Line, facts: &Facts, pieces: Pieces, text: &mut String) {
    heading(
        &format!(
            "Good {pieces} an hour in the long run, without simulation (crew never short, quality losses applied)"
        ),
        text,
    );
    let output = &facts.output;
    figure("no help from buffers", &output.no_help, pieces, text);
    figure("weakest block without a buffer", &output.weakest_block, pieces, text);
    figure("full help from buffers", &output.full_help, pieces, text);
    if !line.shift.breaks.is_empty() {
        text.push_str(&format!(
            "  Per hour of planned production time; breaks included they are {:.1}, {:.1} and {:.1}.\n",
            output.no_help.good_packs_per_calendar_h,
            output.weakest_block.good_packs_per_calendar_h,
            output.full_help.good_packs_per_calendar_h
        ));
    }
}

fn figure(name: &str, figure: &OutputFigure, pieces: Pieces, text: &mut String) {
    text.push_str(&format!(
        "  {name}: {:.1} {pieces}/h, {}\n",
        figure.good_packs_per_h,
        kind_words(figure.kind)
    ));
    if figure.stations.len() == 1 {
        text.push_str(&format!("    set by {}\n", figure.stations[0]));
    } else if let (Some(first), Some(last)) = (figure.stations.first(), figure.stations.last()) {
        text.push_str(&format!("    set by {first} to {last}\n"));
    }
    for reason in &figure.reasons {
        text.push_str(&filled(reason, 4));
    }
}
