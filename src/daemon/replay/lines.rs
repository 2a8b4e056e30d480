//! The lines, played again.

use std::collections::VecDeque;

use serde_json::Value;

use crate::device::line::{Line, LineInput, Write};
use crate::device::{DeviceSetup, LinePlan, Order as DeviceOrder, RadioOrder, RotatorOrder};
use crate::record::{Came, Look, Order, Origin, Pause, SessionMemo, Stamp, Step, to_text};
use crate::terms::AzEl;

use super::Machine;
use super::plans::Plans;

/// One line and what its devices were ordered.
struct PlayedLine {
    machine: Machine,
    plan: LinePlan,
    line: Option<Line>,
    /// By device: orders that the line has not taken yet, or why they can't be given again.
    ordered: Vec<VecDeque<Result<DeviceOrder, String>>>,
    /// By device: the order with which it got its last plan.
    last_plan: Vec<Option<DeviceOrder>>,
}

/// All lines of a station.
pub(super) struct Lines {
    lines: Vec<PlayedLine>,
    /// Where the radios are, by number: line and device; and the rotator.
    radios: Vec<(usize, usize)>,
    rotator: Option<(usize, usize)>,
    origin: Origin,
}

impl Lines {
    pub(super) fn new(plans: Vec<LinePlan>, origin: Origin) -> Self {
        let (mut radios, mut rotator) = (Vec::new(), None);
        for (line, plan) in plans.iter().enumerate() {
            for (index, device) in plan.devices.iter().enumerate() {
                match device {
                    DeviceSetup::Radio(_) => radios.push((line, index)),
                    DeviceSetup::Rotator(_) => rotator = Some((line, index)),
                }
            }
        }
        let lines = plans.into_iter().map(PlayedLine::new).collect();
        Self { lines, radios, rotator, origin }
    }

    pub(super) fn into_machines(self) -> impl Iterator<Item = Machine> {
        self.lines.into_iter().map(|line| line.machine)
    }

    /// Nothing more is played.
    pub(super) fn stop(&mut self, why: &str) {
        self.lines.iter_mut().for_each(|line| line.machine.stop(why.to_owned()));
    }

    /// The plans that devices followed when the record began.
    pub(super) fn plans_before(&mut self, memo: &SessionMemo, plans: &mut Plans) {
        let Some(job) = memo.job.as_ref().and_then(|job| plans.job(job).ok()) else { return };
        for (line, device) in &self.radios {
            let follow = RadioOrder::Follow(job.tuning.clone());
            self.lines[*line].last_plan[*device] = Some(DeviceOrder::Radio(follow));
        }
        let nudge = memo.memo.get("nudge").cloned().unwrap_or_default();
        let nudge: AzEl = serde_json::from_value(nudge).unwrap_or(AzEl::ZERO);
        if let (Some((line, device)), Ok(follow)) = (self.rotator, plans.beam(&job, nudge)) {
            self.lines[line].last_plan[device] = Some(DeviceOrder::Rotator(follow));
        }
    }

    /// What the session ordered then.
    pub(super) fn ordered(&mut self, orders: &[Order], plans: &mut Plans) {
        for order in orders {
            let (place, order) = match order {
                Order::Radio(index, order) => (self.radios.get(*index).copied(), plans.radio(order)),
                Order::Rotator(order) => (self.rotator, plans.rotator(order)),
                _ => continue,
            };
            if let Some((line, device)) = place {
                self.lines[line].ordered[device].push_back(order);
            }
        }
    }

    pub(super) fn begin(&mut self, line: usize, at: Stamp, memo: &Value) {
        if let Some(line) = self.lines.get_mut(line) {
            line.begin(at, memo);
        }
    }

    pub(super) fn step(&mut self, file_line: usize, step: &Step) {
        let origin = self.origin;
        if let Some(line) = self.lines.get_mut(step.line) {
            line.step(file_line, origin, step);
        }
    }

    pub(super) fn pause(&mut self, file_line: usize, pause: &Pause) {
        let origin = self.origin;
        if let Some(line) = self.lines.get_mut(pause.line) {
            let Some(looks) = pause.looks() else {
                return line.machine.stop("bytes that came in can't be read".to_owned());
            };
            for Look { at, came, said } in looks {
                let input = if came.is_empty() { LineInput::Time } else { LineInput::Bytes(&came) };
                line.play((file_line, at), origin, input, &said);
            }
        }
    }
}

impl PlayedLine {
    fn new(plan: LinePlan) -> Self {
        let names: Vec<&str> = plan.devices.iter().map(DeviceSetup::name).collect();
        let count = names.len();
        Self {
            machine: Machine::named(names.join(" and ")),
            line: None,
            ordered: vec![VecDeque::new(); count],
            last_plan: vec![None; count],
            plan,
        }
    }

    /// Begins as the line was.
    fn begin(&mut self, at: Stamp, memo: &Value) {
        let mut line = self.plan.line();
        let begun = memo.as_object().ok_or_else(|| "its memo can't be read".to_owned());
        match begun.and_then(|memo| line.remember(memo, self.last_plan.clone())) {
            Ok(()) => {
                self.line = Some(line);
                self.machine.from_s = Some(at.seconds());
            }
            Err(why) => self.machine.stop(why),
        }
    }

    fn step(&mut self, file_line: usize, origin: Origin, step: &Step) {
        let input = match &step.came {
            Came::Opened => LineInput::Opened,
            Came::Lost(why) => LineInput::Lost(why),
            Came::NotSent => LineInput::NotSent,
            Came::Order(device) => match self.next_order(*device) {
                Ok(order) => LineInput::Order(*device, order),
                Err(why) => return self.machine.stop(why),
            },
            Came::Halt => LineInput::Halt,
            Came::Resume => LineInput::Resume,
        };
        self.play((file_line, step.at), origin, input, &step.said);
    }

    fn next_order(&mut self, device: usize) -> Result<DeviceOrder, String> {
        let next = self.ordered.get_mut(device).and_then(VecDeque::pop_front);
        let order = next.ok_or("it took an order that is not in the record")??;
        let has_plan = matches!(
            order,
            DeviceOrder::Radio(RadioOrder::Engage(_) | RadioOrder::Listen(_) | RadioOrder::Follow(_))
                | DeviceOrder::Rotator(RotatorOrder::Follow(_))
        );
        if has_plan {
            self.last_plan[device] = Some(order.clone());
        }
        Ok(order)
    }

    fn play(&mut self, place: (usize, Stamp), origin: Origin, input: LineInput, then: &[String]) {
        if self.machine.is_over() {
            return;
        }
        let Some(line) = &mut self.line else { return };
        let stepped = self.machine.tried(place, || line.step(origin.moment(place.1), input));
        let Some(now) = stepped else { return };
        let now = now.iter().map(|Write { bytes, .. }| to_text(bytes)).collect();
        self.machine.compare(place, then.to_vec(), now);
    }
}
