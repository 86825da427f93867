"""The squad's drawing: true to scale, sets told apart by letter and shape, nothing off the page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from animate.film.themes import theme
from layout.commands.squad_text import squad_text
from layout.page.page import Line, Page, Text
from layout.page.svg import to_svg
from layout.page.widths import text_width
from layout.plan.drill import catalogue
from layout.plan.venue import venues
from layout.sheet.drawing import Sheet
from layout.squad.laid import SetOut
from layout.squad.setout import Laying, set_out
from layout.squad.sets import Tolerance, share
from layout.squad.squad_drawing import SIGN, draw_squad, on_paper, squad_page
from layout.squad.squad_words import SIGNS, drawn_sets, footnotes, set_text, sign, sign_name
from layout.words.faults import BadInput
from tests.strategies import CLUB, attempt, pit_or_track, plan


def laid(drill: str, room: float = 0.15, k: int | None = None, venue: str = "",
         who: Sequence[object] = CLUB, **more: Any) -> SetOut:  # fmt: skip
    where = venue or ("marram-point" if pit_or_track(drill) == "club" else "track")
    some = [plan(w, drill, where) for w in who]  # type: ignore[arg-type]
    sharing = share(np.array([[f.length for f in p.flights] for p in some]), k, Tolerance(room))
    return set_out(
        some, sharing, catalogue()[drill], venues()[where], Laying(Tolerance(room), **more)
    )


def many(count: int) -> list[dict[str, object]]:
    return [
        {"name": f"No {i:03d}", "stature": 1.5 + 0.5 * i / count, "mass": 50 + 0.1 * i, "leg": "left",
         "target": 8.0 + 8.0 * ((i * 7) % count) / count, "born": 1990 + i % 20}
        for i in range(count)
    ]  # fmt: skip


def box(item: Text) -> tuple[float, float, float, float]:
    wide = text_width(item.text, item.size, item.bold)
    left = item.at[0] - {"left": 0.0, "middle": wide / 2, "right": wide}[item.align]
    return left, item.at[1] - 0.73 * item.size, left + wide, item.at[1]


def named(page: Page, start: str) -> dict[str, Line]:
    return {i.name: i for i in page.ink if isinstance(i, Line) and i.name.startswith(start)}


@pytest.mark.parametrize("drill", sorted(catalogue()))
def test_marks_stand_at_their_true_places(drill: str) -> None:
    made = laid(drill)
    page = squad_page(made)
    toes = named(page, "toe-")
    shown = drawn_sets(made)
    assert len(toes) == sum(len(s.xs) for s in made.sets if s.label in shown)
    first = made.sets[0]
    zero = toes[f"toe-{first.label}-0"].points[0][0] - 1000.0 * first.line / page.scale
    for item in made.sets:
        for i, x in enumerate(item.xs):
            at = toes[f"toe-{item.label}-{i}"].points[0][0]
            assert at - zero == pytest.approx(1000.0 * (item.line + x) / page.scale, abs=1e-6)
            row = named(page, f"row-{item.label}-{i}")[f"row-{item.label}-{i}"]
            middle = (min(p[0] for p in row.points) + max(p[0] for p in row.points)) / 2
            assert middle == pytest.approx(at, abs=SIGN * 0.6)
    bars = named(page, "bar-")
    metres = {50: 2, 100: 5, 200: 10}[page.scale]
    assert len(bars) == metres
    for line in bars.values():
        xs = [p[0] for p in line.points]
        assert max(xs) - min(xs) == pytest.approx(1000.0 / page.scale)


def test_lanes_lie_as_far_apart_as_the_venues() -> None:
    made = laid("hop-step-sand")
    page = squad_page(made)
    one, two = (named(page, f"lane-{n}")[f"lane-{n}"].points for n in (1, 2))
    apart = min(p[1] for p in two) - min(p[1] for p in one)
    assert apart == pytest.approx(1000.0 * 3.5 / page.scale)
    pits = [named(page, f"pit-{n}")[f"pit-{n}"].points for n in (1, 2)]
    for pit in pits:
        wide = max(p[1] for p in pit) - min(p[1] for p in pit)
        assert wide == pytest.approx(1000.0 * 2.75 / page.scale)


@pytest.mark.parametrize("paper", ["A4", "A3"])
@pytest.mark.parametrize("drill", ["hop-step-sand", "two-hops-step-track", "three-hops-step-over"])
def test_nothing_leaves_the_page_and_no_text_meets_another(drill: str, paper: str) -> None:
    for made in (laid(drill), laid(drill, 0.3, venue="marram-point"), laid(drill, who=many(40))):
        page = attempt(lambda m=made: squad_page(m, Sheet(paper)))  # type: ignore[misc]
        if isinstance(page, BadInput):
            assert "would fit: 1:" in str(page)
            page = squad_page(made)
        boxes = [(box(i), i.text) for i in page.ink if isinstance(i, Text)]
        for (x0, y0, x1, y1), text in boxes:
            assert x0 >= 5.0, text
            assert x1 <= page.width - 5.0, text
            assert y0 >= 5.0
            assert y1 <= page.height - 5.0, text
        for (a, one), (b, two) in combinations(boxes, 2):
            over = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
            # Letters on the lanes stand in their own set's part; their halos may touch.
            if not (one in drawn_sets(made) and two in drawn_sets(made)):
                assert min(over) < 0.25, (one, two, over)


def test_readings_are_never_under_the_next_sign() -> None:
    page = squad_page(laid("two-hops-step-track", who=many(30)))
    signs = [
        (min(p[0] for p in i.points), min(p[1] for p in i.points), max(p[0] for p in i.points),
         max(p[1] for p in i.points))
        for i in page.ink if isinstance(i, Line) and i.name.startswith("row-")
    ]  # fmt: skip
    readings = [box(i) for i in page.ink if isinstance(i, Text) and i.text.endswith((" R", " L"))]
    assert len(readings) >= len(signs) > 30
    for a in readings:
        for b in signs:
            assert not (a[0] < b[2] - 0.05 and b[0] < a[2] - 0.05 and a[1] < b[3] - 0.05
                        and b[1] < a[3] - 0.05)  # fmt: skip


def test_sets_differ_by_label_and_shape_not_by_colour() -> None:
    made = laid("full-triple-jump", who=many(40))
    page = squad_page(made)
    shown = drawn_sets(made)
    assert len(shown) > 3
    looks = {}
    for label in shown:
        row = named(page, f"row-{label}-0")[f"row-{label}-0"]
        x = sum(p[0] for p in row.points) / len(row.points)
        y = sum(p[1] for p in row.points) / len(row.points)
        looks[label] = tuple((round(a - x, 3), round(b - y, 3)) for a, b in row.points), row.fill
        assert row.stroke == "mark"
    assert len(set(looks.values())) == len(looks)
    texts = [i.text for i in page.ink if isinstance(i, Text)]
    for label, number in shown.items():
        assert any(t == label for t in texts)
        assert any(t.startswith(f"{label} ({sign_name(number)})") for t in texts)


def test_twenty_signs_are_all_different() -> None:
    seen = {(sign((0, 0), 1, i).points, sign((0, 0), 1, i).fill) for i in range(2 * len(SIGNS))}
    assert len(seen) == 20
    assert len({sign_name(i) for i in range(20)}) == 20


def test_what_is_not_drawn_is_counted() -> None:
    made = laid("two-hops-step-track", 0.01, who=many(30))
    page = squad_page(made)
    texts = " ".join(i.text for i in page.ink if isinstance(i, Text))
    assert "Not drawn, on the card only:" in texts
    labels = {
        i.name.split("-")[1] for i in page.ink if isinstance(i, Line) and i.name[:4] == "toe-"
    }
    assert f"{len(made.sets) - len(labels)} sets of" in texts


def test_cautions_and_warnings_are_on_the_page() -> None:
    made = laid("three-hops-step-over", 0.15, venue="marram-point")
    texts = " ".join(i.text for i in squad_page(made).ink if isinstance(i, Text))
    flat = "".join(texts.split())
    for caution in made.cautions:
        assert "".join(caution.split()) in flat
    assert "Runa:Veryhardcontacts,from16years;Runacountsas11." in flat
    assert "morewarningsareonthetapecard" in flat


def test_a_scale_is_never_shrunk_in_silence() -> None:
    made = laid("two-hops-step-track")
    with pytest.raises(BadInput, match="does not fit"):
        draw_squad(made, Sheet("A4", scale=50))
    page = draw_squad(made, Sheet("A3", scale=200))
    assert page.scale == 200
    assert any(isinstance(i, Text) and i.text == "1:200" for i in page.ink)
    with pytest.raises(BadInput):
        on_paper(lambda s: draw_squad(made, Sheet(s.paper, s.upright, 50)), None)


def test_a_larger_paper_comes_before_a_small_scale() -> None:
    page = squad_page(laid("hop-step-sand", who=many(80)))
    assert page.scale <= 100


def test_set_text_says_who_and_how_far() -> None:
    made = laid("hop-step-sand", 2.0, 1)
    text = set_text(made, made.sets[0])
    assert "Bram (left)" in text
    assert "most off:" in text
    own = laid("hop-step-sand", 0.05, 2)
    alone = next(s for s in own.sets if not s.shared)
    assert "own marks" in set_text(own, alone)


def test_svg_is_the_same_each_time_and_says_its_scale() -> None:
    made = laid("hop-step-sand")
    first, again = (to_svg(squad_page(made), theme("print-grey")) for _ in range(2))
    assert first == again
    assert "Scale 1:" in first


@pytest.mark.parametrize("drill", ["hop-step-sand", "two-hops-step-track"])
def test_no_line_runs_through_a_reading(drill: str) -> None:
    page = draw_squad(laid(drill), Sheet("A3"))
    boxes = [box(t) for t in page.ink if isinstance(t, Text) and t.halo and t.text[-1] in "LR"]
    lines = [n.points for n in page.ink if isinstance(n, Line) and n.width == 0.12]
    assert boxes
    assert lines
    for (x0, y), (x1, _) in lines:
        assert x0 < x1
        assert not [b for b in boxes if b[1] < y < b[3] and b[0] < x1 and b[2] > x0]


def test_one_warning_more_is_told_as_one() -> None:
    some = laid("hop-step-sand")
    note = some.notes[-1]
    for left, words in ((1, "1 more warning is"), (3, "3 more warnings are")):
        many_notes = replace(some, notes=(note,) * (6 + left))
        texts = [t for t, _ in footnotes(many_notes, drawn_sets(some))]
        assert f"{words} on the tape card." in texts


def test_a_squad_in_feet_has_no_metres_and_no_centimetres() -> None:
    made = laid("two-hops-step-sand", system="ft")
    assert any(s.shared for s in made.sets)
    drawn = [i.text for i in squad_page(made).ink if isinstance(i, Text)]
    told = " ".join([*drawn, *squad_text(made)])
    assert re.findall(r"[^ ]+\s(?:cm|m|metres)\b", told) == []
    assert "off by more than 6 in" in told
    assert any(said.startswith("feet, 1:") for said in drawn)
