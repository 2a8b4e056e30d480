//! Writes the man pages and the shells' completions from the command line's own declaration.
//!
//!     cargo run --example pages -- FOLDER

use std::io::{Error, Result};
use std::path::Path;

use clap_complete::Shell;

fn main() -> Result<()> {
    let folder = std::env::args_os().nth(1).ok_or_else(|| Error::other("name the folder to write to"))?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    let mut command = beamhand::cli::command();
    clap_mangen::generate_to(command.clone(), folder)?;
    for shell in [Shell::Bash, Shell::Fish, Shell::Zsh] {
        clap_complete::generate_to(shell, &mut command, "beamhand", folder)?;
    }
    Ok(())
}
