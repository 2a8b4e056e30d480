//! A mount that is too slow for the pass: the session leads it as it was planned.

use beamhand::terms::{Plan as _, later};

use crate::theatre::{MAST, Theatre, demo_with, radio};

/// A mount of this speed, without flip.
fn slow(motion: &str) -> Theatre {
    let mast = MAST.replace("azimuth = 6, elevation = 6", "azimuth = 1, elevation = 1");
    let mast = mast.replace("to = 180", "to = 90");
    let equipment = format!("{}{mast}motion = \"{motion}\"\n", radio("duplex", "semicolon-eleven", "both"));
    let mut config = demo_with(&equipment);
    // It has half a turn to go at a degree a second.
    config.session.prepare_before_s = 240.0;
    Theatre::open(config)
}

#[test]
fn a_slow_mount_waits_where_the_plan_begins_and_is_off_by_no_more_than_was_planned_and_its_dead_band() {
    for (motion, dead_band) in [("close", 2.0), ("quiet", 5.4)] {
        let mut theatre = slow(motion);
        theatre.start();
        theatre.play_until(0.0);
        let aim = theatre.stage.job.aim.clone().unwrap();
        let prospect = aim.prospect().unwrap();
        let place = |theatre: &Theatre, after: f64| {
            theatre.record("mast").position_at(theatre.after_aos(after)).unwrap()
        };
        assert!(place(&theatre, -1.0).angle_to(prospect.rises_at) < dead_band, "{motion}");
        theatre.play_out();
        theatre.assert_no_violation();
        assert!(prospect.worst_deg > 3.0, "it is slow: {prospect:?}");
        let driven = theatre.beam();
        assert!(driven.max < prospect.worst_deg + dead_band, "{motion}: {driven:?} {prospect:?}");
        let span = theatre.stage.job.span;
        for after in 0..(aim.validity().until - span.from).num_seconds() {
            let planned = aim.at(later(span.from, after as f64)).unwrap();
            let off = place(&theatre, after as f64).angle_to(planned);
            assert!(off < dead_band, "{motion}: {off} at {after} s");
        }
    }
}
