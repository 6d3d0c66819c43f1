"""Scene and views as files between the program and its drawing child: arrays only, nothing that can run code."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from terrain.arrays import Floats
from viewer.scene import Label, Look, Mesh, Scene, Tube


class View(NamedTuple):
    """A raw picture (h, w, 3) bytes and the pixels (n, 2), from left and bottom, of `marks_of` the scene."""

    picture: NDArray[np.uint8]
    pixels: Floats


class Views(NamedTuple):
    """The look at the whole and the one close up."""

    whole: View
    close: View


def marks_of(scene: Scene) -> Floats:
    """Return the points (n, 3) metres that are drawn over the picture: labels, foot and tip of north, the pipe."""
    pipe = [tube.points for tube in scene.tubes if tube.name == "pipe"]
    return np.concatenate([np.array([*(label.at for label in scene.labels), *scene.north]), *pipe])


def save_scene(scene: Scene, path: Path) -> None:
    """Write `scene` to `path` (.npz)."""
    arrays: dict[str, NDArray[np.generic]] = {}
    for i, mesh in enumerate(scene.meshes):
        arrays |= {f"mesh{i}_v": mesh.vertices, f"mesh{i}_t": mesh.triangles, f"mesh{i}_c": mesh.colours}
    for i, tube in enumerate(scene.tubes):
        arrays[f"tube{i}"] = tube.points
    told = {
        "title": scene.title,
        "meshes": [[mesh.name, mesh.opacity] for mesh in scene.meshes],
        "tubes": [[tube.name, tube.radius, tube.true_radius, tube.colour] for tube in scene.tubes],
        "labels": [[label.text, label.at] for label in scene.labels],
        "looks": [[look.at, look.heading, look.height, look.width] for look in (scene.whole, scene.close)],
        "north": scene.north,
        "exaggeration": scene.exaggeration,
        "remarks": scene.remarks,
        "example": scene.example,
        "caption": scene.caption,
    }
    words = np.frombuffer(json.dumps(told).encode(), dtype=np.uint8)
    np.savez(path, allow_pickle=False, told=words, **arrays)


def load_scene(path: Path) -> Scene:
    """Return the scene that `save_scene` wrote to `path`."""
    with np.load(path, allow_pickle=False) as file:
        arrays: Mapping[str, NDArray[np.generic]] = {name: file[name] for name in file.files}
    told = json.loads(bytes(np.asarray(arrays["told"], dtype=np.uint8)))
    meshes = [
        Mesh(
            name,
            np.asarray(arrays[f"mesh{i}_v"], dtype=np.float64),
            np.asarray(arrays[f"mesh{i}_t"], dtype=np.int32),
            np.asarray(arrays[f"mesh{i}_c"], dtype=np.uint8),
            opacity,
        )
        for i, (name, opacity) in enumerate(told["meshes"])
    ]
    tubes = [
        Tube(
            name, np.asarray(arrays[f"tube{i}"], dtype=np.float64), radius, true, (colour[0], colour[1], colour[2])
        )
        for i, (name, radius, true, colour) in enumerate(told["tubes"])
    ]
    whole, close = (Look((at[0], at[1], at[2]), *rest) for at, *rest in told["looks"])
    return Scene(
        title=told["title"],
        meshes=tuple(meshes),
        tubes=tuple(tubes),
        labels=tuple(Label(text, (at[0], at[1], at[2])) for text, at in told["labels"]),
        whole=whole,
        close=close,
        north=((*told["north"][0],), (*told["north"][1],)),
        exaggeration=told["exaggeration"],
        remarks=tuple(told["remarks"]),
        example=told["example"],
        caption=told["caption"],
    )


def save_views(whole: View, close: View, path: Path) -> None:
    """Write the views `whole` and `close` to `path` (.npz)."""
    np.savez(
        path,
        allow_pickle=False,
        whole=whole.picture,
        whole_pixels=whole.pixels,
        close=close.picture,
        close_pixels=close.pixels,
    )


def load_views(path: Path) -> Views | str:
    """Return the views that `save_views` wrote to `path`, or why there are none."""
    if not path.is_file():
        return "it drew nothing"
    try:
        with np.load(path, allow_pickle=False) as file:
            return Views(View(file["whole"], file["whole_pixels"]), View(file["close"], file["close_pixels"]))
    except (OSError, ValueError, KeyError, BadZipFile) as error:
        return f"its picture cannot be read, {type(error).__name__}"
