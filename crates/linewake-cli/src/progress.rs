//! How far the work is: a bar on a terminal, else a line for every tenth; both only after half a second.

use crate::console::Console;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::Write;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Work that is over sooner needs no sign of life.
const QUIET_TIME: Duration = Duration::from_millis(500);

/// Progress of a piece of work in steps; several threads may tell it.
pub(crate) struct Progress<'a> {
    label: &'static str,
    /// Steps in all; `None` if the work shows on the way how many it needs.
    steps: Option<u64>,
    began: Instant,
    state: Mutex<State<'a>>,
}

struct State<'a> {
    done: u64,
    tenths_told: u64,
    display: Display<'a>,
}

enum Display<'a> {
    None,
    Lines(&'a mut (dyn Write + Send)),
    Bar(ProgressBar),
}

impl<'a> Progress<'a> {
    /// Begins work of so many steps.
    pub(crate) fn new(label: &'static str, steps: u64, console: &'a mut Console<'_>) -> Self {
        Self::begin(label, Some(steps), console)
    }

    /// Begins work of so many steps, if that is known.
    pub(crate) fn begin(label: &'static str, steps: Option<u64>, console: &'a mut Console<'_>) -> Self {
        let display = if console.quiet {
            Display::None
        } else if console.err_is_terminal {
            Display::Bar(bar(label, steps))
        } else {
            Display::Lines(console.err())
        };
        let state = Mutex::new(State { done: 0, tenths_told: 0, display });
        Self { label, steps, began: Instant::now(), state }
    }

    /// One step is done.
    pub(crate) fn step(&self) {
        let Ok(mut state) = self.state.lock() else { return };
        state.done += 1;
        let done = state.done;
        // Where the end is not known, each doubling is told.
        let tenths =
            self.steps.map_or_else(|| u64::from(done.max(1).ilog2()), |steps| done * 10 / steps.max(1));
        if self.began.elapsed() < QUIET_TIME {
            // What was done in silence is not told afterwards.
            state.tenths_told = tenths;
            if let Display::Bar(bar) = &state.display {
                bar.set_position(done);
            }
            return;
        }
        let news = tenths > state.tenths_told;
        match &mut state.display {
            Display::None => {}
            Display::Bar(bar) => {
                if bar.is_hidden() {
                    bar.set_draw_target(ProgressDrawTarget::stderr());
                }
                bar.set_position(done);
            }
            Display::Lines(err) if news => {
                let line = match self.steps {
                    Some(steps) => format!(
                        "{}: {} % ({done} of {steps}), {} left\n",
                        self.label,
                        tenths * 10,
                        time_left(self.began.elapsed(), done, steps)
                    ),
                    None => format!("{}: {done}\n", self.label),
                };
                let _nobody_to_tell = err.write_all(line.as_bytes()).and_then(|()| err.flush());
            }
            Display::Lines(_) => {}
        }
        if news {
            state.tenths_told = tenths;
        }
    }
}

impl Drop for Progress<'_> {
    fn drop(&mut self) {
        if let Ok(state) = self.state.lock()
            && let Display::Bar(bar) = &state.display
        {
            bar.finish_and_clear();
        }
    }
}

/// What is left at the pace so far.
fn time_left(elapsed: Duration, done: u64, steps: u64) -> String {
    let left = elapsed.as_secs_f64() / done.max(1) as f64 * steps.saturating_sub(done) as f64;
    match left.ceil() {
        seconds if seconds < 60.0 => format!("{seconds} s"),
        seconds if seconds < 5400.0 => format!("{} min", (seconds / 60.0).ceil()),
        seconds => format!("{:.1} h", seconds / 3600.0),
    }
}

fn bar(label: &'static str, steps: Option<u64>) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(steps, ProgressDrawTarget::hidden());
    let form = match steps {
        Some(_) => "{msg} {wide_bar} {pos} of {len}, {eta} left",
        None => "{msg} {spinner} {pos} so far, {elapsed}",
    };
    if let Ok(style) = ProgressStyle::with_template(form) {
        bar.set_style(style);
    }
    bar.set_message(label);
    bar
}
