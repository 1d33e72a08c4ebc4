"""The rooms: who may import whom, who may touch a file, and what a light command may load."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import coutil

ROOT = Path(coutil.__file__).parent

# Each room with the rooms it may enter; errors may be used by all.
BELOW = {
    "curves": set[str](),
    "measure": set[str](),
    "pattern": {"curves", "measure"},
    "drawing": {"curves", "measure", "pattern"},
    "alter": {"curves", "measure", "pattern"},
    "draft": {"curves", "measure", "pattern", "alter"},
    "cut": {"curves", "measure", "pattern", "alter", "draft"},
    "check": {"curves", "measure", "pattern", "alter", "draft", "cut"},
    "sheet": {"curves", "measure", "pattern", "alter", "draft", "cut", "check", "speech", "tables"},
}
# The rooms that keep and serve: they may touch files, databases and the network of this machine.
OUTWARD = {
    "record": {"alter", "check", "draft", "measure", "pattern", "result_file", "shipped"},
    "workroom": {
        "alter", "check", "curves", "cut", "draft", "drawing", "file_names", "import_job", "job", "lay_file", "lay_job",
        "measure", "order_file", "pack_job", "pattern", "record", "result_file", "sheet", "speech", "tables",
        "wishes_file",
    },
}  # fmt: skip
ROOMS = BELOW | OUTWARD
SINGLE = {
    "_result_model": {"alter", "check", "lay_file", "pattern"},
    "order_file": {"cut", "measure"},
    "result_file": {"_result_model", "alter", "check", "cut", "lay_file", "pattern"},
    "speech": {"measure"},
    "_lay_worker": {"workers"},
    "_pack_worker": {"pack_job", "result_file", "workers"},
    "_import_worker": {"drawing", "import_job", "measure", "pattern", "workers"},
    "import_job": {"drawing", "measure", "pattern", "workers"},
    "lay_file": {"cut", "measure", "pattern"},
    "lay_job": {"cut", "file_names", "lay_file", "lay_search", "measure", "pattern", "sheet"},
    "lay_search": {"cut", "workers"},
    "pack_job": {
        "alter", "check", "cut", "file_names", "job", "lay_job", "measure", "pattern", "result_file", "sheet",
        "workers",
    },
    "tables": {"alter", "check", "measure", "speech"},
    "wishes_file": {"alter", "measure"},
    "grading": {"alter", "check", "measure", "pattern"},
    "measuring": {"drawing", "measure", "pattern"},
    "ranking": {"alter", "curves", "measure", "pattern"},
    "files": {"file_names"},
    "file_names": set[str](),
    "texts": set[str](),
    "workers": set[str](),
    "shipped": {"draft", "measure", "pattern"},
    "job": {"alter", "check", "cut", "draft", "measure", "pattern", "result_file", "sheet"},
}

# Modules that open files, screens, processes, databases or the network.
OUTSIDE = {
    "asyncio", "click", "dbm", "http", "io", "os", "pathlib", "rich", "shelve", "shutil", "socket", "sqlite3",
    "subprocess", "tempfile", "tkinter", "urllib",
}  # fmt: skip
# io.StringIO and io.BytesIO are text and bytes in memory; sheets read the fonts that come with the PDF library.
HARMLESS = {("drawing", "io"), ("measure", "io"), ("sheet", "io"), ("sheet", "pathlib")}


def modules(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def imports(path: Path) -> Iterator[tuple[str, int]]:
    """Every imported module of a source file with its line, wherever in the file it stands."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}:{node.lineno} imports relatively"
            yield node.module or "", node.lineno
            if node.module == "coutil":
                yield from ((f"coutil.{alias.name}", node.lineno) for alias in node.names)


def rooms_entered(path: Path) -> Iterator[tuple[str, str, int]]:
    """Room, whole module name and line of each import from this project."""
    for name, line in imports(path):
        parts = name.split(".")
        if parts[0] == "coutil" and len(parts) > 1:
            yield parts[1], name, line


@pytest.mark.parametrize("room", ROOMS)
def test_imports_go_downward_only_and_through_the_door(room: str) -> None:
    assert modules(room), f"room {room} is empty"
    for path in modules(room):
        for entered, name, line in rooms_entered(path):
            place = f"{room}/{path.name}:{line} imports {name}"
            assert entered in ROOMS[room] | {room, "errors", "texts"}, place
            assert entered == room or "._" not in name, f"{place} past the door"


@pytest.mark.parametrize("module", SINGLE)
def test_the_modules_above_the_rooms_keep_to_their_order(module: str) -> None:
    for entered, name, line in rooms_entered(ROOT / f"{module}.py"):
        place = f"{module}.py:{line} imports {name}"
        assert entered in SINGLE[module] | {"errors", "texts"}, place
        assert "._" not in name or name == "coutil._result_model", f"{place} past a door"


@pytest.mark.parametrize("room", BELOW)
def test_rooms_touch_no_file_no_screen_and_no_network(room: str) -> None:
    for path in modules(room):
        for name, line in imports(path):
            top = name.split(".")[0]
            assert top not in OUTSIDE or (room, top) in HARMLESS, f"{room}/{path.name}:{line} imports {name}"


@pytest.mark.parametrize("room", BELOW)
def test_rooms_never_print_or_open(room: str) -> None:
    for path in modules(room):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in ("print", "open", "input"), f"{room}/{path.name}:{node.lineno}"


def test_the_guard_sees_what_it_guards_against(tmp_path: Path) -> None:
    path = tmp_path / "sample.py"
    path.write_text("def f():\n    from coutil.sheet._svg import x\n    import os.path\n    from coutil import job\n")
    assert list(rooms_entered(path)) == [("sheet", "coutil.sheet._svg", 2), ("job", "coutil.job", 4)]
    assert ("os.path", 3) in list(imports(path))


def test_every_room_and_module_is_guarded() -> None:
    rooms = {folder.name for folder in ROOT.iterdir() if (folder / "__init__.py").is_file()}
    assert rooms - {"commands"} == set(ROOMS)
    single = {path.stem for path in ROOT.glob("*.py")}
    assert single - {"__init__", "__main__", "errors", "cli"} == set(SINGLE)


def test_light_commands_load_no_heavy_library() -> None:
    script = (
        "import sys; from coutil.cli import run; run(['--help']);"
        "heavy = {'numpy', 'scipy', 'shapely', 'rich', 'reportlab', 'msgspec', 'sqlalchemy', 'starlette', 'jinja2'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT.parent)}
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, env=environment)
    assert told.stdout.splitlines()[-1] == "[]"
