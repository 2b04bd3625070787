//! The figures of each machine: OEE of its own, waits, stops by length, ISO 22400-2, and states under other names.

use crate::number;
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words};
use crate::wording;
use linewake_kpi::definition::definition;
use linewake_kpi::machine::{KpiValue, MachineSummary, MeanTime, StopClass};
use linewake_kpi::result::CauseKind;
use linewake_kpi::summary::{Mean, StationSummary, Summary};

/// Symbols side by side in one table of machines: as many as a printed page is wide.
const ACROSS: usize = 6;
/// The planned stop for which a machine holds; for others it is stopped.
const CHALLENGE: &str = "challenge"; // the fixed word of the log

/// A mean as "76.4 ± 0.8", and its half width for the files.
fn spread(mean: Option<Mean>, shown: impl Fn(&Mean) -> String) -> [Cell; 2] {
    let Some(mean) = mean else { return [Cell::Missing, Cell::Missing] };
    let half_width = mean.half_width.map_or(Cell::Missing, |half| Cell::figure(half, String::new()));
    [Cell::figure(mean.mean, shown(&mean)), half_width]
}

fn share(mean: Option<Mean>) -> [Cell; 2] {
    spread(mean, |mean| number::short_percent(mean).joined())
}

fn count(mean: Option<Mean>) -> [Cell; 2] {
    spread(mean, |mean| number::rounded(mean).joined())
}

/// Seconds, shown in minutes.
fn minutes(mean: Option<Mean>) -> [Cell; 2] {
    spread(mean, |mean| number::rounded(&in_minutes(mean)).joined())
}

fn in_minutes(mean: &Mean) -> Mean {
    Mean { mean: mean.mean / 60.0, half_width: mean.half_width.map(|half| half / 60.0), n: mean.n }
}

/// The stations with states.
fn with_states(summary: &Summary) -> impl Iterator<Item = &StationSummary> {
    summary.stations.iter().filter(|station| station.states.is_some())
}

fn table(name: &str, summary: &Summary, caption: &str, columns: Vec<Column>, rows: Vec<TableRow>) -> Table {
    Table {
        name: format!("{name}-{}", wording::start_in_names(summary.start)),
        caption: format!("{caption}; {}", wording::mean_of(summary)),
        columns,
        rows,
    }
}

/// A, P, Q and OEE of each machine by itself.
pub(crate) fn machines(summary: &Summary) -> Table {
    let rows = with_states(summary).filter_map(|station| Some((station, station.machine.oee?)));
    let rows = rows.map(|(station, oee)| {
        let ideal = Cell::maybe(oee.ideal_rate_per_min, number::plain);
        let mut cells = vec![Cell::words(&station.id), ideal];
        let shares = [
            oee.oee,
            Some(oee.availability),
            oee.performance,
            oee.quality,
            Some(oee.availability_iso),
            oee.performance_iso,
        ];
        cells.extend(shares.into_iter().flat_map(share));
        TableRow { cells, sum: station.id == summary.constraint }
    });
    let columns = vec![
        words("station", "machine"),
        figures("ideal_rate_pieces_per_min", "ideal rate, pieces/min"),
        figures("oee", "OEE, %"),
        csv_only("oee_half_width"),
        figures("availability", "A, %"),
        csv_only("availability_half_width"),
        figures("performance", "P, %"),
        csv_only("performance_half_width"),
        figures("quality", "Q, %"),
        csv_only("quality_half_width"),
        figures("availability_iso", "A_iso, %"),
        csv_only("availability_iso_half_width"),
        figures("performance_iso", "P_iso, %"),
        csv_only("performance_iso_half_width"),
    ];
    table("machines", summary, "Each machine by itself, on its own pieces", columns, rows.collect())
}

/// What each machine waits for, and what goes through it.
pub(crate) fn waits(summary: &Summary) -> Table {
    let has_yield = summary.stations.iter().any(|station| station.machine.first_pass_yield.is_some());
    let rows = summary.stations.iter().filter(|station| tells_of_waits(&station.machine));
    let rows = rows.map(|station| {
        let machine = &station.machine;
        let mut cells = vec![Cell::words(&station.id)];
        cells.extend(share(machine.starved_share));
        cells.extend(share(machine.blocked_share));
        cells.extend(count(machine.throughput_per_h));
        cells.extend(share(machine.first_pass_yield));
        TableRow::of(cells)
    });
    let columns = vec![
        words("station", "machine"),
        figures("starved_share", "starved, % of the shift"),
        csv_only("starved_share_half_width"),
        figures("blocked_share", "blocked, % of the shift"),
        csv_only("blocked_share_half_width"),
        figures("throughput_pieces_per_h", "throughput, pieces/h"),
        csv_only("throughput_half_width"),
        Column {
            heading: has_yield.then(|| "first pass yield, %".to_owned()),
            ..figures("first_pass_yield", "")
        },
        csv_only("first_pass_yield_half_width"),
    ];
    table("waits", summary, "Waits and throughput", columns, rows.collect())
}

fn tells_of_waits(machine: &MachineSummary) -> bool {
    machine.starved_share.is_some()
        || machine.throughput_per_h.is_some()
        || machine.first_pass_yield.is_some()
}

/// Minor stops apart from long ones, and the mean times with their intervals.
pub(crate) fn stop_classes(summary: &Summary) -> Table {
    let rows = with_states(summary).filter(|station| station.machine.minor_stops.is_some());
    let rows = rows.map(|station| {
        let machine = &station.machine;
        let class = |class: Option<StopClass>| {
            let [stops, stops_half] = count(class.map(|class| class.count));
            let [time, time_half] = minutes(class.map(|class| class.time_s));
            [stops, stops_half, time, time_half]
        };
        let mut cells = vec![Cell::words(&station.id)];
        cells.extend(class(machine.minor_stops));
        cells.extend(class(machine.long_stops));
        cells.extend(mean_time(machine.time_between_stops.as_ref()));
        cells.extend(mean_time(machine.time_to_restore.as_ref()));
        TableRow::of(cells)
    });
    let columns = vec![
        words("station", "machine"),
        figures("minor_stops_per_shift", "minor stops"),
        csv_only("minor_stops_half_width"),
        figures("minor_stop_time_s_per_shift", "min"),
        csv_only("minor_stop_time_s_half_width"),
        figures("long_stops_per_shift", "long stops"),
        csv_only("long_stops_half_width"),
        figures("long_stop_time_s_per_shift", "min"),
        csv_only("long_stop_time_s_half_width"),
        figures("time_between_stops_s", "MTBF, min"),
        csv_only("time_between_stops_low_s"),
        csv_only("time_between_stops_high_s"),
        figures("time_to_restore_s", "MTTR, min"),
        csv_only("time_to_restore_low_s"),
        csv_only("time_to_restore_high_s"),
    ];
    let level = wording::level(summary);
    let limit = number::plain(summary.short_stop_limit_s);
    let caption = format!(
        "Own stops a shift, minor ones under {limit}\u{a0}s and long ones; MTBF and MTTR with their {level} intervals"
    );
    table("stop-classes", summary, &caption, columns, rows.collect())
}

/// "45.2 (38.1 to 54.0)" in minutes, and both ends for the files.
fn mean_time(time: Option<&MeanTime>) -> [Cell; 3] {
    let Some(time) = time else { return [Cell::Missing, Cell::Missing, Cell::Missing] };
    let ends = match (time.low_s, time.high_s) {
        (Some(low), Some(high)) => format!("({} to {})", in_min(low), in_min(high)),
        (Some(low), None) => format!("(at least {})", in_min(low)),
        (None, Some(high)) => format!("(at most {})", in_min(high)),
        (None, None) => String::new(),
    };
    let shown = time.mean_s.map_or_else(|| "no stop".to_owned(), in_min);
    let shown = format!("{shown} {ends}").trim_end().to_owned();
    let end = |end: Option<f64>| Cell::maybe(end, |_| String::new());
    let mean = Cell::Figure { value: time.mean_s.unwrap_or(f64::NAN), shown };
    [mean, end(time.low_s), end(time.high_s)]
}

/// Three significant digits, as far as they are whole or tenths or hundredths of a minute.
fn in_min(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    let decimals = match minutes.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        _ => 2,
    };
    number::fixed(minutes, decimals)
}

/// ISO 22400-2: elements and KPIs of the line at its constraint.
pub(crate) fn iso_line(summary: &Summary) -> Table {
    let rows = summary.iso.iter().filter_map(|kpi| Some((kpi, definition(kpi.symbol)?)));
    let rows = rows.map(|(kpi, definition)| {
        let (unit, [value, half_width]) = iso_cells(kpi, definition.unit);
        let shown = wording::kpi_symbol(definition).unwrap_or_default().to_owned();
        let symbol = Cell::Words { raw: kpi.symbol.to_owned(), shown };
        let cells = [Cell::words(definition.name), symbol, value, half_width];
        let cells = cells.into_iter().chain([unit, Cell::words(definition.formula)]);
        TableRow::of(cells.collect())
    });
    let columns = vec![
        words("name", "element or KPI"),
        words("symbol", "symbol"),
        figures("value", "value"),
        csv_only("half_width"),
        words("unit", "unit"),
        words("formula", "formula"),
    ];
    let caption = format!("ISO 22400-2 elements and KPIs of the line at {}", summary.constraint);
    table("iso", summary, &caption, columns, rows.collect())
}

/// The same of each machine for files: one figure a row.
pub(crate) fn iso_machines(summary: &Summary) -> Table {
    let rows = with_states(summary).flat_map(|station| {
        station.machine.iso.iter().filter_map(|kpi| {
            let (unit, [value, half_width]) = iso_cells(kpi, definition(kpi.symbol)?.unit);
            Some(TableRow::of(vec![
                Cell::words(&station.id),
                Cell::words(kpi.symbol),
                value,
                half_width,
                unit,
            ]))
        })
    });
    let columns = vec![
        words("station", "machine"),
        words("symbol", "symbol"),
        figures("value", "value"),
        csv_only("half_width"),
        words("unit", "unit"),
    ];
    table("iso-machines", summary, "ISO 22400-2 elements and KPIs of each machine", columns, rows.collect())
}

/// The same for the page: machines down, a few symbols across in each table.
pub(crate) fn iso_pages(summary: &Summary) -> Vec<Table> {
    let mut symbols: Vec<&'static str> = Vec::new();
    for kpi in with_states(summary).flat_map(|station| &station.machine.iso) {
        if !symbols.contains(&kpi.symbol) && definition(kpi.symbol).is_some() {
            symbols.push(kpi.symbol);
        }
    }
    let of_symbols = |symbols: &[&'static str]| {
        let rows = with_states(summary).filter(|station| !station.machine.iso.is_empty());
        let rows = rows.map(|station| {
            let figure = |symbol: &&'static str| {
                let kpi = station.machine.iso.iter().find(|kpi| kpi.symbol == *symbol);
                let Some((kpi, definition)) = kpi.zip(definition(symbol)) else { return Cell::Missing };
                let (_, [value, _]) = iso_cells(kpi, definition.unit);
                value
            };
            let cells = [Cell::words(&station.id)].into_iter().chain(symbols.iter().map(figure));
            TableRow { cells: cells.collect(), sum: station.id == summary.constraint }
        });
        let heading = |symbol: &&'static str| {
            let (name, unit) = definition(symbol).map_or((*symbol, ""), |definition| {
                let name = wording::kpi_symbol(definition).unwrap_or(definition.name);
                (name, if is_of_a_piece(symbol) { definition.unit } else { shown_unit(definition.unit) })
            });
            figures(symbol, &format!("{name}, {unit}"))
        };
        let columns = [words("station", "machine")].into_iter().chain(symbols.iter().map(heading)).collect();
        let names = symbols.iter().filter_map(|symbol| definition(symbol));
        let names: Vec<&str> = names.map(|kpi| wording::kpi_symbol(kpi).unwrap_or(kpi.name)).collect();
        let caption = format!("{} of each machine", names.join(", "));
        table("iso-machines", summary, &caption, columns, rows.collect())
    };
    symbols.chunks(ACROSS).map(of_symbols).collect()
}

/// Unit as in the files, and the value with its interval: times in minutes, shares in percent.
fn iso_cells(kpi: &KpiValue, unit: &str) -> (Cell, [Cell; 2]) {
    let value = match unit {
        "s" if is_of_a_piece(kpi.symbol) => spread(kpi.value, |mean| number::plain(mean.mean)),
        "s" => minutes(kpi.value),
        "1" => spread(kpi.value, |mean| number::rounded_percent(mean).joined()),
        _ => count(kpi.value),
    };
    let shown = if is_of_a_piece(kpi.symbol) { unit } else { shown_unit(unit) };
    (Cell::Words { raw: unit.to_owned(), shown: shown.to_owned() }, value)
}

/// A time of one piece: seconds, since it is far below a minute.
fn is_of_a_piece(symbol: &str) -> bool {
    matches!(symbol, "PRI" | "t_ideal")
}

/// The unit in which a page shows what is kept in the unit of the definition.
fn shown_unit(unit: &str) -> &str {
    match unit {
        "s" => "min",
        "1" => "%",
        other => other,
    }
}

/// The states of each machine under the names of ISA-TR88.00.02.
pub(crate) fn isa_states(summary: &Summary) -> Table {
    let rows = with_states(summary).filter_map(|station| {
        let states = station.states?;
        let challenge_s: f64 = summary
            .pareto
            .iter()
            .filter(|row| {
                row.kind == CauseKind::Planned && row.station == station.id && row.reason == CHALLENGE
            })
            .map(|row| row.stopped_s.mean)
            .sum();
        let challenge_s = challenge_s.min(states.planned_s);
        let time = |time_s: f64| Cell::figure(time_s, number::minutes(time_s));
        Some(TableRow::of(vec![
            Cell::words(&station.id),
            time(states.running_s),
            time(states.starved_s),
            time(states.blocked_s),
            time(states.stopped_waiting_s + states.stopped_repair_s),
            time(challenge_s),
            time(states.planned_s - challenge_s),
        ]))
    });
    let columns = vec![
        words("station", "machine"),
        figures("execute_s_per_shift", "Execute (running)"),
        figures("suspended_starved_s_per_shift", "Suspended (starved)"),
        figures("suspended_blocked_s_per_shift", "Suspended (blocked)"),
        figures("held_stop_s_per_shift", "Held (own stop)"),
        figures("held_test_s_per_shift", "Held (challenge)"),
        figures("stopped_s_per_shift", "Stopped (other planned stops)"),
    ];
    table("isa-states", summary, "Minutes a shift in each state", columns, rows.collect())
}
