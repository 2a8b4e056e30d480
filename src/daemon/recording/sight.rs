//! What the session saw, as far as it decides by it: what a device's player says of itself, without
//! what changes all the time and matters to people only.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::clock::Trust;
use crate::device::{Detail, DeviceStatus, DialView, RadioView, RotatorView};
use crate::session::Circumstances;

use super::patch::{apply, change};
use super::words::written;

/// What was seen that is not as it was told before; `None`: the same.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct News {
    /// Why the clock can't be trusted; the inner `None`: it can.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "crate::terms::maybe_known")]
    clock: Option<Option<String>>,
    /// What changed of the radios, by number.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    radios: Vec<(usize, Value)>,
    /// What changed of the rotator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rotator: Option<Value>,
}

/// What the session sees.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::daemon) struct Sight {
    distrust: Option<String>,
    radios: Vec<DeviceStatus>,
    rotator: Option<DeviceStatus>,
}

impl Sight {
    /// What is to be told of what is seen now, if anything is. `precise`: with the mount's place,
    /// which is else left out while it counts for nothing.
    pub(in crate::daemon) fn news(
        &mut self,
        around: &Circumstances,
        precise: bool,
        is_first: bool,
    ) -> Option<News> {
        let mut news = News::default();
        let distrust = if let Trust::Untrusted { why } = around.trust { Some(why.clone()) } else { None };
        if distrust != self.distrust || is_first {
            news.clock = Some(distrust.clone());
            self.distrust = distrust;
        }
        for (index, status) in around.radios.iter().enumerate() {
            let plain = plain(status, precise);
            if self.radios.get(index) != Some(&plain) {
                news.radios.push((index, changed(self.radios.get(index), &plain)));
                self.put(index, plain);
            }
        }
        if let Some(plain) = around.rotator.map(|status| plain(status, precise))
            && self.rotator.as_ref() != Some(&plain)
        {
            news.rotator = Some(changed(self.rotator.as_ref(), &plain));
            self.rotator = Some(plain);
        }
        (news != News::default()).then_some(news)
    }

    fn put(&mut self, index: usize, status: DeviceStatus) {
        match self.radios.get_mut(index) {
            Some(old) => *old = status,
            None => self.radios.push(status),
        }
    }

    /// Takes what a record tells.
    ///
    /// # Errors
    /// Why it can't be read.
    pub(in crate::daemon) fn learn(&mut self, news: &Value) -> Result<(), String> {
        let News { clock, radios, rotator } = News::deserialize(news)
            .map_err(|error| format!("what the session saw can't be read: {error}"))?;
        if let Some(distrust) = clock {
            self.distrust = distrust;
        }
        for (index, change) in radios {
            if index > self.radios.len() {
                return Err("a radio is missing in what the session saw".to_owned());
            }
            self.put(index, after(self.radios.get(index), &change)?);
        }
        if let Some(change) = rotator {
            self.rotator = Some(after(self.rotator.as_ref(), &change)?);
        }
        Ok(())
    }

    /// How good the clock was.
    pub(in crate::daemon) fn trust(&self) -> Trust {
        match &self.distrust {
            Some(why) => Trust::Untrusted { why: why.clone() },
            None => Trust::Trusted { error_s: None },
        }
    }

    pub(in crate::daemon) fn radios(&self) -> &[DeviceStatus] {
        &self.radios
    }

    pub(in crate::daemon) fn rotator(&self) -> Option<&DeviceStatus> {
        self.rotator.as_ref()
    }
}

/// What changed of a device that was seen before, or not.
fn changed(before: Option<&DeviceStatus>, now: &DeviceStatus) -> Value {
    change(&before.map(written).unwrap_or_default(), &written(now)).unwrap_or_default()
}

/// A device after a change.
fn after(before: Option<&DeviceStatus>, change: &Value) -> Result<DeviceStatus, String> {
    let mut value = before.map(written).unwrap_or_default();
    apply(change, &mut value);
    serde_json::from_value(value).map_err(|error| format!("what the session saw can't be read: {error}"))
}

/// A status without what nobody decides by. A replay shows whether that is so: it would differ.
fn plain(status: &DeviceStatus, precise: bool) -> DeviceStatus {
    let detail = match &status.detail {
        Detail::Radio(view) => Detail::Radio(RadioView {
            receive: view.receive.map(plain_dial),
            transmit: view.transmit.map(plain_dial),
            last_over: None,
            heard: Vec::new(),
            ..view.clone()
        }),
        Detail::Rotator(view) if precise => Detail::Rotator(view.clone()),
        Detail::Rotator(view) => {
            Detail::Rotator(RotatorView { target: None, position: None, ..view.clone() })
        }
    };
    DeviceStatus {
        name: status.name.clone(),
        contact: status.contact.clone(),
        last_sent: None,
        last_read: None,
        commands: 0,
        bytes: 0,
        refused: 0,
        orders: 0,
        behind: status.behind,
        detail,
    }
}

/// The mode and the tone; the rest moves with the satellite.
fn plain_dial(dial: DialView) -> DialView {
    DialView { plan: None, hertz: None, behind: None, ..dial }
}
