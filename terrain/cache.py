"""Cache of triangulated grounds in the user's own cache folder; a damaged or missing entry is only slower.

The key is the SHA-256 of the survey's bytes, its name, what the user said to the reader, and the text of all of
`terrain`: after any change of a reader, or of what follows it, the ground is made anew.
"""

import hashlib
import io
import json
import os
from pathlib import Path

import numpy as np

from terrain.build import build_ground
from terrain.compiled import text_digest
from terrain.errors import StorageError
from terrain.files import write_bytes
from terrain.ground import Ground
from terrain.readers import ReadOptions, check_file, read_survey
from terrain.units import LengthUnit
from terrain.watch import SILENT, Watch

LIMIT = 1_000_000_000
"""Most bytes the cache keeps; the entries longest unused go first."""
TEXTS = ("notes", "assumptions", "warnings")
"""The sentences of a ground that are kept."""


def cache_folder() -> Path:
    """Return the folder of the cache: MATTOCK_CACHE where set, else the system's place for caches."""
    named = os.environ.get("MATTOCK_CACHE")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("mattock", appauthor=False))


def cached_ground(path: Path, options: ReadOptions | None = None, watch: Watch = SILENT) -> Ground:
    """Return the ground of the survey at `path`, from the cache where the same file was read the same way before.

    Raises:
        SurveyError: the survey cannot be read, or makes no surface.
        UnitsError: units missing or contradicting each other.
        StorageError: the survey file cannot be opened; a cache that cannot be written is passed over.
        Cancelled: by `watch`.
    """
    check_file(path)
    wish = options or ReadOptions()
    entry = cache_folder() / f"{_key(path, wish)}.npz"
    ground = _load(entry)
    if ground is None:
        ground = build_ground(read_survey(path, wish, watch), watch=watch)
        _keep(entry, ground)
    return ground


def _key(path: Path, options: ReadOptions) -> str:
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256")
    except OSError as broken:
        raise StorageError(str(path), str(broken), "a file that can be read") from broken
    digest.update(repr((path.name, options, text_digest(Path(__file__).parent))).encode())
    return digest.hexdigest()


def pack(ground: Ground) -> bytes:
    """Return `ground` as the bytes of one cache entry."""
    words = {
        "made_by": text_digest(Path(__file__).parent),
        "origin": ground.origin,
        "horizontal": [ground.horizontal.name, ground.horizontal.metres],
        "vertical": [ground.vertical.name, ground.vertical.metres],
        "source": ground.source,
        "kind": ground.kind,
        "accuracy": ground.accuracy,
        "extent": [ground.area, ground.lowest, ground.highest],
    } | {name: getattr(ground, name) for name in TEXTS}
    file = io.BytesIO()
    np.savez(
        file,
        words=np.frombuffer(json.dumps(words).encode(), dtype=np.uint8),
        vertices=ground.vertices,
        triangles=ground.triangles,
        neighbours=ground.neighbours,
        point=ground.point,
    )
    return file.getvalue()


def unpack(content: bytes) -> Ground:
    """Return the ground in the bytes of one cache entry.

    Raises:
        ValueError: the bytes are damaged, or made by another version of `terrain`.
    """
    with np.load(io.BytesIO(content), allow_pickle=False) as arrays:
        words = json.loads(arrays["words"].tobytes())
        vertices, triangles = arrays["vertices"], arrays["triangles"]
        neighbours, point = arrays["neighbours"], arrays["point"]
    sound = (
        words["made_by"] == text_digest(Path(__file__).parent)
        and (vertices.dtype, triangles.dtype, neighbours.dtype) == (np.float64, np.int32, np.int32)
        and vertices.shape == (len(point), 3)
        and triangles.shape == neighbours.shape == (len(triangles), 3)
        and len(triangles) > 0
        and 0 <= triangles.min() <= triangles.max() < len(vertices)
        and -1 <= neighbours.min() <= neighbours.max() < len(triangles)
    )
    if not sound:
        raise ValueError("arrays that do not fit together")
    return Ground(
        vertices,
        triangles,
        neighbours,
        (float(words["origin"][0]), float(words["origin"][1]), float(words["origin"][2])),
        LengthUnit(*words["horizontal"]),
        LengthUnit(*words["vertical"]),
        words["source"],
        words["kind"],
        words["accuracy"],
        tuple(words["notes"]),
        tuple(words["assumptions"]),
        tuple(words["warnings"]),
        point,
        area=float(words["extent"][0]),
        lowest=float(words["extent"][1]),
        highest=float(words["extent"][2]),
    )


def _load(entry: Path) -> Ground | None:
    """Return the ground kept in `entry`, or None where it is absent or damaged."""
    try:
        ground = unpack(entry.read_bytes())
        os.utime(entry)
    except FileNotFoundError:
        return None
    except Exception:  # whatever a damaged entry makes the decoder raise, it is as good as absent
        return None
    return ground


def _keep(entry: Path, ground: Ground) -> None:
    """Write `entry` and remove the oldest ones beyond the limit; a cache that cannot be written is passed over."""
    try:
        entry.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(entry, pack(ground))
        trim(entry.parent, LIMIT)
    except (OSError, StorageError):
        return


def trim(folder: Path, limit: int) -> None:
    """Remove entries of the cache `folder`, longest unused first, until they hold no more than `limit` bytes."""
    entries = []
    for path in folder.glob("*.npz"):
        try:
            facts = path.stat()
        except OSError:
            continue
        entries.append((facts.st_mtime, facts.st_size, path))
    total = sum(size for _, size, _ in entries)
    for _, size, path in sorted(entries):
        if total <= limit:
            return
        path.unlink(missing_ok=True)
        total -= size
