"""The house rules that a machine can hold: who may import whom, what the pure rooms may touch,
and how long a file or a function may grow."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest

import bot

BOT = Path(bot.__file__).parent
ROOMS = (
    "messages", "reading", "folder", "programme", "scenes", "talk", "fieldwork", "evidence",
    "gateways", "settings", "shipped", "service", "web", "checking",
    "demo", "rehearsal", "commands", "__main__",
)  # fmt: skip
"""From the ground up: a room imports only from itself and from those before it."""
PURE = {"messages", "reading", "folder", "talk", "fieldwork", "evidence", "programme", "scenes"}
IMPURE = {"flask", "sqlalchemy", "time", "random", "secrets", "os", "pathlib", "httpx", "logging"}
LOADERS = {"programme.py": {"pathlib"}, "talk/dialog.py": {"pathlib"}}
FILES = sorted(p for p in BOT.rglob("*.py") if "migrations" not in p.parts)


def name_of(path: Path) -> str:
    return path.relative_to(BOT).as_posix()


def imports(tree: ast.AST) -> Iterator[str]:
    """Every module that a file imports for running, those for type checkers left out."""
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            node.body.clear()
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def room_of(module: str) -> str:
    return module.split(".")[1] if module.startswith("bot.") else ""


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_a_room_imports_only_from_the_rooms_below(path: Path):
    own = path.relative_to(BOT).parts[0].removesuffix(".py")
    allowed = ROOMS if own == "__init__" else ROOMS[: ROOMS.index(own) + 1]
    used = {room_of(name) for name in imports(ast.parse(path.read_text()))} - {""}
    assert used <= set(allowed), f"{name_of(path)} imports {sorted(used - set(allowed))}"


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_the_pure_rooms_touch_nothing_outside(path: Path):
    own = path.relative_to(BOT).parts[0].removesuffix(".py")
    used = {name.split(".")[0] for name in imports(ast.parse(path.read_text()))}
    allowed = LOADERS.get(name_of(path), set()) if own in PURE else IMPURE
    assert not (used & IMPURE) - allowed


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_files_and_functions_stay_short_and_say_what_they_are_for(path: Path):
    text = path.read_text()
    tree = ast.parse(text)
    assert ast.get_docstring(tree), "no docstring"
    assert len(text.splitlines()) <= 400
    long = {f.name: length for f, length in functions(tree) if length > 45}
    assert not long


def functions(tree: ast.AST) -> Iterator[tuple[ast.FunctionDef | ast.AsyncFunctionDef, int]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node, (node.end_lineno or 0) - node.lineno + 1


def test_the_median_function_is_short():
    lengths = [n for path in FILES for _, n in functions(ast.parse(path.read_text()))]
    assert median(lengths) < 10


def test_every_room_is_on_the_map():
    there = {p.relative_to(BOT).parts[0].removesuffix(".py") for p in FILES} - {"__init__"}
    listed = [room for room in ROOMS if room in there]
    assert there <= set(ROOMS)
    assert all(room in (bot.__doc__ or "") for room in listed)
