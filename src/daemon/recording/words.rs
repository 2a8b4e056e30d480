//! Orders as a record has them. A plan is named by the pass that it is for and by what the operator
//! has shifted since.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::device::{RadioMemory, RadioOrder, RotatorOrder};
use crate::record::Order;
use crate::session::{Job, Output, Session};
use crate::terms::{AzEl, Generation};

use super::jobs::{DialsAs, JobAs, Recipe};

/// An order to a radio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(in crate::daemon) enum RadioAs {
    Engage(Option<DialsOf>),
    Listen(Option<DialsOf>),
    Proceed,
    Follow(Option<DialsOf>),
    GiveBack(RadioMemory),
    Release,
}

/// An order to the rotator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(in crate::daemon) enum RotatorAs {
    Follow(Option<BeamAs>),
    GoTo(AzEl),
    Stop,
    GoOn,
}

/// The plan of the dials for a pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct DialsOf {
    /// The pass's number in the record.
    pub(in crate::daemon) job: u32,
    pub(in crate::daemon) dials: DialsAs,
}

/// The plan of the mount for a pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct BeamAs {
    /// The pass's number in the record.
    pub(in crate::daemon) job: u32,
    pub(in crate::daemon) nudge: AzEl,
}

/// Numbers passes, and puts orders into the record's words.
#[derive(Debug, Clone, Default)]
pub(in crate::daemon) struct Words {
    jobs: Vec<Recipe>,
    told: usize,
}

impl Words {
    /// The passes that got a number since this was last asked.
    pub(in crate::daemon) fn fresh(&mut self) -> Vec<(u32, Recipe)> {
        let told = std::mem::replace(&mut self.told, self.jobs.len());
        let fresh = self.jobs.iter().enumerate().skip(told);
        fresh.map(|(index, recipe)| (index as u32 + 1, recipe.clone())).collect()
    }

    /// The pass of this number.
    pub(in crate::daemon) fn recipe(&self, number: u32) -> Option<&Recipe> {
        self.jobs.get((number as usize).checked_sub(1)?)
    }

    /// Takes a pass as a record has it. Their numbers are in order.
    pub(in crate::daemon) fn learn(&mut self, number: u32, recipe: Recipe) -> Result<(), String> {
        if number as usize != self.jobs.len() + 1 {
            return Err(format!("pass {number} is not the next one"));
        }
        self.jobs.push(recipe);
        Ok(())
    }

    pub(in crate::daemon) fn named(&mut self, job: &Job) -> JobAs {
        let recipe = Recipe::of(job);
        let known = self.jobs.iter().position(|known| *known == recipe);
        let index = known.unwrap_or_else(|| {
            self.jobs.push(recipe);
            self.jobs.len() - 1
        });
        JobAs::of(index as u32 + 1, job)
    }

    /// What the session ordered; it is as it was when it had done so.
    pub(in crate::daemon) fn orders(&mut self, outputs: &[Output], session: &Session) -> Vec<Order> {
        outputs.iter().map(|output| self.order(output, session)).collect()
    }

    fn order(&mut self, output: &Output, session: &Session) -> Order {
        match output {
            Output::Radio(index, order) => Order::Radio(*index, written(&self.radio(order, session))),
            Output::Rotator(order) => Order::Rotator(written(&self.rotator(order, session))),
            Output::HaltLines => Order::HaltLines,
            Output::ResumeLines => Order::ResumeLines,
            Output::Save(request, memories) => Order::Save(*request, written(memories)),
            Output::Forget => Order::Forget,
            Output::Shelve => Order::Shelve,
            Output::Say(what) => Order::Say(what.clone()),
        }
    }

    fn radio(&mut self, order: &RadioOrder, session: &Session) -> RadioAs {
        match order {
            RadioOrder::Engage(plan) => RadioAs::Engage(self.dials(plan.generation(), session)),
            RadioOrder::Listen(plan) => RadioAs::Listen(self.dials(plan.generation(), session)),
            RadioOrder::Proceed => RadioAs::Proceed,
            RadioOrder::Follow(plan) => RadioAs::Follow(self.dials(plan.generation(), session)),
            RadioOrder::GiveBack(memory) => RadioAs::GiveBack(memory.clone()),
            RadioOrder::Release => RadioAs::Release,
        }
    }

    /// A plan that is not the session's any more, by its generation, has no name.
    fn dials(&mut self, generation: Generation, session: &Session) -> Option<DialsOf> {
        let job = session.job()?;
        let dials = DialsAs::of(&job.tuning);
        (dials.generation() == generation).then(|| DialsOf { job: self.named(job).job, dials })
    }

    fn rotator(&mut self, order: &RotatorOrder, session: &Session) -> RotatorAs {
        match order {
            RotatorOrder::Follow(_) => RotatorAs::Follow(session.job().map(|job| {
                let nudge = session.nudge();
                BeamAs { job: self.named(job).job, nudge }
            })),
            RotatorOrder::GoTo(place) => RotatorAs::GoTo(*place),
            RotatorOrder::Stop => RotatorAs::Stop,
            RotatorOrder::GoOn => RotatorAs::GoOn,
        }
    }
}

/// Numbers, words and lists can all be written down; what could not would be told as nothing.
pub(in crate::daemon) fn written(value: &impl Serialize) -> Value {
    serde_json::to_value(value).unwrap_or_default()
}
