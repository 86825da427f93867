"""Two ways side by side: knees, lever, hop or arms, both worked out, playing together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import JSONResponse, Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.page_setout import pain, whole
from layout.words.faults import refuse

if TYPE_CHECKING:
    from layout.desk.ways import Pair

_ALSO = ("of", "work")


def page(desk: Desk, given: Given) -> Response:
    """Both ways, or how far the work on them is."""
    from layout.desk.setout import cared, settings_of, warnings
    from layout.desk.ways import offered
    from layout.moving.worth_told import answer, short

    pair = _pair(desk, given)
    out = pair.out
    assert out.plan is not None
    worth = short(answer(out.plan, pair.of, settings_of(out.asked)))
    return pages.page(
        "ways.html", "Today", pair=pair, out=out, offered=offered(out),
        told=_told(desk, pair, bool(given.get("work"))), warnings=warnings(out), short=cared(out),
        pain=pain(desk, out.asked.a), worth=worth,
    )  # fmt: skip


def told(desk: Desk, given: Given) -> Response:
    """Both figures, or how far the work on them is."""
    return JSONResponse(_told(desk, _pair(desk, given), False))


def solve(desk: Desk, given: Given) -> Response:
    """Work on the first of the two that is not worked out yet."""
    return JSONResponse(_told(desk, _pair(desk, given), True))


def _pair(desk: Desk, given: Given) -> Pair:
    from layout.desk.ways import pair_of
    from layout.moving.ways import lacking

    out = whole(desk, given, _ALSO)
    assert out.plan is not None
    of = _of(given)
    if lacks := lacking(of, out.plan):
        raise refuse("of", f"{out.plan.drill} has no {lacks}", of)
    return pair_of(out, of)


def _of(given: Given) -> str:
    from layout.moving.ways import OF
    from layout.words.reading import one_of

    return one_of("of", given.get("of") or OF[0], OF)


def _told(desk: Desk, pair: Pair, begin: bool) -> dict[str, Any]:
    """How far both are, the first that is not worked out by name; `begin`: work on that one."""
    from layout.desk.ways import shown

    solved = sum(way.motion is not None for way in pair.ways)
    waits = next((way for way in pair.ways if way.motion is None), None)
    if waits is None:
        return {"state": "solved", "solved": solved, "html": shown(pair)}
    ask = desk.worker.ask(waits.key, waits.plan, waits.settings) if begin else None
    work = ask or desk.worker.about(waits.key)
    known = {"state": "sketch"} if work is None or work.state == "solved" else {
        "state": work.state, "done": work.done, "steps": work.of, "why": work.why,
    }  # fmt: skip
    return {**known, "solved": solved, "name": waits.name}
