"""What is it worth: one position at the step varied, the length or speed it gives, a slider over it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from starlette.responses import Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.page_setout import pain, whole
from layout.words.faults import refuse
from layout.words.names import safe_name
from layout.words.reading import one_of

if TYPE_CHECKING:
    from layout.desk.setout import SetOut
    from layout.moving.worth import Aim, Worth

ALSO = ("of", "aim", "at", "work")
SCRIPTS = ("worth",)


def page(desk: Desk, given: Given) -> Response:
    """The answer, how far the work on it is, or what to press."""
    from layout.desk.setout import cared
    from layout.desk.worth import Work, about, begin, stop
    from layout.moving.worth import AIMS
    from layout.moving.worth_told import OURS
    from layout.moving.worth_topics import TOPICS

    out, of, aim = _asked(desk, given)
    assert out.plan is not None
    worth, why = _kept(out, of, aim)
    work = Work("none")
    if worth is None and not why:
        act = {"1": begin, "stop": stop}.get(given.get("work", ""), about)
        work = act(out.plan, of, aim)
    return pages.page(
        "worth.html", "Today", out=out, of=of, aim=aim, topics=list(TOPICS.values()), aims=AIMS,
        why=why or work.why, work=work, ours=OURS, short=cared(out),
        pain=pain(desk, out.asked.a), **_shown(worth, given),
    )  # fmt: skip


def sheet(desk: Desk, given: Given) -> Response:
    """The answer as its sheet, to print."""
    from layout.moving.worth_topics import TOPICS
    from layout.sheet.worth_page import worth_file, worth_page

    out, of, aim = _asked(desk, given)
    assert out.plan is not None
    worth, why = _kept(out, of, aim)
    if why:
        what = of if TOPICS[of].against else "this plan"
        raise refuse("worth", f"can't be told for {what}: {why}")
    if worth is None:
        raise refuse("worth", "not worked out yet; ask for it first", of)
    made = worth_file(worth_page(out.plan, worth), "pdf", "light")
    name = f"{safe_name(out.athlete.name)}-{out.plan.drill}-worth-{of}.pdf"
    return pages.file(name, made, "application/pdf", "inline")


def _asked(desk: Desk, given: Given) -> tuple[SetOut, str, Aim]:
    from layout.moving.worth import AIMS
    from layout.moving.worth_topics import TOPICS

    out = whole(desk, given, ALSO)
    of = one_of("of", given.get("of") or "lever", tuple(TOPICS))
    return out, of, cast("Aim", one_of("aim", given.get("aim") or "both", tuple(AIMS)))


def _kept(out: SetOut, of: str, aim: Aim) -> tuple[Worth | None, str]:
    """The curve, where it is kept, or why there is none; refused for a drill without one step."""
    from animate.motion.outcome import NotFound
    from layout.moving.worth import NEEDED, kept_curve, one_step
    from layout.moving.worth_topics import TOPICS

    assert out.plan is not None
    if not one_step(tuple(c.leave for c in out.plan.contacts)):
        raise refuse("worth", NEEDED, out.plan.drill)
    if why := TOPICS[of].against:
        return None, why
    try:
        return kept_curve(out.plan, of, aim), ""
    except NotFound as fault:
        return None, fault.told


def _shown(worth: Worth | None, given: Given) -> dict[str, Any]:
    """The answer's parts for the page."""
    if worth is None:
        return {"worth": None}
    from layout.moving.worth_told import headline, rows, said
    from layout.page.svg import letters_of
    from layout.phone.drawing import drawing
    from layout.sheet.worth_page import chart_alone, figure_alone

    at = worth.top if not given.get("at") else _number(given["at"], len(worth.points))
    letters = letters_of(None)
    table = rows(worth)
    return {
        "worth": worth, "at": at, "rows": table, "headline": headline(worth), "said": said(worth),
        "chart": drawing(chart_alone(worth), letters, "The curve, as in the table below"),
        "figure": drawing(figure_alone(worth, at), letters, f"The body at {table[at][0]}"),
    }  # fmt: skip


def _number(text: str, count: int) -> int:
    if not text.isdecimal() or int(text) >= count:
        raise refuse("at", f"must be a number from 0 to {count - 1}", text)
    return int(text)
