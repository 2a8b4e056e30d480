use super::*;
use crate::device::Use;
use crate::sim::{Faults, Handles};
use crate::terms::parse_time;

fn order(text: &str) -> Result<FaultOrder, String> {
    text.parse()
}

fn begin() -> Time {
    parse_time("2026-11-25T18:30:00Z").unwrap()
}

fn devices() -> [Simulated; 2] {
    let [radio, rotator] = [Handles::default(), Handles::default()];
    [Simulated::radio("duplex", Use::Both, radio), Simulated::rotator("mast", 1, rotator)]
}

/// What is wrong with a device so many seconds after the beginning.
fn wrong(device: &Simulated, seconds: f64) -> Vec<Fault> {
    // A wire is what moves the plan on.
    let mut wire = crate::sim::Wire::new(
        crate::sim::mount::Words::new(crate::sim::mount::WordsSettings::default(), device.handles.clone()),
        crate::sim::WireSettings::default(),
    );
    wire.advance(later(begin(), seconds));
    device.handles.faults.all()
}

#[test]
fn a_fault_comes_to_the_device_that_is_named_by_name_or_by_kind() {
    for name in ["mast", "rotator"] {
        let devices = devices();
        let orders = [order(&format!("{name}:lost=7@120s-150s")).unwrap()];
        assert_eq!(plan_faults(&orders, &devices, begin()), Ok(vec![]));
        assert_eq!(wrong(&devices[1], 119.0), []);
        assert_eq!(wrong(&devices[1], 120.0), [Fault::LostBytes { one_in: 7 }]);
        assert_eq!(wrong(&devices[1], 150.0), []);
        assert_eq!(wrong(&devices[0], 120.0), []);
    }
}

#[test]
fn stalled_is_the_motor_of_the_one_and_the_dial_of_the_other() {
    let devices = devices();
    let orders = ["radio:stalled@1s", "rotator:stalled@1s"].map(|text| order(text).unwrap());
    plan_faults(&orders, &devices, begin()).unwrap();
    assert_eq!(wrong(&devices[0], 2.0), [Fault::DialStuck]);
    assert_eq!(wrong(&devices[1], 2.0), [Fault::MotorStalled]);
}

#[test]
fn what_is_wrong_with_a_cable_goes_to_the_cable() {
    let mut devices = devices();
    devices[0].cable = Faults::new();
    let orders = ["radio:echo@0s", "radio:mute@0s"].map(|text| order(text).unwrap());
    plan_faults(&orders, &devices, begin()).unwrap();
    assert!(devices[0].cable.next_event().is_some());
    assert_eq!(wrong(&devices[0], 1.0), [Fault::Mute]);
}

#[test]
fn a_pulled_adapter_is_for_the_shell_to_pull() {
    let orders = [order("mast:pulled@10s-20s").unwrap()];
    let pull = Pull { line: 1, from: later(begin(), 10.0), until: Some(later(begin(), 20.0)) };
    assert_eq!(plan_faults(&orders, &devices(), begin()), Ok(vec![pull]));
}

#[test]
fn numbers_have_a_usual_value_and_limits() {
    let trouble = |text| order(text).map(|order| order.trouble);
    assert_eq!(trouble("a:slow@1s"), Ok(Trouble::Wrong(Fault::SlowBytes { byte_s: 1.0 })));
    assert_eq!(trouble("a:slow=0.5@1s"), Ok(Trouble::Wrong(Fault::SlowBytes { byte_s: 0.5 })));
    assert_eq!(trouble("a:inserted@1s"), Ok(Trouble::Wrong(Fault::InsertedBytes { one_in: 50 })));
    for wrong in ["a:lost=0@1s", "a:lost=x@1s", "a:slow=61@1s", "a:mute=3@1s"] {
        assert!(trouble(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn an_unknown_fault_names_all_with_what_they_do_and_fits_a_screen() {
    let error = order("radio:tired@1s").unwrap_err();
    for Word { word, what, .. } in &WORDS {
        assert!(error.contains(word) && error.contains(what), "{error}");
    }
    assert!(error.lines().all(|line| line.len() <= 80), "{error}");
    for wrong in ["mute", "radio:mute", "mute@1s", ":mute@1s", "radio:mute@"] {
        assert!(order(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn a_device_that_is_not_there_or_has_no_address_is_refused() {
    let plan = |text| plan_faults(&[order(text).unwrap()], &devices(), begin()).unwrap_err();
    assert!(plan("yagi:mute@1s").contains("there are duplex, mast"));
    assert!(plan("radio:other-address@1s").contains("no addresses"));
}
