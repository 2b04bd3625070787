//! `linewake completions SHELL`: completions for a shell.

use crate::args::Arguments;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use clap::CommandFactory;
use clap_complete::Shell;

pub(crate) fn completions(shell: Shell, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "linewake", &mut script);
    console.print(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Done)
}
