"""Jumped: the page, a run put down, a run struck out."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from starlette.responses import RedirectResponse, Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.page_setout import whole
from layout.words.faults import BadInput
from layout.words.reading import read_count

if TYPE_CHECKING:
    from layout.desk.setout import SetOut


def page(desk: Desk, given: Given) -> Response:
    """What was jumped today of a drill, and room for the next run."""
    from layout.desk.jumped import FIELDS

    return _runs(desk, whole(desk, given, FIELDS), given, ())


def put_down(desk: Desk, given: Given) -> Response:
    """Put one run down; the same page sent twice counts once."""
    from layout.desk.jumped import FIELDS, put_down, zero_of

    out, once = whole(desk, given, FIELDS), given.get("once", "")
    zero = zero_of(out, given)
    with desk.writing:
        if not once or once not in desk.had:
            try:
                with desk.opened() as book:
                    told = put_down(book, out, given)
            except BadInput as error:
                return _runs(desk, out, given, error.told(), 400)
            desk.had.append(once)
            if told:
                return _runs(desk, out, {"from": zero}, told)
    return RedirectResponse(_address(out, zero), 303)


def strike(desk: Desk, given: Given) -> Response:
    """Strike one of today's runs out."""
    from layout.desk.jumped import FIELDS, strike, zero_of

    out = whole(desk, given, FIELDS)
    with desk.writing, desk.opened() as book:
        strike(book, out, read_count("run", given.get("run", ""), 1, 10**9))
    return RedirectResponse(_address(out, zero_of(out, given)), 303)


def _runs(
    desk: Desk, out: SetOut, values: Given, told: tuple[str, ...], status: int = 200
) -> Response:
    from layout.desk.jumped import WENT, readings_of, runs_of, zero_of, zeros

    assert out.plan is not None
    zero = zero_of(out, values)
    with desk.opened() as book:
        runs = runs_of(book, out)
    return pages.page(
        "jumped.html", "Jumped", status, out=out, asked=out.asked.fields(), zero=zero, zeros=zeros(out),
        readings=readings_of(out, zero), runs=runs, values=values, told=told,
        once=secrets.token_hex(8), cautions=out.plan.cautions, went=WENT,
    )  # fmt: skip


def _address(out: SetOut, zero: str) -> str:
    return f"{out.asked.address('/jumped')}&from={zero}"
