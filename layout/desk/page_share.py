"""Share: pages for phones on the hotspot, each with its code, who has it, and its end."""

from __future__ import annotations

import datetime
import time
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from starlette.responses import JSONResponse, RedirectResponse, Response

from layout.book.people import members
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.form import row_number
from layout.desk.hotspot import addresses, read_address
from layout.words.faults import BadInput
from layout.words.names import counted

HERE = "/share"
LATELY: Final = 40.0
"""A phone heard no longer ago than this is connected [s] (ours): its page asks every 15 s."""


def open_hotspot(desk: Desk, text: str) -> None:
    """Listen for phones at an address, at the port where they know this book."""
    from layout.book.doors import keep_port, port_of
    from layout.desk.track import Track

    with desk.writing, desk.opened() as book:
        known = port_of(book)
        port = desk.hotspot.open(read_address(text), known, lambda host: Track(desk, host))
        if port != known:
            keep_port(book, port)


@dataclass(frozen=True)
class Shown:
    """One page as the coach sees it."""

    number: int
    athlete: str
    drill: str
    code: str  # QR as SVG; empty where a phone has it, or this desk did not make it
    address: str
    state: str
    until: str


def _clock(moment: datetime.datetime) -> str:
    return f"{moment.astimezone():%H:%M}"


def _shown(desk: Desk) -> list[Shown]:
    from layout.book.doors import still_open
    from layout.book.own import drills_known
    from layout.book.waits import sent_by

    out = []
    with desk.opened() as book:
        known = drills_known(book)
        for door in still_open(book, time.time()):
            address = ""
            if door.id in desk.hotspot.codes and door.claim is None:
                address = f"http://{desk.hotspot.host}/t/{desk.hotspot.codes[door.id]}"
            runs = counted(sent_by(book, door.key), "run")
            if door.claimed is None:
                state = "Scan it, then tap Open on the phone."
                if not address:
                    state = "Not opened by a phone; its code is gone. End it and make another."
            else:
                since = _clock(datetime.datetime.fromisoformat(door.claimed))
                state = f"A phone has it since {since}; {_heard(desk, door.id)}; {runs} here."
            until = _clock(datetime.datetime.fromtimestamp(door.until))
            code = _code(address) if address else ""
            title = known[door.drill].title if door.drill in known else door.drill
            out.append(Shown(door.id, door.athlete, title, code, address, state, until))
    return out


def _heard(desk: Desk, number: int) -> str:
    seen = desk.hotspot.seen.get(number)
    if seen is None:
        return "not heard since this desk was opened"
    ago = time.monotonic() - seen.at
    if ago <= LATELY:
        return f"connected from {seen.client}"
    return f"last heard {counted(max(round(ago / 60), 1), 'minute')} ago, from {seen.client}"


def _code(address: str) -> str:
    import segno

    made = segno.make(address, error="m")
    return str(made.svg_inline(omitsize=True, border=4, dark="#000", light="#fff", svgclass=None,
                               lineclass=None))  # fmt: skip


def page(desk: Desk, given: Given, wrong: tuple[str, ...] = ()) -> Response:
    """Who has a page, and room for another; `wrong`: why phones cannot be let in at an address."""
    from layout.book.doors import OPEN_FOR
    from layout.desk.page_setout import pain, whole

    out = whole(desk, given, ("address",)) if given.keys() - {"address"} else None
    others: list[tuple[str, str]] = []
    if out is not None:
        with desk.opened() as book:
            rest = [m for m in members(book) if m.id != out.asked.a]
        others = [(m.name, out.asked.address(HERE, a=m.id)) for m in rest]
    host = desk.hotspot.host
    return pages.page(
        "share.html", "Today", 400 if wrong else 200, out=out, host=host,
        addresses=[] if host else addresses(), typed=given.get("address", ""), wrong=wrong,
        asked=out.asked.fields() if out else {}, doors=_doors(desk) if host else "", others=others,
        hours=OPEN_FOR // 3600, pain=pain(desk, out.asked.a) if out else "",
    )  # fmt: skip


def _doors(desk: Desk) -> str:
    return pages.part("share_doors.html", doors=_shown(desk))


def state(desk: Desk, given: Given) -> Response:
    """The pages and who has them, as markup."""
    return JSONResponse({"doors": _doors(desk)})


def listen(desk: Desk, given: Given) -> Response:
    """Open the hotspot at the address that was picked."""
    try:
        if not desk.hotspot.host:
            open_hotspot(desk, given.get("address", ""))
    except BadInput as error:
        return page(desk, given, error.told())
    return _back(given, "address")


def make(desk: Desk, given: Given) -> Response:
    """A page of what is set out, for one phone; sent twice it is made once."""
    from layout.book import doors
    from layout.desk.jumped import keep_planned
    from layout.desk.page_setout import whole

    once = given.get("once", "")
    out = whole(desk, given, ("once",))
    with desk.writing, desk.opened() as book:
        if not once or once not in desk.had:
            asked = urlencode(out.asked.fields())
            number, secret = doors.make(book, keep_planned(book, out), asked, time.time())
            desk.hotspot.codes[number] = secret
            desk.had.append(once)
    return _back(given, "once")


def end(desk: Desk, given: Given) -> Response:
    """Close one page at once."""
    from layout.book import doors

    number = row_number("page", given.get("page", ""))
    with desk.writing, desk.opened() as book:
        doors.end(book, number, time.time())
    desk.hotspot.codes.pop(number, None)
    return RedirectResponse(HERE, 303)


def close(desk: Desk, given: Given) -> Response:
    """Listen no more; pages that are open stay so for when it is opened again."""
    desk.hotspot.close()
    return RedirectResponse(HERE, 303)


def _back(given: Given, also: str) -> Response:
    from layout.desk.wanted import wanted

    asked = wanted(given, (also,))
    return RedirectResponse(asked.address(HERE) if asked.a else HERE, 303)


SCREENS: Final = {HERE: page, f"{HERE}/state": state}
POSTS: Final = {HERE: make, f"{HERE}/open": listen, f"{HERE}/end": end, f"{HERE}/close": close}
SCRIPTS: Final = ("share",)
"""Its addresses and script, for the desk's routes."""
