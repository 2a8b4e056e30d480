#!/usr/bin/env python3
"""Makes omm/elements.csv and omm/states.csv from the element files beside them.

The package's own readers parse seabirds.xml and seabirds.csv, and take the fields of seabirds.json
from Python's JSON reader; the three must agree. What they read is written down in the units of the
standard, and is propagated by the package's compiled SGP4 with WGS-72 gravity. The package has no
reader for the key-value notation: seabirds.kvn is compared with what the other three say. The
satellites are invented.

Made with Python 3.11 and sgp4 2.27:  python make_omm_table.py
"""

import json
import math
import os

from sgp4 import omm
from sgp4.api import Satrec
from sgp4.conveniences import sat_epoch_datetime

OMM = os.path.join(os.path.dirname(os.path.abspath(__file__)), "omm")
MINUTES = (-720.0, 0.0, 93.5, 1440.0, 10080.0)


def satellite_of(fields):
    satellite = Satrec()
    # The number plays no part in the orbit, and the package takes none of nine digits.
    omm.initialize(satellite, {**fields, "NORAD_CAT_ID": "0"})
    return satellite


def elements(fields):
    """As the package holds them, its radians and minutes turned back."""
    satellite = satellite_of(fields)
    numbers = (math.degrees(satellite.inclo), math.degrees(satellite.nodeo), satellite.ecco,
               math.degrees(satellite.argpo), math.degrees(satellite.mo),
               satellite.no_kozai * 1440.0 / math.tau, satellite.bstar)
    # The package's own epoch, and not the text of the file: days in two floats.
    epoch = sat_epoch_datetime(satellite).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    return (fields["NORAD_CAT_ID"], epoch, *(f"{value:.12g}" for value in numbers))


def states(fields):
    satellite = satellite_of(fields)
    rows = []
    for minutes in MINUTES:
        error, position, velocity = satellite.sgp4(satellite.jdsatepoch, satellite.jdsatepochF + minutes / 1440.0)
        assert error == 0, (fields["OBJECT_NAME"], error)
        rows.append((fields["NORAD_CAT_ID"], minutes, *(f"{value:.6f}" for value in position),
                     *(f"{value:.9f}" for value in velocity)))
    return rows


def text_of(value):
    return value if isinstance(value, str) else repr(value)


with open(os.path.join(OMM, "seabirds.xml")) as file:
    from_xml = list(omm.parse_xml(file))
with open(os.path.join(OMM, "seabirds.csv"), newline="") as file:
    from_csv = list(omm.parse_csv(file))
with open(os.path.join(OMM, "seabirds.json")) as file:
    from_json = [{key: text_of(value) for key, value in fields.items()} for fields in json.load(file)]
for same in (elements, states):
    read = [[same(fields) for fields in form] for form in (from_xml, from_csv, from_json)]
    assert read[0] == read[1] == read[2], read
with open(os.path.join(OMM, "elements.csv"), "w") as file:
    print("# catalog number, epoch, inclination deg, node deg, eccentricity, perigee deg, anomaly deg,", file=file)
    print("# mean motion rev/day, drag term per Earth radius", file=file)
    for fields in from_xml:
        print(*elements(fields), sep=",", file=file)
with open(os.path.join(OMM, "states.csv"), "w") as file:
    print("# catalog number, minutes from epoch, position km, velocity km/s (TEME)", file=file)
    for row in (row for fields in from_xml for row in states(fields)):
        print(*row, sep=",", file=file)
