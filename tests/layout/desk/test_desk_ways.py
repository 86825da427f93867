"""Two ways side by side: the same motions and measures as phasemark compare has, worked out one by one."""

from __future__ import annotations

import time
from collections.abc import Iterator
from html import unescape

import pytest

from animate.motion.chain import Settings
from layout.commands.demo_ import COMPARED, plans
from layout.desk.setout import set_out
from layout.desk.wanted import Wanted
from layout.desk.ways import pair_of
from layout.moving.solved import at_hand
from layout.moving.ways import OF, differences, ways
from tests.browser import PATIENCE
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_pages import TODAY, Words, said


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    with asked(tmp_path_factory.mktemp("desk")) as made:
        yield made


def test_both_ways_measure_what_compare_prints(desk: Asked) -> None:
    plan = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    settings = [s for _, s in ways("knees", Settings(), plan)]
    one, two = (at_hand(plan, s) for s in settings)
    assert one is not None
    assert two is not None
    page = desk.set_out(plan.who.name, plan.drill, "/ways", of="knees", v="marram-point")
    rows = [" ".join(unescape(cell) for cell in row) for row in differences(one, two)]
    shown = said(page.text)
    assert "Both worked out for this spacing." in shown
    assert all(row in shown for row in rows)
    ids = [a["id"] for _, a in Words(page.text).tags if a.get("id")]
    assert len(ids) == len(set(ids))
    scales = [t.partition(",")[0] for t in page.text.split('"scale":')[1:]]
    assert scales[0] == scales[1]  # the eye compares what is drawn


@pytest.mark.parametrize("of", OF)
def test_each_way_is_the_plan_and_the_positions_of_the_command(desk: Asked, of: str) -> None:
    number = desk.numbers["Imka"]
    out = set_out(Wanted(a=number, d="hop-step-sand"), desk.desk.member(number), TODAY)
    assert out.plan is not None
    one, two = pair_of(out, of).ways
    expected = ways(of, Settings(), out.plan)
    assert [(w.name, w.settings) for w in (one, two)] == list(expected)
    assert (one.plan == two.plan) == (of != "hops")
    assert one.key != two.key


@pytest.mark.parametrize(
    ("drill", "of", "word"),
    [("hop-step-sand", "feet", "of: must be one of"), ("single-leg-hops", "knees", "has no step contact")],
)  # fmt: skip
def test_what_has_no_two_ways_is_refused(desk: Asked, drill: str, of: str, word: str) -> None:
    found = desk.set_out("Tevin", drill, "/ways", of=of)
    assert found.status_code == 400
    assert word in said(found.text)


def test_they_are_worked_out_one_after_the_other(desk: Asked) -> None:
    wish = {"of": "knees", "strides": "7"}
    fields = {"a": str(desk.numbers["Tevin"]), "d": "hop-step-sand", **wish}
    seen = [desk.post("/ways/solve", fields).json()]
    assert (seen[0]["state"], seen[0]["solved"], seen[0]["name"]) == ("working", 0, "Knees closer")
    until = time.monotonic() + PATIENCE
    while seen[-1]["state"] != "solved" and time.monotonic() < until:
        time.sleep(0.05)
        seen.append(desk.get("/ways/told", params=fields).json())
        if seen[-1]["state"] == "sketch":
            assert (seen[-1]["solved"], seen[-1]["name"]) == (1, "Knees apart")
            desk.post("/ways/solve", fields)
    assert seen[-1]["state"] == "solved"
    assert "What differs" in said(seen[-1]["html"])
