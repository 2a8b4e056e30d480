//! How a verb fails: a message for people and an exit code for programs.

use std::process::ExitCode;

use crate::config::ConfigErrors;

use super::text::{note, remark};

/// Why a verb ended without having done its work.
#[derive(Debug)]
pub(super) enum Failure {
    /// Something in the world: exit code 1.
    Failed(String),
    /// The command line can't be meant: exit code 2, as for what the parser refuses.
    Usage(String),
    /// No daemon answers on the socket: exit code 69.
    NotReachable(String),
    /// The configuration was refused: exit code 78. Each error stands on a line that begins with
    /// its place, as editors want it.
    Configuration(ConfigErrors),
    /// Whoever read the output has seen enough, as `head` has: no failure, exit code 0.
    NobodyReads,
}

impl Failure {
    /// Says it on standard error; gives the exit code.
    pub(super) fn report(self) -> ExitCode {
        match self {
            Failure::Failed(message) => Self::say(&message, 1),
            Failure::Usage(message) => Self::say(&message, 2),
            Failure::NotReachable(message) => Self::say(&message, 69),
            Failure::Configuration(errors) => {
                note(&errors);
                ExitCode::from(78)
            }
            Failure::NobodyReads => ExitCode::SUCCESS,
        }
    }

    fn say(message: &str, code: u8) -> ExitCode {
        remark(message);
        ExitCode::from(code)
    }
}

impl From<ConfigErrors> for Failure {
    fn from(errors: ConfigErrors) -> Self {
        Failure::Configuration(errors)
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Failure::Failed(error.to_string())
    }
}
