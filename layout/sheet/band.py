"""The true-scale drawing as one band: side view over plan view, tape readings, scale bar."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, floor, sin, tau
from typing import Final, NamedTuple

from animate.body.shapes import Role, Shape, Stroke
from layout.page.page import BODY, MARGIN, Ink, Line, Text, View, extent, moved, thinned
from layout.page.widths import text_width, wrapped
from layout.plan.hurdles import signed_cm
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.runway import CUT, RunIn, Way, break_lines, flags, marks_of, run_in_of
from layout.sheet.texts import LEGEND, ROW, SMALL, in_rows, scale_bar
from layout.words.feet import as_read
from layout.words.units import show_length

CHAIN: Final = 12.0  # Height between side view and plan view: moves and their lengths [mm]
PAIR: Final = 7.8  # A second row of them [mm]
ABOVE: Final = 5.0
FINE: Final = 0.1  # How far a figure's outline may be from its full one [mm]
OVER_BAR: Final = 4.6  # From the readings to the scale bar under them [mm]
BAR: Final = 3.6  # From the top of the scale bar to what is under it, less the legend [mm]
NARROW: Final = 122.0  # Width of the legend under a drawing that is not wider itself [mm] (ours)
BEHIND: Final = 1.4  # From a hurdle to its texts [mm]
CAP: Final = 0.73  # Height of a capital letter or figure, in ems
OVER: Final = (
    "Over a hurdle: underside of all the body passes through; + is what it clears by (model)."
)
SKETCH: Final = "The figures are a sketch: no motion was worked out for them."


class _Label(NamedTuple):
    """A text over or under a mark: mark and text's middle on paper [mm], its row, the text."""

    mark: float
    at: float
    row: int
    text: str


def _labels(marks: Iterable[tuple[float, str]], size: float) -> list[_Label]:
    """Texts at marks on paper, in rows so that none overlaps."""
    marks = list(marks)
    return [
        _Label(mark, at, row, text)
        for (mark, text), (at, row) in zip(marks, in_rows(marks, size), strict=True)
    ]


def _high(labels: Sequence[_Label]) -> int:
    """How many rows labels take, one at least."""
    return 1 + max((label.row for label in labels), default=0)


class _Span(NamedTuple):
    """A length along the runway: where it is drawn, how long it is [m], and what it is."""

    start: float
    end: float
    length: float
    what: str
    name: str


class _Drawing:
    """A plan's drawing at a scale: where its views stand, and where its labels go."""

    def __init__(
        self, plan: Plan, card: TapeCard, run: RunIn, scale: int, figures: Sequence[Sequence[Shape]]
    ) -> None:
        self.plan, self.run, self.system = plan, run, card.system
        self.figures = figures or runway.figures(plan)
        low, _ = runway.extent(plan, run.before)
        # Where labels go depends on the page only at its edge: they are set there, and then moved.
        edge = View(scale, MARGIN - 1000.0 * low / scale, 0.0)
        self.spans = self._spans()
        middles = [((s.start + s.end) / 2.0, s.length) for s in self.spans]
        self.heights = self._along(edge, ((f.apex_x, f.apex_z) for f in plan.flights), SMALL)
        self.lengths = self._along(edge, middles, BODY)
        shown = ((edge.point(x, 0.0)[0], text) for x, text in self._readings(card))
        self.readings = _labels(shown, SMALL)
        top = ABOVE + (_high(self.heights) - 1) * ROW + edge.mm(runway.HEADROOM)
        half = edge.mm(runway.width(plan) / 2.0)
        self.side = View(scale, edge.left, top)
        self.chain = top + edge.mm(0.14) + CHAIN + (_high(self.lengths) - 1) * PAIR
        self.above = View(scale, edge.left, self.chain + 2.0 + half)
        self.base = self.above.base + half + 2.2

    def _bare(self, metres: float) -> str:
        return show_length(metres, self.system).removesuffix(" m")

    def _along(self, edge: View, pairs: Iterable[tuple[float, float]], size: float) -> list[_Label]:
        """Lengths told at places along the runway [m]."""
        return _labels(((edge.point(x, 0.0)[0], self._bare(said)) for x, said in pairs), size)

    def _spans(self) -> list[_Span]:
        """The approach where it is drawn, and every phase."""
        plan, run, out = self.plan, self.run, list[_Span]()
        if run.before:
            strides = f"{plan.approach.strides} strides"
            out.append(_Span(run.start, 0.0, plan.approach.length, strides, "approach"))
        for f in plan.flights:
            start, end = plan.contacts[f.number].x, plan.contacts[f.number + 1].x
            out.append(_Span(start, end, f.length, f.phase, f"length-{f.number}"))
        return out

    def _readings(self, card: TapeCard) -> list[tuple[float, str]]:
        """Readings inside the drawing, from left to right: where along the runway [m], and text."""
        run = self.run
        low, high = runway.extent(self.plan, 0.0 if run.broken else run.before)
        drawn = [(row.x, row) for row in card.lines if low - 1e-6 <= row.x <= high + 1e-6]
        if run.broken:
            drawn += [(run.start, row) for row in card.lines if row.kind == "start"]
        drawn.sort(key=lambda pair: pair[0])
        return [(x, row.shown.removesuffix(" m")) for x, row in drawn]

    def ink(self) -> list[Ink]:
        """Both views and what is told of them."""
        half = self.plan.place.width / 2.0
        low, high = (self.above.point(0.0, way * half)[1] for way in (-1, 1))
        guides = [
            Line(((x, self.side.base), (x, high)), "quiet", None, 0.12)
            for x in (self.side.point(c.x, 0.0)[0] for c in self.plan.contacts)
        ]
        # Leaders and figures under the runway.
        under = [(label, self.base + 3.2 + label.row * ROW) for label in self.readings]
        leaders = [Line(((r.mark, low), (r.mark, y - 2.6)), "quiet", None, 0.12) for r, y in under]
        shown = [Text((r.at, y), r.text, SMALL, "text", "middle", True, True) for r, y in under]
        return [*guides, *self._aside(), *self._chain(), *leaders, *self._above(), *shown]

    def _aside(self) -> list[Ink]:
        """The side view: ground, figures, paths with their highest points, hurdles."""
        plan, view, out = self.plan, self.side, list[Ink]()
        for name, shape in runway.ground_aside(plan, self.run.before):
            out += view.ink([shape], name)
        out += break_lines(view, self.run, view.base, view.base + view.mm(0.1))
        for i, figure in enumerate(self.figures):
            out += thinned(view.ink(figure, f"figure-{i}"), FINE)
        for flight, label in zip(plan.flights, self.heights, strict=True):
            path = Stroke(
                tuple(map(tuple, runway.path(flight).tolist())), "arc", 0.02, dash=(0.12, 0.08)
            )
            out += view.ink([path], f"arc-{flight.number}")
            x, y = view.point(flight.apex_x, flight.apex_z)
            top = view.point(0.0, runway.HEADROOM)[1] - label.row * ROW
            turns = [tau * i / 12 for i in range(12)]
            dot = tuple((x + 0.6 * cos(a), y + 0.6 * sin(a)) for a in turns)
            out += [
                Line(((x, y), (x, top + 1.2)), "measure", None, 0.15, dash=(0.5, 0.7)),
                Line(dot, None, "measure", closed=True, name=f"apex-{flight.number}"),
                Text((label.at, top), label.text, SMALL, "measure", "middle", True, True),
            ]
        for before, after in pairwise(plan.flights):
            # The dip between two flights is not planned.
            dip = (before.end_x, before.end_z), (after.start_x, after.start_z)
            out += view.ink([Stroke(dip, "arc", 0.015, dash=(0.02, 0.06))])
        return out + self._hurdles()

    def _hurdles(self) -> list[Ink]:
        """Hurdles from the side; where they were checked, what passes over them and how closely."""
        plan, view = self.plan, self.side
        out, texts = list[Ink](), list[Ink]()
        told = [as_read(f"{100 * h.height:.0f} cm", self.system) for h in plan.hurdles]
        middles = [
            (view.point(h.x, 0.0)[0] - (text_width(t, SMALL) / 2.0 + BEHIND) * bool(h.clearing), t)
            for h, t in zip(plan.hurdles, told, strict=True)
        ]
        gaps = []
        for h in plan.hurdles:
            if h.clearing is not None:
                text = self._room(h.clearing.gap)
                wide = text_width(text, SMALL, True)
                gaps.append((view.point(h.x, 0.0)[0] - BEHIND - wide / 2.0, text))
        rows = iter(_labels(gaps, SMALL))
        # Where there is no room beside the last one, the same height is not written again.
        steps = [label.row for label in _labels(middles, SMALL)]
        same = len({hurdle.height for hurdle in plan.hurdles}) == 1
        for i, (hurdle, step, tall) in enumerate(zip(plan.hurdles, steps, told, strict=True)):
            x, y = view.point(hurdle.x, hurdle.height)
            bar, found = view.ink(runway.hurdle_aside(hurdle), f"hurdle-side-{i}"), hurdle.clearing
            # Both texts before the hurdle: behind it hangs the free leg of the next touchdown.
            base = view.base - 0.4 - (0 if same else step) * ROW
            if not (step and same):
                texts.append(
                    Text((x, y - 1.0 - step * ROW), tall, SMALL, "hurdle", "middle", halo=True)
                    if found is None
                    else Text((x - BEHIND, base), tall, SMALL, "hurdle", "right", halo=True)
                )
            if found is None:
                out += bar
                continue
            under = tuple(view.point(*at) for at in found.under)
            role: Role = "measure" if found.gap >= 0 else "warn"
            z = view.point(hurdle.x, found.z)[1]
            out += [
                Line(under, "measure", None, 0.25, dash=(1.2, 0.5), name=f"under-{i}"),
                *bar,
                Line(((x, y), (x, z)), role, None, 0.35, name=f"clearance-{i}"),
                *(Line(((x - 1.0, tip), (x + 1.0, tip)), role, None, 0.35) for tip in (y, z)),
            ]
            gap = next(rows)
            reach = text_width(gap.text, SMALL, True) / 2 + 1.0
            here = [b for a, b in under if gap.at - reach <= a <= gap.at + reach]
            over = min(y, z, base - CAP * SMALL + 0.2, *here) - 1.0 - gap.row * ROW
            texts.append(Text((gap.at, over), gap.text, SMALL, role, "middle", True, True))
        return out + texts

    def _room(self, metres: float) -> str:
        """A clearance with its sign, never told larger than it is."""
        if self.system == "cm":
            return signed_cm(metres)
        sign = "+" if metres >= 0 else "\N{MINUS SIGN}"
        return f"{sign}{abs(floor(metres / 0.0254 + 1e-6))} in"

    def _chain(self) -> list[Ink]:
        """Moves and lengths, toe mark to toe mark."""
        view, out, y = self.side, list[Ink](), self.chain - 2.2
        for span, label in zip(self.spans, self.lengths, strict=True):
            x0, x1 = (view.point(x, 0.0)[0] for x in (span.start, span.end))
            out.append(Line(((x0, y), (x1, y)), "measure", None, 0.25, name=span.name))
            for x, way in ((x0, 1.0), (x1, -1.0)):
                head = ((x, y), (x + way * 1.8, y - 0.6), (x + way * 1.8, y + 0.6))
                out.append(Line(head, None, "measure", closed=True))
            up = y - label.row * PAIR
            out += [
                Text((label.at, up - 5.0), span.what, SMALL, "quiet", "middle", halo=True),
                Text((label.at, up - 1.2), label.text, BODY, "measure", "middle", True, True),
            ]
            if span.name == "approach":
                out += break_lines(view, self.run, y, y)
        return out

    def _above(self) -> list[Ink]:
        """The view from above: ground, run-in, hurdles, shoe prints and toe marks."""
        plan, view, run, out = self.plan, self.above, self.run, list[Ink]()
        for name, shape in runway.ground_above(plan, run.before):
            out += view.ink([shape], name)
        half = plan.place.width / 2.0
        high, low = (view.point(0.0, way * half)[1] for way in (1, -1))
        if run.before:
            out += [*break_lines(view, run, high, low), *marks_of(plan, view, run)]
        for i, hurdle in enumerate(plan.hurdles):
            out += view.ink([runway.hurdle_above(hurdle)], f"hurdle-{i}")
        shoe = runway.shoe(plan)
        for contact in plan.contacts:
            for name, shape in runway.prints(contact, shoe):
                out += view.ink([shape], name)
            x, middle = view.point(contact.x, 0.0)
            track, name = contact.surface == "track", f"toe-{contact.number}"
            toe = Line(((x, high), (x, low)), "mark", None, 0.3, name=name)
            if track:
                toe = Line(toe.points, "mark", None, 0.22, dash=(0.9, 0.7), name=name)
            out += [toe, *(flags(x, high, low) if track else [])]
            # Beside the shoe and clear of it, however small the scale makes it.
            x += max(view.mm(shoe) / 2.0, 2.6) * (1.0 if contact.surface == "sand" else -1.0)
            away = max(view.mm(0.42), 3.6)
            for letter, role, feet, way in runway.FEET:
                if contact.foot in feet:
                    at = (x, middle - way * away + 1.3)
                    out.append(Text(at, letter, 3.8, role, "middle", True, True))
        return out


@dataclass(frozen=True)
class Band:
    """The drawing at a scale, ready to be set on a page [mm]."""

    scale: int
    width: float
    height: float
    texts: float  # The part of the height that is not to scale
    legend: float  # Width of the scale bar with its texts
    clear: float  # Height over the scale bar, where something narrow may stand beside it
    run_in: Way  # Whether it reaches back to the start mark
    said: tuple[str, ...]  # What is under the scale bar, a sentence each
    # From the left end of the runway drawn, the left end of the scale bar and the top to ink; the
    # left end is not left of the page's margin
    ink: Callable[[float, float, float], list[Ink]]


def band(
    plan: Plan,
    card: TapeCard,
    scale: int,
    figures: Sequence[Sequence[Shape]] = (),
    run_in: Way = "none",
) -> Band:
    """The drawing of a plan at a scale: side view, lengths, view from above, readings, scale bar.

    figures: the athlete at each contact, where a motion tells: `layout.moving.poses.at_marks`; key
        poses where left out, and the legend then says that they are a sketch.
    run_in: reach back to the start mark to scale, over a break, or not.
    """
    run = run_in_of(plan, scale, run_in)
    drawing = _Drawing(plan, card, run, scale, figures)
    said = (
        f"Under the runway: tape readings from the {card.zero_text}.",
        "Dashed: path of the body's centre, with its highest point. Filled shoe: left; open shoe: right.",
        *([OVER] if any(h.clearing is not None for h in plan.hurdles) else []),
        *([CUT] if run.broken else []),
        *([] if figures else [SKETCH]),
    )
    mm = drawing.above.mm
    low, high = runway.extent(plan, run.before)
    width = mm(high - low)
    lines = wrapped(" ".join(said), SMALL, max(width - 4.0, NARROW))
    bar_at = drawing.base + _high(drawing.readings) * ROW + OVER_BAR
    bar = scale_bar(drawing.above, (0.0, 0.0), card.system, lines)
    at_edge = lru_cache(maxsize=1)(drawing.ink)

    def ink(left: float, bar_left: float, top: float) -> list[Ink]:
        return [*moved(at_edge(), left - MARGIN, top), *moved(bar, bar_left, top + bar_at)]

    height = bar_at + BAR + LEGEND * len(lines)
    texts = height - mm(runway.HEADROOM + runway.width(plan))
    return Band(scale, width, height, texts, extent(bar)[2], bar_at - 4.0, run_in, said, ink)
