"""The commands about a survey alone: ground states what it holds, levels reduces a level book."""

import math
from pathlib import Path
from typing import TYPE_CHECKING

from terrain.files import recover
from viewer.progress import CommandWatch
from viewer.results import RESULTS

if TYPE_CHECKING:
    from terrain.ground import Ground


def state_ground(survey: str, unit: str = "") -> None:
    """Print what the survey file, or that of a site folder, holds; `unit` is the user's word on its unit.

    Raises:
        InputError: it cannot be read.
    """
    place = Path(survey)
    with CommandWatch() as watch:
        if place.is_dir():
            recover(place / RESULTS)
            from estimate.plan import load_ground
            from estimate.site import open_site

            ground = load_ground(open_site(place), watch)
        else:
            from terrain.build import build_ground
            from terrain.readers import ReadOptions, read_survey
            from terrain.units import length_unit

            options = ReadOptions(horizontal_unit=length_unit(unit, "--unit") if unit else None)
            ground = build_ground(read_survey(place, options, watch), watch=watch)
    print(statement(ground))


def statement(ground: "Ground") -> str:
    """Return the lines that say what a ground holds, in the survey's own units."""
    from terrain.ground import plan_area, to_survey

    corners = to_survey(ground, ground.vertices)
    low, high = corners.min(axis=0), corners.max(axis=0)
    across, up = ground.horizontal, ground.vertical
    area = plan_area(ground) / across.metres**2
    known = math.isfinite(ground.accuracy)
    accuracy = f"{ground.accuracy / up.metres:.2g} {up.name}" if known else "not known"
    lines = [
        f"{ground.source}: {ground.kind}, {len(corners):,} points, {len(ground.triangles):,} triangles",
        f"  units      horizontal {across.name}, vertical {up.name}",
        f"  easting    {low[0]:.2f} to {high[0]:.2f}",
        f"  northing   {low[1]:.2f} to {high[1]:.2f}",
        f"  elevation  {low[2]:.2f} to {high[2]:.2f}",
        f"  area       {area:,.0f} {across.name}2, {len(corners) / area:.3g} points/{across.name}2",
        f"  accuracy   {accuracy}, one standard error of an elevation",
    ]
    lines += [f"  {note}" for note in (*ground.notes, *ground.assumptions)]
    return "\n".join([*lines, *(f"  warning: {words}" for words in ground.warnings)])
