//! The command line: one file a verb. A verb prints, or talks to the daemon through `control`.

mod agenda;
mod aim;
mod answer_times;
mod antenna;
mod changes;
mod channels;
mod check;
mod consent;
mod contact;
mod contacts;
mod dialects;
mod elements;
mod failure;
mod footprint;
mod guide;
mod handheld;
mod hindrance;
mod horizon;
mod listening;
mod look;
mod met;
mod nudge;
mod off;
mod passes;
mod ports;
mod probe;
mod record;
mod rehearse;
mod remote;
mod report;
mod run;
mod screen;
mod source;
mod spread;
mod status;
mod text;
mod tone;
mod trim;
mod wire;

use std::process::ExitCode;

use clap::{Command, CommandFactory, Parser, Subcommand};

use failure::Failure;

/// A spare hand at an amateur-satellite station: it keeps the receiver, the transmitter and a
/// small beam on a satellite while it passes. It never keys the transmitter; that is yours to do.
#[derive(Parser)]
#[command(name = "beamhand", version, about, long_about = None, max_term_width = 80)]
#[command(after_help = "\
Begin with:
  beamhand rehearse         a whole pass, invented, no equipment needed
  beamhand ports            where your equipment is plugged in
  beamhand check            what the configuration says, or what is wrong")]
struct CommandLine {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    Look(look::Look),
    Passes(passes::Passes),
    Agenda(agenda::Agenda),
    Aim(aim::Aim),
    Footprint(footprint::Footprint),
    Channels(channels::Channels),
    Guide(guide::Guide),
    Listening(listening::Listening),
    Horizon(horizon::Horizon),
    Check(check::Check),
    Elements(elements::Elements),
    Ports(ports::Ports),
    Probe(probe::Probe),
    Dialects(dialects::Dialects),
    Rehearse(rehearse::Rehearse),
    Run(run::Run),
    Start(remote::Start),
    Stop(remote::Stop),
    Status(status::Status),
    Record(record::Record),
    Report(report::Report),
    Point(remote::Point),
    Nudge(nudge::Nudge),
    Park(remote::Park),
    Halt(remote::Halt),
    Resume(remote::Resume),
    Auto(remote::Auto),
    Antenna(antenna::Antenna),
    Reload(remote::Reload),
    Trim(trim::Trim),
    Tone(tone::Tone),
    Contact(contact::Contact),
    Contacts(contacts::Contacts),
}

/// The command line's declaration: whence its help, and its pages in the package.
pub fn command() -> Command {
    CommandLine::command()
}

/// Runs the command line that the process was started with.
pub fn main() -> ExitCode {
    let done = match CommandLine::parse().verb {
        Verb::Look(verb) => verb.run(),
        Verb::Passes(verb) => verb.run(),
        Verb::Agenda(verb) => verb.run(),
        Verb::Aim(verb) => verb.run(),
        Verb::Footprint(verb) => verb.run(),
        Verb::Channels(verb) => verb.run(),
        Verb::Guide(verb) => verb.run(),
        Verb::Listening(verb) => verb.run(),
        Verb::Horizon(verb) => verb.run(),
        Verb::Check(verb) => verb.run(),
        Verb::Elements(verb) => verb.run(),
        Verb::Ports(verb) => verb.run(),
        Verb::Probe(verb) => verb.run(),
        Verb::Dialects(verb) => verb.run(),
        Verb::Rehearse(verb) => verb.run(),
        Verb::Run(verb) => verb.run(),
        Verb::Start(verb) => verb.run(),
        Verb::Stop(verb) => verb.run(),
        Verb::Status(verb) => verb.run(),
        Verb::Record(verb) => verb.run(),
        Verb::Report(verb) => verb.run(),
        Verb::Point(verb) => verb.run(),
        Verb::Nudge(verb) => verb.run(),
        Verb::Park(verb) => verb.run(),
        Verb::Halt(verb) => verb.run(),
        Verb::Resume(verb) => verb.run(),
        Verb::Auto(verb) => verb.run(),
        Verb::Antenna(verb) => verb.run(),
        Verb::Reload(verb) => verb.run(),
        Verb::Trim(verb) => verb.run(),
        Verb::Tone(verb) => verb.run(),
        Verb::Contact(verb) => verb.run(),
        Verb::Contacts(verb) => verb.run(),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(),
    }
}
