"""Who may import whom: one direction, no circles, and each library behind one door."""

import ast
import subprocess
import sys
from collections.abc import Iterator, Mapping
from fnmatch import fnmatch
from pathlib import Path

Imports = Mapping[str, list[str]]

FLOORS = {"terrain": 0, "estimate": 1, "viewer": 2}

DOORS = {
    "laspy": ["terrain.readers.las"],
    "lazrs": ["terrain.readers.las"],
    "pythoncdt": ["terrain.triangles"],
    "numba": ["terrain.compiled"],
    "llvmlite": [],
    "pint": ["terrain.units"],
    "platformdirs": ["terrain.cache"],
    "pyproj": ["terrain.*"],
    "rasterio": ["terrain.readers.*"],
    "trimesh": ["terrain.readers.mesh", "viewer.exchange"],
    "manifold3d": [],
    "fluids": [],
    "pydantic": ["estimate.site"],
    "tomlkit": ["estimate.site*"],
    "pyvista": ["viewer.picture"],
    "vtk": ["viewer.picture"],
    "vtkmodules": ["viewer.picture"],
    "matplotlib": ["viewer.*"],
    "click": ["viewer.command*"],
    "rich": ["viewer.*"],
    "threading": ["viewer.jobs"],
    "multiprocessing": ["viewer.jobs"],
    "concurrent": ["viewer.jobs"],
    "subprocess": ["viewer.jobs", "viewer.picture"],
    "asyncio": [],
    "socket": [],
    "urllib": [],
    "requests": [],
    "pickle": [],
    "pandas": [],
}
"""Which modules may import a library; an empty list means none of the program's."""

PURE = {"time", "random", "secrets", "uuid", "logging"}
"""What the estimate may not look at: the same site gives the same figures at any time."""

HEAVY = [
    "numpy",
    "scipy",
    "pyvista",
    "vtk",
    "matplotlib",
    "numba",
    "shapely",
    "pint",
    "pydantic",
    "laspy",
    "pyproj",
]


def top(name: str) -> str:
    """Return the first part of a dotted name."""
    return name.partition(".")[0]


def inside(imports: Imports) -> dict[str, list[str]]:
    """Return the imports among the program's own modules."""
    return {module: [name for name in names if name in imports] for module, names in imports.items()}


def test_imports_run_from_viewer_to_estimate_to_terrain(imports: Imports) -> None:
    wrong = [
        f"{module} imports {name}"
        for module, names in imports.items()
        for name in names
        if top(module) in FLOORS and top(name) in FLOORS and FLOORS[top(name)] > FLOORS[top(module)]
    ]
    assert wrong == []


def test_every_floor_is_there(imports: Imports) -> None:
    assert {top(module) for module in imports} == {"terrain", "estimate", "viewer", "sample_scans"}


def test_only_viewer_and_tests_import_the_samples(imports: Imports) -> None:
    users = {module for module, names in imports.items() if any(top(name) == "sample_scans" for name in names)}
    assert {top(module) for module in users} <= {"viewer", "sample_scans"}
    own = [name for module in imports if top(module) == "sample_scans" for name in imports[module]]
    assert not {top(name) for name in own} & {"terrain", "estimate", "viewer"}


def test_no_module_of_the_program_imports_tests_or_benchmarks(imports: Imports) -> None:
    wrong = [module for module, names in imports.items() if {top(name) for name in names} & {"tests", "benchmarks"}]
    assert wrong == []


def test_imports_are_absolute(imports: Imports) -> None:
    wrong = [f"{module} imports {name}" for module, names in imports.items() for name in names if name[0] == "."]
    assert wrong == []


def circles(graph: Mapping[str, list[str]]) -> Iterator[list[str]]:
    """Yield one circle of modules for each way back to a module still being walked."""
    state: dict[str, int] = {}
    path: list[str] = []

    def walk(module: str) -> Iterator[list[str]]:
        state[module] = 1
        path.append(module)
        for name in graph[module]:
            if state.get(name) == 1:
                yield [*path[path.index(name) :], name]
            elif name not in state:
                yield from walk(name)
        path.pop()
        state[module] = 2

    for module in graph:
        if module not in state:
            yield from walk(module)


def test_no_modules_import_each_other_in_a_circle(imports: Imports) -> None:
    assert [" -> ".join(circle) for circle in circles(inside(imports))] == []


def test_the_search_for_circles_finds_one() -> None:
    assert list(circles({"a": ["b"], "b": ["c"], "c": ["b"]})) == [["b", "c", "b"]]


def test_each_library_stays_behind_its_door(imports: Imports) -> None:
    wrong = [
        f"{module} imports {name}; only {DOORS[top(name)] or 'tests'} may"
        for module, names in imports.items()
        for name in names
        if top(name) in DOORS and not any(fnmatch(module, door) for door in DOORS[top(name)])
    ]
    assert wrong == []


def test_the_estimate_looks_at_no_clock_and_throws_no_dice(imports: Imports) -> None:
    wrong = [
        f"{module} imports {name}"
        for module, names in imports.items()
        for name in names
        if top(module) == "estimate" and top(name) in PURE
    ]
    assert wrong == []


def test_figures_depend_on_no_date_and_no_environment(package_files: Mapping[str, ast.Module]) -> None:
    wrong = [
        f"{name}:{node.lineno} {ast.unparse(node)}"
        for name, tree in package_files.items()
        for node in ast.walk(tree)
        if name.startswith(("estimate", "terrain"))
        and name
        not in {"terrain/compiled.py", "terrain/cache.py"}  # where to keep things is told by the environment
        and isinstance(node, ast.Attribute)
        and node.attr in {"now", "today", "utcnow", "getenv", "environ"}
    ]
    assert wrong == []


def loaded_after(code: str, folder: Path) -> set[str]:
    """Return which heavy libraries stand in `sys.modules` after `code` ran in `folder`."""
    told = f"import sys\n{code}\nprint('LOADED', *[name for name in {HEAVY!r} if name in sys.modules])"
    command = [sys.executable, "-P", "-c", told]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    last = [line for line in done.stdout.splitlines() if line.startswith("LOADED")][-1]
    return set(last.split()[1:])


def test_importing_the_command_line_loads_nothing_heavy(tmp_path: Path) -> None:
    assert loaded_after("import viewer.command", tmp_path) == set()


def test_showing_help_loads_nothing_heavy(tmp_path: Path) -> None:
    code = "from viewer.command import main\nsys.argv = ['mattock', '--help']\n"
    code += "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code"
    assert loaded_after(code, tmp_path) == set()
