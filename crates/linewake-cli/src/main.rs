//! The `linewake` program.

fn main() -> std::process::ExitCode {
    linewake_cli::main()
}
