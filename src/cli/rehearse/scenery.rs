//! Simulated equipment at the far end of real pseudo-terminals, for as long as it is kept.

use std::sync::Arc;

use tempfile::TempDir;

use crate::clock::Clock;
use crate::rehearsal::{Simulated, Stage, simulate};
use crate::sim::Outlet;
use crate::sim::radio::SignalSource;

use super::Failure;

/// Radiated power and receiving antenna of the usual small repeater, dBm (common practice: half a
/// watt, and 10 dB of beam).
const SIGNAL_DBM: f64 = 37.0;

/// Outlets in a folder of their own. Dropping it unplugs everything.
pub(super) struct Scenery {
    /// The simulated devices, in the configuration's order.
    pub(super) devices: Vec<Simulated>,
    _outlets: Vec<Outlet>,
    _folder: TempDir,
}

impl Scenery {
    /// Builds equipment for the stage's configuration and points the configuration to it.
    pub(super) fn build(stage: &mut Stage, clock: &Arc<dyn Clock>) -> Result<Self, Failure> {
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
        let plans = stage.lines(1.0).map_err(Failure::Failed)?;
        let far_ends = simulate(&stage.config, &plans, Some(&signal(stage))).map_err(Failure::Failed)?;
        let (mut devices, mut outlets) = (Vec::new(), Vec::new());
        for (plan, far) in plans.iter().zip(far_ends) {
            let outlet = Outlet::open(&plan.port.port, far.wire, clock.clone())
                .map_err(|error| Failure::Failed(error.to_string()))?;
            outlets.push(outlet);
            devices.extend(far.devices);
        }
        Ok(Self { devices, _outlets: outlets, _folder: folder })
    }
}

/// What the receiver hears: the satellite, while it is above the horizon.
fn signal(stage: &Stage) -> SignalSource {
    let track = stage.job.track.clone();
    let range =
        move |time| track.at(time).ok().filter(|look| look.elevation_deg > 0.0).map(|look| look.range_km);
    SignalSource { range: Arc::new(range), power_dbm: SIGNAL_DBM }
}
