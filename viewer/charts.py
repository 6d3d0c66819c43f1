"""The charts as files: plan and profile of an estimate as PNG, the same bytes for the same estimate."""

from pathlib import Path
from typing import TYPE_CHECKING

from estimate.record import Estimate
from viewer.board import drawing_style, new_sheet, save

if TYPE_CHECKING:
    from terrain.ground import Ground


def plan_chart(estimate: Estimate, ground: "Ground", path: Path) -> None:
    """Write the plan of `estimate` over `ground` to `path`, letter landscape at 150 dots an inch.

    Raises:
        StorageError: the file cannot be written.
    """
    from viewer.plan_chart import draw_plan

    with drawing_style():
        sheet = new_sheet()
        draw_plan(sheet, estimate, ground)
        save(sheet, path)


def profile_chart(estimate: Estimate, path: Path) -> None:
    """Write the profile of `estimate` to `path`, letter landscape at 150 dots an inch.

    Raises:
        StorageError: the file cannot be written.
    """
    from viewer.profile_chart import draw_profile

    with drawing_style():
        sheet = new_sheet()
        draw_profile(sheet, estimate)
        save(sheet, path)
