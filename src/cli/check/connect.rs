//! `beamhand check --connect`: each configured device is asked once where it stands.

mod finding;

use std::time::Duration;

use crate::cli::Failure;
use crate::cli::met::Met;
use crate::cli::text::{say, show};
use crate::config::Config;
use crate::daemon;
use crate::device::line::SerialOpener;
use crate::device::line::ports::{System, in_use_by};
use crate::device::{DeviceSetup, Interview, LinePlan, Question, Seen};

use finding::Finding;

/// How many answers are timed.
const TIMED: usize = 7;
/// How often the first question is tried.
const TRIES: usize = 2;
/// More patience than any configured `answer_ms` needs, so that a late answer is seen as one.
const PATIENCE: Duration = Duration::from_secs(1);

const CAUTION: &str = "\
CAUTION: from `beamhand run` on the mount can move by itself. See that nobody
can stand or climb where it turns, that its cables run free to both end stops,
and that it clears power lines. Know the switch that cuts its motors' power.
";

/// Opens what the configuration names and reads each device. Nothing is tuned or moved.
pub(super) fn run(config: &Config, json: bool) -> Result<(), Failure> {
    let lines = daemon::lines(config, 1.0);
    if lines.is_empty() {
        return Err(Failure::Failed("the configuration names no radio and no rotator".to_owned()));
    }
    refuse_what_is_in_use(&lines)?;
    let mut all_answered = true;
    for plan in &lines {
        for finding in visit(plan) {
            all_answered &= finding.is_good();
            show(if json { finding.json() } else { finding.text() })?;
        }
    }
    if config.rotator.is_some() && !json {
        say("")?;
        show(CAUTION)?;
    }
    if all_answered { Ok(()) } else { Err(Failure::Failed("not every device answered".to_owned())) }
}

/// Nothing at all is opened while somebody, such as the daemon, has one of the ports.
fn refuse_what_is_in_use(lines: &[LinePlan]) -> Result<(), Failure> {
    let system = System::real();
    let used = lines.iter().filter_map(|plan| {
        let holders = in_use_by(&system, &plan.port.port)?;
        Some(format!("{} is in use by {holders}", plan.port.port.display()))
    });
    let used: Vec<String> = used.collect();
    if used.is_empty() {
        return Ok(());
    }
    let remedy = "end that first: Ctrl-C in the daemon's terminal, or `sudo systemctl stop beamhand`";
    Err(Failure::Failed(format!("{}; {remedy}", used.join("; "))))
}

/// Reads every device of one line.
fn visit(plan: &LinePlan) -> Vec<Finding> {
    let patient = LinePlan { answer: plan.answer.max(PATIENCE), ..plan.clone() };
    let opened = Interview::begin(&SerialOpener(plan.port.clone()), patient.conversation(), plan.byte_time());
    let mut findings: Vec<Finding> = plan.devices.iter().map(|device| Finding::new(device, plan)).collect();
    match opened {
        Ok(mut talk) => {
            for (device, finding) in plan.devices.iter().zip(&mut findings) {
                if let Err(lost) = question(&mut talk, device, finding) {
                    finding.lost = Some(lost);
                }
            }
        }
        Err(why) => findings.iter_mut().for_each(|finding| finding.lost = Some(why.clone())),
    }
    findings
}

fn question(talk: &mut Interview, device: &DeviceSetup, finding: &mut Finding) -> Result<(), String> {
    let (address, dialect) = device.identity();
    let questions = Question::of(&dialect, address);
    let Some(first) = questions.first() else { return Ok(()) };
    let mut ask = |talk: &mut Interview, question: &Question| -> Result<bool, String> {
        let seen: Seen = talk.ask(question)?;
        let met = Met::of(&seen, question.style);
        let is_heard = met.is_heard();
        finding.take(question, met, seen.waited);
        Ok(is_heard)
    };
    let mut heard = false;
    for _ in 0..TRIES {
        if !heard {
            talk.greet(&dialect, address)?;
            heard = ask(talk, first)?;
        }
    }
    if !heard {
        return Ok(());
    }
    for question in &questions[1..] {
        ask(talk, question)?;
    }
    for _ in questions.len()..TIMED {
        ask(talk, first)?;
    }
    Ok(())
}
