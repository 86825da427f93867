"""Small faults put into a room's code, one at a time, and whether the tests of that room notice.

    python -m tests.bench.mutants athlete plan rules training --count 120 --seed 1

Works on a copy of the checkout. A fault is a comparison, sign, number, `and`/`or`, `not` or min/max
changed. Faults that only tests of other rooms would notice count as not noticed.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
SWAPS: dict[type[ast.AST], Any] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or,
    ast.Or: ast.And,
}  # fmt: skip
NAMES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "any": "all",
    "all": "any",
}


def places(tree: ast.AST) -> Iterator[tuple[Any, str, Any, Any]]:
    """Node, field, what stands there and what to put there."""
    node: Any
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            yield node, "ops", node.ops, [SWAPS[type(node.ops[0])](), *node.ops[1:]]
        elif isinstance(node, (ast.BinOp, ast.BoolOp)) and type(node.op) in SWAPS:
            yield node, "op", node.op, SWAPS[type(node.op)]()
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
            value: Any = node.value
            yield node, "value", value, value + 1 if type(value) is int else 1.1 * value + 1e-3
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "op", node.op, ast.UAdd()
        elif isinstance(node, ast.Name) and node.id in NAMES:
            yield node, "id", node.id, NAMES[node.id]
        elif isinstance(node, ast.Attribute) and node.attr in NAMES:
            yield node, "attr", node.attr, NAMES[node.attr]


def noticed(copy: Path, room: str, path: Path, seconds: float) -> bool:
    """Whether the room's tests fail, those of the file first."""
    first = copy / "tests" / "layout" / room / f"test_{path.stem}.py"
    rest = sorted((copy / "tests" / "layout" / room).glob("test_*.py"))
    tests = [path, *([first] if first in rest else []), *(t for t in rest if t != first)]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-p",
        "no:cacheprovider",
        *map(str, tests),
    ]
    env = {**os.environ, "PYTHONPATH": str(copy), "CI": "1", "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(
            command, cwd=copy, env=env, capture_output=True, timeout=seconds, check=False
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def main() -> None:
    """Sample faults, try each, tell the share noticed and what was not."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("rooms", nargs="+")
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=600.0)
    given = parser.parse_args()
    kept = shutil.ignore_patterns(".git", "gallery", "__pycache__", ".*cache")
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(shutil.copytree(ROOT, Path(folder) / "copy", ignore=kept))
        where = [
            (room, path, number)
            for room in given.rooms
            for path in sorted((copy / "layout" / room).glob("*.py"))
            for number, _ in enumerate(places(ast.parse(path.read_text("utf-8"))))
        ]
        chosen = random.Random(given.seed).sample(where, min(given.count, len(where)))
        for room, path in {room: path for room, path, _ in where}.items():
            if noticed(copy, room, path, given.seconds):
                raise SystemExit(f"{room}: its tests fail with no fault put in; mend them first")
        found = 0
        for tried, (room, path, number) in enumerate(chosen, 1):
            text = path.read_text("utf-8")
            tree = ast.parse(text)
            node, field, was, new = list(places(tree))[number]
            line = text.splitlines()[getattr(node, "lineno", 1) - 1].strip()
            setattr(node, field, new)
            path.write_text(ast.unparse(tree), "utf-8")
            killed = noticed(copy, room, path, given.seconds)
            path.write_text(text, "utf-8")
            found += killed
            what = f"{was!r} -> {new!r}" if field in ("value", "id", "attr") else ast.unparse(node)
            print(f"{'noticed' if killed else 'NOT NOTICED'} {room}/{path.name}:"
                  f"{getattr(node, 'lineno', 1)} {what[:70]} in: {line[:90]}", flush=True)  # fmt: skip
            print(f"{found} of {tried}, {len(where)} places in all", flush=True)


if __name__ == "__main__":
    main()
