//! `linewake man`: the manual page, in roff.

use crate::args::Arguments;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use clap::CommandFactory;

pub(crate) fn man(console: &mut Console<'_>) -> Result<Exit, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(Arguments::command()).render(&mut page).map_err(Failure::of_stdout)?;
    console.print(&String::from_utf8_lossy(&page))?;
    Ok(Exit::Done)
}
