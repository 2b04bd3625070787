//! The same program as `linewake`, so that tests know its path.

fn main() -> std::process::ExitCode {
    linewake_cli::main()
}
