"""How the house stands, in numbers: python -m tests.house_count [CHECKOUT], run by hand.

A stay is a function that takes the value or a part of it, told by annotations, among those that are
reached by calls from where the way begins: a command reading an athlete, or printing a plan and its sheet.
A return is one of those that gives a part back.
"""

from __future__ import annotations

import ast
import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final

Function = ast.FunctionDef | ast.AsyncFunctionDef
LONG_FILE, LONG_FUNCTION, MANY = 400, 60, 7
ATHLETE: Final = frozenset(
    {"Athlete", "Calibration", "Ability", "Form", "Approach", "Made", "March"}
)
PLAN: Final = frozenset(
    {"Plan", "Contact", "Flight", "Mark", "Hurdle", "Place", "Load", "Who", "TapeCard", "Words", "Content",
     "Band", "Page", "Ink", "Line", "Text", "Made"}
)  # fmt: skip
ASIDE: Final = "layout.phone."
"""Not on the way: the command that writes a PDF can write a page for the telephone instead."""
WAYS: Final = (
    ("athlete to Plan", ("plan_from",), ATHLETE),
    ("Plan to PDF", ("layout.commands.handout_._made", "with_motion", "plan_text"), PLAN),
)


def _files(root: Path) -> list[Path]:
    return sorted(p for part in ("animate", "layout") for p in (root / part).rglob("*.py"))


def _functions(tree: ast.AST) -> Iterator[Function]:
    return (n for n in ast.walk(tree) if isinstance(n, Function))


def _parameters(one: Function) -> list[ast.arg]:
    given = one.args
    every = [*given.posonlyargs, *given.args, *given.kwonlyargs]
    return [a for a in every if a.arg not in ("self", "cls")]


def _names(node: ast.expr | None) -> set[str]:
    return set(re.findall(r"\w+", ast.unparse(node))) if node is not None else set()


def _reached(root: Path, begin: tuple[str, ...]) -> list[tuple[str, Function]]:
    """Functions called from some, by a file's own names, those it imports, and methods by name."""
    own: dict[str, dict[str, Function]] = {}
    known: dict[str, dict[str, tuple[str, str]]] = {}
    for path in _files(root):
        module = ".".join(path.relative_to(root).with_suffix("").parts)
        tree = ast.parse(path.read_text(encoding="utf-8"))
        own[module] = {
            (f"{c.name}." if isinstance(c, ast.ClassDef) else "") + f.name: f
            for c in [tree, *(n for n in tree.body if isinstance(n, ast.ClassDef))]
            for f in c.body
            if isinstance(f, Function)
        }
        known[module] = {name: (module, name) for name in own[module]}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                known[module] |= {a.asname or a.name: (node.module, a.name) for a in node.names}
    methods: dict[str, list[tuple[str, str]]] = {}
    for module, found in own.items():
        for name in found:
            if "." in name:
                methods.setdefault(name.partition(".")[2], []).append((module, name))
    waiting = [(m, n) for m, found in own.items() for n in found if {n, f"{m}.{n}"} & {*begin}]
    done: dict[tuple[str, str], Function] = {}
    while waiting:
        at = module, name = waiting.pop()
        if at in done or name not in own.get(module, {}) or module.startswith(ASIDE):
            continue
        done[at] = own[module][name]
        used = {n.id for n in ast.walk(done[at]) if isinstance(n, ast.Name)}
        waiting += [
            one
            for n in ast.walk(done[at])
            if isinstance(n, ast.Attribute)
            for one in methods.get(n.attr, [])
        ]
        used |= {
            ast.unparse(n)
            for n in ast.walk(done[at])
            if isinstance(n, ast.Attribute) and isinstance(n.value, ast.Name)
        }
        for one in used:
            first, dot, rest = one.partition(".")
            where, thing = known[module].get(first, ("", ""))
            waiting.append((where, thing + dot + rest))
            waiting.append((f"{where}.{thing}", rest))
    return [(module, one) for (module, _), one in done.items()]


def stays(root: Path, begin: tuple[str, ...], parts: frozenset[str]) -> tuple[int, int, int]:
    """Functions that take a part, files they stand in, and functions that give one back."""
    reached = _reached(root, begin)
    taking = [m for m, f in reached if any(_names(a.annotation) & parts for a in _parameters(f))]
    giving = [m for m, f in reached if _names(f.returns) & parts]
    return len(taking), len(set(taking)), len(giving)


def circles(root: Path) -> list[set[str]]:
    """Groups of files that import each other in a circle, imports inside functions included."""
    files = {".".join(p.relative_to(root).with_suffix("").parts): p for p in _files(root)}
    graph: dict[str, set[str]] = {}
    for name, path in files.items():
        found: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                found |= {node.module, *(f"{node.module}.{a.name}" for a in node.names)}
            elif isinstance(node, ast.Import):
                found |= {a.name for a in node.names}
        graph[name] = (found & files.keys()) - {name}
    reach = {n: set(graph[n]) for n in graph}
    for middle in graph:
        for n in graph:
            if middle in reach[n]:
                reach[n] |= reach[middle]
    groups = {frozenset(m for m in reach[n] if n in reach[m]) for n in graph if n in reach[n]}
    return [set(g) for g in groups]


def told(root: Path) -> list[str]:
    """All of it as lines."""
    lines: Counter[str] = Counter()
    long_files, long_functions, wide = [], [], []
    files = _files(root)
    for path in files:
        name = path.relative_to(root).as_posix()
        text = path.read_text(encoding="utf-8")
        count = text.count("\n")
        lines["/".join(name.split("/")[:2] if name.count("/") > 1 else name.split("/")[:1])] += (
            count
        )
        if count > LONG_FILE:
            long_files.append(f"{name} {count}")
        for one in _functions(ast.parse(text)):
            size = (one.end_lineno or one.lineno) - one.lineno + 1
            if size > LONG_FUNCTION:
                long_functions.append(f"{name}:{one.name} {size}")
            if len(_parameters(one)) > MANY:
                wide.append(f"{name}:{one.name} {len(_parameters(one))}")
    out = [f"{room:<20}{count:>7}" for room, count in sorted(lines.items())]
    out += [f"{'in all':<20}{sum(lines.values()):>7} lines in {len(files)} files"]
    for what, found in (
        (f"files over {LONG_FILE} lines", long_files),
        (f"functions over {LONG_FUNCTION} lines", long_functions),
        (f"functions over {MANY} parameters", wide),
        ("circles", [", ".join(sorted(c)) for c in circles(root)]),
    ):
        out += [f"{what}: {len(found)}", *(f"  {one}" for one in found)]
    for what, begin, parts in WAYS:
        taking, where, giving = stays(root, begin, parts)
        out.append(f"{what}: {taking} stays in {where} files, {giving} returns")
    return out


if __name__ == "__main__":
    here = Path(sys.argv[1]) if sys.argv[1:] else Path(__file__).resolve().parents[1]
    print("\n".join(told(here)))
