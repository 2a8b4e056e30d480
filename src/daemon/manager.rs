//! What the service manager is told. It may be slow to listen, so a thread of its own does the
//! talking and nobody waits for it: the station's motors stop whether or not it hears so.

use std::io;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::time::{Duration, Instant};

use sd_notify::NotifyState;

use super::vitals::Vitals;

/// How much may be waiting to be told; what does not fit is left out.
const QUEUE: usize = 16;
/// How often it looks whether all work goes on, at least, where the manager has a watchdog: what gets stuck
/// is noticed within its own patience and twice this.
const LOOK: Duration = Duration::from_secs(2);
/// Without a watchdog there is nothing to do between two pieces of news.
const NEVER: Duration = Duration::from_secs(3600);

/// News for the service manager.
pub(super) enum News {
    /// The control socket answers.
    Ready,
    /// What the daemon is doing, in a line.
    Doing(String),
    /// It was asked to end.
    Stopping,
}

/// The way to the service manager; without one, news go nowhere.
#[derive(Clone)]
pub(super) struct Manager(SyncSender<News>);

impl Manager {
    /// Starts the thread that talks, and that feeds the manager's watchdog while all work goes on.
    pub(super) fn new(vitals: Vitals) -> io::Result<Self> {
        let (tell, told) = sync_channel(QUEUE);
        // Three signs in the time that it waits for one, so that a single late one does no harm.
        let pause = sd_notify::watchdog_enabled().map(|within| LOOK.min(within / 3));
        let mut talker = Talker { told, vitals, pause, stuck: None };
        std::thread::Builder::new().name("service manager".into()).spawn(move || talker.run())?;
        Ok(Self(tell))
    }

    /// Says it as soon as the manager listens.
    pub(super) fn tell(&self, news: News) {
        if self.0.try_send(news).is_err() {
            tracing::debug!("the service manager does not listen");
        }
    }
}

struct Talker {
    told: Receiver<News>,
    vitals: Vitals,
    /// Between two signs of life, if the manager wants any.
    pause: Option<Duration>,
    /// What was said to be stuck.
    stuck: Option<&'static str>,
}

impl Talker {
    /// Talks until nobody has news any more.
    fn run(&mut self) {
        let mut fed = Instant::now();
        loop {
            let pause = self.pause.map_or(NEVER, |pause| pause.saturating_sub(fed.elapsed()));
            match self.told.recv_timeout(pause) {
                Ok(news) => say(&[news.state()]),
                Err(RecvTimeoutError::Timeout) => {
                    fed = Instant::now();
                    self.feed();
                }
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    /// Feeds the manager's watchdog, or sets it on the daemon: at the second look, so that a computer that held up
    /// everything for a while, and goes on, starts nothing anew.
    fn feed(&mut self) {
        let stuck = self.vitals.stuck(Instant::now());
        let before = std::mem::replace(&mut self.stuck, stuck);
        match stuck {
            Some(_) if before == stuck => say(&[NotifyState::WatchdogTrigger]),
            Some(name) => tracing::error!(
                "{name} does not go on; unless it does, the service manager is asked to start the daemon anew"
            ),
            None => {
                if before.is_some() {
                    tracing::warn!("everything goes on again");
                }
                say(&[NotifyState::Watchdog]);
            }
        }
    }
}

impl News {
    fn state(&self) -> NotifyState<'_> {
        match self {
            Self::Ready => NotifyState::Ready,
            Self::Doing(what) => NotifyState::Status(what),
            Self::Stopping => NotifyState::Stopping,
        }
    }
}

fn say(state: &[NotifyState<'_>]) {
    if let Err(error) = sd_notify::notify(state) {
        tracing::debug!("the service manager could not be told: {error}");
    }
}
