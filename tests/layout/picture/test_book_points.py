"""Files of points: every usual way to write them reads alike, every fault is told, nothing is lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from layout.picture.points import Points, points_from, read_points
from layout.words.faults import BadInput, Fault
from layout.words.reading import number_in
from layout.words.table import named_rows
from tests.layout.picture.pictures import Picture
from tests.strategies import CLUB_FOLDER

GOOD = """\
# a comment
frame;point;x;y;value

one;hip;500;400;
one;Near_Knee;560;520;
one;far-knee;470;540;
one;near toe;640;700
one;far  toe;300;600;
;mark;100;705;2.00
;mark;900;700;"6,50 m"
;length;20;30;100 cm
;length;20;330;
;runs;;;right
one;click;;;1,5
"""


def faults_of(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        points_from(text, "p.csv")
    return [str(f) for f in caught.value.faults]


def counted(points: Points, shared: int) -> int:
    """Rows that a reading holds, with references shared by all frames counted once."""
    total = sum(
        len(f.body) + len(f.marks) + 2 * len(f.rods) + bool(f.runs)
        + (f.click is not None) + (f.joint is not None)
        for f in points.frames
    )  # fmt: skip
    return total - shared * (len(points.frames) - 1)


# --- read -----------------------------------------------------------------------------------------


def test_a_plain_file() -> None:
    points = points_from(GOOD)
    (frame,) = points.frames
    assert frame.name == "one"
    assert [*frame.body] == ["hip", "near knee", "far knee", "near toe", "far toe"]
    assert (frame.body["near knee"].x, frame.body["near knee"].y) == (560.0, 520.0)
    assert [(m.reading, m.at.x) for m in frame.marks] == [(2.0, 100.0), (6.5, 900.0)]
    assert [(r.length, r.upright, r.one.y, r.two.y) for r in frame.rods] == [
        (1.0, False, 30.0, 330.0)
    ]
    assert (frame.runs, frame.click, frame.joint, frame.sides) == (
        "right",
        1.5,
        None,
        ("near", "far"),
    )
    assert counted(points, 0) == 11


@pytest.mark.parametrize(
    ("separator", "comma"), [(";", False), (";", True), ("\t", False), ("\t", True), (",", False)]
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_every_usual_way_reads_alike(
    tmp_path: Path, separator: str, comma: bool, encoding: str, ends: str
) -> None:
    shot = Picture(uprights=(0.8,), tilt=0.01)
    text = f"# aufgenommen für é\n\n{shot.text(separator, comma)}{separator * 3}\n"
    file = tmp_path / "p.csv"
    file.write_bytes(text.replace("\n", ends).encode(encoding))
    assert read_points(file).frames == (shot.frame(),)


def test_columns_in_any_order_and_left_out() -> None:
    text = Picture(marks=(), uprights=(1.0,), extra=()).text()
    rows = [line.split(";") for line in text.splitlines()]
    turned = "\n".join(";".join((v, y, x, n)) for n, x, y, v in rows)
    assert points_from(turned).frames == points_from(text).frames


def test_what_a_spreadsheet_adds() -> None:
    text = "sep=;\n" + Picture().text().replace("point;", "Point ;", 1) + ";;;\n;;;\n"
    assert points_from(text).frames == (Picture().frame(),)
    wide = "\n".join(f"{line};;" for line in Picture().text().splitlines())
    assert points_from(wide).frames == (Picture().frame(),)


def test_several_frames_share_what_has_no_name() -> None:
    body = [
        "hip;500;400;",
        "near knee;560;520;",
        "far knee;470;540;",
        "near toe;6;7;",
        "far toe;3;6;",
    ]
    lines = ["frame;point;x;y;value", ";mark;100;705;2", ";mark;900;700;6", ";click;;;3"]
    lines += [f"{name};{row}" for name in ("a", "b", "c") for row in body]
    lines += ["b;click;;;1", "c;mark;500;702;4"]
    a, b, c = points_from("\n".join(lines)).frames
    assert [f.name for f in (a, b, c)] == ["a", "b", "c"]
    assert a.marks == b.marks == c.marks[:2]
    assert [len(f.marks) for f in (a, b, c)] == [2, 2, 3]
    assert [f.click for f in (a, b, c)] == [3.0, 1.0, 3.0]


def test_the_demo_file_reads() -> None:
    file = CLUB_FOLDER / "imka-step.csv"
    text = file.read_text(encoding="utf-8")
    points = read_points(file)
    rows = [x for x in text.splitlines() if x and not x.startswith("#")]
    assert counted(points, 0) == len(rows) - 1
    assert "nvented" in text.splitlines()[0]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("12", 12.0), ("12.5", 12.5), ("12,5", 12.5), (" -3,0 ", -3.0), ("+1e2", 100.0), (".5", 0.5),
        ("5.", 5.0), ("\u22123", -3.0), ("", None), ("nan", None), ("inf", None), ("1.234,5", None),
        ("1 234", None), ("1'234", None), ("0x1f", None), ("\u0661", None), ("1_0", None), ("--1", None),
    ],
)  # fmt: skip
def test_numbers(text: str, number: float | None) -> None:
    assert number_in(text) == number


# --- refused, all at once -------------------------------------------------------------------------


def edited(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            edited("hip;500;", "hip;5oo;"),
            ":4: hip, column x: must be a number of pixels up to 100000, got '5oo'",
        ),
        (
            edited("hip;500;400;", "hip;500;;"),
            ":4: hip, column y: must be a number of pixels up to 100000, got ''",
        ),
        (
            edited("hip;500;", "hip;1e9;"),
            ":4: hip, column x: must be a number of pixels up to 100000, got '1e9'",
        ),
        (
            edited("hip;500;400;", "hip;500;400;3"),
            ":4: hip, column value: must be left empty: a body point has none, got '3'",
        ),
        (edited("one;hip", "one;hipp"), ":4: point: must be a known point; did you mean hip"),
        (edited("one;hip", "one;"), ":4: point: is empty"),
        (edited("far-knee", "near knee"), ":6: near knee: is given already on line 5"),
        (
            edited("far-knee", "left knee"),
            ":6: point: must be near or far, as on the lines before, got 'left knee'",
        ),
        (edited("one;hip;500;400;\n", ""), ": frame one: hip is missing"),
        (edited("one;far-knee;470;540;\n", ""), ": frame one: far knee is missing"),
        (
            edited("one;far  toe;300;600;\n", ""),
            ": frame one: an ankle, heel or toe of each leg needed, or the words support",
        ),
        (
            edited("705;2.00", "705;two"),
            ":9: mark, column value: must be a length such as 17.00, 1700 cm or 55-9 1/4, got 'two'",
        ),
        (
            edited("705;2.00", "705;"),
            ":9: mark, column value: must be the mark's tape reading, such as 2.00",
        ),
        (edited("705;2.00", "705;900"), ":9: mark, column value: must be -200 to 200 m, got '900'"),
        (edited(";length;20;330;\n", ""), ":11: length: two rows needed, one for each end"),
        (
            edited("20;330;", "20;330;90 cm"),
            ":12: length, column value: must be the same length as on line 11, 1 m, got '0.9 m'",
        ),
        (edited("30;100 cm", "30;"), ":11: length, column value: its length needed, such as 1.00"),
        (edited("20;330;", "20;30;"), ":12: length: must be another place than that of line 11"),
        (edited(";;;right", ";;;up"), ":13: runs, column value: must be right or left, got 'up'"),
        (
            edited(";runs;;;right", ";runs;3;;right"),
            ":13: runs, column x: must be left empty: runs has only a value, got '3'",
        ),
        (
            edited("one;click;;;1,5", "one;click;;;0"),
            ":14: click, column value: must be 0.05 to 100 pixels, got '0'",
        ),
        (
            edited("one;click;;;1,5", "one;joint;;;20 m"),
            ":14: joint, column value: must be 0 to 0.1 m, got '20 m'",
        ),
        (
            edited("one;click;;;1,5", "one;click;;;1\none;click;;;2"),
            ":15: click: is given already on line 14",
        ),
        (
            edited("one;hip;500", ";hip;500"),
            ":4: frame: a name needed for hip: other rows have one",
        ),
        (edited("one;hip", "o\x07ne;hip"), ":4: frame: at most 40 printable characters allowed"),
        (
            edited("one;hip;500;400;", "one;hip;500;400;;9"),
            ":4: cells: 5 cells needed, one a column, got",
        ),
        (
            edited('"6,50 m"', '"6,50 m'),
            ':10: cells: a quoted cell ends with one " before the next separator',
        ),
        (
            edited("frame;point;x;y;value", "frame;point;x;y;worth"),
            ":2: column 5: is not a known column; known: frame, point, x, y, value, got 'worth'",
        ),
        (
            edited("frame;point;x;y;value", "frame;point;x;x;value"),
            ":2: column 4: is there twice, got 'x'",
        ),
        (
            edited("frame;point;x;y;value", "frame;point;x;;value"),
            ":2: column y: is missing",
        ),
        ("# nothing\n", ": titles: a line of titles needed, with at least point, x, y"),
        ("point;x;y\n", ": points: at least hip, both knees and a scale needed"),
        (
            "point,x,y,value\nhip,500,1,400,0,\n",
            ":2: cells: 4 cells needed, one a column; put a decimal comma in quotes, or ; between cells",
        ),
    ],
)
def test_one_fault(text: str, said: str) -> None:
    assert any(fault.startswith(f"p.csv{said}") for fault in faults_of(text)), faults_of(text)


def test_the_scale_must_be_there() -> None:
    bare = "".join(x for x in GOOD.splitlines(True) if "mark" not in x and "length" not in x)
    rule = "frame one: two marks with different readings, or two rows of length or upright, needed"
    assert faults_of(bare) == [f"p.csv: {rule}, for the scale"]
    one = bare + ";mark;100;705;2.00\n"
    assert faults_of(one) == [f"p.csv: {rule}, for the scale"]
    close = one + ";mark;110;705;2.10\n"
    assert faults_of(close) == ["p.csv: frame one: marks at least 20 cm apart needed"]
    same = one + ";mark;100;705;4.00\n"
    assert faults_of(same) == ["p.csv: frame one: two marks are on one place of the picture"]


def test_all_faults_at_once_in_order() -> None:
    text = "point;x;y;value\nhip;a;b;\nnear knee;1;2;x\nelbow;1;2;\nmark;1;2;\nlength;1;1;2\n"
    lines = faults_of(text)
    assert [x.split(": ")[0] for x in lines[:6]] == [
        "p.csv:2", "p.csv:2", "p.csv:3", "p.csv:4", "p.csv:5", "p.csv:6",
    ]  # fmt: skip
    assert "far knee is missing" in lines[-3]


def test_camera_and_nearer() -> None:
    assert points_from(GOOD + ";camera;;;12\n;nearer;;;-0,6\n").frames[0].nearer == pytest.approx(
        -0.05
    )
    both = "p.csv: frame one: camera and nearer both needed, or neither"
    assert faults_of(GOOD + ";camera;;;12\n") == [both]
    assert faults_of(GOOD + ";nearer;;;0.6\n") == [both]
    rule = "marks nearer by at most half of camera allowed"
    assert faults_of(GOOD + ";camera;;;4\n;nearer;;;3\n") == [
        f"p.csv: frame one: {rule}, got '75%'"
    ]


def test_too_many_frames() -> None:
    text = "frame;point;x;y\n" + "".join(f"{i};hip;1;2\n" for i in range(61))
    assert faults_of(text) == ["p.csv: frame: at most 60 pictures allowed, got 61"]


@pytest.mark.parametrize(
    ("data", "rule"),
    [
        (b"", "is empty"),
        (b" \n", "is empty"),
        (b"hip\x81\xff\x9d", "text in UTF-8, UTF-16 or"),
        (b"x" * 2_000_001, "at most 2 MB"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, data: bytes, rule: str) -> None:
    file = tmp_path / "p.csv"
    file.write_bytes(data)
    with pytest.raises(BadInput, match=rule):
        read_points(file)
    for place in (tmp_path, tmp_path / "none.csv", Path("a\0b")):
        with pytest.raises(BadInput, match="cannot be read"):
            read_points(place)


# --- anything at all ------------------------------------------------------------------------------

CELL = st.sampled_from(
    ["hip", "near knee", "far knee", "mark", "length", "upright", "runs", "click", "joint", "left toe",
     "right", "1", "2,5", "-3", "nan", "", " ", '"', '"a"', "#", "2 m", "1e999", "\x00", "\u2028", "é"]
)  # fmt: skip
TABLE = st.lists(st.lists(CELL, max_size=6).map(";".join), max_size=12).map(
    lambda rows: "\n".join(["frame;point;x;y;value", *rows])
)


@given(st.one_of(st.text(max_size=200), TABLE))
@example("sep=;")
@example("point;x;y\n\x00;1;2")
def test_never_a_traceback(text: str) -> None:
    told = ["nothing"]
    try:
        points_from(text, "p.csv")
    except BadInput as error:
        told = [str(f) for f in error.faults]
    assert told
    assert all("\n" not in line for line in told)


@given(data=st.binary(max_size=300))
def test_never_a_traceback_from_bytes(tmp_path_factory: Any, data: bytes) -> None:
    file = tmp_path_factory.mktemp("p") / "p.csv"
    file.write_bytes(data)
    with pytest.raises(BadInput):
        read_points(file)


@given(
    line=st.integers(0, 30),
    cell=st.integers(0, 3),
    change=st.one_of(CELL, st.text(max_size=12)),
    more=st.lists(st.lists(CELL, max_size=5).map(";".join), max_size=2),
)
def test_nothing_is_lost(line: int, cell: int, change: str, more: list[str]) -> None:
    """A file changed anywhere is either refused, or all its rows are in what was read."""
    lines = Picture(uprights=(0.7,), marks=(-1.0, 0.2, 1.1)).text().splitlines() + more
    cells = lines[line % len(lines)].split(";")
    if cell < len(cells):
        cells[cell] = change
    lines[line % len(lines)] = ";".join(cells)
    text = "\n".join(lines)
    try:
        points = points_from(text)
    except BadInput:
        return
    faults: list[Fault] = []
    _, rows = named_rows(text, ("point", "x", "y", "value"), ("point", "x", "y"), "", faults)
    assert not faults
    assert counted(points, 0) == len(rows)
    kept = [x for x in text.replace("\r", "\n").split("\n") if x.strip(' \t;,"')]
    assert len(rows) == len(kept) - 1
