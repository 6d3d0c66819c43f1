"""Reader of LAS and LAZ scans, COPC among them; the only file that knows the decoding library."""

from dataclasses import replace
from pathlib import Path

import laspy
import numpy as np

from terrain.arrays import Flags, Floats
from terrain.errors import InputError, MattockError, SurveyError
from terrain.points import SurveyPoints, survey_points
from terrain.readers.las_header import LasHeader, cut_off, damaged, read_header
from terrain.readers.las_units import Said, choose_units, merge, plausibility, said_by_keys, said_by_wkt
from terrain.readers.options import ReadOptions
from terrain.watch import Watch

GROUND = 2
"""Class of bare ground. Source: ASPRS LAS 1.4 R15, standard point classes."""
NOISE = (7, 18)
"""Classes of low and high noise. Source: ASPRS LAS 1.4 R15, standard point classes."""
CHUNK = 500_000
"""Points decoded between two steps of the watch."""
WANTED = (
    laspy.DecompressionSelection.XY_RETURNS_CHANNEL
    | laspy.DecompressionSelection.Z
    | laspy.DecompressionSelection.CLASSIFICATION
    | laspy.DecompressionSelection.FLAGS
)
"""The parts of a point that are decoded."""


def read_las(path: Path, options: ReadOptions, watch: Watch) -> SurveyPoints:
    """Return the ground points of a scan, or all but noise where `options.keep` is "all".

    Raises:
        SurveyError: damaged, cut off, in degrees, or without points classed as ground.
        UnitsError: neither the file nor the user says the unit.
        StorageError: the file cannot be read.
        Cancelled: by `watch`.
    """
    header = read_header(path)
    try:
        said, kept, seen = _decode(path, header, options, watch)
    except (KeyboardInterrupt, SystemExit, MattockError):
        raise
    except BaseException as broken:  # the decoder panics past Exception on damaged bytes
        raise damaged(path.name, f"{type(broken).__name__}: {broken}") from broken
    faults: list[InputError] = []
    if len(kept) == 0:
        faults.append(_unclassified(path.name, header, options))
    box = (*kept.min(axis=0), *kept.max(axis=0)) if len(kept) else header.box
    try:
        units = choose_units(said, tuple(float(edge) for edge in box), options, path.name)
    except InputError as fault:
        raise type(fault)(fault.where, fault.found, fault.expected, fault.remedy, faults) from fault
    if faults:
        raise faults[0]
    notes = (seen, *units.notes)
    told = (notes, units.assumptions)
    points = survey_points(kept, units.horizontal, units.vertical, path.name, "lidar", options.accuracy, *told)
    span = tuple(float(side) for side in np.ptp(points.coordinates, axis=0))
    warnings = plausibility((span[0], span[1], span[2]), len(kept))
    return replace(points, warnings=warnings + _doubtful(kept, header))


def _decode(path: Path, header: LasHeader, options: ReadOptions, watch: Watch) -> tuple[Said, Floats, str]:
    """Return what the file says of units, the kept coordinates (n, 3) in its units, and what was kept."""
    pieces = []
    read = withheld = 0
    with laspy.open(path, decompression_selection=WANTED) as reader:
        said = _said(reader.header)
        watch.step("reading the scan", 0, header.count)
        for points in reader.chunk_iterator(CHUNK):
            read += len(points)
            keep, dropped = _wanted(points, options)
            withheld += dropped
            axes = (np.asarray(points.x)[keep], np.asarray(points.y)[keep], np.asarray(points.z)[keep])
            pieces.append(np.column_stack(axes))
            watch.step("reading the scan", read, header.count)
    if read != header.count:
        raise cut_off(path.name, f"{read:,} of {header.count:,} points")
    kept = np.concatenate(pieces)
    which = "classed as ground kept" if options.keep == "ground" else "kept whatever their class, but for noise"
    aside = f", {withheld:,} withheld or noise left out" if withheld else ""
    return said, kept, f"{len(kept):,} of {read:,} points {which}{aside}"


def _wanted(points: "laspy.ScaleAwarePointRecord", options: ReadOptions) -> tuple[Flags, int]:
    """Return which points to keep, and how many were dropped as withheld or noise though otherwise wanted."""
    classes = np.asarray(points.classification)
    refused = np.isin(classes, NOISE) | np.asarray(points.withheld).astype(np.bool_)
    wanted = np.ones(len(classes), dtype=np.bool_) if options.keep == "all" else classes == GROUND
    return np.asarray(wanted & ~refused), int((wanted & refused).sum())


def _said(header: "laspy.LasHeader") -> Said:
    """Return what the records of the file say of its units."""
    wkt: Said | None = None
    keys: dict[int, int] = {}
    sizes: dict[int, float] = {}
    places: dict[int, int] = {}
    doubles: list[float] = []
    records = [*header.vlrs, *(header.evlrs or [])]
    for record in records:
        if isinstance(record, laspy.vlrs.known.WktCoordinateSystemVlr) and wkt is None:
            text = record.string.strip("\0 \n")
            wkt = said_by_wkt(text) if text else None
        elif isinstance(record, laspy.vlrs.known.GeoKeyDirectoryVlr):
            keys = {key.id: key.value_offset for key in record.geo_keys if key.tiff_tag_location == 0}
            places = {key.id: key.value_offset for key in record.geo_keys if key.tiff_tag_location == 34736}
        elif isinstance(record, laspy.vlrs.known.GeoDoubleParamsVlr):
            doubles = [float(getattr(number, "value", number)) for number in record.doubles]
    for key, place in places.items():
        if place < len(doubles):
            sizes[key] = doubles[place]
    return merge(wkt, said_by_keys(keys, sizes) if keys else None)


def _unclassified(source: str, header: LasHeader, options: ReadOptions) -> SurveyError:
    if options.keep == "all":
        return SurveyError(source, "only withheld points and noise", "points to keep", "export the scan again")
    return SurveyError(
        source,
        f"{header.count:,} points and none classed as ground",
        "a scan with bare ground in class 2",
        'classify the scan, or set keep = "all" to take every point as ground',
    )


def _doubtful(kept: Floats, header: LasHeader) -> tuple[str, ...]:
    """Return warnings where points and header disagree, a sign of damage."""
    warnings = []
    if header.trailing > 0:
        warnings.append(
            f"the scan has bytes for {header.trailing:,} more points than its header counts: it may be damaged"
        )
    low, high = np.array(header.box[:3]), np.array(header.box[3:])
    slack = 0.01 * np.maximum(high - low, 1.0)
    count = int(((kept < low - slack) | (kept > high + slack)).any(axis=1).sum())
    if count:
        warnings.append(f"{count:,} points lie outside the box that the scan's header states: it may be damaged")
    return tuple(warnings)
