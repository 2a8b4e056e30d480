//! `beamhand tone`: the arming tone, and back.

use std::time::{Duration, Instant};

use clap::Args;

use crate::control::{Method, ToneChoice, ToneParams};

use super::Failure;
use super::remote::Daemon;
use super::text::{say, wrap};

/// Set the tone that arms a repeater, or go back to the access tone
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand tone arm       the link's arming tone; then YOU key for two seconds
  beamhand tone normal    the access tone at once
  beamhand tone off       no tone, until `tone normal` or the end of the session

The access tone comes back by itself: after your over, where the radio can say that it transmits; \
else after 30 seconds, or as `arming_s` in [session] says. Beamhand never keys the transmitter.")]
pub(super) struct Tone {
    /// "arm", "normal" or "off"
    #[arg(value_parser = tone)]
    tone: ToneChoice,
    #[command(flatten)]
    daemon: Daemon,
}

/// How long a radio usually takes at most to set a tone.
const TONE_IS_SET_WITHIN: Duration = Duration::from_secs(5);

impl Tone {
    pub(super) fn run(self) -> Result<(), Failure> {
        self.daemon.ask(Method::Tone(ToneParams { tone: self.tone }))?;
        if self.tone == ToneChoice::Access { Ok(()) } else { self.wait() }
    }

    /// Waits until the radio has the tone, so that nobody keys without it.
    fn wait(&self) -> Result<(), Failure> {
        let mut client = self.daemon.connect()?;
        let deadline = Instant::now() + TONE_IS_SET_WITHIN;
        while Instant::now() < deadline {
            let status = client.status()?;
            match status.tone {
                Some(tone) if tone.set => return say(wrap(&tone.why).join("\n")),
                Some(_) => std::thread::sleep(Duration::from_millis(100)),
                None => return Err(Failure::Failed(format!("the tone was not set: {}", status.why))),
            }
        }
        say("the radio has not set it yet: see `beamhand status` before you press your key")
    }
}

fn tone(text: &str) -> Result<ToneChoice, String> {
    match text {
        "arm" => Ok(ToneChoice::Arming),
        "normal" => Ok(ToneChoice::Access),
        "off" => Ok(ToneChoice::Off),
        _ => Err("write arm, normal or off".to_owned()),
    }
}
