//! Simulated equipment at the far end of real pseudo-terminals, for as long as it is kept.

use std::sync::Arc;

use tempfile::TempDir;

use crate::clock::Clock;
use crate::rehearsal::{Simulated, Stage, plan_faults, plan_operator, simulate};
use crate::sim::Outlet;
use crate::sim::radio::SignalSource;

use super::cables::Cables;
use super::{Failure, Orders};

/// Radiated power and receiving antenna of the usual small repeater, dBm (common practice: half a
/// watt, and 10 dB of beam).
const SIGNAL_DBM: f64 = 37.0;

/// Outlets in a folder of their own. Dropping it unplugs everything.
pub(super) struct Scenery {
    /// The simulated devices, in the configuration's order.
    pub(super) devices: Vec<Simulated>,
    _cables: Cables,
    _folder: TempDir,
}

impl Scenery {
    /// Builds equipment for the stage's configuration, points the configuration to it, and has
    /// happen to it what was ordered.
    pub(super) fn build(stage: &mut Stage, clock: &Arc<dyn Clock>, orders: &Orders) -> Result<Self, Failure> {
        let folder = tempfile::tempdir()?;
        for (number, radio) in stage.config.radios.iter_mut().enumerate() {
            // A shared bus stays one: radios on the same port get the same new one.
            let name =
                radio.line.port.file_name().map_or(format!("radio-{number}").into(), ToOwned::to_owned);
            radio.line.port = folder.path().join(name);
        }
        if let Some(rotator) = &mut stage.config.rotator {
            rotator.line.port = folder.path().join("rotator");
        }
        stage.config.files.state = folder.path().join("state");
        let plans = stage.lines(1.0);
        let far_ends = simulate(&stage.config, &plans, Some(&signal(stage))).map_err(Failure::Failed)?;
        let devices: Vec<Simulated> = far_ends.iter().flat_map(|far| far.devices.clone()).collect();
        let begin = stage.curtain();
        let pulls = plan_faults(&orders.faults, &devices, begin).map_err(Failure::Usage)?;
        plan_operator(&orders.operator, &devices, begin).map_err(Failure::Usage)?;
        let mut outlets = Vec::new();
        for (plan, far) in plans.iter().zip(far_ends) {
            let outlet = Outlet::open(&plan.port.port, far.wire, clock.clone())
                .map_err(|error| Failure::Failed(error.to_string()))?;
            outlets.push(outlet);
        }
        Ok(Self { devices, _cables: Cables::new(outlets, &pulls, clock.clone())?, _folder: folder })
    }
}

/// What the receiver hears: the satellite, while it is above the horizon.
fn signal(stage: &Stage) -> SignalSource {
    let track = stage.job.track.clone();
    let range =
        move |time| track.at(time).ok().filter(|look| look.elevation_deg > 0.0).map(|look| look.range_km);
    SignalSource::new(Arc::new(range), SIGNAL_DBM)
}
