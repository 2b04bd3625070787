//! Where the program prints: the answer on `out`, everything else on `err`.

use crate::args::Colour;
use crate::failure::Failure;
use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};

/// The two streams, what is known of them, and the flag that Ctrl-C raises.
pub(crate) struct Console<'a> {
    out: &'a mut (dyn Write + Send),
    err: &'a mut (dyn Write + Send),
    /// Somebody looks at `out`: tables may be drawn for a screen.
    pub(crate) out_is_terminal: bool,
    /// Somebody looks at `err`: a progress bar makes sense.
    pub(crate) err_is_terminal: bool,
    /// Take colours out before printing (the streams of a process do so themselves when they are no terminal).
    pub(crate) strip: bool,
    /// No progress and no notes.
    pub(crate) quiet: bool,
    /// Raised by Ctrl-C.
    pub(crate) stop: &'a AtomicBool,
}

impl<'a> Console<'a> {
    /// Streams that are no terminal and take colours as they come.
    pub(crate) fn new(
        out: &'a mut (dyn Write + Send),
        err: &'a mut (dyn Write + Send),
        stop: &'a AtomicBool,
    ) -> Self {
        Self { out, err, out_is_terminal: false, err_is_terminal: false, strip: false, quiet: false, stop }
    }

    /// Prints a part of the answer.
    pub(crate) fn print(&mut self, text: &str) -> Result<(), Failure> {
        let written = if self.strip {
            self.out.write_all(anstream::adapter::strip_str(text).to_string().as_bytes())
        } else {
            self.out.write_all(text.as_bytes())
        };
        written.map_err(Failure::of_stdout)
    }

    /// Prints a warning or error. Nobody can be told when this fails.
    pub(crate) fn tell(&mut self, text: &str) {
        let text = if self.strip { anstream::adapter::strip_str(text).to_string() } else { text.to_owned() };
        let _nobody_to_tell = self.err.write_all(text.as_bytes()).and_then(|()| self.err.flush());
    }

    /// The stream for notes from several threads.
    pub(crate) fn err(&mut self) -> &mut (dyn Write + Send) {
        self.err
    }

    /// Hands on what is buffered.
    pub(crate) fn flush(&mut self) -> Result<(), Failure> {
        self.out.flush().map_err(Failure::of_stdout)
    }

    /// Colour as the user asks; without a wish, as the streams decide.
    pub(crate) fn choose_colour(&mut self, colour: Colour) {
        if colour == Colour::Never {
            self.strip = true;
        }
    }

    /// [`Failure::Interrupted`] once Ctrl-C was pressed.
    pub(crate) fn go_on(&self) -> Result<(), Failure> {
        if self.stop.load(Ordering::Relaxed) { Err(Failure::Interrupted) } else { Ok(()) }
    }
}
