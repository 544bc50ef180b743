//! The `wideenough` command: everything is in [`cli`].
mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
