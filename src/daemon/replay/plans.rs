//! The passes and plans of a record, made again.

use serde::Deserialize;
use serde_json::Value;

use crate::beam::Mount;
use crate::daemon::recording::{BeamAs, DialsOf, JobAs, RadioAs, Recipe, RotatorAs, Words};
use crate::device::{Order, RadioOrder, RotatorOrder};
use crate::session::{Job, beam_plan};
use crate::terms::AzEl;

/// Makes passes and plans from a record's words, the same one only once: it is propagated for it.
pub(super) struct Plans {
    pub(super) words: Words,
    mount: Option<Mount>,
    made: Vec<(JobAs, Job)>,
}

impl Plans {
    pub(super) fn new(mount: Option<Mount>) -> Self {
        Self { words: Words::default(), mount, made: Vec::new() }
    }

    pub(super) fn learn(&mut self, number: u32, recipe: &Value) -> Result<(), String> {
        let recipe =
            Recipe::deserialize(recipe).map_err(|error| format!("pass {number} can't be read: {error}"))?;
        self.words.learn(number, recipe)
    }

    /// The pass as it was.
    pub(super) fn job(&mut self, as_it_was: &Value) -> Result<Job, String> {
        let as_it_was =
            JobAs::deserialize(as_it_was).map_err(|error| format!("a pass can't be read: {error}"))?;
        self.made(&as_it_was)
    }

    fn made(&mut self, as_it_was: &JobAs) -> Result<Job, String> {
        if let Some((_, job)) = self.made.iter().find(|(known, _)| known == as_it_was) {
            return Ok(job.clone());
        }
        let number = as_it_was.job;
        let recipe =
            self.words.recipe(number).ok_or_else(|| format!("pass {number} is not in the record"))?;
        let job = recipe.job(as_it_was, self.mount.as_ref())?;
        self.made.push((as_it_was.clone(), job.clone()));
        Ok(job)
    }

    fn dials(&mut self, of: Option<DialsOf>) -> Result<Job, String> {
        let of = of.ok_or("a plan that was followed then has no name in the record")?;
        self.made(&JobAs::bare(of.job, of.dials))
    }

    pub(super) fn radio(&mut self, order: &Value) -> Result<Order, String> {
        let order = RadioAs::deserialize(order).map_err(unreadable)?;
        Ok(Order::Radio(match order {
            RadioAs::Engage(plan) => RadioOrder::Engage(self.dials(plan)?.tuning),
            RadioAs::Listen(plan) => RadioOrder::Listen(self.dials(plan)?.tuning),
            RadioAs::Proceed => RadioOrder::Proceed,
            RadioAs::Follow(plan) => RadioOrder::Follow(self.dials(plan)?.tuning),
            RadioAs::GiveBack(memory) => RadioOrder::GiveBack(memory),
            RadioAs::Release => RadioOrder::Release,
        }))
    }

    pub(super) fn rotator(&mut self, order: &Value) -> Result<Order, String> {
        let order = RotatorAs::deserialize(order).map_err(unreadable)?;
        Ok(Order::Rotator(match order {
            RotatorAs::Follow(plan) => {
                let BeamAs { job, nudge } =
                    plan.ok_or("a plan that was followed then has no name in the record")?;
                // The mount's plan does not heed the dials.
                let job = self.made(&JobAs::bare(job, Default::default()))?;
                self.beam(&job, nudge)?
            }
            RotatorAs::GoTo(place) => RotatorOrder::GoTo(place),
            RotatorAs::Stop => RotatorOrder::Stop,
            RotatorAs::GoOn => RotatorOrder::GoOn,
        }))
    }

    pub(super) fn beam(&self, job: &Job, nudge: AzEl) -> Result<RotatorOrder, String> {
        let (aim, mount) =
            job.aim.as_ref().zip(self.mount.as_ref()).ok_or("the pass has no plan for a mount")?;
        Ok(RotatorOrder::Follow(beam_plan(aim, nudge, mount)))
    }
}

fn unreadable(error: serde_json::Error) -> String {
    format!("an order can't be read: {error}")
}
