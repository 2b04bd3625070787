//! `linewake reference PAGE`: pages of the documentation that are made from the program, so that they cannot differ
//! from it. A test compares them.

use crate::args::{Arguments, ReferencePage};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use clap::{Command, CommandFactory};

/// Width of the help texts in the documentation.
const WIDTH: usize = 100;

pub(crate) fn reference(page: ReferencePage, console: &mut Console<'_>) -> Result<Exit, Failure> {
    console.print(&match page {
        ReferencePage::Commands => commands(),
        ReferencePage::ExitCodes => exit_codes(),
    })?;
    Ok(Exit::Done)
}

fn commands() -> String {
    let mut page = "# Commands\n\n\
        What `linewake --help` and the help of each command print. Made by `linewake reference commands`.\n\n\
        The answer goes to the standard output; progress, warnings and errors go to the standard error. With `--json` \
        there is JSON on the standard output and nothing else; its first key, `schema`, names its form, and within a \
        form keys are only added. Units are in the keys (`_s`, `_g`, `_kg`, `_per_min`, `_per_h`); shares are 0 to 1. \
        How a command ends is told by its [exit code](exit-codes.md).\n"
        .to_owned();
    let mut program = Arguments::command();
    program.build();
    sections("linewake", program, &mut page);
    page
}

/// The help of a command, then that of the commands below it.
fn sections(title: &str, mut command: Command, page: &mut String) {
    let below: Vec<Command> = command
        .get_subcommands()
        .filter(|command| !command.is_hide_set() && command.get_name() != "help")
        .cloned()
        .collect();
    section(title, &mut command, page);
    for command in below {
        sections(&format!("{title} {}", command.get_name()), command, page);
    }
}

fn section(title: &str, command: &mut Command, page: &mut String) {
    let command = std::mem::take(command);
    let help = command.term_width(WIDTH).render_long_help().to_string();
    let lines: Vec<&str> = help.lines().map(str::trim_end).collect();
    page.push_str(&format!("\n## {title}\n\n```text\n{}\n```\n", lines.join("\n").trim_end()));
}

fn exit_codes() -> String {
    let mut page =
        "# Exit codes\n\nMade by `linewake reference exit-codes`.\n\n| code | meaning |\n| ---: | --- |\n"
            .to_owned();
    for exit in Exit::ALL {
        page.push_str(&format!("| {} | {} |\n", exit.code(), exit.meaning()));
    }
    page
}
