//! The `beamhand` command.

fn main() {}
