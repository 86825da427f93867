"""Named points that a coach has clicked on a side-view picture, and what gives them a scale.

A table with a heading line and these columns, in any order:

    frame   name of the picture; may be left out where there is one. References (mark, length,
            upright and what has only a value) without a frame hold for all of them
    point   what the row is; see below
    x, y    pixels, x to the right and y down, as picture programs show them
    value   a length or a word, where the row has one

Body points: hip, shoulder, head (its top), and with near or far, left or right, or support or free
before them knee, ankle, heel, toe, elbow, wrist. Hip and both knees are needed. For scale:
mark (on the runway; value is its tape reading), or two rows each of length (a known length in the
athlete's plane) or upright (the same, plumb). runs says right or left; click and joint are the
errors of a click in pixels and of finding a joint, where they are not the usual ones. Marks at the
runway's edge look larger or smaller than the athlete: camera is the distance from it to the line
the athlete runs on, and nearer how much nearer to it than that line the marks are (minus: beyond).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from layout.words.faults import MOST_TOLD, BadInput, Fault
from layout.words.reading import nearest, number_in
from layout.words.table import NamedRow, named_rows, read_table
from layout.words.units import parse_length

COLUMNS: Final = ("frame", "point", "x", "y", "value")
SINGLE: Final = ("hip", "shoulder", "head")
PAIRED: Final = ("knee", "ankle", "heel", "toe", "elbow", "wrist")
SIDES: Final = (("near", "far"), ("left", "right"), ("support", "free"))
"""Ways to tell the limbs apart; a file keeps to one."""
RODS: Final = ("length", "upright")
LENGTHS: Final = {
    "joint": (0.0, 0.1), "camera": (2.0, 200.0), "nearer": (-5.0, 5.0), "mark": (-200.0, 200.0),
    "length": (0.05, 50.0), "upright": (0.05, 50.0),
}  # fmt: skip
"""What is a length, and its bounds [m]."""
SETTINGS: Final = ("runs", "click", "joint", "camera", "nearer")
AT: Final = "touchdown"
"""A frame of this name is the one compared with the target; else the first is."""
LARGEST_PIXEL: Final = 100_000.0
MOST_FRAMES: Final = 60
MOST_NEARER: Final = 0.5
MOST_REFERENCES: Final = 40
"""Marks, or ends of lengths, of one picture."""
_BODY: Final = (*SINGLE, *(f"{s} {p}" for pair in SIDES for s in pair for p in PAIRED))
_KNOWN: Final = (*_BODY, "mark", *RODS, *SETTINGS)
_RENAMED: Final = {"top of head": "head", "vertex": "head"}


@dataclass(frozen=True)
class Click:
    """A place on the picture [px], y down."""

    x: float
    y: float


@dataclass(frozen=True)
class Mark:
    """A mark on the runway with its tape reading [m]."""

    at: Click
    reading: float


@dataclass(frozen=True)
class Rod:
    """Two ends of a known length [m]; `upright` where it stands plumb."""

    one: Click
    two: Click
    length: float
    upright: bool


@dataclass(frozen=True)
class Frame:
    """One picture's points."""

    name: str  # empty where the file has one picture and gives it no name
    body: Mapping[str, Click]  # by name, as "hip" or "near knee"
    marks: tuple[Mark, ...]
    rods: tuple[Rod, ...]
    # right or left or : which way the athlete runs in the picture; empty where not said
    runs: str = ""
    click: float | None = None  # error of a click, one standard deviation [px]
    joint: float | None = None  # error of finding a joint under the skin, the same [m]
    # how much nearer to the camera than the athlete the marks are, over the athlete's distance
    nearer: float = 0.0
    camera: float = 0.0  # from the camera to the line the athlete runs on [m]; 0 where not said

    @property
    def sides(self) -> tuple[str, str]:
        """The two words that tell the limbs apart."""
        words = {name.split()[0] for name in self.body if " " in name}
        return next(pair for pair in SIDES if words <= set(pair))


@dataclass(frozen=True)
class Points:
    """A file of points: its frames in the order they come."""

    file: str
    frames: tuple[Frame, ...]

    @property
    def chosen(self) -> int:
        """The frame that is held against the target: the one of the name `AT`, else the first."""
        return next((i for i, f in enumerate(self.frames) if f.name.lower() == AT), 0)


@dataclass
class _Found:
    """What the rows of one frame hold so far."""

    line: int = 0
    body: dict[str, Click] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    ends: dict[str, list[tuple[Click, float | None, int]]] = field(
        default_factory=lambda: {rod: [] for rod in RODS}
    )
    settings: dict[str, str | float] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)


class _Reader:
    """Rows into frames, noting every fault."""

    def __init__(self, file: str, faults: list[Fault]) -> None:
        self.file, self.faults = file, faults
        self.found: dict[str, _Found] = {}
        self.sides: tuple[str, str] | None = None

    def fault(self, row: NamedRow | int, column: str, rule: str, value: object = None) -> None:
        line = row if isinstance(row, int) else row.line
        self.faults.append(Fault(column, rule, value, self.file, line))

    def row(self, row: NamedRow) -> None:
        frame = " ".join(row.cells["frame"].split())
        if len(frame) > 40 or not frame.isprintable():
            self.fault(row, "frame", "at most 40 printable characters allowed", frame)
            return
        given = row.cells["point"]
        name = " ".join(given.lower().replace("_", " ").replace("-", " ").split())
        name = _RENAMED.get(name, name)
        if name not in _KNOWN:
            say = f"must be a known point{nearest(name, _KNOWN)}" if name else "is empty"
            self.fault(row, "point", say, given or None)
            return
        found = self.found.setdefault(frame, _Found(row.line))
        if name in SETTINGS:
            self._setting(row, name, found)
            return
        at = self._click(row)
        if name in _BODY:
            self._body(row, name, at, found)
            return
        value = self._length(row, name)
        if at is None:
            return
        if len(found.marks) + sum(map(len, found.ends.values())) >= MOST_REFERENCES:
            self.fault(row, name, f"at most {MOST_REFERENCES} marks and ends of lengths allowed")
            return
        if name == "mark" and value is not None:
            found.marks.append(Mark(at, value))
        elif name in RODS:
            found.ends[name].append((at, value, row.line))

    def _click(self, row: NamedRow) -> Click | None:
        places = []
        for column in ("x", "y"):
            text = row.cells[column]
            place = number_in(text)
            if place is None or abs(place) > LARGEST_PIXEL:
                rule = f"must be a number of pixels up to {LARGEST_PIXEL:.0f}"
                self.fault(row, f"{row.cells['point']}, column {column}", rule, text)
            else:
                places.append(place)
        return Click(*places) if len(places) == 2 else None

    def _length(self, row: NamedRow, name: str) -> float | None:
        text = row.cells["value"]
        column = f"{name}, column value"
        if not text and name in ("mark", *RODS):
            if name == "mark":
                self.fault(row, column, "must be the mark's tape reading, such as 2.00")
            return None
        try:
            return parse_length(text, column, lowest=LENGTHS[name][0], highest=LENGTHS[name][1])
        except BadInput as error:
            self.faults += error.at(self.file, row.line).faults
            return None

    def _again(self, row: NamedRow, name: str, found: _Found) -> bool:
        """Whether the frame has it already, which is a fault; from now on it has."""
        if name in found.lines:
            self.fault(row, name, f"is given already on line {found.lines[name]}")
            return True
        found.lines[name] = row.line
        return False

    def _body(self, row: NamedRow, name: str, at: Click | None, found: _Found) -> None:
        if row.cells["value"]:
            rule = "must be left empty: a body point has none"
            self.fault(row, f"{name}, column value", rule, row.cells["value"])
        if self._again(row, name, found):
            return
        if " " in name:
            pair = next(p for p in SIDES if name.split()[0] in p)
            self.sides = self.sides or pair
            if pair != self.sides:
                rule = f"must be {self.sides[0]} or {self.sides[1]}, as on the lines before"
                self.fault(row, "point", rule, name)
                return
        if at is not None:
            found.body[name] = at

    def _setting(self, row: NamedRow, name: str, found: _Found) -> None:
        text = row.cells["value"].lower()
        for column in ("x", "y"):
            if row.cells[column]:
                rule = f"must be left empty: {name} has only a value"
                self.fault(row, f"{name}, column {column}", rule, row.cells[column])
        if self._again(row, name, found):
            return
        column = f"{name}, column value"
        if name == "runs":
            if text not in ("right", "left"):
                self.fault(row, column, "must be right or left", text or None)
            found.settings[name] = text
        elif name == "click":
            pixels = number_in(text)
            if pixels is None or not 0.05 <= pixels <= 100.0:
                self.fault(row, column, "must be 0.05 to 100 pixels", text or None)
            else:
                found.settings[name] = pixels
        elif (length := self._length(row, name)) is not None:
            found.settings[name] = length

    def frames(self) -> tuple[Frame, ...]:
        shared = self.found.get("", _Found())
        named = {n: f for n, f in self.found.items() if n}
        if not named:
            named = {"": shared}
        elif shared.body:
            lost = ", ".join(shared.body)
            rule = f"a name needed for {lost}: other rows have one"
            self.fault(shared.lines[next(iter(shared.body))], "frame", rule)
        if len(named) > MOST_FRAMES:
            self.fault(0, "frame", f"at most {MOST_FRAMES} pictures allowed", len(named))
            return ()
        common = self._rods(shared)
        return tuple(self._frame(n, f, shared, common) for n, f in named.items())

    def _rods(self, found: _Found) -> tuple[Rod, ...]:
        out = []
        for name, ends in found.ends.items():
            for (one, a, line), (two, b, after) in zip(ends[::2], ends[1::2], strict=False):
                if a is None and b is None:
                    self.fault(line, f"{name}, column value", "its length needed, such as 1.00")
                elif a is not None and b is not None and a != b:
                    rule = f"must be the same length as on line {line}, {a:g} m"
                    self.fault(after, f"{name}, column value", rule, f"{b:g} m")
                elif one == two:
                    self.fault(after, name, f"must be another place than that of line {line}")
                else:
                    length = a if a is not None else b
                    assert length is not None
                    out.append(Rod(one, two, length, name == "upright"))
            if len(ends) % 2:
                self.fault(ends[-1][2], name, "two rows needed, one for each end")
        return tuple(out)

    def _frame(self, name: str, found: _Found, shared: _Found, common: tuple[Rod, ...]) -> Frame:
        own = found is not shared
        settings = {**shared.settings, **found.settings}
        marks = (*shared.marks, *found.marks) if own else tuple(found.marks)
        rods = (*common, *self._rods(found)) if own else common
        label = f"frame {name}" if name else "points"
        pair = self.sides or SIDES[0]
        for needed in ("hip", *(f"{side} knee" for side in pair)):
            if needed not in found.lines:
                self.fault(0, label, f"{needed} is missing")
        feet = [s for s in pair if any(f"{s} {p}" in found.lines for p in ("ankle", "heel", "toe"))]
        if self.sides and pair != SIDES[2] and len(feet) < 2:
            rule = "an ankle, heel or toe of each leg needed, or the words support and free"
            self.fault(0, label, f"{rule}, to tell the leg that is down")
        readings = {m.reading for m in marks}
        if not rods and len(readings) < 2:
            rule = "two marks with different readings, or two rows of length or upright, needed"
            self.fault(0, label, f"{rule}, for the scale")
        elif readings and not rods and max(readings) - min(readings) < 0.2:
            self.fault(0, label, "marks at least 20 cm apart needed")
        elif len({m.at for m in marks}) < len(marks):
            self.fault(0, label, "two marks are on one place of the picture")
        figures = {key: float(v) for key, v in settings.items() if key != "runs"}
        share = 0.0
        if ("camera" in figures) != ("nearer" in figures):
            self.fault(0, label, "camera and nearer both needed, or neither")
        elif figures.keys() >= {"camera", "nearer"}:
            share = figures["nearer"] / figures["camera"]
            if share > MOST_NEARER:
                rule = "marks nearer by at most half of camera allowed"
                self.fault(0, label, rule, f"{share:.0%}")
        runs = str(settings.get("runs", ""))
        return Frame(name, dict(found.body), marks, rods, runs, figures.get("click"),
                     figures.get("joint"), share,
                     figures.get("camera", 0.0) if share else 0.0)  # fmt: skip


def written(frame: Frame) -> str:
    """One picture's points as a file holds them, without its name.

    >>> written(Frame("any", {"hip": Click(1.5, 2.0)}, (Mark(Click(3, 4), 2.61),), (), "left"))
    'point,x,y,value\\nruns,,,left\\nhip,1.5,2,\\nmark,3,4,2.61\\n'
    """
    rows: list[tuple[str, Click | None, str]] = [("runs", None, frame.runs)] if frame.runs else []
    said = {
        "click": frame.click, "joint": frame.joint, "camera": frame.camera or None,
        "nearer": frame.nearer * frame.camera or None,
    }  # fmt: skip
    rows += [(name, None, f"{v:.6g}") for name, v in said.items() if v is not None]
    rows += [(name, at, "") for name, at in frame.body.items()]
    rows += [("mark", m.at, f"{m.reading:.6g}") for m in frame.marks]
    for rod in frame.rods:
        name = "upright" if rod.upright else "length"
        rows += [(name, at, f"{rod.length:.6g}") for at in (rod.one, rod.two)]
    lines = [
        f"{name},{at.x:.8g},{at.y:.8g},{value}" if at else f"{name},,,{value}"
        for name, at, value in rows
    ]
    return "\n".join(["point,x,y,value", *lines, ""])


def points_from(text: str, file: str = "") -> Points:
    """Points out of the text of a table.

    `file`: its name, for faults. Refused: every fault found, with line and column.
    """
    faults: list[Fault] = []
    _, rows = named_rows(text, COLUMNS, ("point", "x", "y"), file, faults)
    reader = _Reader(file, faults)
    for row in rows:
        reader.row(row)
        if len(faults) > MOST_TOLD:  # more are not told, and each costs a search
            break
    if rows:
        frames = reader.frames()
    elif not faults:
        faults.append(Fault("points", "at least hip, both knees and a scale needed", None, file))
    if faults:
        raise BadInput(sorted(faults, key=lambda f: (f.line == 0, f.line)))
    return Points(file, frames)


def read_points(path: Path) -> Points:
    """Read a file of points."""
    return points_from(read_table(path)[0], str(path))
