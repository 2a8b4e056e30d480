#!/usr/bin/env python3
"""Makes look_angles.csv, sun.csv and earth_orientation.txt with Astropy (frames, Earth orientation, Sun) and sgp4.

Made with Python 3.11, astropy 8.0.2, astropy-iers-data 0.2026.11.2.0.34.55, pyerfa 2.0.1.5,
numpy 2.4.6 and sgp4 2.27:  python make_look_table.py

Every place is computed twice: on an Earth with UT1 = UTC and no polar motion, and with the full
orientation of the IERS (measured until October 2026, predicted after). Orbits come from sgp4 in
the frame TEME; Astropy takes them to the Earth-fixed frame and to altitude and azimuth without
refraction. Shadow: the umbra as a cone behind a sphere of 6378.137 km; left blank where it
changes within ten seconds.
"""

import math
import os
import random

import astropy.units as u
import numpy as np
from astropy.coordinates import (
    ITRS,
    TEME,
    AltAz,
    CartesianDifferential,
    CartesianRepresentation,
    EarthLocation,
    get_sun,
)
from astropy.time import Time, TimeDelta
from astropy.utils import iers
from sgp4.api import WGS72, Satrec

HERE = os.path.dirname(os.path.abspath(__file__))
iers.conf.auto_download = False
iers.conf.auto_max_age = None

# Latitude, longitude, metres: both hemispheres, near and at a pole, at height, near the date line.
STATIONS = [
    (54.0, -2.5, 100.0),
    (-34.9, 138.6, 50.0),
    (-0.2, -78.5, 2850.0),
    (89.9, 45.0, 10.0),
    (-90.0, 0.0, 2835.0),
    (78.2, 15.6, 450.0),
    (-17.7, 178.5, 5.0),
    (28.0, 86.9, 5300.0),
]
SUN_KM, EARTH_KM = 695_700.0, 6378.137


class EvenEarth(iers.IERS):
    """UT1 = UTC, the pole at rest."""

    def ut1_utc(self, jd1, jd2=0.0, return_status=False):
        zero = np.zeros(np.shape(jd1)) * u.s
        return (zero, np.zeros(np.shape(jd1), int)) if return_status else zero

    def pm_xy(self, jd1, jd2=0.0, return_status=False):
        zero = np.zeros(np.shape(jd1)) * u.arcsec
        return (zero, zero, np.zeros(np.shape(jd1), int)) if return_status else (zero, zero)


EVEN, FULL = EvenEarth(), iers.IERS_Auto.open()


def satellites():
    with open(os.path.join(HERE, "look_elements.txt")) as file:
        lines = [line.rstrip() for line in file if line[:2] in ("1 ", "2 ")]
    return [Satrec.twoline2rv(a, b, WGS72) for a, b in zip(lines[::2], lines[1::2])]


def teme(satellite, time):
    error, position, velocity = satellite.sgp4(time.jd1, time.jd2)
    assert error == 0
    state = CartesianRepresentation(position * u.km)
    state = state.with_differentials(CartesianDifferential(velocity * u.km / u.s))
    return TEME(state, obstime=time)


def look(satellite, moment, place):
    """Azimuth, elevation, range, range rate; then latitude, longitude, height below the satellite."""
    time = Time(moment, scale="utc")
    station = EarthLocation.from_geodetic(place[1], place[0], place[2] * u.m, ellipsoid="WGS84")
    fixed = teme(satellite, time).transform_to(ITRS(obstime=time))
    line = fixed.cartesian.without_differentials() - station.get_itrs(time).cartesian
    topocentric = ITRS(line, obstime=time, location=station)
    seen = topocentric.transform_to(AltAz(obstime=time, location=station))
    velocity = fixed.cartesian.differentials["s"]
    rate = line.dot(CartesianRepresentation(velocity.d_xyz)) / line.norm()
    below = fixed.earth_location.to_geodetic("WGS84")
    return (
        [seen.az.deg, seen.alt.deg, line.norm().to_value(u.km), rate.to_value(u.km / u.s)],
        [below.lat.deg, below.lon.deg, below.height.to_value(u.km)],
    )


def lit(satellite, time):
    """Whether any of the Sun is seen from the satellite."""
    position = teme(satellite, time).cartesian.xyz.to_value(u.km)
    sun = get_sun(time).transform_to(TEME(obstime=time)).cartesian.xyz.to_value(u.km)
    distance = math.sqrt(sum(sun**2))
    behind = -sum(position * sun) / distance
    aside = math.sqrt(max(0.0, sum(position**2) - behind**2))
    apex = EARTH_KM * distance / (SUN_KM - EARTH_KM)
    half_angle = math.asin((SUN_KM - EARTH_KM) / distance)
    # Tangent cone of two spheres: its apex lies as far behind the Earth as the sines demand.
    return not (behind > 0 and behind < apex and aside < (apex - behind) * math.tan(half_angle))


def steadily_lit(satellite, moment):
    time = Time(moment, scale="utc")
    answers = {lit(satellite, time + TimeDelta(shift * u.s)) for shift in (-10, 0, 10)}
    return str(answers.pop()).lower() if len(answers) == 1 else ""


def moments(satellite, place, random_source):
    """Four times within five days after the epoch: two with the satellite up, if it ever is."""
    epoch = Time(satellite.jdsatepoch, satellite.jdsatepochF, format="jd", scale="utc")
    up, down = [], []
    for _ in range(60):
        time = epoch + TimeDelta(random_source.uniform(0, 5) * u.day)
        moment = time.to_value("iso", subfmt="date_hms").replace(" ", "T")
        (up if look(satellite, moment, place)[0][1] > 0 else down).append(moment)
        if len(up) >= 2 and len(up) + len(down) >= 4:
            break
    return (up[:2] + down + up[2:])[:4]


def write_looks():
    random_source = random.Random(99001)
    with open(os.path.join(HERE, "look_angles.csv"), "w") as file:
        file.write("# Made by make_look_table.py. set (from 0), time, station latitude, longitude, metres;\n")
        file.write("# even Earth: azimuth, elevation, range, range rate; sunlit, latitude, longitude, height;\n")
        file.write("# UT1-UTC s, pole x, pole y arcsec; IERS Earth: azimuth, elevation, range, range rate\n")
        for index, satellite in enumerate(satellites()):
            for place in STATIONS:
                iers.earth_orientation_table.set(EVEN)
                for moment in moments(satellite, place, random_source):
                    iers.earth_orientation_table.set(EVEN)
                    seen, below = look(satellite, moment, place)
                    sunlit = steadily_lit(satellite, moment)
                    iers.earth_orientation_table.set(FULL)
                    real, _ = look(satellite, moment, place)
                    time = Time(moment, scale="utc")
                    x, y = FULL.pm_xy(time)
                    angles = [FULL.ut1_utc(time).to_value(u.s), x.to_value(u.arcsec), y.to_value(u.arcsec)]
                    text = lambda numbers, digits: [f"{float(n):.{digits}f}" for n in numbers]
                    fields = [str(index), moment + "Z"] + [str(p) for p in place]
                    fields += text(seen, 8) + [sunlit] + text(below, 8) + text(angles, 7) + text(real, 8)
                    file.write(",".join(fields) + "\n")


def write_sun():
    iers.earth_orientation_table.set(EVEN)
    start = Time("1960-01-01T00:00:00", scale="utc")
    with open(os.path.join(HERE, "sun.csv"), "w") as file:
        file.write("# Made by make_look_table.py. time, apparent direction x, y, z (TEME), distance au\n")
        for count in range(200):
            time = Time((start + TimeDelta(count * 164.37 * u.day)).to_value("isot"), scale="utc")
            sun = get_sun(time).transform_to(TEME(obstime=time)).cartesian
            direction = (sun / sun.norm()).xyz.value
            fields = [f"{x:.8f}" for x in [*direction, sun.norm().to_value(u.au)]]
            file.write(",".join([time.isot + "Z"] + fields) + "\n")


def write_orientation():
    """The days of the table, and those around a leap second, from the IERS file that Astropy used."""
    wanted = set(range(57751, 57757))
    with open(os.path.join(HERE, "look_angles.csv")) as file:
        for line in file:
            if not line.startswith("#"):
                day = int(Time(line.split(",")[1].rstrip("Z"), scale="utc").mjd)
                wanted |= {day, day + 1}
    with open(iers.IERS_A_FILE) as file, open(os.path.join(HERE, "earth_orientation.txt"), "w") as excerpt:
        excerpt.write("# IERS Rapid Service, finals2000A.all: the days that the tests need.\n")
        excerpt.writelines(line for line in file if int(float(line[7:15])) in wanted)


if __name__ == "__main__":
    write_sun()
    write_looks()
    write_orientation()
