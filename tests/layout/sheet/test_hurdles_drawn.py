"""Hurdles that were checked, on the drawing: measured in its SVG, and no text over another."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.page.page import MARGIN, PAPERS, SCALES, Line, Page, Text
from layout.page.svg import to_svg
from layout.page.widths import text_width
from layout.plan.tape import tape_card
from layout.plan.value import Clearing, Plan
from layout.sheet.band import OVER
from layout.sheet.drawing import Sheet, draw
from layout.words.faults import BadInput
from tests.strategies import CLUB, attempt, plan

DRILLS = (
    "two-hops-step-beside",
    "two-hops-step-over",
    "three-hops-step-beside",
    "three-hops-step-over",
)
MINUS = "\N{MINUS SIGN}"


def checked(made: Plan, gaps: tuple[float, ...], moved: float = 0.3) -> Plan:
    """A plan as if its hurdles had been checked against a body that clears them by `gaps`."""
    hurdles = []
    for i, hurdle in enumerate(made.hurdles):
        gap = gaps[i % len(gaps)]
        x, low = hurdle.x + moved, hurdle.height + gap
        under = tuple((x + d / 20, max(low - 0.2 * (d / 20) ** 2, 0.0)) for d in range(-12, 13))
        found = Clearing(gap, gap, "left foot", 1.0, x, low, 0.23, moved, None, under)
        hurdles.append(replace(hurdle, x=x, clearing=found))
    return replace(made, hurdles=tuple(hurdles))


def drawn(made: Plan, scale: int | None = 50, paper: str = "A3") -> Page:
    return draw(made, tape_card(made), Sheet(paper, False, scale))


def corners(svg: str, name: str) -> list[tuple[float, float]]:
    """Absolute corners of one named path [mm]: the writer gives a start and steps."""
    (path,) = [e for e in ET.fromstring(svg).iter() if e.get("id") == name]
    numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", path.get("d", ""))]
    x, y = numbers[:2]
    out = [(x, y)]
    for dx, dy in zip(numbers[2::2], numbers[3::2], strict=True):
        x, y = x + dx, y + dy
        out.append((x, y))
    return out


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("drill", DRILLS)
def test_clearance_and_underside_are_to_scale(drill: str, scale: int) -> None:
    made = checked(plan("tevin", drill, "track"), (0.14, -0.06, 0.02))
    svg = to_svg(drawn(made, scale))
    mm = 1000.0 / scale
    ground = max(y for _, y in corners(svg, "ground-line"))
    zero = corners(svg, "toe-0")[0][0]
    for i, hurdle in enumerate(made.hurdles):
        found = hurdle.clearing
        assert found is not None
        (xa, ya), (xb, yb) = corners(svg, f"clearance-{i}")
        assert xa == pytest.approx(xb, abs=0.002)
        assert xa - zero == pytest.approx(hurdle.x * mm, abs=0.003)
        assert ground - ya == pytest.approx(hurdle.height * mm, abs=0.003)
        assert ground - yb == pytest.approx(found.z * mm, abs=0.003)
        assert ya - yb == pytest.approx(found.gap * mm, abs=0.003)
        for (x, y), (u, v) in zip(corners(svg, f"under-{i}"), found.under, strict=True):
            assert x - zero == pytest.approx(u * mm, abs=0.04)
            assert ground - y == pytest.approx(v * mm, abs=0.04)


def test_a_hit_is_told_from_a_clearance_without_colour() -> None:
    made = checked(plan("tevin", "three-hops-step-over", "track"), (0.14, -0.061, 0.0))
    page = drawn(made)
    texts = {t.text: t for t in page.ink if isinstance(t, Text)}
    assert texts["+14 cm"].role == texts["+0 cm"].role == "measure"
    assert texts[f"{MINUS}7 cm"].role == "warn"
    roles = {i.name: i.stroke for i in page.ink if isinstance(i, Line)}
    assert [roles[f"clearance-{i}"] for i in range(3)] == ["measure", "warn", "measure"]
    assert OVER in " ".join(texts)


def test_what_was_not_checked_shows_no_clearance() -> None:
    page = drawn(plan("tevin", "three-hops-step-over", "track"))
    assert not any(
        i.name.startswith(("clearance", "under")) for i in page.ink if isinstance(i, Line)
    )
    assert OVER not in " ".join(t.text for t in page.ink if isinstance(t, Text))
    assert any("not checked for clearance" in t.text for t in page.ink if isinstance(t, Text))


def box(text: Text) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a text's letters [mm]."""
    wide = text_width(text.text, text.size, text.bold)
    left = text.at[0] - {"left": 0.0, "middle": wide / 2.0, "right": wide}[text.align]
    return left, text.at[1] - 0.73 * text.size, left + wide, text.at[1]


@settings(max_examples=60)
@given(
    st.sampled_from(CLUB), st.sampled_from(DRILLS), st.sampled_from(SCALES),
    st.sampled_from(sorted(PAPERS)),
    st.lists(st.floats(-0.30, 0.40), min_size=3, max_size=3), st.floats(-0.3, 0.5),
)  # fmt: skip
def test_texts_do_not_collide(
    who: str, drill: str, scale: int, paper: str, gaps: list[float], moved: float
) -> None:
    made = checked(plan(who, drill, "track"), tuple(gaps), moved)
    page = attempt(lambda: drawn(made, scale, paper))
    if isinstance(page, BadInput):
        assert "does not fit" in str(page)
        assert scale < 200
        return
    boxes = [(box(i), i.text) for i in page.ink if isinstance(i, Text)]
    for (left, top, right, low), text in boxes:
        assert left >= MARGIN - 0.2, text
        assert right <= page.width - MARGIN + 0.2, text
        assert top >= MARGIN - 0.2, text
        assert low <= page.height - MARGIN + 0.2, text
    for (a, one), (b, other) in combinations(boxes, 2):
        across = min(a[2], b[2]) - max(a[0], b[0])
        along = min(a[3], b[3]) - max(a[1], b[1])
        assert across <= 0.2 or along <= 0.2, f"{one!r} over {other!r}"
