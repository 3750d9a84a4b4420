//! The program: hands over to the command line.

use std::process::ExitCode;

fn main() -> ExitCode {
    tantalus::cli::main()
}
