//! The `wideenough` command: everything is in [`cli`] and, for the planning board, in [`board`].
#[cfg(feature = "board")]
mod board;
mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
