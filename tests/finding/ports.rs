//! `beamhand ports`, on a made-up computer in a folder.

use std::os::unix::fs::symlink;

use serde_json::Value;

use crate::bench::Bench;

const CONFIG: &str = "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n[[radio]]\nname = \"duplex\"\n\
                      port = \"dev/serial/by-path/pci-usb-1-3\"\ndialect = \"semicolon-eleven\"\nuse = \"both\"\n";

/// A computer with an adapter that has a serial number, one that has none, and a port of its own.
fn computer() -> Bench {
    let bench = Bench::new();
    let link = |name: &str, to: &str| {
        std::fs::create_dir_all(bench.path(name).parent().unwrap()).unwrap();
        symlink(bench.path(to), bench.path(name)).unwrap();
    };
    let port = |name: &str, place: &str| {
        bench.file(&format!("{place}/tty/{name}/type"), "32\n");
        link(&format!("{place}/tty/{name}/device"), place);
        link(&format!("sys/class/tty/{name}"), &format!("{place}/tty/{name}"));
        bench.file(&format!("dev/{name}"), "");
    };
    for (name, socket, number) in [("ttyUSB0", "1-2", "A1B2"), ("ttyUSB1", "1-3", "")] {
        let adapter = format!("sys/devices/usb1/{socket}");
        bench.file(&format!("{adapter}/idVendor"), "1209\n");
        bench.file(&format!("{adapter}/idProduct"), "0001\n");
        bench.file(&format!("{adapter}/product"), "Serial adapter\n");
        bench.file(&format!("{adapter}/serial"), &format!("{number}\n"));
        port(name, &format!("{adapter}/{socket}:1.0/{name}"));
        link(&format!("dev/serial/by-id/usb-adapter{number}-if00"), &format!("dev/{name}"));
        link(&format!("dev/serial/by-path/pci-usb-{socket}"), &format!("dev/{name}"));
    }
    port("ttyAMA0", "sys/devices/uart");
    bench.file("sys/class/tty/console/active", "tty0 ttyAMA0\n");
    bench.file("proc/812/comm", "beamhand\n");
    link("proc/812/fd/9", "dev/ttyUSB1");
    bench.file("beamhand.toml", CONFIG);
    bench
}

#[test]
fn each_port_is_told_with_its_lasting_name_and_who_uses_it() {
    let computer = computer();
    let root = computer.path("").display().to_string();
    let ran = computer.run(&["ports", "--root", &root, "--config", "beamhand.toml"]);
    ran.assert(
        0,
        &[
            "serial/by-id/usb-adapterA1B2-if00 now",
            "goes by the adapter's serial number",
            "USB \"Serial adapter\", 1209:0001, serial number A1B2",
            "serial/by-path/pci-usb-1-3 now",
            "because the adapter has no serial number: always plug it into the same one",
            "in use by beamhand (pid 812) configured for duplex",
            "a port of the computer itself",
            "the kernel's console",
        ],
    );
}

#[test]
fn programs_get_one_object_a_port() {
    let computer = computer();
    let root = computer.path("").display().to_string();
    let ran = computer.run(&["ports", "--json", "--root", &root, "--config", "beamhand.toml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let objects: Vec<Value> = ran.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(objects.len(), 3);
    assert_eq!((&objects[0]["basis"], &objects[0]["console"]), (&"built-in".into(), &true.into()));
    assert_eq!(
        (&objects[1]["basis"], &objects[1]["serial_number"]),
        (&"serial-number".into(), &"A1B2".into())
    );
    assert_eq!((&objects[2]["basis"], &objects[2]["serial_number"]), (&"socket".into(), &Value::Null));
    assert_eq!(objects[2]["in_use_by"][0]["pid"], 812);
    assert_eq!(objects[2]["configured_for"][0], "duplex");
    assert_eq!(objects[1]["mode"], "0644");
}

#[test]
fn no_port_is_a_failure_with_what_to_check() {
    let bench = Bench::new();
    let root = bench.path("").display().to_string();
    bench.run(&["ports", "--root", &root]).assert(1, &["no serial port", "only charge", "dmesg"]);
}
