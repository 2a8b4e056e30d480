"""Distances and bearings on the WGS 84 ellipsoid, by the reference implementation of Karney's algorithm.

    pip install geographiclib==2.1
    python tests/reference/make_geodesic_table.py
"""

import pathlib
import random

from geographiclib.geodesic import Geodesic

CHOSEN = [
    ((54.0, -2.5), (54.0, -2.5)),
    ((54.0, -2.5), (60.2, 24.9)),
    ((0.0, 0.0), (0.0, 90.0)),
    ((90.0, 0.0), (-90.0, 0.0)),
    ((90.0, 17.0), (0.0, -120.0)),
    ((10.0, 179.9), (10.0, -179.9)),
    ((0.0, 0.0), (0.5, 179.7)),  # nearly opposite: simpler methods don't settle
    ((-30.0, 10.0), (29.9, -170.2)),
    ((51.0, 7.0), (51.0000001, 7.0)),
]


def main():
    chance = random.Random(1)
    place = lambda: (round(chance.uniform(-90, 90), 6), round(chance.uniform(-180, 180), 6))
    pairs = CHOSEN + [(place(), place()) for _ in range(100)]
    lines = ["# By make_geodesic_table.py: latitude_1_deg,longitude_1_deg,latitude_2_deg,longitude_2_deg,distance_km,bearing_deg"]
    for (lat1, lon1), (lat2, lon2) in pairs:
        way = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)
        kilometres, bearing = way["s12"] / 1000, way["azi1"] % 360
        lines.append(f"{lat1},{lon1},{lat2},{lon2},{kilometres:.9f},{bearing:.9f}")
    file = pathlib.Path(__file__).with_name("geodesic.csv")
    file.write_text("\n".join(lines) + "\n")


main()
