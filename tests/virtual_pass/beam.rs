//! A mount that is too slow for the pass: the session leads it as it was planned.

use beamhand::terms::{AzEl, Plan as _, later};

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

/// Where a beam truly looks whose mast leans by 4 degrees to the south-east and whose controller shows 20
/// degrees too little azimuth and 2 too much elevation: by vectors of the mast's own axes.
fn truly(shown: AzEl) -> [f64; 3] {
    let (azimuth, elevation) = ((shown.azimuth + 20.0).to_radians(), (shown.elevation - 2.0).to_radians());
    let (sin, cos) = 4.0_f64.to_radians().sin_cos();
    let half = 0.5_f64.sqrt();
    // North, east, up. Along the lean, across it, and the mast.
    let along = [-half * cos, half * cos, -sin];
    let across = [half, half, 0.0];
    let mast = [-half * sin, half * sin, cos];
    // The mount's own north: it was turned by nothing but the lean.
    let north: [f64; 3] = std::array::from_fn(|i| -half * along[i] + half * across[i]);
    let east: [f64; 3] = std::array::from_fn(|i| half * along[i] + half * across[i]);
    let level = elevation.cos();
    std::array::from_fn(|i| {
        level * azimuth.cos() * north[i] + level * azimuth.sin() * east[i] + elevation.sin() * mast[i]
    })
}

#[test]
fn a_mount_that_leans_and_whose_read_out_is_off_is_led_to_the_satellite_all_the_same() {
    let off = "offset = { azimuth = 20, elevation = -2 }\nlean = { degrees = 4, towards = 135 }\n";
    let equipment = format!("{}{MAST}{off}", radio("duplex", "semicolon-eleven", "both"));
    let mut theatre = Theatre::open(demo_with(&equipment));
    theatre.start();
    theatre.play_out();
    theatre.assert_no_violation();
    let span = theatre.stage.job.span;
    let mut worst = 0.0_f64;
    for after in 0..(span.until - span.from).num_seconds() {
        let time = later(span.from, after as f64);
        let beam = truly(theatre.record("mast").position_at(time).unwrap());
        let look = theatre.stage.job.track.at(time).unwrap();
        let (azimuth, elevation) = (look.azimuth_deg.to_radians(), look.elevation_deg.to_radians());
        let level = elevation.cos();
        let satellite = [level * azimuth.cos(), level * azimuth.sin(), elevation.sin()];
        let cosine: f64 = beam.iter().zip(satellite).map(|(a, b)| a * b).sum();
        // At the horizon the mount can't look lower than its own: it leans by 4 degrees and is off by 2.
        if look.elevation_deg > 7.0 {
            worst = worst.max(cosine.min(1.0).acos().to_degrees());
        }
    }
    assert!(worst < 1.6, "{worst} degrees");
    assert!(theatre.beam().rms < 2.0, "{:?}", theatre.beam());
}
