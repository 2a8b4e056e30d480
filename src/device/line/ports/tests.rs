use std::fs;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};

use tempfile::TempDir;

use super::*;

/// A made-up computer in a temporary folder.
struct Computer {
    folder: TempDir,
}

impl Computer {
    fn empty() -> Self {
        let computer = Self { folder: tempfile::tempdir().unwrap() };
        for folder in ["sys/class/tty", "dev", "proc"] {
            fs::create_dir_all(computer.path(folder)).unwrap();
        }
        computer
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn link(&self, name: &str, to: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        symlink(self.path(to), path).unwrap();
    }

    /// A port of the computer itself.
    fn built_in(&self, name: &str, kind: &str) {
        self.write(&format!("sys/devices/platform/uart/tty/{name}/type"), kind);
        self.link(&format!("sys/devices/platform/uart/tty/{name}/device"), "sys/devices/platform/uart");
        self.link(&format!("sys/class/tty/{name}"), &format!("sys/devices/platform/uart/tty/{name}"));
        self.write(&format!("dev/{name}"), "");
    }

    /// An adapter in a USB socket, with the links that udev makes for it.
    fn plug_in(&self, name: &str, socket: &str, serial_number: &str, by_id: &str) {
        let adapter = format!("sys/devices/usb1/{socket}");
        self.write(&format!("{adapter}/idVendor"), "1209\n");
        self.write(&format!("{adapter}/idProduct"), "0001\n");
        self.write(&format!("{adapter}/manufacturer"), "Example\n");
        self.write(&format!("{adapter}/product"), "Serial \u{1b}adapter\n");
        if !serial_number.is_empty() {
            self.write(&format!("{adapter}/serial"), &format!("{serial_number}\n"));
        }
        let port = format!("{adapter}/{socket}:1.0/{name}");
        self.write(&format!("{port}/tty/{name}/dev"), "188:0\n");
        self.link(&format!("{port}/tty/{name}/device"), &port);
        self.link(&format!("sys/class/tty/{name}"), &format!("{port}/tty/{name}"));
        self.write(&format!("dev/{name}"), "");
        let _ = fs::remove_file(self.path(&format!("dev/serial/by-id/{by_id}")));
        self.link(&format!("dev/serial/by-id/{by_id}"), &format!("dev/{name}"));
        self.link(&format!("dev/serial/by-path/pci-usb-{socket}"), &format!("dev/{name}"));
    }

    fn process(&self, pid: u32, name: &str, terminal: u32, open: &[&str]) {
        self.write(&format!("proc/{pid}/comm"), &format!("{name}\n"));
        self.write(&format!("proc/{pid}/stat"), &format!("{pid} (a) b) S 1 {pid} {pid} {terminal} -1 0\n"));
        fs::create_dir_all(self.path(&format!("proc/{pid}/fd"))).unwrap();
        for (at, file) in open.iter().enumerate() {
            self.link(&format!("proc/{pid}/fd/{at}"), file);
        }
    }

    fn system(&self) -> System {
        System { sys: self.path("sys"), dev: self.path("dev"), proc: self.path("proc") }
    }

    fn ports(&self) -> Vec<SerialPort> {
        list(&self.system(), &user())
    }
}

/// Somebody who owns nothing here.
fn user() -> User {
    User { name: "oper".to_owned(), uid: 424_242, groups: Vec::new(), is_me: false }
}

#[test]
fn a_computer_without_terminals_has_no_ports() {
    let computer = Computer::empty();
    fs::remove_dir_all(computer.path("sys")).unwrap();
    assert!(computer.ports().is_empty());
}

#[test]
fn consoles_and_empty_places_are_no_ports() {
    let computer = Computer::empty();
    computer.write("sys/class/tty/tty1/dev", "4:1\n");
    computer.built_in("ttyS0", "0\n");
    computer.built_in("ttyAMA0", "32\n");
    let ports = computer.ports();
    assert_eq!(ports.len(), 1);
    assert_eq!(ports[0].device, computer.path("dev/ttyAMA0"));
    assert_eq!(ports[0].name, StableName { path: ports[0].device.clone(), basis: Basis::BuiltIn });
    assert_eq!(ports[0].adapter, None);
}

#[test]
fn a_serial_number_names_an_adapter_wherever_it_is_plugged_in() {
    let computer = Computer::empty();
    computer.plug_in("ttyUSB10", "1-2", "A1B2", "usb-Example_A1B2-if00");
    computer.plug_in("ttyUSB2", "1-3", "C3D4", "usb-Example_C3D4-if00");
    let ports = computer.ports();
    let names: Vec<_> = ports.iter().map(|port| port.name.path.clone()).collect();
    let by_id = |name: &str| computer.path("dev/serial/by-id").join(name);
    assert_eq!(names, [by_id("usb-Example_C3D4-if00"), by_id("usb-Example_A1B2-if00")], "2 before 10");
    assert!(ports.iter().all(|port| port.name.basis == Basis::SerialNumber));
    let adapter = ports[1].adapter.as_ref().unwrap();
    assert_eq!((adapter.vendor_id.as_str(), adapter.product_id.as_str()), ("1209", "0001"));
    assert_eq!(adapter.vendor.as_deref(), Some("Example"));
    assert_eq!(adapter.product.as_deref(), Some("Serial ?adapter"), "what could disturb a screen is masked");
    assert_eq!(adapter.serial_number.as_deref(), Some("A1B2"));
}

#[test]
fn an_adapter_without_a_serial_number_goes_by_its_socket() {
    let computer = Computer::empty();
    computer.plug_in("ttyUSB0", "1-2", "", "usb-Example-if00");
    let name = &computer.ports()[0].name;
    assert_eq!(name.path, computer.path("dev/serial/by-path/pci-usb-1-2"));
    assert_eq!(name.basis, Basis::SocketWithoutNumber);
}

#[test]
fn two_adapters_that_share_a_name_go_by_their_sockets() {
    for number in ["", "0001"] {
        let computer = Computer::empty();
        computer.plug_in("ttyUSB0", "1-2", number, "usb-Example-if00");
        computer.plug_in("ttyUSB1", "1-3", number, "usb-Example-if00");
        for (port, socket) in computer.ports().iter().zip(["1-2", "1-3"]) {
            let place = computer.path("dev/serial/by-path").join(format!("pci-usb-{socket}"));
            assert_eq!(port.name, StableName { path: place, basis: Basis::SocketOfTwins }, "{number}");
        }
    }
}

#[test]
fn without_udevs_links_there_is_only_the_kernels_name() {
    let computer = Computer::empty();
    computer.plug_in("ttyUSB0", "1-2", "A1", "usb-Example_A1");
    fs::remove_dir_all(computer.path("dev/serial")).unwrap();
    let name = &computer.ports()[0].name;
    assert_eq!((name.path.clone(), name.basis), (computer.path("dev/ttyUSB0"), Basis::Order));
}

#[test]
fn who_may_not_open_a_port_is_given_the_command_that_helps() {
    let computer = Computer::empty();
    computer.built_in("ttyAMA0", "32\n");
    let node = computer.path("dev/ttyAMA0");
    fs::set_permissions(&node, fs::Permissions::from_mode(0o600)).unwrap();
    let access = computer.ports()[0].access.clone().unwrap();
    assert_eq!(access.mode, 0o600);
    let command = format!("sudo chown oper {}", node.display());
    assert_eq!(access.remedy, Some(Remedy::TakeIt(command)), "no group has it");
    fs::set_permissions(&node, fs::Permissions::from_mode(0o666)).unwrap();
    assert_eq!(computer.ports()[0].access.as_ref().unwrap().remedy, None);
}

#[test]
fn open_files_locks_and_login_prompts_show_who_holds_a_port() {
    let computer = Computer::empty();
    computer.plug_in("ttyUSB0", "1-2", "A1", "usb-Example_A1");
    assert_eq!(computer.ports()[0].holders, Holders::default());
    computer.process(31, "logger", 0, &["dev/null", "dev/ttyUSB0"]);
    // 188:0 is 188 * 256 in the process table.
    computer.process(7, "getty", 48_128, &[]);
    computer.process(812, "beamhand", 0, &[]);
    computer.process(900, "shell", 1024, &["dev/null"]);
    let node = fs::metadata(computer.path("dev/ttyUSB0")).unwrap();
    let place = format!("{:02x}:{:02x}:{}", libc::major(node.dev()), libc::minor(node.dev()), node.ino());
    computer.write(
        "proc/locks",
        &format!(
            "1: POSIX  ADVISORY  WRITE 900 00:1f:77 0 EOF\n2: FLOCK  ADVISORY  WRITE 812 {place} 0 EOF\n"
        ),
    );
    let holders = &computer.ports()[0].holders;
    assert_eq!(
        holders.describe().as_deref(),
        Some("getty (pid 7), logger (pid 31), beamhand (pid 812)"),
        "{holders:?}"
    );
    let link = computer.path("dev/serial/by-id/usb-Example_A1");
    assert_eq!(in_use_by(&computer.system(), &link), holders.describe(), "by any name");
}

#[test]
fn the_kernels_own_console_is_named() {
    let computer = Computer::empty();
    computer.built_in("ttyAMA0", "32\n");
    computer.write("sys/class/tty/console/active", "tty0 ttyAMA0\n");
    assert_eq!(computer.ports()[0].holders.describe().as_deref(), Some("the kernel's console"));
}
