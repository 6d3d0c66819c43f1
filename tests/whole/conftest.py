"""Two small yards in SI whose every figure can be worked out by hand, and their estimates."""

from collections.abc import Callable
from pathlib import Path

import pytest

from estimate.plan import load_ground, make_estimate
from estimate.record import Estimate
from estimate.site import open_site

BENT_SHOTS = "2,1 19,0.5 34,3 1,17 14,14.6 33,19 3,38 18,36 34,37 22,20 9,24"
"""Easting and northing of the shots beyond 500 and 800 m; elevation 50 + 0.03 east + 0.05 north."""
BENT = """
title = "bent yard"
units = "SI"
[survey]
file = "shots.csv"
horizontal_unit = "m"
vertical_unit = "m"
accuracy = "30 mm"
common_error = "20 mm"
benchmark = 51.25
[route]
points = [[512, 806], [512, 813.5], [520, 821.5], [511, 830.5]]
[lower]
name = "vault"
water_level = 50.30
low_level = 50.10
winter_level = "empty"
port_elevation = 50.30
end_elevation = 50.00
check_valve = true
pit = { length = "2 m", width = "0.9 m", floor = 49.40, heading = 20 }
[upper]
name = "spout"
water_level = 51.40
winter_level = "empty"
port_elevation = 51.55
end_elevation = 51.45
[pipe]
kind = "PVC Schedule 40"
size = "2"
[trench]
cover = "500 mm"
width = "400 mm"
bedding = "100 mm"
least_fall = 0.02
interval = "5 m"
[soil]
kind = "clay"
topsoil = "150 mm"
bedding_material = "crushed stone"
truck = "mini dumper"
[pump]
name = "two points"
curve = [["0 L/s", "8 m"], ["4 L/s", "2 m"]]
[water]
flow = "2.5 L/s"
temperature = "4 degC"
fittings = { "ball valve" = 2, "90 elbow" = 1, "union" = 1 }
[price]
book = "book.toml"
[[valve]]
station = 12
kind = "check"
name = "hillside"
[[drain]]
station = 12
name = "gate"
"""
BOOK = """
title = "round rates"
date = 2025-02-03
currency = "EUR"
region = "nowhere"
[dig]
topsoil = { rate = 10, unit = "m3 bank" }
earth = { rate = 20, unit = "m3 loose" }
[bedding]
"crushed stone" = { rate = 30, unit = "m3 loose" }
[fill]
native = { rate = 8, unit = "m3 compacted" }
imported = { rate = 44, unit = "m3 compacted" }
[haul]
surplus = { rate = 50, unit = "load" }
[restoration]
lawn = { rate = 5, unit = "m2" }
[pipe]
"2 in PVC Schedule 40" = { rate = 12, unit = "m" }
[fittings]
"90 elbow 2 in" = { rate = 7, unit = "each" }
"90 elbow" = { rate = 99, unit = "each" }
"45 elbow" = { rate = 6, unit = "each" }
"swing check" = { rate = 40, unit = "each" }
"ball valve" = { rate = 25, unit = "each" }
"union" = { rate = 9, unit = "each" }
[drains]
drain = { rate = 100, unit = "each" }
[lump]
setting = { rate = 200, unit = "lump" }
[percent]
overhead = 10
profit = 8
tax = 5
[waste]
pipe = 5
bedding = 10
"""
SLOPED_SHOTS = "0,0 22,-3 45,1 -2,24 46,26 1,50 24,53 44,49 30,12 14,33"
"""Easting and northing of the shots beyond 500 and 800 m; elevation 60 + 0.05 east - 0.06 north."""
SLOPED = """
title = "sloped yard"
units = "SI"
[survey]
file = "shots.csv"
horizontal_unit = "m"
vertical_unit = "m"
accuracy = "10 mm"
[route]
points = [[510, 810], [534, 842]]
starts_at = "upper"
[lower]
name = "pond"
water_level = 58.90
winter_level = 58.60
end_elevation = 58.10
[upper]
name = "lake"
water_level = 59.60
winter_level = "empty"
end_elevation = 59.40
[pipe]
kind = "own pipe"
size = "2"
bore = "50 mm"
outside = "60 mm"
rating = "60 kPa"
stick = "5 m"
[trench]
cover = "600 mm"
width = "500 mm"
bedding = "100 mm"
least_fall = 0.025
interval = "10 m"
left_wall = { slope = 0.5 }
right_wall = { slope = 1.0 }
[soil]
kind = "rock"
topsoil = "200 mm"
truck = "wheelbarrow"
[pump]
curve = [["0 L/s", "8 m"], ["6 L/s", "2 m"]]
[water]
temperature = "20 degC"
fitting_table = "IRC"
fittings = { "tee run" = 1, "coupling" = 3 }
"""


def estimated(folder: Path, site: str, shots: str, plane: tuple[float, float, float]) -> Estimate:
    """Write a site in `folder` with its shots on a `plane`, and return its estimate."""
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "book.toml").write_text(BOOK, encoding="utf-8")
    rows = ["point,northing,easting,elevation"]
    for number, pair in enumerate(shots.split(), 1):
        east, north = map(float, pair.split(","))
        height = plane[0] + plane[1] * east + plane[2] * north
        rows.append(f"{number},{800 + north:.3f},{500 + east:.3f},{height:.6f}")
    (folder / "shots.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    opened = open_site(folder)
    return make_estimate(opened, load_ground(opened))


@pytest.fixture(scope="session")
def bent(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The estimate of a yard with two bends, upright walls, a turned pit, valves, drains and its own prices."""
    return estimated(tmp_path_factory.mktemp("bent"), BENT, BENT_SHOTS, (50.0, 0.03, 0.05))


@pytest.fixture(scope="session")
def sloped(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The estimate of a yard with one straight line from the upper end, walls of 0.5 and 1.0, an own pipe."""
    return estimated(tmp_path_factory.mktemp("sloped"), SLOPED, SLOPED_SHOTS, (60.0, 0.05, -0.06))


@pytest.fixture(scope="session")
def rated(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Estimate]:
    """Return a function that estimates the sloped yard with another rating of its pipe."""

    def run(rating: str) -> Estimate:
        site = SLOPED.replace('rating = "60 kPa"', f'rating = "{rating}"')
        return estimated(tmp_path_factory.mktemp("rated"), site, SLOPED_SHOTS, (60.0, 0.05, -0.06))

    return run
