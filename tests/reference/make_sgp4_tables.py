#!/usr/bin/env python3
"""Makes sgp4_elements.txt and sgp4_states.csv.

Source: the verification set published with Vallado, Crawford, Hujsak and Kelso, "Revisiting
Spacetrack Report #3", AIAA 2006-6753. The PyPI package `sgp4` ships the element file
(SGP4-VER.TLE) and the authors' expected vectors (tcppver.out); both are only rearranged here.

Made with Python 3.11 and sgp4 2.27:  python make_sgp4_tables.py

Three sets (33333 to 33335) were made up by the authors to provoke errors and carry wrong checksums;
the checksum is corrected. The time at which a set must fail, and the error code, come from
running the reference implementation of the package: the vectors merely end there.
"""

import os

import sgp4
from sgp4.api import Satrec, WGS72

HERE = os.path.dirname(os.path.abspath(__file__))
SHIPPED = os.path.dirname(sgp4.__file__)


def with_checksum(line):
    total = sum(int(c) if c.isdigit() else c == "-" for c in line[:68])
    return line[:68] + str(total % 10)


def element_pairs():
    with open(os.path.join(SHIPPED, "SGP4-VER.TLE")) as file:
        lines = [line.rstrip() for line in file if not line.startswith("#")]
    for first, second in zip(lines[::2], lines[1::2]):
        yield with_checksum(first), with_checksum(second), [float(x) for x in second[69:].split()]


def expected_blocks():
    blocks = []
    with open(os.path.join(SHIPPED, "tcppver.out")) as file:
        for line in file:
            if "xx" in line:
                blocks.append([])
            else:
                blocks[-1].append(line.split()[:7])
    return blocks


def first_failure(satellite, times):
    start, end, step = times
    minutes = start
    while minutes <= end:
        error, _, _ = satellite.sgp4_tsince(minutes)
        if error:
            return minutes, error
        minutes += step
    return None


def main():
    pairs, blocks = list(element_pairs()), expected_blocks()
    assert len(pairs) == len(blocks)
    with open(os.path.join(HERE, "sgp4_elements.txt"), "w") as file:
        file.write("# Verification sets of AIAA 2006-6753; made by make_sgp4_tables.py\n")
        for first, second, _ in pairs:
            file.write(first + "\n" + second + "\n")
    with open(os.path.join(HERE, "sgp4_states.csv"), "w") as file:
        file.write("# set (from 0), minutes from epoch, position km, velocity km/s (TEME);\n")
        file.write("# or set, minutes, fails, error code of the reference implementation.\n")
        for index, ((first, second, times), rows) in enumerate(zip(pairs, blocks)):
            satellite = Satrec.twoline2rv(first, second, WGS72)
            for row in rows:
                # The authors' program prints the line before it once more where time zero fails.
                if float(row[0]) == 0.0 and satellite.sgp4_tsince(0.0)[0]:
                    continue
                file.write(",".join([str(index)] + [x.rstrip("0").rstrip(".") if "." in x else x for x in row]) + "\n")
            failure = first_failure(satellite, times)
            if failure:
                file.write(f"{index},{failure[0]:.7f},fails,{failure[1]}\n")


main()
