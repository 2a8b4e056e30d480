"""The far side of package/emulate: asks the emulated computer, and is the rotator at its adapter.

Written from the wire language's description: `AZ EL` asks, `AZ180.0 EL45.0` goes, `SA SE` stops.
"""

import re
import socket
import sys
import threading
import time

folder = sys.argv[1]


def connected(name):
    for _ in range(100):
        try:
            link = socket.socket(socket.AF_UNIX)
            link.connect(f"{folder}/{name}")
            return link
        except OSError:
            time.sleep(0.1)
    sys.exit(f"the emulator has no {name}")


class Mount(threading.Thread):
    """Answers where it stands; what it was told besides stays written down."""

    def __init__(self):
        super().__init__(daemon=True)
        self.link, self.told, self.asked = connected("wire"), [], 0

    def run(self):
        rest = b""
        while bytes_in := self.link.recv(1024):
            *lines, rest = re.split(rb"[\r\n]+", rest + bytes_in)
            for line in filter(None, lines):
                if line == b"AZ EL":
                    self.asked += 1
                    self.link.sendall(b"AZ123.0 EL10.0\r\n")
                else:
                    self.told.append(line)


class Computer:
    """A shell on the emulated computer."""

    def __init__(self):
        self.link, self.count = connected("shell"), 0

    def run(self, command, patience=30):
        self.count += 1
        mark = f"end-{self.count}-"
        self.link.settimeout(patience)
        # If the line is echoed, the mark in it is in two pieces.
        self.link.sendall(f"{command}; echo end-''{self.count}-$?\n".encode())
        heard = b""
        try:
            while not (end := re.search(f"{mark}(\\d+)".encode(), heard)):
                heard += self.link.recv(4096)
        except TimeoutError:
            return None, heard.decode(errors="replace")
        return int(end[1]), heard[: end.start()].decode(errors="replace").replace("\r", "")

    def says(self, command):
        return self.run(command)[1].strip()

    def until(self, what, patience, command):
        begun = time.monotonic()
        while self.run(command)[0] != 0:
            if time.monotonic() - begun > patience:
                print(self.says("beamhand status; journalctl -u beamhand -n 30 --no-pager -o cat"))
                sys.exit(f"not seen: {what}")
            time.sleep(0.2)
        print(f"seen: {what} ({time.monotonic() - begun:.1f} s)", flush=True)


def monitor(command):
    link = connected("monitor")
    link.sendall(f"{command}\n".encode())
    time.sleep(0.3)
    link.close()


mount, computer = Mount(), Computer()
mount.start()
begun = time.monotonic()
while computer.run("true", 2)[0] != 0:
    if time.monotonic() - begun > 180:
        sys.exit("the emulated computer does not answer")
computer.run("stty -echo; PS1=")
print(f"seen: {computer.says('uname -srm')}, booted in {time.monotonic() - begun:.0f} s", flush=True)

computer.until("the daemon runs since boot, with nothing plugged in", 60, "systemctl is-active beamhand | grep -qx active")
times = computer.says("systemctl show --value -p ExecMainStartTimestampMonotonic -p ActiveEnterTimestampMonotonic beamhand")
begin, ready = sorted(map(int, times.split()))
print(f"ready after {(ready - begin) / 1000:.0f} ms, emulated", flush=True)
lost = "beamhand status | grep -q '^mast *lost:'"
answers = "beamhand status | grep -q 'beam *azimuth 123.0 elevation 10.0'"
computer.until("the rotator's adapter is missed", 20, lost)

for time_of in ("plugged in", "plugged in again", "plugged in for the third time"):
    before = mount.asked
    monitor("device_add usb-serial,chardev=wire,id=cable,serial=MAST")
    computer.until(f"{time_of}: the mount is read", 30, answers)
    assert mount.asked > before
    monitor("device_del cable")
    computer.until("pulled: it is missed", 20, lost)
monitor("device_add usb-serial,chardev=wire,id=cable,serial=MAST")
computer.until("plugged in: the mount is read", 30, answers)

for signal, patience, what in (("KILL", 20, "killed"), ("STOP", 40, "brought to a standstill")):
    pid = computer.says("systemctl show -P MainPID beamhand")
    computer.run(f"kill -{signal} {pid}")
    other = f"p=$(systemctl show -P MainPID beamhand); test $p != 0 && test $p != {pid}"
    computer.until(f"{what}: it was started again", patience, other)
    computer.until("and reads the mount", 30, answers)

assert not [line for line in mount.told if line != b"SA SE"], mount.told
print(f"seen: the mount was told to stand still {len(mount.told)} times, and nothing else")
policy = computer.says("systemctl show -P DevicePolicy beamhand")
refused = computer.says("journalctl -u beamhand -o cat --no-pager | grep -ci 'not permitted'")
assert (policy, refused) == ("closed", "0"), (policy, refused)
print("seen: with the device policy closed the adapter was never refused")
print("clock:", computer.says("beamhand status --json | grep -o '\"clock\":{[^}]*}'"))
