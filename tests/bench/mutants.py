"""Small faults put into rooms' code, one at a time, and whether quick tests notice: a share per room.

    python -m tests.bench.mutants athlete plan rules training --count 60 --seed 1

A fault is a comparison turned or moved by its edge, a sign or operation swapped, a number 5 % or one
off, a truth value turned, a condition dropped, min and max or any and all exchanged. Left alone are
annotations, decorators, `zip`'s strict and numbers under a millionth (guards against rounding).

Tests are those of the lower rooms (words, athlete, rules, plan, training), doctests too. They run
once to learn which functions each calls; a fault in a function then meets only those, quickest first,
in a forked process where tests are collected already. A fault in what runs at import, and one not noticed
so in a function that is called then, meets, in a copy of the checkout, the tests of every file that imports
its own. Upper rooms' tests are not counted,
and properties are tried on few examples.
"""

from __future__ import annotations

import argparse
import ast
import builtins
import gc
import os
import pickle
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import _lru_cache_wrapper
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("words", "athlete", "rules", "plan", "training")
TESTS = (*(f"tests/layout/{r}" for r in ROOMS), *(f"layout/{r}" for r in ROOMS))
FLAGS = ("-q", "-p", "no:cacheprovider", "-p", "no:benchmark", "-p", "no:xdist")
EDGES: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
}  # fmt: skip
TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
SWAPS: dict[type[ast.AST], Any] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or,
    ast.Or: ast.And, ast.FloorDiv: ast.Mult, ast.USub: ast.UAdd,
}  # fmt: skip
Way = tuple[tuple[str, int | None], ...]
NAMES = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all",
    "all": "any",
}  # fmt: skip


def faults(node: Any) -> Iterator[tuple[str, Any]]:
    """Fields of a node and what may be put there instead."""
    if isinstance(node, ast.Compare):
        for number, op in enumerate(node.ops):
            for table in (EDGES, TURNED):
                if new := table.get(type(op)):
                    yield "ops", [*node.ops[:number], new(), *node.ops[number + 1 :]]
    elif isinstance(node, (ast.BinOp, ast.BoolOp, ast.UnaryOp)):
        if new := SWAPS.get(type(node.op)):
            yield "op", new()
        if isinstance(node, ast.BoolOp):
            yield from (("values", node.values[:n] + node.values[n + 1 :])
                        for n in range(len(node.values)))  # fmt: skip
        elif isinstance(node.op, ast.Not):
            yield "operand", ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Constant):
        value = node.value
        if type(value) is bool:
            yield "value", not value
        elif type(value) is int:
            yield from (("value", value + 1), ("value", value - 1))
        elif type(value) is float and not 0.0 < abs(value) < 1e-6:
            yield "value", 1.05 * value or 0.05
    elif isinstance(node, (ast.If, ast.IfExp)):
        yield from (("test", ast.Constant(True)), ("test", ast.Constant(False)))
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield "id", NAMES[node.id]
    elif isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield "attr", NAMES[node.attr]


LEFT = {"annotation", "returns", "decorator_list"}


def functions(tree: ast.AST, before: str = "") -> Iterator[tuple[ast.FunctionDef, str]]:
    """Functions of a file and methods of its classes, with their whole names."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef):
            yield node, before + node.name
        elif isinstance(node, ast.ClassDef):
            yield from functions(node, f"{before}{node.name}.")


def nodes(
    node: ast.AST, names: dict[ast.AST, str], at: Way = (), inside: str = ""
) -> Iterator[tuple[ast.AST, Way, str]]:
    """Every node a fault may stand in, the way to it, and the name of its outermost function."""
    yield node, at, inside
    for name, value in ast.iter_fields(node):
        if name in LEFT or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
            continue
        within = inside or (names.get(node, "") if name == "body" else "")
        for number, child in enumerate(value if isinstance(value, list) else [value]):
            strict = isinstance(child, ast.keyword) and child.arg == "strict"
            if isinstance(child, ast.AST) and not strict:
                way = (*at, (name, number if isinstance(value, list) else None))
                yield from nodes(child, names, way, within)


@dataclass(frozen=True)
class Fault:
    """One fault: where it stands, the function it is in (none at import), and what it is."""

    path: Path
    line: int
    inside: str
    way: Way
    field: str
    new: Any

    @property
    def place(self) -> str:
        """File and line."""
        return f"{self.path.relative_to(ROOT / 'layout')}:{self.line}"

    def changed(self) -> tuple[ast.Module, str]:
        """The file with the fault in it, and the fault in words."""
        text = self.path.read_text("utf-8")
        tree = there = above = ast.parse(text)
        for part, number in self.way:
            above, there = there, getattr(there, part)
            there = there if number is None else there[number]
        setattr(there, self.field, self.new)
        told = ast.unparse(there).splitlines()[0]
        if isinstance(there, ast.BoolOp) and len(there.values) == 1:
            told = f"only {told}"
            if number is None:
                setattr(above, part, there.values[0])
            else:
                getattr(above, part)[number] = there.values[0]
        source = text.splitlines()[self.line - 1].strip()
        return ast.fix_missing_locations(tree), f"{told[:60]} in: {source[:90]}"


def faults_of(path: Path) -> Iterator[Fault]:
    """Every fault of a file."""
    line = 1
    tree = ast.parse(path.read_text("utf-8"))
    for node, way, inside in nodes(tree, dict(functions(tree))):
        line = getattr(node, "lineno", line)
        for name, new in faults(node):
            yield Fault(path, line, inside, way, name, new)


Call = tuple[str, int]
"""File and name of a function."""


def called(path: Path | str) -> str:
    """A file as it is called in any checkout."""
    return str(Path(path).relative_to(ROOT))


@dataclass
class Learned:
    """Which tests, by their places in the session, call each function; times [s]."""

    calls: dict[Call, set[int]]
    at_import: set[Call]
    seconds: list[float]


class Tracer:
    """Notes the called functions of files below a folder."""

    def __init__(self) -> None:
        self.seen: set[Call] = set()
        self.below = str(ROOT / "layout") + os.sep

    def begin(self, frame: FrameType, event: str, _: Any) -> None:
        """Note a call."""
        code = frame.f_code
        if code.co_filename.startswith(self.below):
            self.seen.add((called(code.co_filename), code.co_qualname.split(".<")[0]))

    def taken(self) -> set[Call]:
        """What was seen since the last call."""
        seen, self.seen = self.seen, set()
        return seen


def caches() -> list[Any]:
    """Every cache of ours; emptied between tests, so that each calls what it depends on."""
    every = (o for o in gc.get_objects() if isinstance(o, _lru_cache_wrapper))
    return [o for o in every if str(o.__module__).startswith(("layout", "animate"))]


class Runner:
    """A pytest plugin: collects once, learns in a fork, then tries each fault in a fork."""

    def __init__(
        self, chosen: list[Fault], workers: int, kept: Path, first: str, most: float
    ) -> None:
        self.chosen, self.workers, self.kept = chosen, workers, kept
        self.first, self.most = first, most
        self.learning = True
        self.tracer, self.collected = Tracer(), defaultdict(set)  # type: ignore[var-annotated]
        self.told: list[tuple[Fault, int]] = []
        sys.settrace(self.tracer.begin)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_make_collect_report(self, collector: Any) -> Iterator[None]:
        """What a test file calls as it is read count for each of its tests."""
        before = self.tracer.taken()
        self.collected[""] |= before
        yield
        self.collected[str(getattr(collector, "path", ""))] |= self.tracer.taken()

    def pytest_runtestloop(self, session: Any) -> bool:
        """In place of the plain loop."""
        sys.settrace(None)
        if session.testsfailed:
            raise SystemExit("tests that cannot be collected")
        learned = self.learn(session.items)
        self.learning = False
        began = time.monotonic()
        waiting, running = list(enumerate(self.chosen)), {}
        while waiting or running:
            while waiting and len(running) < self.workers:
                number, fault = waiting.pop(0)
                pid, limit = self.start(session, fault, learned)
                running[pid] = (number, fault, time.monotonic() + limit)
            time.sleep(0.02)
            for pid, (_, fault, until) in list(running.items()):
                done, status = os.waitpid(pid, os.WNOHANG)
                if not done and time.monotonic() > until:
                    os.kill(pid, 9)
                    os.waitpid(pid, 0)
                elif not done:
                    continue
                killed = os.waitstatus_to_exitcode(status) if done else 1
                del running[pid]
                self.told.append((fault, killed))
                if killed not in (1, 2):
                    print("tester failed:" if killed else "", end="", file=sys.__stderr__)
                    print(
                        f"NOT NOTICED {fault.place} {fault.changed()[1]}",
                        file=sys.__stderr__,
                        flush=True,
                    )
        print(f"{time.monotonic() - began:.0f} s", file=sys.__stderr__)
        return True

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Tell which test fails with no fault put in."""
        if report.failed and self.learning:
            told = f"fails without a fault: {report.nodeid}\n{report.longreprtext}"
            print(told, file=sys.__stderr__, flush=True)

    def learn(self, items: list[Any]) -> Learned:
        """Run tests not met before in a fork, caches emptied between, and keep what each calls."""
        known = pickle.loads(self.kept.read_bytes()) if self.kept.exists() else {}
        fresh = [item for item in items if item.nodeid not in known]
        if fresh and (pid := os.fork()) == 0:
            seen, ours = mark_calls(), caches()
            for item, following in zip(fresh, [*fresh[1:], None], strict=True):
                for cache in ours:
                    cache.cache_clear()
                began = time.monotonic()
                seen.clear()
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
                known[item.nodeid] = set(seen), time.monotonic() - began
                if item.session.testsfailed:
                    os._exit(1)
                if len(known) % 200 == 0:
                    self.kept.write_bytes(pickle.dumps(known))
            self.kept.write_bytes(pickle.dumps(known))
            os._exit(0)
        if fresh and os.waitpid(pid, 0)[1]:
            raise SystemExit("mend the tests first")
        known = pickle.loads(self.kept.read_bytes())
        calls: dict[Call, set[int]] = defaultdict(set)
        for number, item in enumerate(items):
            for call in known[item.nodeid][0] | self.collected[str(item.path)]:
                calls[call].add(number)
        at_import = set().union(*self.collected.values())
        return Learned(calls, at_import, [known[item.nodeid][1] for item in items])

    def start(self, session: Any, fault: Fault, learned: Learned) -> tuple[int, float]:
        """Fork a process that ends with 1 where a test fails; its id, and the most seconds it has."""
        key = (called(fault.path), fault.inside)
        early = not fault.inside or key in learned.at_import
        direct, wide = set(learned.calls.get(key, ())), set()
        if early:
            files = {called(p) for p in importers(fault.path)}
            wide = direct.union(*(t for (f, _), t in learned.calls.items() if f in files))
        limit = 60.0 + 10.0 * sum(learned.seconds[n] for n in direct | wide)
        if pid := os.fork():
            return pid, limit
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        try:
            # In a copy only what is not noticed in place: it takes many times as long.
            noticed = in_place(fault, self.parts(session, direct, learned)) if fault.inside else 0
            if early and not noticed:
                noticed = in_copy(fault, self.parts(session, wide, learned))
            os._exit(noticed)
        except BaseException:
            os._exit(3)

    def parts(self, session: Any, tests: set[int], learned: Learned) -> Parts:
        """Tests that are run first and later, the quickest first, as many as there is time for."""
        later = [self.first not in item.nodeid for item in session.items]
        spent, kept = 0.0, []
        for n in sorted(tests, key=lambda n: (later[n], learned.seconds[n])):
            spent += learned.seconds[n]
            if spent <= self.most:
                kept.append(session.items[n])
        first = [i for i in kept if self.first in i.nodeid]
        return first, [i for i in kept if i not in first]


def importers(path: Path) -> set[Path]:
    """A file, and those of `layout` that import it."""
    name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    every = (ROOT / "layout").rglob("*.py")
    return {path, *(p for p in every if f"{name} import" in p.read_text("utf-8"))}


Parts = tuple[list[Any], list[Any]]


def in_place(fault: Fault, parts: Parts) -> int:
    """Change the code of the functions as they stand in memory, and run tests until one fails.

    1 where one of the first part does, 2 where one of the second does, 0 where none.
    """
    put(fault.path, fault.changed()[0])
    for cache in caches():
        cache.cache_clear()
    for part, items in enumerate(parts, 1):
        for item, following in zip(items, [*items[1:], *[None] * bool(items)], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if item.session.testsfailed:
                return part
    return 0


def put(path: Path, tree: ast.Module) -> None:
    """Give the functions of a file, as they stand in memory, the code of a changed tree."""
    now = dict(codes(compile(tree, str(path), "exec")))
    for thing in gc.get_objects():
        if isinstance(thing, FunctionType) and thing.__code__.co_filename == str(path):
            key = (thing.__code__.co_qualname, thing.__code__.co_firstlineno)
            thing.__code__ = now.get(key, thing.__code__)


def mark_calls() -> set[Call]:
    """Let every function of the rooms put itself into a set as it is called; the set."""
    seen: set[Call] = set()
    builtins.__dict__["__called__"] = seen.add
    for room in ROOMS:
        for path in (ROOT / "layout" / room).glob("*.py"):
            tree = ast.parse(path.read_text("utf-8"))
            for node, name in functions(tree):
                node.body[:0] = ast.parse(f"__called__({(called(path), name)!r})").body
            put(path, ast.fix_missing_locations(tree))
    return seen


def codes(code: CodeType) -> Iterator[tuple[tuple[str, int], CodeType]]:
    """Every code object in one, by its name and line."""
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield (inner.co_qualname, inner.co_firstlineno), inner
            yield from codes(inner)


def in_copy(fault: Fault, parts: Parts) -> int:
    """The same with the file changed in a copy of the checkout, for what runs at import."""
    kept = shutil.ignore_patterns(".git", "gallery", ".*cache", "*.mp4")
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        there = Path(folder) / "copy"
        shutil.copytree(ROOT, there, ignore=kept, copy_function=linked)
        path = there / fault.path.relative_to(ROOT)
        path.unlink()
        path.write_text(ast.unparse(fault.changed()[0]), "utf-8")
        for old in (path.parent / "__pycache__").glob(f"{path.stem}.*"):
            old.unlink()
        env = {**os.environ, "PYTHONPATH": str(there), "PYTHONDONTWRITEBYTECODE": "1"}
        for part, items in enumerate(parts, 1):
            run = [sys.executable, "-m", "pytest", "-x", *FLAGS, *(item.nodeid for item in items)]
            if items and subprocess.run(run, cwd=there, env=env, check=False).returncode:
                return part
    return 0


def linked(one: str, other: str) -> None:
    """A second name for a file, or a copy where it is on another disk."""
    try:
        os.link(one, other)
    except OSError:
        shutil.copy2(one, other)


def main() -> None:
    """Sample faults, try each, tell the share noticed and what was not."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("rooms", nargs="+")
    parser.add_argument("--count", type=int, default=60, help="faults in each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", default="", help="files whose name holds this")
    parser.add_argument(
        "--first", default="?", help="tests whose name holds this run first, and are told apart"
    )
    parser.add_argument("--most", type=float, default=60.0, help="seconds of tests for a fault")
    parser.add_argument("--learned", type=Path, help="keep what is learned of the tests here")
    given = parser.parse_args()
    os.environ |= {"PHASEMARK_TESTS": "quick", "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    os.chdir(ROOT)
    chosen: list[Fault] = []
    for room in given.rooms:
        files = [p for p in sorted((ROOT / "layout" / room).glob("*.py")) if given.only in p.name]
        every = [f for p in files for f in faults_of(p)]
        chosen += random.Random(f"{room} {given.seed}").sample(every, min(given.count, len(every)))
        print(f"{room}: {len(every)} faults in all", flush=True)
    folder = tempfile.TemporaryDirectory(prefix="mutants-")
    runner = Runner(
        chosen,
        given.workers,
        given.learned or Path(folder.name) / "learned",
        given.first,
        given.most,
    )
    pytest.main([*FLAGS, *TESTS], plugins=[runner])
    for room in given.rooms:
        own = [killed for fault, killed in runner.told if fault.path.parent.name == room]
        first, later = own.count(1), own.count(2)
        share = 100 * (first + later) / max(1, len(own))
        print(f"{room}: {first} first, {later} later of {len(own)} noticed, {share:.0f} %")


if __name__ == "__main__":
    main()
