"""A page in millimetres, y down: paper, exact scale, and shapes in metres turned into ink.

This is the one place where metres become millimetres and y is flipped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, Protocol

from animate.body.shapes import Area, Label, Role, Shape, Stroke
from layout.page.widths import text_width
from layout.words.faults import refuse
from layout.words.reading import nearest

Point = tuple[float, float]
Align = Literal["left", "middle", "right"]

PAPERS: Final[dict[str, tuple[float, float]]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}
"""Width and height upright [mm]."""
SCALES: Final = (50, 100, 200)
MARGIN: Final = 10.0
"""Free edge of every page [mm]; ordinary printers reach within about 5."""
HAIR: Final = 0.18
"""Width of a line that was given none [mm]."""
HALO: Final = 0.28
"""Width of the rim round haloed letters [em]."""
BODY: Final = 3.2
"""Em of normal text [mm], about 9 pt: legible at arm's length."""


def corners(x0: float, x1: float, y0: float, y1: float) -> tuple[Point, ...]:
    """The four corners of an upright box, for a closed outline."""
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


@dataclass(frozen=True)
class Line:
    """A line on the page, or a filled outline.

    points: [mm], y down.
    width: [mm].
    dash: [mm].
    name: what it is, kept as an identifier in the SVG; empty for most.
    """

    points: tuple[Point, ...]
    stroke: Role | None = None
    fill: Role | None = None
    width: float = HAIR
    closed: bool = False
    dash: tuple[float, ...] = ()
    name: str = ""


@dataclass(frozen=True)
class Text:
    """One line of text on the page.

    at: left end, middle or right end of its baseline [mm].
    size: em [mm].
    align: {"left", "middle", "right"}.
    halo: paint the paper's colour round the letters, where they cross lines.
    """

    at: Point
    text: str
    size: float = BODY
    role: Role = "text"
    align: Align = "left"
    bold: bool = False
    halo: bool = False

    def left(self, wide: float) -> float:
        """Where it begins, so wide as it is [mm]."""
        return self.at[0] - {"left": 0.0, "middle": wide / 2.0, "right": wide}[self.align]


Ink = Line | Text


class Pen(Protocol):
    """What draws a page's ink its own way out: `svg` and `pdf` hold one each."""

    def line(self, line: Line) -> None:
        """A line, or an area where it is filled."""

    def text(self, text: Text) -> None:
        """A line of text."""


@dataclass(frozen=True)
class Page:
    """Paper and everything on it.

    width, height: [mm].
    scale: one metre is 1000 / scale millimetres; 0 where nothing is drawn to scale.
    ink: in drawing order.
    """

    width: float
    height: float
    scale: int
    title: str
    ink: tuple[Ink, ...]

    def draw(self, pen: Pen) -> None:
        """Hand all ink to a pen, in order."""
        for item in self.ink:
            if isinstance(item, Line):
                pen.line(item)
            else:
                pen.text(item)


@dataclass(frozen=True)
class View:
    """A window on the world: a scale, and where x = 0, height = 0 lies on the page.

    x_mm = left + 1000 x / scale;  y_mm = base - 1000 z / scale
    """

    scale: int
    left: float
    base: float

    def mm(self, metres: float) -> float:
        """A length on paper [mm]."""
        return 1000.0 * metres / self.scale

    def point(self, x: float, z: float) -> Point:
        """A place on paper [mm]."""
        return self.left + self.mm(x), self.base - self.mm(z)

    def ink(self, shapes: Iterable[Shape], name: str = "") -> list[Ink]:
        """Shapes in metres as ink on the page; the first one carries the name."""
        out: list[Ink] = []
        for shape in shapes:
            if isinstance(shape, Label):
                out.append(
                    Text(
                        self.point(*shape.at),
                        shape.text,
                        BODY * shape.size,
                        shape.role,
                        shape.align,
                        shape.bold,
                    )
                )
                continue
            # As `point`, without its calls: outlines have hundreds.
            left, base, scale = self.left, self.base, self.scale
            points = tuple(
                [(left + 1000.0 * x / scale, base - 1000.0 * z / scale) for x, z in shape.points]
            )
            if isinstance(shape, Stroke):
                width = self.mm(shape.width) or HAIR
                dash = tuple(self.mm(d) for d in shape.dash)
                out.append(Line(points, shape.role, None, width, shape.closed, dash, name))
            else:
                assert isinstance(shape, Area)
                fill: Role | None = shape.role if shape.filled else "paper"
                edge = shape.edge if shape.filled else (shape.edge or shape.role)
                out.append(Line(points, edge, fill, HAIR, True, (), name))
            name = ""
        return out


def moved(ink: Sequence[Ink], dx: float, dy: float) -> list[Ink]:
    """Ink set elsewhere on the page."""
    out: list[Ink] = []
    for item in ink:
        if isinstance(item, Line):
            out.append(replace(item, points=tuple([(x + dx, y + dy) for x, y in item.points])))
        else:
            out.append(replace(item, at=(item.at[0] + dx, item.at[1] + dy)))
    return out


THIN: Final = 0.05
"""How far an outline may be from its full one [mm]."""


def thinned(ink: Iterable[Ink], fine: float = THIN) -> list[Ink]:
    """Ink whose long closed outlines are within `fine` [mm] of the ones given."""
    import shapely

    out: list[Ink] = []
    for item in ink:
        if isinstance(item, Line) and item.closed and len(item.points) > 8:
            line = shapely.linestrings([*item.points, item.points[0]])
            kept = shapely.get_coordinates(shapely.simplify(line, fine)).tolist()
            item = replace(item, points=tuple([(x, y) for x, y in kept[:-1]]))
        out.append(item)
    return out


def extent(ink: Sequence[Ink]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of ink, letters included [mm]."""
    boxes = [_box(item) for item in ink]
    left, top, right, low = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(low)


def _box(item: Ink) -> tuple[float, float, float, float]:
    if isinstance(item, Text):
        wide = text_width(item.text, item.size, item.bold)
        left = item.left(wide)
        return left, item.at[1] - 0.75 * item.size, left + wide, item.at[1] + 0.22 * item.size
    xs, ys = zip(*item.points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def paper_size(name: str, upright: bool) -> tuple[float, float]:
    """Width and height of a paper [mm]."""
    known = {p.lower(): p for p in PAPERS}
    if name.lower() not in known:
        raise refuse("--paper", f"must be one of {', '.join(PAPERS)}{nearest(name, PAPERS)}", name)
    width, height = PAPERS[known[name.lower()]]
    return (width, height) if upright else (height, width)


def parse_scale(text: str) -> int:
    """A scale such as 1:100."""
    bare = text.strip().removeprefix("1:")
    known = ", ".join(f"1:{s}" for s in SCALES)
    if bare not in map(str, SCALES):
        raise refuse("--scale", f"must be one of {known}", text)
    return int(bare)


def choose_scale(
    length: float,
    high: float,
    paper: tuple[float, float],
    taken: Callable[[int], float],
    wanted: int | None,
) -> int:
    """The wanted scale, or the largest that fits; never a smaller one in silence.

    length, high: of what is drawn to scale [m].
    paper: width and height [mm].
    taken: height that texts need at a scale [mm].
    """

    def fits(scale: int, width: float, height: float) -> bool:
        along, up = 1000.0 * length / scale, 1000.0 * high / scale
        return (
            along <= width - 2 * MARGIN + 1e-9 and up + taken(scale) <= height - 2 * MARGIN + 1e-9
        )

    for scale in (wanted,) if wanted else SCALES:
        if fits(scale, *paper):
            return scale
    scale = wanted or SCALES[-1]
    ways = [f"1:{s} on this paper" for s in SCALES if fits(s, *paper)][:1]
    for name, (short, long) in PAPERS.items():
        if fits(scale, long, short):
            ways.append(f"1:{scale} on {name} across")
            break
        if fits(scale, short, long):
            ways.append(f"1:{scale} on {name} upright")
            break
    hint = f"would fit: {' or '.join(ways)}" if ways else "no scale or paper here holds it"
    raise refuse("scale", f"{length:.1f} m does not fit this paper; {hint}", f"1:{scale}")
