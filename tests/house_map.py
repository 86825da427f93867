"""The map of rooms in DEVELOPERS.md, made from the rooms: python -m tests.house_map writes it anew."""

from __future__ import annotations

import ast
from pathlib import Path

from tests.test_arrows import FLOORS, MODULES, ROOT

PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- map of rooms: made by tests/house_map.py -->\n", "<!-- end of the map -->\n"


def _job(room: str) -> str:
    text = MODULES[room].read_text(encoding="utf-8")
    return (ast.get_docstring(ast.parse(text)) or "").split("\n")[0]


def _files(room: str) -> str:
    folder = Path(MODULES[room])
    if folder.name != "__init__.py":
        return ""
    kept = (".py", ".toml", ".csv", ".js", ".css", ".html")
    names = sorted(
        p.stem if p.suffix == ".py" else p.name
        for p in folder.parent.iterdir()
        if p.suffix in kept and p.name != "__init__.py"
    )
    inner = sorted(f"{p.parent.name}/" for p in folder.parent.glob("*/__init__.py"))
    return ", ".join([*names, *inner])


def made() -> str:
    """The map: floors from the ground up; of each room whose job it is, and its files."""
    out = ["| floor | room | job | files |", "|---|---|---|---|"]
    for number, rooms in enumerate(FLOORS):
        for room in rooms:
            if room in MODULES and room != "layout":
                name = room.replace(".", "/")
                out.append(f"| {number} | `{name}` | {_job(room)} | {_files(room)} |")
    return "\n".join(out) + "\n"


def main() -> None:
    """Put the map where it belongs."""
    text = PAGE.read_text(encoding="utf-8")
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    PAGE.write_text(before + BEGIN + made() + END + after, encoding="utf-8")


if __name__ == "__main__":
    main()
