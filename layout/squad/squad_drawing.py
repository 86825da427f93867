"""The true-scale drawing of a squad's set-out: all lanes from above, and a row of readings a set."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from animate.body.shapes import Area, Shape, Stroke
from layout.page.page import (
    BODY,
    MARGIN,
    Ink,
    Line,
    Page,
    Text,
    View,
    choose_scale,
    corners,
    paper_size,
)
from layout.page.widths import text_width, wrapped
from layout.rules.standing import YOUTH_AGE
from layout.sheet.drawing import Sheet
from layout.sheet.runway import AFTER, BEFORE
from layout.sheet.texts import SMALL, columns, ruled, scale_bar, scale_sign, titled
from layout.squad.laid import LaidSet, SetOut
from layout.squad.squad_words import MOST_ROWS, drawn_sets, footnotes, set_list, sign
from layout.words.faults import BadInput
from layout.words.feet import as_read
from layout.words.names import counted
from layout.words.units import show_length, tape

READABLE: Final = 100  # Scale that a larger paper is taken for (ours)
SIGN: Final = 1.5  # Half the height of a mark's sign in a row [mm]
LEAST_SIGN: Final = 0.8  # Smaller signs are not drawn on the lanes, only lines [mm]
ROW: Final = 5.0
FOOT_LETTER: Final = {"left": "L", "right": "R", "both": "LR"}
BAR: Final = 20.0
LEGEND: Final = (
    "L, R: foot that lands there; on a set that both legs use, that of the right-legged: "
    "left-legged (marked in the list) take the other. All marks lie on the line of running."
)
BARS: Final = " Thick bars on the lanes: hurdles of that set; where and how high, see the card."


class Ground:
    """What is drawn of a set-out: its lanes, and the sets that get a row."""

    def __init__(self, laid: SetOut, step: float | None, most: int) -> None:
        self.laid, self.step, self.signs = laid, step, drawn_sets(laid, most)
        self.sand = laid.ends == "sand"
        # From where to where the ground is drawn [m].
        self.low = min(s.line for s in laid.sets) - BEFORE
        high = max(s.line + s.xs[-1] for s in laid.sets) + AFTER
        self.high = max(high, 1.0) if self.sand else high
        # Middles of the lanes, the first one in the picture's top, and the widest thing on one [m].
        count = max(s.lane for s in laid.sets)
        self.lanes = {lane: -(lane - 1) * laid.lane_spacing for lane in range(1, count + 1)}
        self.wide = max(laid.width, laid.pit_width if self.sand else 0.0)
        self.across = self.wide + (count - 1) * laid.lane_spacing

    def lane_ink(self, view: View) -> list[Ink]:
        """The lanes with their numbers."""
        laid, out = self.laid, list[Ink]()
        low, half = self.low, laid.width / 2.0
        end = min(self.high, 0.0) if self.sand else self.high
        wide, far = laid.pit_width / 2.0, min(self.high, laid.pit_length)
        for lane, y in self.lanes.items():
            shapes: dict[str, Shape] = {
                f"lane-{lane}": Area(corners(low, end, y - half, y + half), "ground"),
                f"lane-{lane}-left": Stroke(((low, y + half), (end, y + half)), "line", 0.02),
                f"lane-{lane}-right": Stroke(((low, y - half), (end, y - half)), "line", 0.02),
            }
            if self.sand:
                shapes[f"pit-{lane}"] = Area(corners(0.0, far, y - wide, y + wide), "sand", "line")
            for name, shape in shapes.items():
                out += view.ink([shape], name)
            if laid.lanes > 1:
                left, middle = view.point(low, y)
                at = (left - 1.0, middle + 1.2)
                out.append(Text(at, f"{lane}", BODY + 0.6, "quiet", "right"))
        return out

    def marks(self, view: View) -> list[Ink]:
        """Toe lines on the lanes, each set in its own part of the lane's width."""
        laid, out = self.laid, list[Ink]()
        for lane, middle in self.lanes.items():
            here = [s for s in laid.sets if s.lane == lane and s.label in self.signs]
            wide = laid.width / max(len(here), 1)
            size = min(SIGN, view.mm(wide) * 0.36)
            for row, item in enumerate(here):
                y0, y1 = (middle + laid.width / 2.0 - r * wide for r in (row, row + 1))
                half = (y0 + y1) / 2.0
                # Beside: on the half of the set's part where it stands; over: the whole of it.
                parts = {"left": (y0, half), "right": (half, y1), "": (y0, y1)}
                for i, hurdle in enumerate(item.hurdles):
                    x = item.line + hurdle.x
                    a, b = (view.point(x, y) for y in parts[hurdle.side])
                    out.append(Line((a, b), "hurdle", None, 1.1, name=f"hurdle-{item.label}-{i}"))
                for i, x in enumerate(item.xs):
                    a, b = (view.point(item.line + x, y) for y in (y0, y1))
                    name = f"{item.label}-{i}"
                    out.append(Line((a, b), "line", None, 0.3 if i else 0.45, name=f"toe-{name}"))
                    if size < LEAST_SIGN:
                        continue
                    at = (a[0] - size - 0.4, (a[1] + b[1]) / 2.0)
                    out.append(sign(at, size, self.signs[item.label], f"sign-{name}"))
                    if size >= 1.2:
                        left = (at[0] - size - 0.5, at[1] + 1.0)
                        out.append(Text(left, item.label, SMALL, "text", "right", True, True))
        return out

    def _readings(self, item: LaidSet) -> list[tuple[float, str]]:
        """Marks of one set: where along the runway [m], and reading with the foot."""
        way, system = -1.0 if self.sand else 1.0, self.laid.system
        xs = [item.line + x for x in item.xs]
        made = tape([way * x for x in xs], system, self.step)
        return [
            (x, f"{show_length(abs(reading), system).removesuffix(' m')} {FOOT_LETTER[foot]}")
            for x, reading, foot in zip(xs, made.readings, item.feet, strict=True)
        ]

    def rows(self, view: View, top: float, zero: bool = True) -> tuple[list[Ink], float]:
        """A row of signs and readings for each set, lane by lane; and how high they are [mm].

        zero: whether it says where they are read from; else that must stand elsewhere.
        """
        laid, out = self.laid, list[Ink]()
        y, lane = top, 0
        for item in sorted(laid.sets, key=lambda s: s.lane):
            if item.label not in self.signs:
                continue
            if item.lane != lane:
                lane = item.lane
                told = [f"Lane {lane}"] if laid.lanes > 1 else []
                told += [f"tape readings from the {laid.zero}"] if zero else []
                if told:
                    out.append(Text((MARGIN, y + 3.0), ": ".join(told), SMALL, "quiet"))
                    y += ROW - 0.6
            readings = self._readings(item)
            lefts = [view.point(x, 0.0)[0] for x, _ in readings]
            texts = [text for _, text in readings]
            levels = _levels(lefts, texts)
            at = y + ROW / 2.0
            for left, end, text, level in zip(lefts, lefts[1:], texts, levels, strict=False):
                # Beside a reading, not through it.
                gone = 0.0 if level else SIGN + 1.2 + text_width(text, SMALL, True)
                if left + gone < end - SIGN:
                    out.append(Line(((left + gone, at), (end, at)), "quiet", None, 0.12))
            name = (max(lefts[0] - SIGN - 1.0, MARGIN), at + 1.1)
            out.append(Text(name, item.label, BODY + 0.6, "text", "right", True))
            for i, (mark, text, level) in enumerate(zip(lefts, texts, levels, strict=True)):
                down = (mark + SIGN + 0.6, at + 1.05 + level * (ROW - 1.0))
                out += [
                    sign((mark, at), SIGN, self.signs[item.label], f"row-{item.label}-{i}"),
                    Text(down, text, SMALL, bold=True, halo=True),
                ]
            y += ROW + max(levels) * (ROW - 1.0)
        return out, y - top


def _levels(lefts: Sequence[float], texts: Sequence[str]) -> list[int]:
    """Which level each reading stands on, so that it meets neither a reading nor the next sign."""
    ends: list[float] = [0.0]
    out = []
    for i, text in enumerate(texts):
        end = lefts[i] + SIGN + 0.6 + text_width(text, SMALL, True) + 0.8
        clear = [lefts[i] - SIGN >= e for e in ends]
        clear[0] &= i + 1 == len(lefts) or end <= lefts[i + 1] - SIGN
        level = clear.index(True) if True in clear else len(ends)
        if level == len(ends):
            ends.append(0.0)
        ends[level] = end
        out.append(level)
    return out


def _facts(laid: SetOut) -> list[str]:
    shared = sum(s.shared for s in laid.sets)
    own = len(laid.sets) - shared
    off = [abs(o) for s in laid.sets if s.shared for a in s.athletes for o in a.off]
    most = f"; nobody on a shared set is off by more than {100 * max(off):.0f} cm" if off else ""
    if any(a.young for s in laid.sets for a in s.athletes):
        most += f", and nobody under {YOUTH_AGE} is stretched"
    facts = (
        f"{counted(shared, 'shared set')} (letters), {own} with own marks (numbers); "
        f"tolerance {laid.tolerance} in each phase{most}.",
        f"{' + '.join(laid.phases)}, from the {laid.zero}. Start marks: on the tape card.",
    )
    return [as_read(fact, laid.system) for fact in facts]


def squad_page(laid: SetOut, sheet: Sheet | None = None, step: float | None = None) -> Page:
    """The drawing of a set-out with as many of its sets as the paper holds; the rest are counted."""
    last: BadInput | None = None
    for most in MOST_ROWS:
        try:
            return on_paper(lambda s, n=most: draw_squad(laid, s, step, n), sheet)  # type: ignore[misc]
        except BadInput as error:
            last = last or error
    assert last is not None
    raise last


def draw_squad(
    laid: SetOut, sheet: Sheet | None = None, step: float | None = None, most: int = MOST_ROWS[0]
) -> Page:
    """A set-out with at most so many sets on one page, at an exact scale; refused if it does not fit."""
    sheet = sheet or Sheet()
    size = paper_size(sheet.paper, sheet.upright)
    ground = Ground(laid, step, most)
    low, across, wide = ground.low, ground.across, size[0] - 2 * MARGIN
    count = 3 if wide > 350 else 2
    title = f"Squad of {laid.athletes}: {laid.title}"
    head, tall = titled(title, _facts(laid), laid.venue, laid.date, size)
    said = set_list(laid, ground.signs)
    _, long = columns(said, MARGIN, 0.0, wide, count)
    foot, deep = ruled(footnotes(laid, ground.signs), size, count)

    def taken(scale: int) -> float:
        view = View(scale, MARGIN + 6.0 - 1000.0 * low / scale, 0.0)
        return tall + ground.rows(view, 0.0)[1] + BAR + long + deep + 11.0

    scale = choose_scale(ground.high - low, across, size, taken, sheet.scale)
    free = size[1] - 2 * MARGIN - taken(scale) - 1000.0 * across / scale
    left = MARGIN + (wide - 1000.0 * (ground.high - low) / scale) / 2.0 - 1000.0 * low / scale
    top = MARGIN + tall + 2.0 + min(free * 0.15, 10.0)
    view = View(scale, left, top + 1000.0 * ground.wide / 2.0 / scale)
    bottom = top + 1000.0 * across / scale + 2.0
    rows, high_rows = ground.rows(view, bottom)
    bar = bottom + high_rows + 3.0
    legend = LEGEND + (BARS if any(s.hurdles for s in laid.sets) else "")
    ink = [
        *head,
        scale_sign(scale, size),
        *ground.lane_ink(view),
        *ground.marks(view),
        *rows,
        *scale_bar(view, (MARGIN, bar), laid.system, wrapped(legend, SMALL, wide)),
        *columns(said, MARGIN, bar + BAR - 4.5, wide, count)[0],
        *foot,
    ]
    return Page(size[0], size[1], scale, f"{title}, 1:{scale}", tuple(ink))


def on_paper(make: Callable[[Sheet], Page], sheet: Sheet | None) -> Page:
    """A page on the paper asked for, or on the smallest that holds it at 1:100 or larger.

    Only where none does, on the smallest that holds it at all; the scale is printed as ever.
    """
    if sheet is not None:
        return make(sheet)
    pages: list[Page] = []
    last: BadInput | None = None
    for paper in ("A4", "A3"):
        for upright in (False, True):
            try:
                pages.append(make(Sheet(paper, upright)))
            except BadInput as error:
                last = error
                continue
            if pages[-1].scale <= READABLE:
                return pages[-1]
    if last is not None and not pages:
        raise last
    return pages[0]
