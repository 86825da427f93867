"""The true-scale drawing of a squad's set-out: all lanes from above, and a row of readings a set."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from animate.body.shapes import Area, Shape, Stroke
from layout.page.page import BODY, MARGIN, Ink, Line, Page, Point, View, choose_scale, paper_size
from layout.page.widths import text_width, wrapped
from layout.rules.standing import YOUTH_AGE
from layout.sheet.drawing import Sheet
from layout.sheet.runway import AFTER, BEFORE
from layout.sheet.scale_bar import scale_bar
from layout.sheet.texts import SMALL, columns, ruled, scale_sign, text_at, titled
from layout.squad.laid import LaidSet, SetOut
from layout.squad.set_signs import sign
from layout.squad.squad_words import MOST_ROWS, drawn_sets, footnotes, set_list
from layout.words.faults import BadInput
from layout.words.feet import as_read
from layout.words.units import show_length, tape

READABLE: Final = 100
"""Scale that a larger paper is taken for (ours)."""
SIGN: Final = 1.5
"""Half the height of a mark's sign in a row [mm]."""
LEAST_SIGN: Final = 0.8
"""Smaller signs are not drawn on the lanes, only lines [mm]."""
ROW: Final = 5.0
FOOT_LETTER: Final = {"left": "L", "right": "R", "both": "LR"}
BAR: Final = 20.0


def _ends(laid: SetOut) -> tuple[float, float]:
    """From where to where the ground is drawn [m]."""
    low = min(s.line for s in laid.sets) - BEFORE
    high = max(s.line + s.xs[-1] for s in laid.sets) + AFTER
    return low, max(high, 1.0) if laid.ends == "sand" else high


def _middle(laid: SetOut, lane: int) -> float:
    """Middle of a lane across, the first one in the picture's top [m]."""
    return -(lane - 1) * laid.lane_spacing


def _lanes(laid: SetOut) -> int:
    return max(s.lane for s in laid.sets)


def _across(laid: SetOut) -> float:
    wide = max(laid.width, laid.pit_width if laid.ends == "sand" else 0.0)
    return wide + (_lanes(laid) - 1) * laid.lane_spacing


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[Point, ...]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _ground(laid: SetOut, lane: int) -> list[tuple[str, Shape]]:
    low, high = _ends(laid)
    y, half = _middle(laid, lane), laid.width / 2.0
    end = min(high, 0.0) if laid.ends == "sand" else high
    out: list[tuple[str, Shape]] = [
        (f"lane-{lane}", Area(_box(low, end, y - half, y + half), "ground")),
        (f"lane-{lane}-left", Stroke(((low, y + half), (end, y + half)), "line", 0.02)),
        (f"lane-{lane}-right", Stroke(((low, y - half), (end, y - half)), "line", 0.02)),
    ]
    if laid.ends == "sand":
        wide, far = laid.pit_width / 2.0, min(high, laid.pit_length)
        out.append((f"pit-{lane}", Area(_box(0.0, far, y - wide, y + wide), "sand", "line")))
    return out


def _lane_ink(laid: SetOut, view: View, low: float) -> list[Ink]:
    """The lanes with their numbers."""
    out: list[Ink] = []
    for lane in range(1, _lanes(laid) + 1):
        for name, shape in _ground(laid, lane):
            out += view.ink([shape], name)
        if laid.lanes > 1:
            x, y = view.point(low, _middle(laid, lane))
            at = (x - 1.0, y + 1.2)
            out.append(text_at(at, f"{lane}", BODY + 0.6, role="quiet", align="right"))
    return out


def _marks(laid: SetOut, view: View, signs: dict[str, int]) -> list[Ink]:
    """Toe lines on the lanes, each set in its own part of the lane's width."""
    out: list[Ink] = []
    for lane in range(1, _lanes(laid) + 1):
        here = [s for s in laid.sets if s.lane == lane and s.label in signs]
        wide = laid.width / max(len(here), 1)
        top = _middle(laid, lane) + laid.width / 2.0
        size = min(SIGN, view.mm(wide) * 0.36)
        for row, item in enumerate(here):
            y0, y1 = top - row * wide, top - (row + 1) * wide
            for i, bar in enumerate(item.hurdles):
                # Beside: on the half of the set's part where it stands; over: the whole of it.
                from_, to = (
                    (y0, y1)
                    if bar.place == "over"
                    else ((y0, (y0 + y1) / 2.0) if bar.side == "left" else ((y0 + y1) / 2.0, y1))
                )
                ends = view.point(item.line + bar.x, from_), view.point(item.line + bar.x, to)
                out.append(Line(ends, "hurdle", None, 1.1, name=f"hurdle-{item.label}-{i}"))
            for i, x in enumerate(item.xs):
                a, b = view.point(item.line + x, y0), view.point(item.line + x, y1)
                name = f"toe-{item.label}-{i}"
                out.append(Line((a, b), "line", None, 0.45 if i == 0 else 0.3, name=name))
                if size < LEAST_SIGN:
                    continue
                at = (a[0] - size - 0.4, (a[1] + b[1]) / 2.0)
                out.append(sign(at, size, signs[item.label], f"sign-{item.label}-{i}"))
                if size >= 1.2:
                    left = (at[0] - size - 0.5, at[1] + 1.0)
                    out.append(
                        text_at(left, item.label, SMALL, align="right", bold=True, halo=True)
                    )
    return out


def _readings(laid: SetOut, item: LaidSet, step: float | None) -> list[tuple[float, str]]:
    """Marks of one set: where along the runway [m], and reading with the foot."""
    way = -1.0 if laid.ends == "sand" else 1.0
    xs = [item.line + x for x in item.xs]
    made = tape([way * x for x in xs], laid.system, step)
    out = []
    for x, reading, foot in zip(xs, made.readings, item.feet, strict=True):
        shown = show_length(abs(reading), laid.system).removesuffix(" m")
        out.append((x, f"{shown} {FOOT_LETTER[foot]}"))
    return out


def _levels(view: View, labels: Sequence[tuple[float, str]]) -> list[int]:
    """Which level each reading stands on, so that it meets neither a reading nor the next sign."""
    lefts = [view.point(x, 0.0)[0] for x, _ in labels]
    ends: list[float] = [0.0]
    out = []
    for i, (_, text) in enumerate(labels):
        end = lefts[i] + SIGN + 0.6 + text_width(text, SMALL, True) + 0.8
        clear = [lefts[i] - SIGN >= e for e in ends]
        clear[0] &= i + 1 == len(lefts) or end <= lefts[i + 1] - SIGN
        level = clear.index(True) if True in clear else len(ends)
        if level == len(ends):
            ends.append(0.0)
        ends[level] = end
        out.append(level)
    return out


def _rows(laid: SetOut, view: View, top: float, signs: dict[str, int], step: float | None,
          ) -> tuple[list[Ink], float]:  # fmt: skip
    """A row of signs and readings for each set, lane by lane; and how high they are [mm]."""
    out: list[Ink] = []
    y, lane = top, 0
    for item in sorted(laid.sets, key=lambda s: s.lane):
        if item.label not in signs:
            continue
        if item.lane != lane:
            lane = item.lane
            side = "" if laid.lanes == 1 else f"Lane {lane}: "
            said = f"{side}tape readings from the {laid.zero}"
            out.append(text_at((MARGIN, y + 3.0), said, SMALL, role="quiet"))
            y += ROW - 0.6
        labels = _readings(laid, item, step)
        levels = _levels(view, labels)
        deep = ROW + max(levels) * (ROW - 1.0)
        lefts = [view.point(x, 0.0)[0] for x, _ in labels]
        at = y + ROW / 2.0
        for i, (left, level) in enumerate(zip(lefts[:-1], levels, strict=False)):
            # Beside a reading, not through it.
            gone = SIGN + 1.2 + text_width(labels[i][1], SMALL, True) if level == 0 else 0.0
            if left + gone < lefts[i + 1] - SIGN:
                out.append(Line(((left + gone, at), (lefts[i + 1], at)), "quiet", None, 0.12))
        name = text_at((max(lefts[0] - SIGN - 1.0, MARGIN), at + 1.1), item.label, BODY + 0.6,
                       align="right", bold=True)  # fmt: skip
        out.append(name)
        for i, ((_, text), level) in enumerate(zip(labels, levels, strict=True)):
            mark = lefts[i]
            out.append(sign((mark, at), SIGN, signs[item.label], f"row-{item.label}-{i}"))
            down = at + 1.05 + level * (ROW - 1.0)
            more = {"bold": True, "halo": True}
            out.append(text_at((mark + SIGN + 0.6, down), text, SMALL, **more))
        y += deep
    return out, y - top


def _facts(laid: SetOut) -> list[str]:
    shared = sum(s.shared for s in laid.sets)
    own = len(laid.sets) - shared
    off = [abs(o) for s in laid.sets if s.shared for a in s.athletes for o in a.off]
    most = f"; nobody on a shared set is off by more than {100 * max(off):.0f} cm" if off else ""
    if any(a.young for s in laid.sets for a in s.athletes):
        most += f", and nobody under {YOUTH_AGE} is stretched"
    facts = (
        f"{shared} shared set{'' if shared == 1 else 's'} (letters), {own} with own marks (numbers); "
        f"tolerance {laid.tolerance} in each phase{most}.",
        f"{' + '.join(laid.phases)}, from the {laid.zero}. Start marks: on the tape card.",
    )
    return [as_read(fact, laid.system) for fact in facts]


def _legend(laid: SetOut) -> str:
    out = (
        "L, R: foot that lands there; on a set that both legs use, that of the right-legged: "
        "left-legged (marked in the list) take the other. All marks lie on the line of running."
    )
    if any(s.hurdles for s in laid.sets):
        out += " Thick bars on the lanes: hurdles of that set; where and how high, see the card."
    return out


def squad_page(laid: SetOut, sheet: Sheet | None = None, step: float | None = None) -> Page:
    """The drawing of a set-out with as many of its sets as the paper holds; the rest are counted.

    sheet: none takes the smallest paper that does.
    step: of the tape [m].
    """
    last: BadInput | None = None
    for most in MOST_ROWS:
        try:
            return on_paper(lambda s, n=most: draw_squad(laid, s, step, n), sheet)  # type: ignore[misc]
        except BadInput as error:
            last = last or error
    assert last is not None
    raise last


def draw_squad(
    laid: SetOut,
    sheet: Sheet | None = None,
    step: float | None = None,
    most: int = MOST_ROWS[0],
) -> Page:
    """The drawing of a set-out with at most so many sets on one page, at an exact scale.

    Raises BadInput: it does not fit; says which scale or paper would.
    """
    sheet = sheet or Sheet()
    size = paper_size(sheet.paper, sheet.upright)
    signs = drawn_sets(laid, most)
    low, high = _ends(laid)
    wide, across = size[0] - 2 * MARGIN, _across(laid)
    count = 3 if wide > 350 else 2
    title = f"Squad of {laid.athletes}: {laid.title}"
    head, tall = titled(title, _facts(laid), laid.venue, laid.date, size)
    _, long = columns(set_list(laid, signs), MARGIN, 0.0, wide, count)
    foot, deep = ruled(footnotes(laid, signs), size, count)

    def taken(scale: int) -> float:
        view = View(scale, MARGIN + 6.0 - 1000.0 * low / scale, 0.0)
        rows = _rows(laid, view, 0.0, signs, step)[1]
        return tall + rows + BAR + long + deep + 11.0

    scale = choose_scale(high - low, across, size, taken, sheet.scale)
    free = size[1] - 2 * MARGIN - taken(scale) - 1000.0 * across / scale
    left = MARGIN + (wide - 1000.0 * (high - low) / scale) / 2.0 - 1000.0 * low / scale
    half = max(laid.width, laid.pit_width if laid.ends == "sand" else 0.0) / 2.0
    top = MARGIN + tall + 2.0 + min(free * 0.15, 10.0)
    view = View(scale, left, top + 1000.0 * half / scale)
    bottom = top + 1000.0 * across / scale + 2.0
    rows, high_rows = _rows(laid, view, bottom, signs, step)
    bar = bottom + high_rows + 3.0
    listed, _ = columns(set_list(laid, signs), MARGIN, bar + BAR - 4.5, wide, count)
    ink = [
        *head,
        scale_sign(scale, size),
        *_lane_ink(laid, view, low),
        *_marks(laid, view, signs),
        *rows,
        *scale_bar(view, (MARGIN, bar), laid.system, wrapped(_legend(laid), SMALL, wide)),
        *listed,
        *foot,
    ]
    return Page(size[0], size[1], scale, f"{title}, 1:{scale}", tuple(ink))


def on_paper(make: Callable[[Sheet], Page], sheet: Sheet | None) -> Page:
    """A page on the paper asked for, or on the smallest that holds it at 1:100 or larger.

    Only where none does, on the smallest that holds it at all; the scale is printed as ever.

    Raises BadInput: no paper holds it.
    """
    if sheet is not None:
        return make(sheet)
    small: Page | None = None
    last: BadInput | None = None
    for paper in ("A4", "A3"):
        for upright in (False, True):
            try:
                page = make(Sheet(paper, upright))
            except BadInput as error:
                last = error
                continue
            if page.scale <= READABLE:
                return page
            small = small or page
    if small is None:
        assert last is not None
        raise last
    return small
