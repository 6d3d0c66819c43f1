"""Readers of survey files, one file a format, each returning one type."""

from pathlib import Path

from terrain.errors import StorageError, SurveyError
from terrain.points import SurveyPoints
from terrain.readers.options import ReadOptions
from terrain.watch import SILENT, Watch

__all__ = ["SUFFIXES", "ReadOptions", "check_file", "read_survey"]

_LIDAR = (".las", ".laz")
_TABLES = (".csv", ".txt", ".tsv", ".xyz", ".pts")
_MESHES = (".ply", ".obj", ".stl", ".glb")
SUFFIXES = _LIDAR + _TABLES + _MESHES
"""File endings that can be read."""


def check_file(path: Path) -> None:
    """Check that a survey file is there, is a file, is not empty, and has a known ending.

    Raises:
        SurveyError: one of these does not hold.
        StorageError: the file cannot be looked at.
    """
    try:
        if not path.exists():
            raise SurveyError(str(path), "no such file", "a survey file", "correct the name or put the file there")
        if not path.is_file():
            raise SurveyError(str(path), "a folder", "a survey file", "name a file in it")
        if path.suffix.lower() not in SUFFIXES:
            known = ", ".join(SUFFIXES)
            raise SurveyError(str(path), f"a file ending in {path.suffix!r}", f"one of {known}", "convert the file")
        if path.stat().st_size == 0:
            raise SurveyError(str(path), "an empty file", "a survey", "export the survey again")
    except OSError as broken:
        raise StorageError(str(path), str(broken), "a file that can be read", "check the permissions") from broken


def read_survey(path: Path, options: ReadOptions | None = None, watch: Watch = SILENT) -> SurveyPoints:
    """Return the points of the survey file at `path`, read as its ending says.

    Raises:
        SurveyError: missing, empty, damaged, cut off, in degrees, of unknown ending, or with bad cells.
        UnitsError: units missing or contradicting each other.
        StorageError: the file cannot be read.
        Cancelled: by `watch`.
    """
    check_file(path)
    wish = options or ReadOptions()
    suffix = path.suffix.lower()
    if suffix in _LIDAR:
        from terrain.readers.las import read_las

        return read_las(path, wish, watch)
    if suffix in _MESHES:
        from terrain.readers.mesh import read_mesh

        return read_mesh(path, wish)
    from terrain.readers.csv_points import points_of_table
    from terrain.readers.stations import stations_of_table
    from terrain.readers.table import read_table

    table = read_table(path)
    return stations_of_table(table, wish) if "station" in table.columns else points_of_table(table, wish)
