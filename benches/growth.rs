//! Growth: time of a run with full statistics against the length of the shift and against the number of stations.
//!
//! `cargo bench -p linewake-benches --bench growth` prints a table of each; with `-- --figure docs/images/growth.svg` it
//! draws both as well. Each round times every size in turn, so that a machine whose speed drifts slows all of them, and
//! short runs so often that they take about as long as a shift; medians of 11 rounds. The exponent is the slope of a least-squares line through the logarithms: 1 is
//! linear growth. Beside the generic stations stands the bare event loop of the same line, which does nothing but count: its
//! growth is that of the search for the next event, of the branches that cannot be foreseen and of the caches. Without `--bench` (as `cargo test` calls it) one round of small sizes runs and nothing is to be read from
//! its times.

use linewake_benches::series::{Series, bare_loop, least_in_pairs, recursion};
use linewake_benches::{load_model, median, slope, stations_in_series, with_statistics};
use linewake_engine::plan::RunPlan;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use plotters::prelude::*;
use std::error::Error;
use std::hint::black_box;
use std::io::{self, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant};

const SEED: u64 = 1;

/// Pieces that leave each line of generic stations, however many stations it has.
const PIECES: u64 = 10_000;

/// A size is run again within a round until it has worked off so many events, about those of a shift.
const MEASURED_EVENTS: u64 = 300_000;

/// One axis of growth: what grows, and the runs of its sizes.
struct Growth {
    caption: String,
    axis: &'static str,
    sizes: Vec<Size>,
}

/// One run, and how long it took.
struct Size {
    size: f64,
    line: Line,
    plan: RunPlan,
    events: u64,
    times_ms: Vec<f64>,
    /// The same line in a bare event loop.
    bare: Option<Bare>,
}

/// A bare event loop, and what an event of it takes.
struct Bare {
    pieces: u64,
    ns_an_event: Vec<f64>,
}

impl Bare {
    fn time(&mut self, line: &Line, least_events: u64) {
        let (mut took, mut events) = (Duration::ZERO, 0);
        while events < least_events {
            let series = Series::new(line, SEED, 0);
            let start = Instant::now();
            events += bare_loop(series, self.pieces, least_in_pairs, |_, at| {
                black_box(at);
            });
            took += start.elapsed();
        }
        self.ns_an_event.push(took.as_secs_f64() * 1e9 / events as f64);
    }
}

impl Size {
    fn new(size: f64, line: Line, horizon: Moment, bare_pieces: Option<u64>) -> Self {
        let plan = RunPlan { horizon, ..RunPlan::shift(&line) };
        let bare = bare_pieces.map(|pieces| Bare { pieces, ns_an_event: Vec::new() });
        Self { size, line, plan, events: 0, times_ms: Vec::new(), bare }
    }

    fn time_ms(&self) -> f64 {
        median(&self.times_ms)
    }

    /// Of the bare loop, as if it had as many events.
    fn bare_ms(&self) -> Option<f64> {
        let bare = self.bare.as_ref()?;
        Some(median(&bare.ns_an_event) * self.events as f64 / 1e6)
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let timed = arguments.iter().any(|argument| argument == "--bench");
    let (rounds, least_events) = if timed { (11, MEASURED_EVENTS) } else { (1, 1) };
    let mut axes = [by_length(timed), by_stations(timed)];
    for _ in 0..rounds {
        for size in axes.iter_mut().flat_map(|growth| &mut growth.sizes) {
            let (mut runs, mut events) = (0, 0);
            let start = Instant::now();
            while events < least_events {
                size.events = with_statistics(&size.line, &size.plan, SEED, 0);
                (runs, events) = (runs + 1, events + size.events);
            }
            size.times_ms.push(start.elapsed().as_secs_f64() * 1e3 / f64::from(runs));
            if let Some(bare) = &mut size.bare {
                bare.time(&size.line, least_events);
            }
        }
    }
    // A closed pipe is no failure of a bench.
    drop(print(&axes, rounds));
    if let Some(place) = arguments.iter().position(|argument| argument == "--figure") {
        let path = arguments.get(place + 1).ok_or("--figure needs the name of an SVG file")?;
        // Cargo runs benches in the folder of their package; names are meant from the workspace.
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..").join(path);
        let svg = figure(&axes)?;
        std::fs::write(&path, svg).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    Ok(())
}

/// The reference line over shifts of so many hours.
fn by_length(timed: bool) -> Growth {
    let hours: &[u32] = if timed { &[1, 10, 100, 1_000] } else { &[1, 2] };
    let sizes = hours.iter().map(|hours| {
        let length = Span::from_seconds(3_600.0 * f64::from(*hours));
        Size::new(f64::from(*hours), load_model("alder-hill-mince"), Moment::ZERO + length, None)
    });
    Growth {
        caption: "The reference line".to_owned(),
        axis: "length of the shift, h",
        sizes: sizes.collect(),
    }
}

/// Generic stations in series, until so many pieces have left: each station works on the same number of pieces.
fn by_stations(timed: bool) -> Growth {
    let (counts, pieces): (&[u32], u64) =
        if timed { (&[5, 10, 20, 50], PIECES) } else { (&[5, 10], PIECES / 20) };
    let sizes = counts.iter().map(|count| {
        let line = stations_in_series(*count as usize);
        let mut last = 0;
        recursion(Series::new(&line, SEED, 0), pieces, |_, at| last = at);
        Size::new(f64::from(*count), line, Moment(last + 1), Some(pieces))
    });
    let caption = format!("Generic stations, {} pieces", grouped(pieces));
    Growth { caption, axis: "stations", sizes: sizes.collect() }
}

fn exponent(growth: &Growth) -> f64 {
    slope(&growth.sizes.iter().map(|size| (size.size.ln(), size.time_ms().ln())).collect::<Vec<_>>())
}

/// The same of the bare loop, where there is one.
fn bare_exponent(growth: &Growth) -> Option<f64> {
    let points = growth.sizes.iter().map(|size| Some((size.size.ln(), size.bare_ms()?.ln())));
    Some(slope(&points.collect::<Option<Vec<_>>>()?))
}

fn print(axes: &[Growth], rounds: usize) -> io::Result<()> {
    let out = &mut io::stdout().lock();
    for growth in axes {
        writeln!(out, "{}, with statistics, median of {rounds}:\n", growth.caption)?;
        let bare = bare_exponent(growth);
        let (head, rule) = if bare.is_some() { (" bare loop, ns/event |", " ---: |") } else { ("", "") };
        writeln!(out, "| {} | events | ms | ns/event | ms for each |{head}", growth.axis)?;
        writeln!(out, "| ---: | ---: | ---: | ---: | ---: |{rule}")?;
        for size in &growth.sizes {
            let (ms, events) = (size.time_ms(), size.events);
            let (ns, each) = (ms * 1e6 / events as f64, ms / size.size);
            let bare = size
                .bare
                .as_ref()
                .map_or(String::new(), |bare| format!(" {:.1} |", median(&bare.ns_an_event)));
            writeln!(out, "| {} | {events} | {ms:.2} | {ns:.1} | {each:.3} |{bare}", size.size)?;
        }
        write!(out, "\ntime grows as the power {:.3}", exponent(growth))?;
        match bare {
            Some(power) => writeln!(out, ", that of the bare loop as {power:.3}\n")?,
            None => writeln!(out, "\n")?,
        }
    }
    Ok(())
}

/// A count below a million with a comma at the thousands.
fn grouped(count: u64) -> String {
    if count < 1_000 { count.to_string() } else { format!("{},{:03}", count / 1_000, count % 1_000) }
}

/// 1, 2, 5, 10 and so on between two figures.
fn round_figures(low: f64, high: f64) -> Vec<f64> {
    let all = (0..7).flat_map(|power| [1.0, 2.0, 5.0].map(|first| first * 10_f64.powi(power)));
    all.filter(|figure| (low..high).contains(figure)).collect()
}

/// Both axes of growth side by side, on logarithmic scales, with the line of slope 1 through the middle of the points.
fn figure(axes: &[Growth]) -> Result<String, Box<dyn Error>> {
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, (900, 400)).into_drawing_area();
        root.fill(&WHITE)?;
        for (area, growth) in root.split_evenly((1, axes.len())).iter().zip(axes) {
            let points: Vec<(f64, f64)> =
                growth.sizes.iter().map(|size| (size.size, size.time_ms())).collect();
            let least = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).fold(f64::INFINITY, f64::min);
            let most = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).fold(0.0, f64::max);
            let (left, right) = (least(|p| p.0) / 1.5, most(|p| p.0) * 1.5);
            let (low, high) = (least(|p| p.1) / 2.0, most(|p| p.1) * 2.0);
            let caption = format!("{}: power {:.3}", growth.caption, exponent(growth));
            let mut chart = ChartBuilder::on(area)
                .caption(caption, ("sans-serif", 17))
                .margin(12)
                .x_label_area_size(42)
                .y_label_area_size(60)
                .build_cartesian_2d(
                    (left..right).log_scale().with_key_points(points.iter().map(|point| point.0).collect()),
                    (low..high).log_scale().with_key_points(round_figures(low, high)),
                )?;
            chart
                .configure_mesh()
                .x_desc(growth.axis)
                .y_desc("time of a run, ms")
                .label_style(("sans-serif", 13))
                .axis_desc_style(("sans-serif", 14))
                .x_label_formatter(&|size| format!("{size:.0}"))
                .y_label_formatter(&|ms| format!("{ms:.0}"))
                .bold_line_style(BLACK.mix(0.15))
                .draw()?;
            let middle = points.iter().map(|(x, y)| (y / x).ln()).sum::<f64>() / points.len() as f64;
            let linear = [left, right].map(|x| (x, x * middle.exp()));
            chart
                .draw_series(LineSeries::new(linear, BLACK.mix(0.5)))?
                .label("slope 1")
                .legend(|(x, y)| PathElement::new(vec![(x, y), (x + 18, y)], BLACK.mix(0.5)));
            chart
                .draw_series(points.iter().map(|point| Circle::new(*point, 5, BLUE.filled())))?
                .label("measured")
                .legend(|(x, y)| Circle::new((x + 9, y), 5, BLUE.filled()));
            chart
                .configure_series_labels()
                .position(SeriesLabelPosition::UpperLeft)
                .label_font(("sans-serif", 13))
                .background_style(WHITE)
                .border_style(BLACK.mix(0.3))
                .draw()?;
        }
        root.present()?;
    }
    Ok(svg)
}
