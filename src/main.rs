//! The `beamhand` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    beamhand::cli::main()
}
