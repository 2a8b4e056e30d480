#!/usr/bin/env python3
"""Makes passes.csv with Skyfield: rise, highest point and set, its own search for them, refined on its own altitude.

Made with Python 3.11, skyfield 1.55, sgp4 2.27, astropy-iers-data 0.2026.11.2.0.34.55 and numpy 2.4.6:
python make_pass_table.py

Skyfield's own guess at UT1 is replaced: once UT1 = UTC, once what the IERS says (with its polar
motion). Passes that are not whole within the days are left out, and so are those that stay within
half a degree above the lower limit: whether Skyfield's search finds them is a matter of its steps.
"""

import os

import astropy_iers_data
import numpy as np
from skyfield.api import EarthSatellite, load, wgs84
from skyfield.data import iers
from skyfield.timelib import Timescale

HERE = os.path.dirname(os.path.abspath(__file__))
DAY_S = 86_400.0
TAI_MINUS_UTC, TT_MINUS_TAI = 37.0, 32.184
# Latitude, longitude, metres.
STATIONS = [(54.0, -2.5, 100.0), (-34.9, 138.6, 50.0), (78.2, 15.6, 450.0)]
NUMBERS = {99001, 99002, 99003, 99004, 99005}
DAYS = 3


def timescales():
    """UT1 = UTC, and UT1 and the pole as the IERS has them."""
    built_in = load.timescale(builtin=True)
    leaps = built_in.leap_dates, built_in.leap_offsets
    even = Timescale(lambda tt: TAI_MINUS_UTC + TT_MINUS_TAI + 0.0 * tt, *leaps)
    with open(astropy_iers_data.IERS_A_FILE, "rb") as file:
        table = iers.parse_x_y_dut1_from_finals_all(file)
    tt = table["utc_mjd"] + 2_400_000.5 + (TAI_MINUS_UTC + TT_MINUS_TAI) / DAY_S
    real = Timescale(lambda at: TAI_MINUS_UTC + TT_MINUS_TAI - np.interp(at, tt, table["dut1"]), *leaps)
    iers.install_polar_motion_table(real, table)
    return {"even": even, "iers": real}


def satellites(timescale):
    with open(os.path.join(HERE, "../../config/demo/elements.txt")) as file:
        lines = [line.rstrip() for line in file if not line.startswith("#")]
    every = [EarthSatellite(a, b, name, timescale) for name, a, b in zip(lines[::3], lines[1::3], lines[2::3])]
    return [satellite for satellite in every if satellite.model.satnum in NUMBERS]


class Sky:
    def __init__(self, timescale, satellite, place):
        self.timescale = timescale
        self.line = satellite - wgs84.latlon(place[0], place[1], elevation_m=place[2])

    def time(self, seconds):
        return self.timescale.utc(2026, 11, 21, 0, 0, seconds)

    def altaz(self, seconds):
        elevation, azimuth, distance = self.line.at(self.time(seconds)).altaz()
        return elevation.degrees, azimuth.degrees, distance.km


def bisected(function, low, high):
    """Where the function changes its sign, for each pair of the arrays."""
    rising = function(low) < function(high)
    for _ in range(28):
        middle = (low + high) / 2.0
        before = (function(middle) < 0) == rising
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    return (low + high) / 2.0


def passes(timescale, satellite, place, limit):
    sky = Sky(timescale, satellite, place)
    station = wgs84.latlon(place[0], place[1], elevation_m=place[2])
    times, events = satellite.find_events(station, sky.time(0), sky.time(DAYS * DAY_S), limit)
    seconds = (times.tt - sky.time(0).tt) * DAY_S
    starts = [k for k in range(len(events) - 2) if list(events[k : k + 3]) == [0, 1, 2]]
    if not starts:
        return
    rise, top, fall = (seconds[np.array(starts) + step] for step in range(3))
    above = lambda at: sky.altaz(at)[0] - limit
    rise, fall = (bisected(above, at - 2.0, at + 2.0) for at in (rise, fall))
    slope = lambda at: sky.altaz(at + 0.05)[0] - sky.altaz(at - 0.05)[0]
    top = bisected(slope, top - 4.0, top + 4.0)
    highest, _, distance = sky.altaz(top)
    for row in zip(rise, top, fall, sky.altaz(rise)[1], highest, distance, sky.altaz(fall)[1]):
        if row[4] > limit + 0.5:
            yield row


def main():
    with open(os.path.join(HERE, "passes.csv"), "w") as file:
        file.write("# Made by make_pass_table.py. Earth, catalogue number, station latitude, longitude, metres, lower limit;\n")
        file.write("# seconds after 2026-11-21T00:00:00Z: rise, highest, set; azimuth at the rise, elevation and range at\n")
        file.write("# the highest point, azimuth at the set\n")
        for earth, timescale in timescales().items():
            for satellite in satellites(timescale):
                for place, limit in zip(STATIONS, (0.0, 5.0, 10.0)):
                    for row in passes(timescale, satellite, place, limit):
                        fields = [earth, satellite.model.satnum, *place, limit]
                        fields += [f"{number:.4f}" for number in row[:3]] + [f"{number:.6f}" for number in row[3:]]
                        file.write(",".join(map(str, fields)) + "\n")


main()
