//! What is behind the figures over time and the histograms.

use crate::number;
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words};
use crate::wording;
use linewake_kpi::histogram::TimeHistogram;
use linewake_kpi::machine::StopTimes;
use linewake_kpi::summary::Summary;
use linewake_model::time::{Moment, Span};

/// Every band of the shift over time, in seconds from the start of the shift.
pub(crate) fn bands(summary: &Summary) -> Option<Table> {
    let timeline = summary.timeline.as_ref()?;
    let seconds = |span: Span| Cell::figure(span.seconds(), number::plain(span.seconds()));
    let rows =
        timeline.stations.iter().flat_map(|station| station.bands.iter().map(move |band| (station, band)));
    let rows = rows.map(|(station, band)| {
        TableRow::of(vec![
            Cell::words(&station.station),
            seconds(band.start.since(timeline.start)),
            seconds(band.end.since(timeline.start)),
            Cell::words(band.shows.word()),
            Cell::reason(&band.reason),
            Cell::figure(band.stops as f64, number::fixed(band.stops as f64, 0)),
            seconds(band.times.running),
            seconds(band.times.starved),
            seconds(band.times.blocked),
            seconds(band.times.stopped_waiting),
            seconds(band.times.stopped_repair),
            seconds(band.times.planned),
            seconds(band.unknown),
        ])
    });
    Some(Table {
        name: format!("bands-{}", wording::start_in_names(summary.start)),
        caption: "States of one shift over time, seconds from its start".to_owned(),
        columns: vec![
            words("station", "station"),
            figures("from_s", "from, s"),
            figures("to_s", "to, s"),
            words("shows", "shows"),
            words("reason", "reason"),
            figures("stops", "stops"),
            csv_only("running_s"),
            csv_only("starved_s"),
            csv_only("blocked_s"),
            csv_only("stopped_waiting_s"),
            csv_only("stopped_repair_s"),
            csv_only("planned_s"),
            csv_only("unknown_s"),
        ],
        rows: rows.collect(),
    })
}

/// The longest stop and the stations that it reached.
pub(crate) fn wake(summary: &Summary) -> Option<Table> {
    let timeline = summary.timeline.as_ref()?;
    let wake = timeline.wake.as_ref()?;
    let row = |station: &str, state: &str, reason: &str, start: Moment, end: Moment, time: Span| {
        let minutes = |span: Span| Cell::figure(span.seconds(), number::fixed(span.seconds() / 60.0, 1));
        let later = start.since(wake.start).seconds();
        TableRow::of(vec![
            Cell::words(station),
            Cell::words(state),
            Cell::reason(reason),
            minutes(start.since(timeline.start)),
            minutes(end.since(timeline.start)),
            Cell::figure(later, number::fixed(later, 0)),
            minutes(time),
        ])
    };
    let mut rows = vec![row(&wake.station, "stopped", &wake.reason, wake.start, wake.end, wake.stopped)];
    rows.extend(
        wake.reaches
            .iter()
            .map(|reach| row(&reach.station, reach.state.word(), "", reach.start, reach.end, reach.waited)),
    );
    Some(Table {
        name: format!("wake-{}", wording::start_in_names(summary.start)),
        caption: "The longest stop of one shift, and the stations that it reached".to_owned(),
        columns: vec![
            words("station", "station"),
            words("state", "state"),
            words("reason", "reason"),
            figures("from_s", "from, min of the shift"),
            figures("to_s", "to, min of the shift"),
            figures("after_begin_of_stop_s", "s after the stop began"),
            figures("time_s", "time in the state, min"),
        ],
        rows,
    })
}

/// Content of belts and tables in one shift, in seconds from its start.
pub(crate) fn contents_over_time(summary: &Summary) -> Option<Table> {
    let timeline = summary.timeline.as_ref()?;
    let cells = timeline.contents.iter().flat_map(|line| line.cells.iter().map(move |cell| (line, cell)));
    let rows = cells.map(|(line, cell)| {
        let seconds = |moment: Moment| {
            let seconds = moment.since(timeline.start).seconds();
            Cell::figure(seconds, number::plain(seconds))
        };
        TableRow::of(vec![
            Cell::words(&line.station),
            seconds(cell.start),
            seconds(cell.end),
            pieces(cell.lowest_pieces),
            Cell::figure(cell.mean_pieces, number::count(cell.mean_pieces)),
            pieces(cell.highest_pieces),
            line.capacity_pieces.map_or(Cell::Empty, pieces),
        ])
    });
    let rows: Vec<TableRow> = rows.collect();
    (!rows.is_empty()).then(|| Table {
        name: format!("contents-over-time-{}", wording::start_in_names(summary.start)),
        caption: "Content of belts and tables in one shift, seconds from its start".to_owned(),
        columns: vec![
            words("station", "station"),
            figures("from_s", "from, s"),
            figures("to_s", "to, s"),
            figures("lowest_pieces", "least"),
            figures("mean_pieces", "mean"),
            figures("highest_pieces", "most"),
            figures("capacity_pieces", "capacity"),
        ],
        rows,
    })
}

fn pieces(pieces: u32) -> Cell {
    Cell::figure(f64::from(pieces), number::fixed(f64::from(pieces), 0))
}

/// Time at each content, over all shifts together.
pub(crate) fn content_times(summary: &Summary) -> Option<Table> {
    let with_times = summary.stations.iter().filter_map(|it| Some((it, it.machine.content_times.as_ref()?)));
    let rows = with_times.flat_map(|(station, times)| {
        times.classes().into_iter().map(|class| {
            TableRow::of(vec![
                Cell::words(&station.id),
                pieces(class.from_pieces),
                pieces(class.to_pieces),
                Cell::figure(class.time_s, number::minutes(class.time_s)),
                Cell::figure(class.share, number::percent_figure(class.share)),
            ])
        })
    });
    let rows: Vec<TableRow> = rows.collect();
    (!rows.is_empty()).then(|| Table {
        name: format!("content-times-{}", wording::start_in_names(summary.start)),
        caption: format!("Time at each content, {} together", wording::shifts(summary)),
        columns: vec![
            words("station", "station"),
            figures("from_pieces", "from, pieces"),
            figures("to_pieces", "to, pieces"),
            figures("time_s", "min"),
            figures("share", "% of time"),
        ],
        rows,
    })
}

/// Histograms of the lengths of stops, by station and reason.
pub(crate) fn stop_lengths(summary: &Summary) -> Option<Table> {
    let caption = format!("How long stops last, {} together", wording::shifts(summary));
    histograms(summary, "stop-lengths", caption, |stops| &stops.lengths)
}

/// Histograms of the running times between stops, by station and reason.
pub(crate) fn between_stops(summary: &Summary) -> Option<Table> {
    let caption = format!("How long stations run between stops, {} together", wording::shifts(summary));
    histograms(summary, "between-stops", caption, |stops| &stops.running_between)
}

fn histograms(
    summary: &Summary,
    stem: &str,
    caption: String,
    histogram: impl Fn(&StopTimes) -> &TimeHistogram,
) -> Option<Table> {
    let mut rows = Vec::new();
    for station in &summary.stations {
        for (place, stops) in station.machine.stops.iter().enumerate() {
            // The first row is all own stops together.
            let kind = match (place, stops.planned) {
                (0, _) => "all own stops",
                (_, true) => "planned stop",
                (_, false) => "stop",
            };
            rows.extend(histogram(stops).classes().into_iter().filter(|class| class.count > 0).map(
                |class| {
                    let time = |seconds: f64| Cell::figure(seconds, number::plain(seconds));
                    TableRow::of(vec![
                        Cell::words(&station.id),
                        Cell::words(kind),
                        Cell::reason(&stops.reason),
                        time(class.from_s),
                        class.to_s.map_or(Cell::Empty, time),
                        Cell::figure(class.count as f64, number::fixed(class.count as f64, 0)),
                    ])
                },
            ));
        }
    }
    (!rows.is_empty()).then(|| Table {
        name: format!("{stem}-{}", wording::start_in_names(summary.start)),
        caption,
        columns: vec![
            words("station", "station"),
            Column { heading: None, ..words("kind", "") },
            words("reason", "reason"),
            figures("from_s", "from, s"),
            figures("to_s", "below, s"),
            figures("count", "times"),
        ],
        rows,
    })
}

/// How often and how long stations stop, for the page: the histograms themselves are files.
pub(crate) fn medians(summary: &Summary) -> Table {
    let stopped = summary.stations.iter().filter_map(|it| Some((it, it.machine.stops.first()?)));
    let rows = stopped.map(|(station, stops)| {
        let median = |histogram: &TimeHistogram| {
            Cell::maybe(crate::figure::median(&histogram.classes()), |seconds| number::count(seconds / 60.0))
        };
        let count = stops.lengths.total() as f64;
        TableRow::of(vec![
            Cell::words(&station.id),
            Cell::figure(count, number::fixed(count, 0)),
            median(&stops.lengths),
            median(&stops.running_between),
        ])
    });
    Table {
        name: format!("medians-{}", wording::start_in_names(summary.start)),
        caption: format!("Medians, {} together", wording::shifts(summary)),
        columns: vec![
            words("station", "station"),
            figures("stops", "stops that ended"),
            figures("median_length_s", "median length, min"),
            figures("median_running_between_s", "median running time between, min"),
        ],
        rows: rows.collect(),
    }
}
