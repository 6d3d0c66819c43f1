"""`mattock demo` as a new user runs it, and its figures against plain second ways of finding them."""

import csv
import hashlib
import itertools
import json
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import laspy
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import LinearNDInterpolator

import sample_scans

Floats = NDArray[np.float64]
Typed = Callable[..., subprocess.CompletedProcess[str]]
FTUS, FT = 1200.0 / 3937.0, 0.3048
DOCUMENTS = {"summary.txt", "quantities.csv", "cut_sheet.csv"}
PICTURES = {"plan.png", "profile.png", "picture.png"}


@dataclass(frozen=True)
class Run:
    """One run of the demo: what was said, where, and the figures it wrote."""

    said: subprocess.CompletedProcess[str]
    folder: Path
    figures: dict[str, Any]  # the JSON as it is


@dataclass(frozen=True)
class Plain:
    """A site as plain numbers in feet: the ground's points, the route, metres in a foot."""

    shots: Floats
    route: Floats
    foot: float


@dataclass(frozen=True)
class Wall:
    """One wall: slope run to rise above an upright part of `rise` feet."""

    slope: float = 0.0
    rise: float = 0.0


@dataclass(frozen=True)
class PlainPit:
    """The pit of the lower structure in feet, and the thickness of topsoil."""

    length: float
    width: float
    floor: float
    wall: Wall
    topsoil: float


COURT_DIG = ((Wall(), Wall()), 1.0, PlainPit(4.0, 3.0, 7080.30, Wall(0.5, 1.5), 4.0 / 12.0))
YARD_DIG = ((Wall(0.75, 1.0), Wall(0.5)), 10.0 / 12.0, PlainPit(3.0, 3.0, 99.60, Wall(0.75), 0.5))


def plain(ground: Floats, route: Floats, corner: tuple[float, float], foot: float) -> Plain:
    """Return a site whose `route` is told from its `corner`."""
    return Plain(ground, route + np.array(corner), foot)


def scan(path: Path) -> Floats:
    """Return the points (n, 3) feet that the scan calls ground."""
    file = laspy.read(path)
    kept: Floats = np.asarray(file.xyz, dtype=np.float64)[np.asarray(file.classification) == 2]
    return kept


def shots(path: Path) -> Floats:
    """Return the shots (n, 3) feet of a CSV."""
    with path.open(encoding="utf-8") as file:
        rows = csv.DictReader(file)
        return np.array([[float(row[name]) for name in ("easting", "northing", "elevation")] for row in rows])


COURT = plain(
    scan(sample_scans.folder("juniper-court") / "survey" / "4_6_crop.las"),
    np.array([[30, 112], [44, 112], [57, 98], [72, 86], [88, 62], [110, 50], [126, 34.0]]),
    (1639600.0, 1454500.0),
    FTUS,
)
YARD = plain(
    shots(sample_scans.folder("steep-yard") / "survey" / "shots.csv"),
    np.array([[10, 8], [20, 16], [46, 22], [70, 28], [80, 46.0]]),
    (1000.0, 5000.0),
    FT,
)


def profile_of(site: Plain, step: float = 0.002) -> tuple[Floats, Floats]:
    """Return stations and ground elevations (k,) feet, found by interpolation each `step` feet."""
    middle = site.shots[:, :2].mean(axis=0)
    surface = LinearNDInterpolator(site.shots[:, :2] - middle, site.shots[:, 2])
    corners = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(site.route, axis=0).T))])
    station = np.append(np.arange(0.0, corners[-1], step), corners[-1])
    plan = np.column_stack([np.interp(station, corners, site.route[:, axis]) for axis in (0, 1)])
    return station, np.asarray(surface(plan - middle), dtype=np.float64)


@pytest.fixture(scope="module")
def court_run(tmp_path_factory: pytest.TempPathFactory, typed: Typed) -> Run:
    folder = tmp_path_factory.mktemp("a yard, naïve and été") / "demo yard"
    said = typed(folder.parent, "demo", folder.name, LANG="C", LC_ALL="C")
    return Run(said, folder, json.loads((folder / "results" / "estimate.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def yard_run(tmp_path_factory: pytest.TempPathFactory, typed: Typed) -> Run:
    folder = tmp_path_factory.mktemp("steep") / "yard"
    said = typed(folder.parent, "demo", folder.name, "--site", "steep-yard", "--no-pictures")
    return Run(said, folder, json.loads((folder / "results" / "estimate.json").read_text(encoding="utf-8")))


def test_the_demo_is_done_and_says_what_matters(court_run: Run) -> None:
    assert court_run.said.returncode == 0, court_run.said.stderr
    assert "Juniper Court" in court_run.said.stdout
    for word in ("drain", "lift", "winter", "total"):
        assert word in court_run.said.stdout.lower(), word


def test_every_document_is_there_and_named_with_its_hash(court_run: Run) -> None:
    results = court_run.folder / "results"
    assert {path.name for path in results.iterdir()} == DOCUMENTS | PICTURES | {"estimate.json"}
    for name, digest in court_run.figures["files"].items():
        assert hashlib.sha256((results / name).read_bytes()).hexdigest() == digest
    assert set(court_run.figures["files"]) == DOCUMENTS | PICTURES
    for name in PICTURES:
        assert (results / name).read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("name", ["court", "yard"])
def test_lengths_lift_and_ends(name: str, request: pytest.FixtureRequest) -> None:
    run: Run = request.getfixturevalue(f"{name}_run")
    site, lift = (COURT, 7.40) if name == "court" else (YARD, 9.20)
    station, ground = profile_of(site)
    route = run.figures["route"]
    assert route["plan_length_m"] == pytest.approx(station[-1] * site.foot, rel=1e-12)
    sampled = np.hypot(np.diff(station), np.diff(ground)).sum() * site.foot  # a little short: corners are cut
    assert sampled <= route["ground_length_m"] <= sampled * (1.0 + 1e-5)
    assert run.figures["lift"]["static_m"] == pytest.approx(lift * site.foot, abs=1e-9)
    profile = run.figures["profile"]
    assert profile["ground_m"][0] == pytest.approx(ground[0] * site.foot, abs=1e-6)
    assert profile["ground_m"][-1] == pytest.approx(ground[-1] * site.foot, abs=1e-6)
    between = np.interp(station * site.foot, profile["station_m"], profile["ground_m"])
    assert np.abs(between - ground * site.foot).max() < 1e-6


@pytest.mark.parametrize("name", ["court", "yard"])
def test_a_drain_stands_at_each_dip_of_the_ground(name: str, request: pytest.FixtureRequest) -> None:
    run: Run = request.getfixturevalue(f"{name}_run")
    site, dips = (COURT, (29.0,)) if name == "court" else (YARD, (21.0, 53.5))
    station, ground = profile_of(site)
    drains = [one["station_m"] / site.foot for one in run.figures["drains"]]
    for dip in dips:
        near = np.abs(station - dip) < 4.0
        lowest = station[near][ground[near].argmin()]
        assert lowest == pytest.approx(dip, abs=0.6)
        assert min(abs(lowest - one) for one in drains) < 0.6
    held = sum(one["held_l"] for one in run.figures["drains"])
    assert 0.0 < held < run.figures["pipe"]["inside_l"] * 1.000001


def test_the_steep_yard_has_two_dips_and_the_court_one(court_run: Run, yard_run: Run) -> None:
    assert len(yard_run.figures["drains"]) == 2
    assert len(court_run.figures["low_points"]) >= 1


def trench_over(site: Plain, run: Run, plan: Floats, walls: tuple[Wall, Wall], width: float) -> Floats:
    """Return the lowest dug elevation (k,) feet of the line at `plan` (k, 2) feet, infinite elsewhere."""
    profile = run.figures["profile"]
    along, floors = (np.array(profile[name]) / site.foot for name in ("station_m", "floor_m"))
    steps = np.diff(site.route, axis=0)
    length = np.hypot(*steps.T)
    heading = steps / length[:, None]
    start = np.concatenate([[0.0], np.cumsum(length)])
    lowest = np.full(len(plan), np.inf)
    for index, towards in enumerate(heading):
        away = plan - site.route[index]
        forward = away @ towards
        aside = away @ np.array([-towards[1], towards[0]])
        within = np.ones(len(plan), dtype=bool)
        for corner, sign in ((index, 1.0), (index + 1, -1.0)):
            other = heading[min(max(corner - 1, 0), len(heading) - 1)]
            middle = towards if corner in (0, len(heading)) else heading[corner] + other
            within &= sign * ((plan - site.route[corner]) @ middle) >= 0.0
        floor = np.interp(start[index] + forward, along, floors)
        for side, wall in zip((aside, -aside), walls, strict=True):
            floor = floor + rise_beyond(side - 0.5 * width, wall)
        lowest[within] = np.minimum(lowest[within], floor[within])
    return lowest


def rise_beyond(beyond: Floats, wall: Wall) -> Floats:
    """Return how far (k,) a wall stands above the floor's edge at distances `beyond` it."""
    if wall.slope == 0.0:
        return np.where(beyond > 0.0, np.inf, 0.0)
    return np.where(beyond > 0.0, wall.rise + beyond / wall.slope, 0.0)


def pit_over(site: Plain, plan: Floats, pit: PlainPit) -> Floats:
    """Return the dug elevation (k,) feet of the pit about the route's first point."""
    towards = site.route[1] - site.route[0]
    towards = towards / np.hypot(*towards)
    away = plan - site.route[0]
    forward = np.abs(away @ towards) - 0.5 * pit.length
    aside = np.abs(away @ np.array([-towards[1], towards[0]])) - 0.5 * pit.width
    return pit.floor + rise_beyond(np.maximum(forward, aside), pit.wall)


@pytest.mark.parametrize("name", ["court", "yard"])
def test_the_volume_against_a_grid(name: str, request: pytest.FixtureRequest) -> None:
    """Sum of depths over squares of 0.05 ft, nearest to bends and walls the coarsest; agrees within 0.3 percent."""
    run: Run = request.getfixturevalue(f"{name}_run")
    site, walls, width, pit = (COURT, *COURT_DIG) if name == "court" else (YARD, *YARD_DIG)
    cell, margin = 0.05, 6.0
    middle = site.shots[:, :2].mean(axis=0)
    surface = LinearNDInterpolator(site.shots[:, :2] - middle, site.shots[:, 2])
    low, high = site.route.min(axis=0) - margin, site.route.max(axis=0) + margin
    total = topsoil = area = 0.0
    northings = np.arange(low[1], high[1], cell) + 0.5 * cell
    for band in np.array_split(np.arange(low[0], high[0], cell) + 0.5 * cell, 40):
        plan = np.stack(np.meshgrid(band, northings, indexing="ij"), axis=-1).reshape(-1, 2)
        plan = plan[near_route(site.route, plan, margin)]
        dug = np.minimum(trench_over(site, run, plan, walls, width), pit_over(site, plan, pit))
        plan, dug = plan[np.isfinite(dug)], dug[np.isfinite(dug)]
        depth = np.maximum(np.nan_to_num(surface(plan - middle) - dug), 0.0)
        total += depth.sum() * cell**2
        area += (depth > 0.0).sum() * cell**2
        topsoil += np.minimum(depth, pit.topsoil).sum() * cell**2
    dig = run.figures["dig"]
    assert dig["bank_m3"] == pytest.approx(total * site.foot**3, rel=3e-3)
    assert dig["area_m2"] == pytest.approx(area * site.foot**2, rel=3e-3)
    assert dig["layers_m3"]["topsoil"] == pytest.approx(topsoil * site.foot**3, rel=3e-3)


def near_route(route: Floats, plan: Floats, reach: float) -> NDArray[np.bool_]:
    """Return which of `plan` (k, 2) lie within `reach` of the route."""
    near = np.zeros(len(plan), dtype=bool)
    for start, end in itertools.pairwise(route):
        step = end - start
        share = np.clip((plan - start) @ step / (step @ step), 0.0, 1.0)
        near |= np.hypot(*(plan - start - share[:, None] * step).T) < reach
    return near
