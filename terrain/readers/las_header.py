"""Header of a LAS or LAZ file, checked against the file's size before any decoder sees it."""

import math
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from terrain.errors import StorageError, SurveyError

SHORTEST = 227
"""Bytes of the shortest header, that of version 1.0."""
LEAST_RECORD = (20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67)
"""Bytes of a point of each format 0 to 10 without extra bytes. Source: ASPRS LAS 1.4 R15, point data records."""
MOST_PACKED = 2000
"""Most points a compressed file can hold for each byte of it, far above what is met."""


@dataclass(frozen=True, slots=True)
class LasHeader:
    """What the header says: point count, format, whether compressed, and the box (6,) in the file's units.

    `trailing` is how many more points than `count` the bytes of an old uncompressed file could hold.
    """

    count: int
    point_format: int
    compressed: bool
    box: tuple[float, float, float, float, float, float]
    trailing: int = 0


def read_header(path: Path) -> LasHeader:
    """Return the header of the LAS or LAZ file at `path`.

    Raises:
        SurveyError: not a LAS file, damaged, without points, or shorter than its header says.
        StorageError: the file cannot be read.
    """
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            raw = file.read(375)
            end = _extended_end(file, raw, size)
    except OSError as broken:
        raise StorageError(str(path), str(broken), "a file that can be read") from broken
    if raw[:4] != b"LASF":
        raise SurveyError(path.name, "a file that does not begin as LAS", "a LAS or LAZ scan", "export it again")
    if len(raw) < SHORTEST or end > size:
        raise cut_off(path.name, f"{size:,} of at least {max(end, SHORTEST):,} bytes")
    return _checked(raw, size, path.name)


def _extended_end(file: BinaryIO, raw: bytes, size: int) -> int:
    """Return the byte at which the records after the points end, as far as the file can be followed."""
    if len(raw) < 375 or raw[25] < 4:
        return 0
    place, records = struct.unpack_from("<QI", raw, 235)
    for _ in range(records):
        if place + 60 > size:
            return int(place + 60)
        file.seek(place)
        place += 60 + struct.unpack_from("<Q", file.read(60), 20)[0]
    return int(place) if records else 0


def _checked(raw: bytes, size: int, source: str) -> LasHeader:
    minor = raw[25]
    header_size, offset, blocks = struct.unpack_from("<HII", raw, 94)
    packed_format, record = struct.unpack_from("<BH", raw, 104)
    count = int(struct.unpack_from("<I", raw, 107)[0])
    scales = struct.unpack_from("<6d", raw, 131)
    east, west, north, south, top, bottom = struct.unpack_from("<6d", raw, 179)
    if minor >= 4 and len(raw) >= 375:
        count = int(struct.unpack_from("<Q", raw, 247)[0])
    point_format = packed_format & 0x3F
    compressed = bool(packed_format & 0xC0)
    box = (west, south, bottom, east, north, top)
    if raw[24] != 1 or minor > 4 or point_format >= len(LEAST_RECORD) or header_size < SHORTEST:
        raise damaged(source, f"version {raw[24]}.{minor}, point format {point_format}")
    if record < LEAST_RECORD[point_format] or offset < header_size + 54 * blocks:
        raise damaged(source, f"records of {record} bytes that begin at byte {offset}")
    if not all(map(math.isfinite, scales + box)) or min(scales[:3]) <= 0.0:
        raise damaged(source, "scale or box that are no sensible numbers")
    if count == 0:
        raise SurveyError(source, "a scan without points", "at least three points", "export the scan again")
    if offset >= size or (not compressed and offset + count * record > size):
        whole = offset + count * record
        raise cut_off(source, f"{size:,} of {whole:,} bytes")
    if compressed and count > MOST_PACKED * size:
        raise damaged(source, f"{count:,} points said to be in {size:,} bytes")
    trailing = 0 if compressed or minor >= 3 else (size - offset) // record - count
    return LasHeader(count, point_format, compressed, box, trailing)


def cut_off(source: str, found: str) -> SurveyError:
    """Return the error for a scan that ends before its header says."""
    return SurveyError(source, f"a scan cut off: {found}", "the whole scan", "copy or download the file again")


def damaged(source: str, found: str) -> SurveyError:
    """Return the error for a scan whose bytes make no sense."""
    return SurveyError(source, f"a damaged scan: {found}", "a whole LAS or LAZ file", "copy or export it again")
