//! The thread of a line: a halt is seen however short it was, and a stop leaves before the end.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;

struct Far {
    out: Arc<Mutex<Vec<Vec<u8>>>>,
    answers: Vec<(Instant, Vec<u8>)>,
    byte: f64,
}
impl beamhand::device::line::Port for Far {
    fn read(&mut self, buffer: &mut [u8], wait: Duration) -> std::io::Result<usize> {
        let now = Instant::now();
        if let Some(i) = self.answers.iter().position(|(at, _)| *at <= now) {
            let (_, b) = self.answers.remove(i);
            buffer[..b.len()].copy_from_slice(&b);
            return Ok(b.len());
        }
        std::thread::sleep(wait);
        Err(std::io::ErrorKind::TimedOut.into())
    }
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.out.lock().unwrap().push(bytes.to_vec());
        if bytes.first() == Some(&b'C') {
            let at = Instant::now() + Duration::from_secs_f64(self.byte * 15.0 + 0.02);
            self.answers.push((at, b"+0100+0010\r\n".to_vec()));
        }
        Ok(bytes.len())
    }
}
struct Open(Arc<Mutex<Vec<Vec<u8>>>>, f64);
impl beamhand::device::line::Opener for Open {
    fn open(&self) -> Result<Box<dyn beamhand::device::line::Port>, String> {
        Ok(Box::new(Far { out: self.0.clone(), answers: vec![], byte: self.1 }))
    }
}
fn thread(baud: u32) -> (beamhand::device::line::LineThread, HaltLatch, Arc<Mutex<Vec<Vec<u8>>>>) {
    let (out, latch) = (Arc::new(Mutex::new(vec![])), HaltLatch::default());
    let p = plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], baud);
    let clock = Arc::new(beamhand::clock::ScaledClock::new(t0(), 1.0));
    let l = beamhand::device::line::LineThread::start(
        "x",
        p.line(),
        Arc::new(Open(out.clone(), p.byte_time().as_secs_f64())),
        clock,
        latch.clone(),
    )
    .unwrap();
    std::thread::sleep(Duration::from_millis(700));
    l.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(300.0, 10.0))));
    std::thread::sleep(Duration::from_millis(800));
    (l, latch, out)
}
#[test]
fn halt_and_resume_in_one_slice_still_stops() {
    let (_l, latch, out) = thread(9600);
    assert!(out.lock().unwrap().iter().any(|b| b[0] == b'W'));
    latch.set();
    latch.clear();
    std::thread::sleep(Duration::from_millis(300));
    assert!(out.lock().unwrap().iter().any(|b| b == b"S\r"), "the halt was never seen");
}
#[test]
fn a_stop_ordered_at_the_end_leaves_before_the_line_is_closed() {
    // As Engine::finish does it: order, 100 ms, drop. At several phases of the poll.
    let mut lost = 0;
    for k in 0..4 {
        let (l, _latch, out) = thread(600);
        std::thread::sleep(Duration::from_millis(270 * k));
        l.order(0, Order::Rotator(RotatorOrder::Stop));
        std::thread::sleep(Duration::from_millis(100));
        drop(l);
        lost += u32::from(!out.lock().unwrap().iter().any(|b| b == b"S\r"));
    }
    assert_eq!(lost, 0, "of 4 ends the stop never left in {lost}");
}
/// Opens never: the system hangs in it.
struct Hung(Mutex<std::sync::mpsc::Receiver<()>>);
impl beamhand::device::line::Opener for Hung {
    fn open(&self) -> Result<Box<dyn beamhand::device::line::Port>, String> {
        let _ = self.0.lock().unwrap().recv();
        Err("it was let go".to_owned())
    }
}
#[test]
fn a_line_that_hangs_in_the_system_is_named_with_its_age() {
    let (let_go, hung) = std::sync::mpsc::channel();
    let p = plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600);
    let clock = Arc::new(beamhand::clock::ScaledClock::new(t0(), 1.0));
    let opener = Arc::new(Hung(Mutex::new(hung)));
    let line = beamhand::device::line::LineThread::start("x", p.line(), opener, clock, HaltLatch::default());
    let line = line.unwrap();
    std::thread::sleep(Duration::from_millis(3200));
    let Contact::Closed(why) = &line.status()[0].contact else { panic!() };
    assert!(why.contains("has hung for 3 s"), "{why}");
    drop(let_go);
    std::thread::sleep(Duration::from_millis(100));
    let Contact::Closed(why) = &line.status()[0].contact else { panic!() };
    assert!(!why.contains("hung"), "{why}");
}

/// A port in which the system hangs: the first so many that are opened never come back from a read.
struct Deaf {
    hanging: usize,
    opened: AtomicUsize,
    out: Arc<Mutex<Vec<Vec<u8>>>>,
}
struct Stuck;
impl beamhand::device::line::Port for Stuck {
    fn read(&mut self, _buffer: &mut [u8], _wait: Duration) -> std::io::Result<usize> {
        loop {
            std::thread::park();
        }
    }
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        Ok(bytes.len())
    }
}
impl beamhand::device::line::Opener for Deaf {
    fn open(&self) -> Result<Box<dyn beamhand::device::line::Port>, String> {
        if self.opened.fetch_add(1, Ordering::SeqCst) < self.hanging {
            return Ok(Box::new(Stuck));
        }
        Ok(Box::new(Far { out: self.out.clone(), answers: vec![], byte: 0.001 }))
    }
}
fn hanging(ports: usize) -> (beamhand::device::line::LineThread, Arc<Deaf>) {
    let (opened, out) = (AtomicUsize::new(0), Arc::default());
    let opener = Arc::new(Deaf { hanging: ports, opened, out });
    let p = plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600);
    let clock = Arc::new(beamhand::clock::ScaledClock::new(t0(), 1.0));
    let halt = HaltLatch::default();
    let line = beamhand::device::line::LineThread::start("x", p.line(), opener.clone(), clock, halt);
    (line.unwrap(), opener)
}
/// Looks after the line for so long, as the daemon does; what was said.
fn looked_after(line: &beamhand::device::line::LineThread, seconds: u64) -> Vec<String> {
    let until = Instant::now() + Duration::from_secs(seconds);
    let mut said = Vec::new();
    while Instant::now() < until {
        said.extend(line.look_after());
        std::thread::sleep(Duration::from_millis(50));
    }
    said
}
#[test]
fn another_thread_goes_on_with_a_hung_line_and_with_what_was_ordered() {
    let (line, far) = hanging(1);
    line.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(300.0, 10.0))));
    let said = looked_after(&line, 7);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].contains("line x hung") && said[0].contains("goes on with it"), "{said:?}");
    let out = far.out.lock().unwrap().clone();
    assert!(out.first().is_some_and(|first| first[0] == b'C'), "it is asked before it is told: {out:?}");
    assert!(out.iter().any(|bytes| bytes == b"W300 010\r"), "{out:?}");
    let status = &line.status()[0];
    assert!(status.contact.is_good() && !status.behind, "{status:?}");
}
#[test]
fn a_line_that_hangs_again_and_again_leaves_three_threads_behind_and_no_more() {
    let (line, far) = hanging(usize::MAX);
    assert_eq!(looked_after(&line, 23).len(), 3);
    assert_eq!(far.opened.load(Ordering::SeqCst), 4);
    let Contact::Closed(why) = &line.status()[0].contact else { panic!() };
    assert!(why.contains("has hung for") && why.contains("restart the daemon"), "{why}");
}
