//! `beamhand footprint`.

use crate::program::{DEMO, ELEMENTS, Home, Ran, STATION, beamhand, keys, sorted};

fn footprint(home: &Home, more: &[&str]) -> Ran {
    let source = ["--elements", ELEMENTS, "--station", STATION, "--at", "2026-11-25 18:38"];
    home.run(&[&["footprint", "GANNET-1"], &source[..], more].concat())
}

#[test]
fn locators_are_inside_where_look_has_the_satellite_up() {
    let home = Home::empty();
    let listed = ["KP20LG", "JN58", "IM58", "FN20", "QF44"];
    let objects = footprint(&home, &["--locators", &listed.join(","), "--json"]).objects();
    let [object] = objects.as_slice() else { panic!("{objects:?}") };
    let own = ["satellite", "catalog_number", "time", "latitude_deg", "longitude_deg", "altitude_km"];
    assert_eq!(keys(object), sorted(&[&own[..], &["radius_km", "station", "locators"]].concat()));
    assert_eq!(
        keys(&object["station"]),
        sorted(&["inside", "behind_horizon", "elevation_deg", "distance_km"])
    );
    // At 500 km the footprint is 4,891 km across (by hand: 6371 km x arccos(6371 / 6871) x 2).
    assert!((2.0 * object["radius_km"].as_f64().unwrap() - 4891.0).abs() < 60.0, "{object}");
    let places = object["locators"].as_array().unwrap();
    for (place, locator) in places.iter().zip(listed) {
        let at = ["--at", "2026-11-25 18:38", "--satellite", "GANNET-1", "--json"];
        let station = [&["look", "--elements", ELEMENTS, "--station", locator], &at[..]].concat();
        let look = beamhand(&station).objects().remove(0);
        assert_eq!(place["locator"], locator);
        assert_eq!(place["elevation_deg"], look["elevation_deg"]);
        assert_eq!(place["inside"], look["elevation_deg"].as_f64() > Some(0.0));
    }
    let inside: Vec<bool> = places.iter().map(|place| place["inside"].as_bool().unwrap()).collect();
    assert_eq!(inside, [true, true, true, false, false]);
}

#[test]
fn a_file_of_locators_may_have_remarks_and_its_faults_have_a_line() {
    let home = Home::empty();
    let good = home.file("friends.txt", "# near\nKP20LG, JN58\n\nIM58 # Ana\n");
    let text = footprint(&home, &["--locators", &good]);
    text.assert_fits_the_screen();
    let rows: Vec<&str> = text.out.lines().filter(|line| line.contains("inside")).collect();
    assert_eq!(rows.len(), 4, "three and the station itself: {}", text.out);
    let bad = home.file("bad.txt", "KP20LG\nsomewhere\n");
    footprint(&home, &["--locators", &bad]).assert_refused(1, &["bad.txt:2:", "somewhere"]);
    for (list, item) in [("KP20LG,,JN58", "item 2"), ("KP20LG,", "item 2"), (" ,KP20LG", "item 1")] {
        footprint(&home, &["--locators", list]).assert_refused(2, &[item, "is empty", "one comma"]);
    }
    footprint(&home, &["--locators", "KP20LG,nowhere"]).assert_refused(2, &["nowhere", "nor is"]);
}

#[test]
fn a_satellite_that_is_not_there_is_named() {
    let source = ["--elements", ELEMENTS, "--station", STATION];
    beamhand(&[&["footprint", "AUK-7"], &source[..]].concat()).assert_refused(1, &["AUK-7", "GANNET-1"]);
}

/// At 18:36 GANNET-1 stands 23 degrees high in the south: behind a wall of 30 degrees, above one of 20.
#[test]
fn what_is_behind_the_stations_own_horizon_is_told() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    for (height, hidden) in [(30, true), (20, false)] {
        let horizon =
            format!("altitude_m = 120\nhorizon = [[90, 0], [170, {height}], [190, {height}], [270, 0]]");
        let config = home.file("own.toml", &demo.replacen("altitude_m = 120", &horizon, 1));
        let at = ["--config", &config, "--at", "2026-11-25 18:36"];
        let words = "behind your horizon, 30.0 degrees high there";
        let looked = home.run(&[&["look", "--satellite", "GANNET-1"], &at[..]].concat());
        looked.assert_fits_the_screen();
        assert_eq!(looked.out.contains(words), hidden, "{}", looked.out);
        assert_eq!(looked.out.contains(" up "), !hidden, "{}", looked.out);
        let looked = home.run(&[&["look", "--satellite", "GANNET-1", "--json"], &at[..]].concat());
        assert_eq!(looked.objects()[0]["behind_horizon"], hidden);
        let print = home.run(&[&["footprint", "GANNET-1"], &at[..]].concat());
        print.assert_fits_the_screen();
        assert_eq!(print.out.contains(words), hidden, "{}", print.out);
        let print = home.run(&[&["footprint", "GANNET-1", "--json"], &at[..]].concat()).objects();
        assert_eq!(print[0]["station"]["behind_horizon"], hidden);
        assert_eq!(print[0]["station"]["inside"], true);
    }
}
