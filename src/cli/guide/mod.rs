//! `beamhand guide`: a pass in sentences, for a beam that is held in the hand.

mod speech;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use clap::Args;
use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};

use crate::card::{Serves, changes};
use crate::clock::{Clock, ScaledClock, SystemClock, Trust};
use crate::guide::{Cue, GAP_S, Occasion, Style, script};
use crate::session::Job;
use crate::terms::{Time, later, seconds_between};

use super::Failure;
use super::handheld::{Asked, CardError, Ground, link};
use super::text::{duration, local, remark, say, wall_clock, wrap, wrap_at};
use speech::Speech;

/// When a rehearsal begins, seconds before AOS: just before the first sentence that moves anybody.
const CURTAIN_S: f64 = 125.0;
/// From so long before AOS on there is enough to hear at once, seconds.
const READY_S: f64 = 120.0;
/// How fast the demo plays unless the command line says.
const DEMO_SPEED: f64 = 10.0;
/// How late a sentence may be, seconds of real time, before the guidance is made anew.
const LATE_S: f64 = 2.0;
/// How long a clock is not looked at.
const NAP: Duration = Duration::from_millis(200);

/// Sentences through a pass, for a beam held in the hand
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand guide GANNET-1 --demo                a pass of the demo, ten times as fast
  beamhand guide GANNET-1                       waits for the next pass
  beamhand guide GANNET-1 --say \"my-voice --slow\"
  beamhand guide GANNET-1 --at \"2026-11-25 18:00\" --speed 1     a rehearsal of that pass

No radio, rotator or daemon is needed. Left and right are as you turn, from where the beam was told to \
be. Stretch your arm: \"palm-high\" is the width of your hand above the horizon, some ten degrees; half up \
is halfway to straight overhead. Two sentences are at least eight seconds apart. Channels are those of \
`beamhand channels` with the same options.

--say runs a command of yours for each sentence, without a shell; words with blanks in them stand in \
quotes, as in one. It reads the sentence on standard input. It is ended after eight seconds; a sentence that comes meanwhile waits, \
and only the newest one does.

CAUTION: before you raise a beam, look for power lines; while you transmit, keep it away from people's \
heads, your own too.")]
pub(super) struct Guide {
    #[command(flatten)]
    asked: Asked,
    /// A command that is given each sentence on its standard input, such as a speech synthesiser
    #[arg(long, value_name = "COMMAND")]
    say: Option<String>,
    /// Ring the terminal's bell with each sentence
    #[arg(long)]
    bell: bool,
    /// Compass points, hands and parts of the way up: the default
    #[arg(long, conflicts_with = "degrees")]
    words: bool,
    /// Directions and heights in tens of degrees
    #[arg(long)]
    degrees: bool,
    /// A rehearsal: a clock of its own that begins before the pass and runs so many times as fast
    /// [default: real time; 10 with --demo]
    #[arg(long, value_name = "N", value_parser = speed)]
    speed: Option<f64>,
}

impl Guide {
    pub(super) fn run(self) -> Result<(), Failure> {
        let ground = self.asked.open()?;
        let job = self.asked.job(&ground)?;
        let clock = self.clock(&ground, &job);
        if clock.now().utc > job.span.until {
            let what = "that pass is over; a rehearsal of it: --speed 1";
            return Err(Failure::Usage(what.to_owned()));
        }
        let memories = self.memories(&ground, &job)?;
        let cut = cut_by_signals()?;
        let speech = self.say.as_deref().map(|command| Speech::begin(command, cut.clone())).transpose()?;
        let stage = Performance {
            occasion: Occasion {
                satellite: &job.satellite,
                track: &job.track,
                pass: &job.pass,
                span: job.span,
                memories,
            },
            style: if self.degrees { Style::Degrees } else { Style::Words },
            clock: clock.as_ref(),
            speech,
            cut,
            bell: self.bell,
        };
        stage.heading()?;
        stage.play()
    }

    fn clock(&self, ground: &Ground, job: &Job) -> Box<dyn Clock> {
        let speed = self.speed.or(self.asked.demo.then_some(DEMO_SPEED));
        if let Some(speed) = speed {
            return Box::new(ScaledClock::new(later(job.span.from, -CURTAIN_S), speed));
        }
        let clock = SystemClock::new(ground.config.clock.clone());
        if let Trust::Untrusted { why } = clock.trust() {
            remark(format_args!("the sentences may come at the wrong time: {why}"));
        }
        Box::new(clock)
    }

    /// When to change to which memory; none where the link can't be worked with memories.
    fn memories(&self, ground: &Ground, job: &Job) -> Result<Vec<(Time, usize)>, Failure> {
        let card = match self.asked.card(ground, job, Serves::Both) {
            Ok(card) => card,
            Err(CardError::Elements(error)) => return Err(Failure::Failed(error)),
            Err(CardError::None(why)) => {
                wrap(&format!("No channels are told. {}: {why}.", link(job).name))
                    .iter()
                    .try_for_each(say)?;
                return Ok(Vec::new());
            }
        };
        let changes =
            changes(&card, &job.track, job.span).map_err(|error| Failure::Failed(error.to_string()))?;
        Ok(changes.iter().map(|change| (change.time, change.memory)).collect())
    }
}

/// Everything that a pass needs.
struct Performance<'a> {
    occasion: Occasion<'a>,
    style: Style,
    clock: &'a dyn Clock,
    speech: Option<Speech>,
    /// Somebody wants it to end.
    cut: Arc<AtomicBool>,
    bell: bool,
}

impl Performance<'_> {
    fn heading(&self) -> Result<(), Failure> {
        let Occasion { satellite, pass, span, .. } = &self.occasion;
        let wait = seconds_between(self.clock.now().utc, span.from);
        let rises = if wait > 0.0 { format!("in {}", duration(wait)) } else { "already up".to_owned() };
        let line = format!(
            "{satellite} rises {} local, {rises}; sets {}; highest {:.0} degrees. Ctrl-C ends this.",
            local(span.from),
            wall_clock(span.until),
            pass.max_elevation_deg
        );
        wrap(&line).iter().try_for_each(say)?;
        let caution = "CAUTION: look for power lines before you raise the beam; while you transmit, keep it \
                       away from people's heads.";
        wrap(caution).iter().try_for_each(say)?;
        // Whoever has to wait hears now whether the voice works.
        if let Some(speech) = self.speech.as_ref().filter(|_| wait > READY_S + GAP_S) {
            speech.say(&format!("Beamhand will guide you to {satellite}."));
        }
        say("")
    }

    /// Says each sentence at its moment. After a stall, such as the computer's sleep, what is right now is
    /// said, and nothing is made up for.
    fn play(&self) -> Result<(), Failure> {
        let mut from = self.clock.now().utc;
        loop {
            let cues = script(&self.occasion, self.style, from)
                .map_err(|error| Failure::Failed(error.to_string()))?;
            match self.play_from(&cues)? {
                Some(now) if now < self.occasion.span.until && !self.is_cut() => from = now,
                _ => return Ok(()),
            }
        }
    }

    /// Gives the time at which a sentence was too late, if that happened.
    fn play_from(&self, cues: &[Cue]) -> Result<Option<Time>, Failure> {
        for cue in cues {
            let now = self.wait_until(cue.time);
            if self.is_cut() {
                return Ok(None);
            }
            let late = seconds_between(cue.time, now.utc);
            if late > GAP_S && late / now.speed > LATE_S {
                return Ok(Some(now.utc));
            }
            self.tell(cue)?;
        }
        Ok(None)
    }

    fn is_cut(&self) -> bool {
        self.cut.load(Ordering::Relaxed)
    }

    fn wait_until(&self, time: Time) -> crate::terms::Moment {
        loop {
            let now = self.clock.now();
            let wait = seconds_between(now.utc, time) / now.speed;
            if wait <= 0.0 || self.is_cut() {
                return now;
            }
            std::thread::sleep(Duration::try_from_secs_f64(wait).unwrap_or(NAP).min(NAP));
        }
    }

    fn tell(&self, cue: &Cue) -> Result<(), Failure> {
        let label = if self.clock.is_rehearsal() { "REHEARSAL " } else { "" };
        let line = format!("{label}{}  {}", wall_clock(cue.time), cue.words);
        let bell = if self.bell { "\u{7}" } else { "" };
        say(format_args!("{bell}{}", wrap_at(&line, label.len() + 10)))?;
        if let Some(speech) = &self.speech {
            speech.say(&cue.words);
        }
        Ok(())
    }
}

/// Set by Ctrl-C, or when the terminal is closed.
fn cut_by_signals() -> Result<Arc<AtomicBool>, Failure> {
    let cut = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM, SIGHUP] {
        signal_hook::flag::register(signal, cut.clone())?;
    }
    Ok(cut)
}

fn speed(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.1, 1000.0, "times real time")
}
