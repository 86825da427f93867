"""The house: lower rooms know nothing of upper ones, and heavy imports wait until they are needed."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
HEAVY = {
    "matplotlib",
    "shapely",
    "av",
    "scipy",
    "casadi",
    "resvg_py",
    "PIL",
    "starlette",
    "uvicorn",
    "jinja2",
    "segno",
}

FLOORS: tuple[tuple[str, ...], ...] = (
    ("animate.door",),
    ("layout", "animate.refused", "layout.catalogue"),
    ("animate.whole_file",),
    ("animate.body",),
    ("animate.motion",),
    ("animate.film",),
    ("layout.words",),
    ("layout.rules",),
    ("layout.athlete",),
    ("layout.plan",),
    ("layout.book", "layout.training", "layout.page", "layout.moving"),
    ("layout.sheet",),
    ("layout.phone",),
    ("layout.squad", "layout.season", "layout.picture"),
    ("layout.desk",),
    ("layout.commands",),
    ("layout.cli",),
    ("layout.__main__",),
)
"""From the ground up. A room imports its own files and rooms on floors below, inside functions too."""
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
PLANNING = ("animate.body", "layout.words", "layout.rules", "layout.athlete", "layout.plan")
"""Rooms that planning needs: light ones."""


def _modules() -> dict[str, Path]:
    out = {}
    for package in ("animate", "layout"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            out[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return out


MODULES = _modules()


def _typing_only(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)


def _found(tree: ast.AST, module: str, package: bool, at_import: bool) -> set[str]:
    """Names imported: all of them, or only those that importing the module imports."""
    out: set[str] = set()
    waiting = [tree]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            out |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                up = module.split(".")
                up = up[: len(up) - node.level + (1 if package else 0)]
                base = ".".join([*up, *([base] if base else [])])
            # `from layout.plan import words` names a module, `from layout.words.trade import x` a thing.
            inner = {f"{base}.{alias.name}" for alias in node.names}
            out |= {base} | {name for name in inner if name in MODULES}
        elif at_import and (
            isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            or _typing_only(node)
        ):
            continue
        waiting += list(ast.iter_child_nodes(node))
    return out


@lru_cache(maxsize=1)
def _trees() -> dict[str, ast.AST]:
    return {m: ast.parse(p.read_text(encoding="utf-8"), str(p)) for m, p in MODULES.items()}


def _imports(module: str, at_import: bool = False) -> set[str]:
    # A package's own door names files of every room, and imports one when it is asked for.
    door = module in ("animate", "layout")
    return _found(_trees()[module], module, MODULES[module].stem == "__init__", at_import or door)


def _room(module: str) -> str:
    """The room a file stands in; a file of its own at the top is its own room."""
    return ".".join(module.split(".")[:2])


def test_every_file_has_its_floor() -> None:
    assert {_room(m) for m in MODULES} - {"animate"} == set(FLOOR)


@pytest.mark.parametrize("module", [m for m in MODULES if m != "animate"])
def test_no_arrow_points_up_or_across(module: str) -> None:
    here = _room(module)
    for name in _imports(module):
        there = _room(name)
        if there in FLOOR and there != here:
            assert FLOOR[there] < FLOOR[here], (module, name)


@pytest.mark.parametrize("module", [m for m in MODULES if m.split(".")[0] == "animate"])
def test_animate_never_imports_layout(module: str) -> None:
    assert not {i for i in _imports(module) if i.split(".")[0] == "layout"}


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith("layout.")])
def test_planning_reads_only_the_body_and_never_a_figure(module: str) -> None:
    if _room(module) not in PLANNING:
        return
    rooms = {_room(i) for i in _imports(module) if i.startswith("animate.")}
    # How a file is read, and how a fault is told, has one place for bodies and plans alike.
    files = {"animate.whole_file"} if module == "layout.words.reading" else set()
    assert rooms <= {"animate.body", "animate.refused", *files}, module


def _cycle(graph: dict[str, set[str]]) -> list[str]:
    """One round trip in a graph, or nothing."""
    done: set[str] = set()
    trail: list[str] = []

    def walk(node: str) -> list[str]:
        if node in trail:
            return [*trail[trail.index(node) :], node]
        if node in done:
            return []
        trail.append(node)
        for name in sorted(graph[node]):
            found = walk(name)
            if found:
                return found
        trail.pop()
        done.add(node)
        return []

    for node in graph:
        found = walk(node)
        if found:
            return found
    return []


def _graph(prefix: str, at_import: bool) -> dict[str, set[str]]:
    nodes = {m for m in MODULES if m.startswith(prefix)}
    return {m: (_imports(m, at_import) & nodes) - {m} for m in nodes}


def test_a_cycle_is_found_when_there_is_one() -> None:
    assert _cycle({"a": {"b"}, "b": {"c"}, "c": {"a"}}) == ["a", "b", "c", "a"]
    assert _cycle({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == []


@pytest.mark.parametrize("package", ["animate", "layout"])
def test_no_package_has_a_circle(package: str) -> None:
    """Not even one hidden inside functions."""
    assert _cycle(_graph(f"{package}.", at_import=False)) == []


PLANNER = [m for m in MODULES if _room(m) in (*PLANNING, "layout.cli")]


@pytest.mark.parametrize("module", PLANNER)
def test_heavy_imports_wait(module: str) -> None:
    assert not {i.split(".")[0] for i in _imports(module, at_import=True)} & HEAVY


def test_no_module_prints_but_the_command_line() -> None:
    for module, tree in _trees().items():
        if module.startswith(("layout.cli", "layout.commands")):
            continue
        calls = [n.func for n in ast.walk(tree) if isinstance(n, ast.Call)]
        assert not [f for f in calls if isinstance(f, ast.Name) and f.id == "print"], module


# --- as run ---------------------------------------------------------------------------------------


def loaded(code: list[str]) -> set[str]:
    """Modules a fresh interpreter imports, by top name and by full name."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", *code],
        cwd=ROOT, capture_output=True, text=True, encoding="utf-8", timeout=60, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr[-500:]
    names = {
        line.rsplit("|", 1)[1].strip()
        for line in run.stderr.splitlines()
        if line.startswith("import time:")
    }
    assert "encodings" in names or "site" in names  # the listing was read at all
    return names | {n.split(".")[0] for n in names}


@pytest.mark.parametrize("words", [["--help"], ["plan", "--help"], ["--version"]])
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    names = loaded(["-m", "layout.cli", *words])
    assert not names & (HEAVY | {"numpy"})


def test_planning_imports_numpy_but_nothing_that_draws_or_solves() -> None:
    code = (
        "from layout.plan.spacing import make_plan; import datetime;"
        "from layout.athlete.athlete import athlete_from; from layout.plan.drill import catalogue;"
        "from layout.plan.venue import venues;"
        "a = athlete_from(dict(name='A', stature=1.7, mass=60, leg='left', target=11.0,"
        "level='intermediate', born=2000));"
        "make_plan(a, catalogue()['full-triple-jump'], venues()['club'], datetime.date(2026, 5, 1))"
    )
    names = loaded(["-c", code])
    assert "numpy" in names
    assert not names & HEAVY
