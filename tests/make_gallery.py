"""Make the gallery anew: `python -m tests.make_gallery`, or its screens of the desk alone: with `desk`.

Its page holds the commands.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Final

from layout.cli import main

GALLERY: Final = Path(__file__).parents[1] / "gallery"
HEADING: Final = "\n# Sheets, pages, squad, ladder and season\n"
INPUTS: Final = ("imka-season.csv",)
"""What the commands read and nobody makes."""
PRIVATE: Final = ("marram.book", "marram.book-wal", "marram.book-shm")
"""A book is made on the way and not kept: its bytes hold the time of writing."""


def commands() -> list[str]:
    """The commands of the gallery's page that run in its folder `sets`."""
    page = (GALLERY / "README.md").read_text(encoding="utf-8")
    return re.findall(r"^    (phasemark .*)$", page.partition(HEADING)[2], re.M)


def sets(folder: Path) -> None:
    """Run those commands in a folder, next to a folder `demo`.

    Raises
    ------
    RuntimeError
        A command does not end well.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in INPUTS:
        if not (folder / name).exists():
            shutil.copy(GALLERY / "sets" / name, folder)
    before, cache = Path.cwd(), os.environ.get("PHASEMARK_CACHE")
    os.chdir(folder)
    # Only motions that are shipped: what this machine has solved before must make no difference.
    os.environ["PHASEMARK_CACHE"] = tempfile.mkdtemp()
    try:
        for line in commands():
            words, _, to = line.removeprefix("phasemark ").partition(" > ")
            said = io.StringIO()
            with contextlib.redirect_stdout(said):
                code = main(shlex.split(words))
            if code:
                raise RuntimeError(f"{line}: exit code {code}")
            if to:
                Path(to).write_text(said.getvalue(), encoding="utf-8")
        for name in PRIVATE:
            Path(name).unlink(missing_ok=True)
    finally:
        os.chdir(before)
        shutil.rmtree(os.environ.pop("PHASEMARK_CACHE"))
        if cache is not None:
            os.environ["PHASEMARK_CACHE"] = cache


def whole() -> int:
    """Make the demo's files and the sets where they stand."""
    code = main(["demo", str(GALLERY / "demo"), "--overwrite"])
    if code:
        return code
    folder = GALLERY / "sets"
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_dir():
            path.rmdir()
        elif path.name not in INPUTS:
            path.unlink()
    sets(folder)
    return desk()


def desk() -> int:
    """Make the pictures of the desk's screens where they stand; needs a browser."""
    from tests.browser import BROWSER
    from tests.layout.desk.screens import shots

    if BROWSER is None:
        print("no chromium on this machine: the desk's screens stay as they were", file=sys.stderr)
        return 0
    shutil.rmtree(GALLERY / "desk", ignore_errors=True)
    shots(GALLERY / "desk")
    return 0


if __name__ == "__main__":
    sys.exit(desk() if sys.argv[1:] == ["desk"] else whole())
