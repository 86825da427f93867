"""The house keeps its promises: its doors open, its map is the house's, its sources are named."""

from __future__ import annotations

import ast
import importlib
import re
import shutil
from pathlib import Path

import pytest

from tests import house_map
from tests.test_arrows import FLOOR, HEAVY, ROOT, loaded

README = ROOT / "README.md"


@pytest.mark.parametrize("package", ["animate", "layout"])
def test_the_door_opens_and_is_typed(package: str) -> None:
    """Every name at the door is there, and is the one a type checker is told of."""
    door = importlib.import_module(package)
    tree = ast.parse((ROOT / package / "__init__.py").read_text(encoding="utf-8"))
    told = {
        f"{node.module}.{alias.name}"
        for block in tree.body
        if isinstance(block, ast.If)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if alias.asname == alias.name
    }
    given = {
        f"{package}.{place}.{name}" for place, names in door.DOOR.items() for name in names.split()
    }
    assert told == given
    assert len(given) > 11
    for name in given:
        short = name.rpartition(".")[2]
        assert getattr(door, short) is not None
        assert short in dir(door)
    with pytest.raises(AttributeError):
        _ = door.nothing_of_the_kind
    assert (ROOT / package / "py.typed").is_file()
    assert '"py.typed"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_the_door_is_light_until_it_is_used() -> None:
    assert not loaded(["-c", "import animate, layout; dir(layout)"]) & (HEAVY | {"numpy"})


def test_the_readmes_lines_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copy(ROOT / "layout" / "catalogue" / "club" / "imka.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    exec(code, {})
    assert (tmp_path / "imka.svg").read_text(encoding="utf-8").count("<") > 50


def test_the_map_of_rooms_is_the_house() -> None:
    page = house_map.PAGE.read_text(encoding="utf-8")
    shown = page.partition(house_map.BEGIN)[2].partition(house_map.END)[0]
    assert shown == house_map.made(), "make it anew: python -m tests.house_map"
    assert shown.count("\n") == 2 + len(FLOOR) - 1


def test_every_room_says_whose_job_it_is() -> None:
    jobs = [row.split(" | ")[2] for row in house_map.made().splitlines()[2:]]
    assert all(len(job) > 20 for job in jobs)
    assert len(set(jobs)) == len(jobs)


def test_every_path_the_pages_name_is_there() -> None:
    for page in ("README.md", "DEVELOPERS.md", "CONTRIBUTING.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        for path in re.findall(r"`((?:layout|animate|tests|gallery)/[\w/.-]+?)`", text):
            assert list(ROOT.glob(f"{path}*")), (page, path)
