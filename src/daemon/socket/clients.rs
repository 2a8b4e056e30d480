//! Who is connected, and what each has waiting: a crowd takes neither the memory nor the owner's place.

use std::collections::VecDeque;
use std::io;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::Notify;

/// How many clients are served at once.
const CLIENTS: usize = 64;
/// So many may be there with those who were told to leave and have not yet; the owner's may be more.
const WITH_LEAVING: usize = 2 * CLIENTS;
const WITH_LEAVING_OWN: usize = 2 * WITH_LEAVING;
/// What one client may have begun, or asked and not been answered, bytes; more ends its connection.
const MOST_WAITING: usize = 1 << 18;
/// What all of them may, bytes; while it is more, only who has little waiting stays.
const MOST_OF_ALL: usize = 1 << 19;
const LITTLE: usize = 1 << 12;

/// Everybody who is connected, the longest idle first.
#[derive(Clone, Default)]
pub(super) struct Clients(Arc<Mutex<Room>>);

#[derive(Default)]
struct Room {
    count: u64,
    /// With those who were told to leave.
    guests: usize,
    waiting: usize,
    places: VecDeque<Place>,
}

/// One client's place.
struct Place {
    number: u64,
    leave: Arc<Notify>,
    /// It is the daemon's own user's, or root's.
    is_own: bool,
    is_subscribed: bool,
    asked: u64,
    /// Questions that were not answered yet.
    unanswered: usize,
    /// Their bytes.
    waiting: usize,
    /// Bytes of a line that was begun and not ended.
    begun: usize,
}

/// What becomes of a new client.
pub(super) enum Entry {
    /// There was a place.
    Free(Guest),
    /// There was none, and somebody else has to leave.
    MadeFree(Guest),
    /// There is none.
    None,
}

impl Entry {
    #[cfg(test)]
    fn guest(self) -> Option<Guest> {
        match self {
            Self::Free(guest) | Self::MadeFree(guest) => Some(guest),
            Self::None => None,
        }
    }
}

impl Clients {
    /// A place for a new client. If all are taken, somebody has to leave; the daemon's own user and
    /// root make room for each other only, and for anybody else there may be none.
    pub(super) fn enter(&self, is_own: bool) -> Entry {
        let mut room = self.room();
        if room.guests >= if is_own { WITH_LEAVING_OWN } else { WITH_LEAVING } {
            return Entry::None;
        }
        let is_full = room.places.len() >= CLIENTS;
        if is_full {
            let leaves = room.least_missed(is_own).and_then(|number| room.take(number));
            let Some(place) = leaves else { return Entry::None };
            place.leave.notify_one();
        }
        room.count += 1;
        room.guests += 1;
        let (number, leave) = (room.count, Arc::new(Notify::new()));
        room.places.push_back(Place {
            number,
            leave: leave.clone(),
            is_own,
            is_subscribed: false,
            asked: 0,
            unanswered: 0,
            waiting: 0,
            begun: 0,
        });
        let guest = Guest { number, leave, clients: self.clone() };
        if is_full { Entry::MadeFree(guest) } else { Entry::Free(guest) }
    }

    fn room(&self) -> MutexGuard<'_, Room> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Room {
    /// Whose leaving harms least: who waits for nothing and was idle for longest, then a subscriber,
    /// then who has asked the most.
    fn least_missed(&self, for_own: bool) -> Option<u64> {
        let others_exist = self.places.iter().any(|place| !place.is_own);
        let eligible = |place: &Place| !place.is_own || for_own && !others_exist;
        let idle = |place: &&Place| eligible(place) && place.unanswered == 0;
        let most = || self.places.iter().filter(|place| eligible(place)).max_by_key(|place| place.asked);
        let place = (self.places.iter().find(|place| idle(place) && !place.is_subscribed))
            .or_else(|| self.places.iter().find(idle))
            .or_else(most)?;
        Some(place.number)
    }

    fn take(&mut self, number: u64) -> Option<Place> {
        let index = self.places.iter().position(|place| place.number == number)?;
        let place = self.places.remove(index)?;
        self.waiting -= place.waiting + place.begun;
        Some(place)
    }
}

/// A client that is let in; dropping it gives its place up.
pub(super) struct Guest {
    number: u64,
    leave: Arc<Notify>,
    clients: Clients,
}

impl Guest {
    /// Returns when another one needs the place.
    pub(super) async fn has_to_leave(&self) {
        self.leave.notified().await;
    }

    /// It has asked something, of so many bytes.
    ///
    /// # Errors
    /// If too much is waiting.
    pub(super) fn asks(&self, bytes: usize) -> io::Result<()> {
        self.change(|place| {
            place.asked += 1;
            place.unanswered += 1;
            place.waiting += bytes;
        })
    }

    /// It has begun a line of which so many bytes are here.
    ///
    /// # Errors
    /// If too much is waiting.
    pub(super) fn begins(&self, bytes: usize) -> io::Result<()> {
        self.change(|place| place.begun = bytes)
    }

    /// What it asked, of so many bytes, is answered.
    pub(super) fn is_answered(&self, bytes: usize) {
        let _ = self.change(|place| {
            place.unanswered -= 1;
            place.waiting -= bytes;
        });
    }

    /// It wants to hear of changes.
    pub(super) fn subscribes(&self) {
        let _ = self.change(|place| place.is_subscribed = true);
    }

    /// Changes the place, of which the client is the last who was active then.
    fn change(&self, change: impl FnOnce(&mut Place)) -> io::Result<()> {
        let mut room = self.clients.room();
        let Some(mut place) = room.take(self.number) else { return Ok(()) };
        change(&mut place);
        let own = place.waiting + place.begun;
        room.waiting += own;
        room.places.push_back(place);
        if own > MOST_WAITING || room.waiting > MOST_OF_ALL && own > LITTLE {
            return Err(io::Error::new(io::ErrorKind::QuotaExceeded, "it asks and reads no answers"));
        }
        Ok(())
    }
}

impl Drop for Guest {
    fn drop(&mut self) {
        let mut room = self.clients.room();
        room.take(self.number);
        room.guests -= 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is_in(clients: &Clients, guest: &Guest) -> bool {
        clients.room().places.iter().any(|place| place.number == guest.number)
    }

    fn crowd(clients: &Clients, count: usize, is_own: bool) -> Vec<Guest> {
        (0..count).map(|_| clients.enter(is_own).guest().unwrap()).collect()
    }

    #[test]
    fn the_longest_idle_leaves_before_a_subscriber_and_that_before_who_waits_for_an_answer() {
        let clients = Clients::default();
        let guests = crowd(&clients, CLIENTS, false);
        guests[0].subscribes();
        for guest in &guests[2..] {
            guest.asks(10).unwrap();
        }
        let _new = clients.enter(false).guest().unwrap();
        assert!(!is_in(&clients, &guests[1]) && is_in(&clients, &guests[0]));
        let new = clients.enter(false).guest().unwrap();
        new.asks(10).unwrap();
        let _newer = clients.enter(false).guest();
        assert!(!is_in(&clients, &guests[0]) && is_in(&clients, &guests[2]) && is_in(&clients, &new));
    }

    #[test]
    fn where_all_wait_for_answers_the_most_talkative_leaves() {
        let clients = Clients::default();
        let guests = crowd(&clients, CLIENTS, false);
        for (index, guest) in guests.iter().enumerate() {
            (0..if index == 30 { 3 } else { 2 }).for_each(|_| guest.asks(10).unwrap());
        }
        guests[30].is_answered(10);
        let _new = clients.enter(false).guest().unwrap();
        assert!(!is_in(&clients, &guests[30]));
        assert_eq!(clients.room().places.len(), CLIENTS);
    }

    #[test]
    fn the_owner_is_always_let_in_and_never_sent_away_for_others() {
        let clients = Clients::default();
        let others = crowd(&clients, CLIENTS, false);
        others.iter().for_each(|guest| guest.asks(10).unwrap());
        let owners = crowd(&clients, CLIENTS, true);
        assert!(!others.iter().any(|guest| is_in(&clients, guest)));
        assert!(clients.enter(false).guest().is_none());
        let newest = clients.enter(true).guest().unwrap();
        assert!(is_in(&clients, &newest) && !is_in(&clients, &owners[0]));
    }

    #[test]
    fn a_crowd_that_comes_faster_than_others_leave_is_not_let_in() {
        let clients = Clients::default();
        let slow = crowd(&clients, WITH_LEAVING, false);
        assert!(clients.enter(false).guest().is_none());
        assert!(clients.enter(true).guest().is_some());
        drop(slow);
        assert!(clients.enter(false).guest().is_some());
    }

    #[test]
    fn who_has_too_much_waiting_leaves_and_who_has_little_stays() {
        let clients = Clients::default();
        let guests = crowd(&clients, 6, false);
        assert!(guests[0].asks(MOST_WAITING + 1).is_err());
        drop(guests);
        assert_eq!(clients.room().waiting, 0);
        let guests = crowd(&clients, 6, false);
        assert!(guests[0].asks(MOST_WAITING).is_ok());
        assert!(guests[1].begins(MOST_WAITING).is_ok());
        assert!(guests[2].asks(LITTLE).is_ok());
        assert!(guests[2].asks(1).is_err());
        guests[1].begins(0).unwrap();
        assert!(guests[2].asks(1).is_ok());
        guests[2].is_answered(LITTLE);
        assert_eq!(clients.room().waiting, MOST_WAITING + 2);
    }
}
