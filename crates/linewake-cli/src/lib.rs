//! The `linewake` command: arguments, files, one library call, presentation. It computes nothing itself.
//!
//! [`run`] is the whole program for a caller that captures what is printed; [`main`] is the same for a process.

mod aligned;
mod args;
mod command;
mod console;
pub mod exit;
mod facts_text;
mod failure;
mod interrupt;
mod log_files;
mod model_file;
mod output_folder;
mod pictures;
mod progress;
mod report_folder;
mod results_json;
mod seed;

use args::{Arguments, Command};
use clap::{CommandFactory, FromArgMatches};
use console::Console;
use exit::Exit;
use failure::Failure;
use std::ffi::OsString;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;
use std::sync::atomic::AtomicBool;

/// The program: arguments, streams and Ctrl-C of the process.
#[must_use]
pub fn main() -> ExitCode {
    interrupt::listen();
    let (mut out, mut err) = (anstream::stdout(), anstream::stderr());
    let mut console = Console::new(&mut out, &mut err, interrupt::flag());
    console.out_is_terminal = std::io::stdout().is_terminal();
    console.err_is_terminal = std::io::stderr().is_terminal();
    ExitCode::from(run_on(std::env::args_os(), &mut console).code())
}

/// Runs the program with these arguments (the first is its name), as if `out` and `err` were no terminal: answers go
/// to `out`, progress, warnings and errors to `err`, without colour.
pub fn run<A, T>(args: A, out: &mut (dyn Write + Send), err: &mut (dyn Write + Send)) -> Exit
where
    A: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    run_until(args, out, err, &AtomicBool::new(false))
}

/// As [`run`]; raising `stop` has the effect of Ctrl-C.
pub fn run_until<A, T>(
    args: A,
    out: &mut (dyn Write + Send),
    err: &mut (dyn Write + Send),
    stop: &AtomicBool,
) -> Exit
where
    A: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let mut console = Console::new(out, err, stop);
    console.strip = true;
    run_on(args, &mut console)
}

fn run_on<A, T>(args: A, console: &mut Console<'_>) -> Exit
where
    A: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let outcome = arguments(args, console).and_then(|arguments| match arguments {
        Some(arguments) => dispatch(&arguments, console),
        None => Ok(Exit::Done),
    });
    match outcome.and_then(|exit| console.flush().map(|()| exit)) {
        Ok(exit) => exit,
        Err(failure) => failure.tell(console),
    }
}

/// Reads the arguments; `None` when help or version was asked for, and printed.
fn arguments<A, T>(args: A, console: &mut Console<'_>) -> Result<Option<Arguments>, Failure>
where
    A: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let mut command = Arguments::command();
    if !console.out_is_terminal {
        command = command.term_width(100);
    }
    match command.try_get_matches_from(args).and_then(|matches| Arguments::from_arg_matches(&matches)) {
        Ok(arguments) => {
            console.quiet = arguments.quiet;
            console.choose_colour(arguments.color);
            Ok(Some(arguments))
        }
        Err(error) if error.exit_code() == 0 => {
            console.print(&error.render().ansi().to_string())?;
            Ok(None)
        }
        Err(error) => Err(Failure::Usage(error.render().ansi().to_string())),
    }
}

fn dispatch(arguments: &Arguments, console: &mut Console<'_>) -> Result<Exit, Failure> {
    match &arguments.command {
        Command::Check(check) => command::check::check(check, console),
        Command::Run(run) => command::run::run(run, console),
        Command::Fit(fit) => command::fit::fit(fit, console),
        Command::Report(report) => command::report::report(report, console),
        Command::Wake(wake) => command::wake::wake(wake, console),
        Command::Study(study) => command::study::study(study, console),
        Command::Weights(weights) => command::weights::weights(weights, console),
        Command::Versus(versus) => command::versus::versus(versus, console),
        Command::Merge(merge) => command::merge::merge(merge, console),
        #[cfg(feature = "desk")]
        Command::Serve(serve) => command::serve::serve(serve, console),
        Command::Schema => command::schema::schema(console),
        Command::Completions { shell } => command::completions::completions(*shell, console),
        Command::Man => command::man::man(console),
        Command::Reference { page } => command::reference::reference(*page, console),
    }
}
