"""Jumped: the page, a run put down or put right, a run struck out and put back."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.responses import RedirectResponse, Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.form import row_number
from layout.desk.page_setout import whole
from layout.words.faults import BadInput, Fault

if TYPE_CHECKING:
    from layout.desk.setout import SetOut


def page(desk: Desk, given: Given) -> Response:
    """What was jumped today of a drill, and room for the next run or one to put right."""
    from layout.desk.jumped import FIELDS, form_of, run_of

    out, number = whole(desk, given, FIELDS), _number(given)
    if number and not any(given.get(name) for name in ("from", "went")):
        with desk.opened() as book:
            given = {**given, **form_of(out, run_of(book, out, number))}
    return _runs(desk, out, given)


def put_down(desk: Desk, given: Given) -> Response:
    """Put one run down, or right; the same page sent twice counts once."""
    from layout.desk.jumped import FIELDS, put_down, put_right, zero_of

    out, once = whole(desk, given, FIELDS), given.get("once", "")
    zero, number = zero_of(out, given), _number(given)
    with desk.writing:
        if not once or once not in desk.had:
            try:
                with desk.opened() as book:
                    told = (
                        put_right(book, out, number, given)
                        if number
                        else put_down(book, out, given)
                    )
            except BadInput as error:
                return _runs(desk, out, given, faults=tuple(error.faults))
            desk.had.append(once)
            if told:
                return _runs(desk, out, {"from": zero}, told)
    return RedirectResponse(_address(out, zero), 303)


def strike(desk: Desk, given: Given) -> Response:
    """Strike one of today's runs out, or count it again."""
    from layout.desk.jumped import FIELDS, put_back, strike, zero_of

    out = whole(desk, given, FIELDS)
    change = put_back if given.get("back") else strike
    with desk.writing, desk.opened() as book:
        change(book, out, _number(given))
    return RedirectResponse(_address(out, zero_of(out, given)), 303)


def _number(given: Given) -> int:
    """The run that is to be changed; 0 where none is."""
    text = given.get("run", "")
    return row_number("run", text) if text else 0


def _runs(
    desk: Desk,
    out: SetOut,
    values: Given,
    told: tuple[str, ...] = (),
    faults: tuple[Fault, ...] = (),
) -> Response:
    from layout.book.marks import named
    from layout.book.waits import WENT
    from layout.desk.jumped import pain_told, readings_of, runs_of, zero_of, zeros
    from layout.desk.setout import cared

    assert out.plan is not None
    zero, number = zero_of(out, values), _number(values)
    readings = readings_of(out, zero)
    with desk.opened() as book:
        runs = runs_of(book, out)
        pain = pain_told(book, out.asked.a, out.day)
    fields = {n: n for n in ("wind", "note", *(r.name for r in readings))}
    phases = named([f.phase for f in out.plan.flights])
    fields |= dict(zip(phases, (r.name for r in readings), strict=True))
    wrong = {fields[f.field]: f.rule for f in faults if f.field in fields}
    other = [str(f) for f in faults if f.field not in fields]
    return pages.page(
        "jumped.html", "Today", 400 if faults else 200, out=out, asked=out.asked.fields(), zero=zero,
        zeros=zeros(out), readings=readings, runs=runs, values=values, wrong=wrong,
        told=(*filter(None, [pain]), *told, *other),
        short=cared(out), cautions=out.plan.cautions, went=WENT, number=number,
        nr=next((r.nr for r in runs if r.number == number), len(runs) + 1),
        back=_address(out, zero), warnings=[n.text for n in out.plan.warnings],
    )  # fmt: skip


def _address(out: SetOut, zero: str) -> str:
    return f"{out.asked.address('/jumped')}&{urlencode({'from': zero})}"
