//! `linewake serve`: the live page, until Ctrl-C.

use crate::args::Serve;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use linewake_desk::{ServeError, Server};
use std::io;
use std::process::{Command, Stdio};

pub(crate) fn serve(options: &Serve, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let server = Server::bind(&options.models, options.port).map_err(|error| failure(options, &error))?;
    let address = server.address();
    console.print(&format!("{address}\n"))?;
    console.flush()?;
    if !console.quiet {
        console
            .tell("The page is for this machine alone, and the address carries its key. Ctrl-C ends it.\n");
    }
    if options.open
        && let Err(error) = open(&address)
    {
        console.tell(&format!("no browser could be started ({error}): open the address yourself\n"));
    }
    server.run(console.stop).map_err(|error| failure(options, &error))?;
    // Ctrl-C is how it ends.
    Ok(Exit::Done)
}

fn failure(options: &Serve, error: &ServeError) -> Failure {
    match error {
        ServeError::Folder(_) => Failure::failed(
            format!("{} {error}", options.models.display()),
            "give a folder of model files, or one model file",
        ),
        ServeError::Port(..) => Failure::failed(error.to_string(), "give another one with --port, or none"),
        ServeError::Machine(_) => Failure::failed(error.to_string(), ""),
    }
}

/// Opens the address in the browser that the system prefers.
fn open(address: &str) -> io::Result<()> {
    let (program, before): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("rundll32", &["url.dll,FileProtocolHandler"]),
        _ => ("xdg-open", &[]),
    };
    let mut command = Command::new(program);
    command.args(before).arg(address).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.spawn().map(drop)
}
