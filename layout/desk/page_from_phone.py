"""From a phone: the page, what is pasted, and each run taken in, changed or left out."""

from __future__ import annotations

from typing import Final

from starlette.responses import RedirectResponse, Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.form import row_number
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import counted

HERE = "/from-phone"


def page(desk: Desk, given: Given) -> Response:
    """What waits."""
    return _page(desk)


def _page(
    desk: Desk, text: str = "", told: tuple[str, ...] = (), wrong: tuple[str, ...] = ()
) -> Response:
    from layout.desk.from_phone import groups, left_out

    with desk.opened() as book:
        found, left = groups(book), left_out(book)
    return pages.page(
        "from_phone.html", "Today", 400 if wrong else 200, waits=found, left=left, text=text,
        told=told, wrong=wrong,
    )  # fmt: skip


def paste(desk: Desk, given: Given) -> Response:
    """Keep the runs of a text; lines that cannot be read are told, and stay in the box."""
    from layout.book.inbox import receive

    text = given.get("text", "").replace("\r\n", "\n")
    if not text.strip():
        raise refuse("text", "a message or a run needed")
    with desk.writing, desk.opened() as book:
        got = receive(book, text)
    parts = [f"{counted(len(got.new), 'new run')}"] if got.new or not got.had else []
    if got.had:
        parts.append(f"{counted(got.had, 'run')} here already")
    if got.struck:
        parts.append(f"{counted(got.struck, 'run')} struck out on the phone")
    lines = text.splitlines()
    rest = [lines[f.line - 1] for f in got.faults if 0 < f.line <= len(lines)]
    wrong = tuple(str(f) for f in got.faults[:20])
    return _page(desk, "\n".join(dict.fromkeys(rest)), (f"{', '.join(parts)}.",), wrong)


def _number(given: Given) -> int:
    return row_number("run", given.get("run", ""))


def take(desk: Desk, given: Given) -> Response:
    """Take runs in as they came; one that was taken in already stays single."""
    from layout.book import inbox, waits

    numbers = [row_number("run", t) for t in given.get("run", "").split(",")]
    as_of = {"day": given["day"]} if given.get("day") else {}
    faults: list[Fault] = []
    with desk.writing, desk.opened() as book:
        for number in numbers:
            if waits.one(book, number).state == "taken":
                continue
            try:
                inbox.take(book, number, as_of)
            except BadInput as error:
                faults += error.faults
    if faults:
        return _page(desk, wrong=BadInput(faults).told())
    return RedirectResponse(HERE, 303)


def leave(desk: Desk, given: Given) -> Response:
    """Leave a run out."""
    from layout.book import inbox

    with desk.writing, desk.opened() as book:
        inbox.leave(book, _number(given))
    return RedirectResponse(HERE, 303)


def strike(desk: Desk, given: Given) -> Response:
    """Strike out in the book what was struck out on the phone after it was taken in."""
    from layout.book import waits
    from layout.book.correct import correct

    with desk.writing, desk.opened() as book:
        run = waits.one(book, _number(given))
        if run.attempt is None or not run.struck:
            raise refuse("run", "was not struck out on the phone", run.id)
        correct(book, run.attempt, {"struck": True})
    return RedirectResponse(HERE, 303)


def change(desk: Desk, given: Given) -> Response:
    """One run as a form."""
    return _form(desk, {"run": given.get("run", "")})


def changed(desk: Desk, given: Given) -> Response:
    """Take a run in as the form says, or show it again with what is wrong."""
    from layout.book import inbox, waits
    from layout.desk.from_phone import changed

    number = _number(given)
    with desk.writing, desk.opened() as book:
        run = waits.one(book, number)
        try:
            if run.state != "taken":
                inbox.take(book, number, changed(book, run, given))
        except BadInput as error:
            return _form(desk, given, tuple(error.faults))
    return RedirectResponse(HERE, 303)


def _form(desk: Desk, given: Given, faults: tuple[Fault, ...] = ()) -> Response:
    from layout.book import waits
    from layout.book.waits import SOUNDS, WENT
    from layout.desk.from_phone import form_of
    from layout.plan.tape import READ_FROM

    with desk.opened() as book:
        run = waits.one(book, _number(given))
        if run.state == "taken":
            raise refuse("run", f"was taken in already, as attempt {run.attempt}", run.id)
        form = form_of(book, run, given, faults)
    return pages.page(
        "from_phone_change.html", "Today", 400 if faults else 200, form=form, zeros=READ_FROM,
        went=WENT, sounds=SOUNDS,
    )  # fmt: skip


SCREENS: Final = {HERE: page, f"{HERE}/change": change}
POSTS: Final = {
    HERE: paste, f"{HERE}/take": take, f"{HERE}/leave": leave, f"{HERE}/strike": strike,
    f"{HERE}/change": changed,
}  # fmt: skip
SCRIPTS: Final = ("from_phone",)
"""Its addresses and script, for the desk's routes."""
