"""The house stands: imports go down only, and the rooms that compute touch nothing outside themselves."""

import ast
from collections.abc import Iterator

import pytest

from tests.project.tree import PACKAGE, imports, modules, name_of

# A room may import the rooms before its own line, and itself. Rooms on one line do not know each other.
FLOORS = (
    ("core",),
    ("acoustics", "materials"),
    ("measure", "motor", "suspension"),
    ("driver",),
    ("figures",),
    ("workshop",),
    ("compare",),
    ("builds", "study"),
    ("publish",),  # prints what the other decisions made
    ("app",),
    ("cli",),  # `halfroll serve` starts the app
)
HEIGHT = {room: height for height, rooms in enumerate(FLOORS) for room in rooms}

PURE = {"core", "acoustics", "materials", "measure", "motor", "suspension", "driver", "figures", "compare"}
SOUND_CARD = "halfroll.measure.capture"
SHIPPED_TABLES = "halfroll.materials.catalogue"
REACHING_OUT = (SOUND_CARD, SHIPPED_TABLES)
"""The one pure room's part that knows the sound card, and the one module that reads tables shipped inside the package."""
FILES = {
    "filelock",
    "glob",
    "os",
    "pathlib",
    "shutil",
    "soundfile",
    "sqlite3",
    "tempfile",
    "tomlkit",
    "tomllib",
}
OUTSIDE = {"asyncio", "multiprocessing", "socket", "sounddevice", "subprocess", "sys", "urllib"}
CLOCK_AND_CHANCE = {"datetime", "random", "time"}
PRINTING = {"click", "logging", "nicegui", "rich"}
NOT_PURE_MODULES = FILES | OUTSIDE | CLOCK_AND_CHANCE | PRINTING
NOT_PURE_CALLS = {"open", "print", "input", "exec", "eval", "breakpoint"}
NOT_PURE_METHODS = {"tofile", "fromfile", "loadtxt", "savetxt", "genfromtxt", "memmap"}
FILE_METHODS = {
    "read_text",
    "read_bytes",
    "write_text",
    "write_bytes",
    "open",
    "mkdir",
    "unlink",
    "rmdir",
    "rename",
    "iterdir",
    "glob",
}
GLOBAL_RANDOM = {
    "seed",
    "rand",
    "randn",
    "normal",
    "uniform",
    "randint",
    "random",
    "choice",
    "shuffle",
    "permutation",
}


def upward(source: str, module: str, *, is_package: bool = False) -> Iterator[str]:
    """Name every import of a module that does not go down."""
    room = module.split(".")[1] if "." in module else ""
    for line, target in imports(source, module, is_package=is_package):
        parts = target.split(".")
        if parts[0] != "halfroll" or len(parts) < 2 or parts[1] == room or parts[1] == "__version__":
            continue
        if parts[1] not in HEIGHT:
            yield f"{module}:{line} imports {target}, which is on no floor"
        elif room and HEIGHT[parts[1]] >= HEIGHT[room]:
            yield f"{module}:{line} ({room}) imports {target}: upward or across"


def impure(source: str, module: str) -> Iterator[str]:
    """Name everything in a module that reaches outside it."""
    for line, target in imports(source, module):
        if target.split(".")[0] in NOT_PURE_MODULES:
            yield f"{module}:{line} imports {target}"
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Global):
            yield f"{module}:{node.lineno} changes a global"
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Name) and called.id in NOT_PURE_CALLS:
            yield f"{module}:{node.lineno} calls {called.id}"
        elif isinstance(called, ast.Attribute) and (
            called.attr in NOT_PURE_METHODS
            or (called.attr in GLOBAL_RANDOM and ast.unparse(called.value) in ("np.random", "numpy.random"))
        ):
            yield f"{module}:{node.lineno} calls {ast.unparse(called)}"


def test_floors_every_room_has_a_floor():
    """A folder of the package is a room of the house, and modules beside the rooms are only the two doors."""
    rooms = {path.name for path in PACKAGE.iterdir() if path.is_dir() and (path / "__init__.py").exists()}
    assert rooms <= HEIGHT.keys()
    assert {path.name for path in PACKAGE.glob("*.py")} == {"__init__.py", "__main__.py"}


def test_floors_imports_go_down():
    """No module imports from its own height (but its own room) or above."""
    found = []
    for path in modules():
        module = name_of(path)
        if module == "halfroll.__main__":
            continue  # the door itself
        found += upward(path.read_text(encoding="utf-8"), module, is_package=path.name == "__init__.py")
    assert found == []


def test_floors_pure_rooms_touch_nothing_outside():
    """The rooms that compute have no files, clock, printing or globals but for what stands in `REACHING_OUT`."""
    found = []
    for path in modules():
        module = name_of(path)
        if module.count(".") and module.split(".")[1] in PURE and not module.startswith(REACHING_OUT):
            found += impure(path.read_text(encoding="utf-8"), module)
    assert found == []


def test_floors_the_workshops_folder_is_touched_by_the_workshop_alone():
    """What is computed of it reads and writes no file itself."""
    found = []
    for path in modules():
        module = name_of(path)
        if module.count(".") and module.split(".")[1] in ("builds", "study"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found += [
                f"{module}:{n.lineno} {n.attr}"
                for n in ast.walk(tree)
                if isinstance(n, ast.Attribute) and n.attr in FILE_METHODS
            ]
    assert found == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("halfroll.core.levels", "import halfroll.measure.sweep"),
        ("halfroll.core.levels", "def f():\n    from halfroll.figures import table"),
        ("halfroll.measure.sweep", "from ..driver import lumped"),
        ("halfroll.acoustics.air", "from halfroll import measure"),
        ("halfroll.workshop.index", "from halfroll.compare.table import compare"),
        ("halfroll.motor.gap", "import halfroll.suspension.spider"),
        ("halfroll.figures.table", "import halfroll.unheard_of"),
    ],
)
def test_floors_an_upward_arrow_is_found(module, source):
    """The check itself can fail: absolute, relative and deferred imports upward, across and to nowhere."""
    assert len(list(upward(source, module))) == 1


@pytest.mark.parametrize(
    ("module", "source"),
    [
        (
            "halfroll.driver.play",
            "from halfroll.measure.sweep import Sweep\nfrom halfroll.acoustics import air",
        ),
        ("halfroll.measure.sweep", "from . import gate\nfrom ..core import levels\nimport numpy"),
        ("halfroll.cli.serve", "from halfroll.app.server import serve\nfrom halfroll import __version__"),
    ],
)
def test_floors_a_downward_arrow_is_allowed(module, source):
    """What the house allows is not reported."""
    assert list(upward(source, module)) == []


@pytest.mark.parametrize(
    "source",
    [
        "from pathlib import Path",
        "import os.path",
        "print(1)",
        "open('x')",
        "def f():\n    global a",
        "np.random.normal(3)",
    ],
)
def test_floors_impurity_is_found(source):
    """The check itself can fail: files, printing, globals and the shared random generator."""
    assert len(list(impure(source, "halfroll.core.levels"))) == 1


def circles(arrows: dict[str, set[str]]) -> dict[str, set[str]]:
    """Keep of a graph only what lies on a circle, or between two."""
    while True:
        targets = set().union(*arrows.values()) if arrows else set()
        kept = {
            name: ends & arrows.keys()
            for name, ends in arrows.items()
            if ends & arrows.keys() and name in targets
        }
        if kept == arrows:
            return kept
        arrows = kept


def test_floors_no_module_imports_itself_through_others():
    """Each module can be read from the bottom up."""
    known = {name_of(path): path for path in modules()}
    arrows: dict[str, set[str]] = {}
    for module, path in known.items():
        named = imports(path.read_text(encoding="utf-8"), module, is_package=path.name == "__init__.py")
        nearest = {target if target in known else target.rpartition(".")[0] for _, target in named}
        arrows[module] = (nearest & known.keys()) - {module, "halfroll"}
    assert circles(arrows) == {}


def test_floors_a_circle_is_found():
    """The check itself can fail, and names only what is on the circle."""
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b", "d"}, "d": set()}) == {"b": {"c"}, "c": {"b"}}
    assert circles({"a": {"b"}, "b": {"c"}, "c": set()}) == {}
