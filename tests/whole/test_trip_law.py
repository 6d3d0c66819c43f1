"""The whole-trip law: units, place, heading, direction and order of points change no figure of the answer."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from estimate.plan import load_ground, make_estimate
from estimate.record import Estimate
from estimate.site import open_site
from estimate.site_template import template_text

Floats = NDArray[np.float64]
FOOT = 0.3048
GRID = 1024.0  # coordinates are whole multiples of 1/1024 ft, so that a shift by whole feet is exact


@dataclass(frozen=True)
class Yard:
    """One yard in feet: shots (n, 3), route (k, 2), and how its folder is written."""

    shots: Floats
    route: Floats
    starts_at: str = "lower"
    drain_at: float = 70.0
    walls: tuple[float, float] = (0.5, 1.25)  # slopes left and right
    metric: bool = False


def base_yard() -> Yard:
    rng = np.random.default_rng(20260)
    plan = np.unique(np.round(rng.uniform(0.0, 130.0, (420, 2)) * GRID) / GRID, axis=0)
    east, north = plan.T
    height = 96.0 + 0.06 * east + 1.4 * np.sin(east / 11.0) * np.cos(north / 17.0) + 0.4 * np.sin(north / 5.0)
    shots = np.column_stack([plan, np.round(height * GRID) / GRID])
    route = np.array([[18.25, 22.5], [40.5, 31.125], [58.75, 70.25], [93.5, 84.0], [112.25, 104.5]])
    return Yard(rng.permutation(shots), route)


def random_yard(seed: int) -> Yard:
    """Return a rough yard with a bank across it, a crooked route that may cross itself, and unequal walls."""
    rng = np.random.default_rng([seed, 41])
    plan = np.unique(np.round(rng.uniform(0.0, 130.0, (400, 2)) * GRID) / GRID, axis=0)
    east, north = plan.T
    waves = rng.uniform(0.2, 1.5, 3)
    height = 96.0 + 0.06 * east + waves[0] * np.sin(east / 11.0 + seed) + waves[1] * np.cos(north / 13.0)
    height += waves[2] * np.tanh((north - rng.uniform(40.0, 90.0)) / 2.0)
    shots = np.column_stack([plan, np.round(height * GRID) / GRID])
    middle = rng.uniform(20.0, 110.0, (int(rng.integers(1, 6)), 2))
    route = np.round(np.vstack([[15.0, 20.0], middle, [112.0, 105.0]]) * GRID) / GRID
    walls = (float(rng.choice([0.0, 0.5, 1.0])), float(rng.choice([0.25, 0.75, 1.5])))
    return Yard(rng.permutation(shots), route, drain_at=float(rng.uniform(5.0, 80.0)), walls=walls)


def length(route: Floats) -> float:
    return float(np.hypot(*np.diff(route, axis=0).T).sum())


def turned(yard: Yard, degrees: float) -> Yard:
    turn = math.radians(degrees)
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    shots = np.column_stack([yard.shots[:, :2] @ matrix, yard.shots[:, 2]])
    return replace(yard, shots=shots, route=yard.route @ matrix)


def shifted(yard: Yard, feet: float) -> Yard:
    return replace(yard, shots=yard.shots + np.array([feet, feet, 0.0]), route=yard.route + feet)


def reversed_route(yard: Yard) -> Yard:
    drain = length(yard.route) - yard.drain_at
    return replace(yard, route=yard.route[::-1], starts_at="upper", drain_at=drain, walls=yard.walls[::-1])


def reordered(yard: Yard) -> Yard:
    return replace(yard, shots=np.random.default_rng(7).permutation(yard.shots))


CHANGES: dict[str, Callable[[Yard], Yard]] = {
    "SI": lambda yard: replace(yard, metric=True),
    "shifted": lambda yard: shifted(yard, 2_400_000.0),
    "turned": lambda yard: turned(yard, 37.0),
    "reversed": reversed_route,
    "reordered": reordered,
    "all at once": lambda yard: replace(
        shifted(reordered(reversed_route(turned(yard, 211.0))), 2_400_000.0), metric=True
    ),
}


def size(yard: Yard, inches: float) -> str:
    """Return a size with the unit of the yard's system."""
    return f'"{inches * 25.4!r} mm"' if yard.metric else f'"{inches!r} in"'


def places_text(yard: Yard) -> str:
    """Return the part of site.toml with coordinates and elevations, bare in the survey's own unit."""
    scale = FOOT if yard.metric else 1.0
    points = ", ".join(f"[{east * scale!r}, {north * scale!r}]" for east, north in yard.route.tolist())
    return f"""
[route]
points = [{points}]
starts_at = "{yard.starts_at}"
[lower]
name = "Vault"
water_level = {96.5 * scale!r}
low_level = {96.0 * scale!r}
winter_level = {96.25 * scale!r}
check_valve = true
[lower.pit]
length = {size(yard, 48)}
width = {size(yard, 36)}
floor = {93.0 * scale!r}
wall = {{ slope = 0.5, rise = {size(yard, 12)} }}
[upper]
name = "Filter"
water_level = {105.0 * scale!r}
winter_level = "empty"
port_elevation = {103.5 * scale!r}
[[drain]]
station = {yard.drain_at * scale!r}
"""


def site_text(yard: Yard) -> str:
    """Return site.toml; sizes carry the unit of the yard's system."""
    head = f'["0 L/s", "{26 * FOOT!r} m"], ["5 L/s", "{8 * FOOT!r} m"]' if yard.metric else ""
    head = head or f'["0 gpm", "26 ft"], ["{5 / 0.003785411784 * 0.06!r} gpm", "8 ft"]'
    return f"""
title = "Law yard"
units = "{"SI" if yard.metric else "US"}"
[survey]
file = "points.csv"
accuracy = {size(yard, 0.6)}
{places_text(yard)}
[pipe]
kind = "PVC Schedule 40"
size = "2"
[trench]
cover = {size(yard, 18)}
width = {size(yard, 12)}
bedding = {size(yard, 3)}
left_wall = {{ slope = {yard.walls[0]} }}
right_wall = {{ slope = {yard.walls[1]} }}
[soil]
topsoil = {size(yard, 5)}
[price]
book = "prices.toml"
[pump]
curve = [{head}]
"""


def run(yard: Yard, folder: Path) -> Estimate:
    scale, unit = (FOOT, "m") if yard.metric else (1.0, "ft")
    rows = [f"point,northing ({unit}),easting ({unit}),elevation ({unit}),description"]
    for number, (east, north, up) in enumerate((yard.shots * scale).tolist(), 1):
        rows.append(f"{number},{north!r},{east!r},{up!r},GS")
    folder.mkdir()
    (folder / "points.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "site.toml").write_text(site_text(yard), encoding="utf-8")
    # The yard names its own book, the same in both systems: where none is named, the shipped example is the one
    # in the site's units, whose round rates per cubic metre are not those per cubic yard.
    (folder / "prices.toml").write_text(template_text("prices.toml", "US"), encoding="utf-8")
    site = open_site(folder)
    return make_estimate(site, load_ground(site))


def figures(answer: Estimate) -> dict[str, float]:
    """Return the fixed names that stand for the same thing whichever way the yard is written."""
    dig, water, route = answer.dig, answer.water, answer.route
    return {
        "route.plan_length_m": route.plan_length_m,
        "route.ground_length_m": route.ground_length_m,
        "route.pipe_length_m": route.pipe_length_m,
        "lift.static_m": answer.lift.static_m,
        "dig.bank_m3": dig.bank_m3,
        "dig.bank_sigma_m3": dig.bank_sigma_m3,
        "dig.loose_m3": dig.loose_m3,
        "dig.area_m2": dig.area_m2,
        "dig.deepest_m": dig.deepest_m,
        "dig.tallest_face_m": dig.tallest_face_m,
        "dig.layers_m3.topsoil": dig.layers_m3.topsoil,
        "dig.layers_m3.earth": dig.layers_m3.earth,
        "dig.layers_m3.rock": dig.layers_m3.rock,
        "dig.bedding_m3": dig.bedding_m3,
        "dig.backfill_m3": dig.backfill_m3,
        "dig.surplus_loose_m3": dig.surplus_loose_m3,
        "dig.loads": dig.loads,
        "pipe.inside_l": answer.pipe.inside_l,
        "water.flow_lps": water.flow_lps,
        "water.total_head_m": water.total_head_m,
        "water.friction_m": water.friction_m,
        "water.fittings_m": water.fittings_m,
        "water.velocity_mps": water.velocity_mps,
        "price.total": answer.price.total,
        "price.low": answer.price.low,
        "price.high": answer.price.high,
        "low points": len(answer.low_points),
        "high points": len(answer.high_points),
        "full stretches": len(answer.full_stretches),
    }


def drains(answer: Estimate, mirrored: bool) -> Floats:
    rows = [(one.station_m, one.invert_m, one.held_l) for one in answer.drains]
    if mirrored:
        rows = [(answer.route.plan_length_m - station, invert, held) for station, invert, held in reversed(rows)]
    return np.array(rows)


@pytest.fixture(scope="module")
def straight(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    return run(base_yard(), tmp_path_factory.mktemp("law") / "base")


def test_the_yard_is_worth_the_law(straight: Estimate) -> None:
    assert straight.dig.bank_m3 > 5.0
    assert len(straight.low_points) >= 1
    assert len(straight.drains) >= 2
    assert len(straight.full_stretches) >= 1
    assert straight.water.flow_lps > 0.5
    assert straight.dig.complete


@pytest.mark.parametrize("change", CHANGES)
def test_nothing_changes(change: str, straight: Estimate, tmp_path: Path) -> None:
    other = run(CHANGES[change](base_yard()), tmp_path / "yard")
    assert figures(other) == pytest.approx(figures(straight), rel=1e-9, abs=1e-9)
    mirrored = change in ("reversed", "all at once")
    np.testing.assert_allclose(drains(other, mirrored), drains(straight, False), rtol=1e-9, atol=1e-9)
    lines, others = straight.price.lines, other.price.lines
    assert [(line.code, line.amount) for line in others] == [(line.code, line.amount) for line in lines]
    np.testing.assert_allclose([line.quantity for line in others], [line.quantity for line in lines], rtol=1e-9)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(60))
def test_nothing_changes_in_random_yards(seed: int, tmp_path: Path) -> None:
    yard = random_yard(seed)
    plain, other = run(yard, tmp_path / "plain"), run(CHANGES["all at once"](yard), tmp_path / "changed")
    assert figures(other) == pytest.approx(figures(plain), rel=1e-9, abs=1e-9)
    np.testing.assert_allclose(drains(other, True), drains(plain, False), rtol=1e-9, atol=1e-8)
