//! What the service manager is told. It may be slow to listen, so a thread of its own does the
//! talking and nobody waits for it: the station's motors stop whether or not it hears so.

use std::io;
use std::sync::mpsc::{SyncSender, sync_channel};

use sd_notify::NotifyState;

/// How much may be waiting to be told; what does not fit is left out.
const QUEUE: usize = 16;

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
    /// Starts the thread that talks.
    pub(super) fn new() -> io::Result<Self> {
        let (tell, told) = sync_channel(QUEUE);
        let talk = move || told.iter().for_each(|news| say(&news));
        std::thread::Builder::new().name("service manager".into()).spawn(talk)?;
        Ok(Self(tell))
    }

    /// Says it as soon as the manager listens.
    pub(super) fn tell(&self, news: News) {
        if self.0.try_send(news).is_err() {
            tracing::debug!("the service manager does not listen");
        }
    }
}

fn say(news: &News) {
    let state = match news {
        News::Ready => NotifyState::Ready,
        News::Doing(what) => NotifyState::Status(what),
        News::Stopping => NotifyState::Stopping,
    };
    if let Err(error) = sd_notify::notify(&[state]) {
        tracing::debug!("the service manager could not be told: {error}");
    }
}
