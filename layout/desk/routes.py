"""The desk's addresses: which answer each leads to, and what becomes of every fault."""

from __future__ import annotations

import os
import threading
from collections.abc import Awaitable, Callable, Iterator, Mapping
from functools import partial
from typing import Final
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from layout.desk import (
    away,
    page_club,
    page_copies,
    page_frame,
    page_from_phone,
    page_jumped,
    page_picture,
    page_runs,
    page_season,
    page_setout,
    page_share,
    page_squad,
    page_take_in,
    page_ways,
    page_worth,
    pages,
    today,
)
from layout.desk.app import Answer, Desk, Screen
from layout.desk.guard import FILM
from layout.words.faults import BadInput, refuse

ICON: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><path fill="#0b4f8a" '
    'd="M1 12h14v2H1z"/><path fill="none" stroke="#b3541e" stroke-width="2" '
    'd="M2 11q2-5 4 0 2-7 4 0 2-9 4 0"/></svg>'
)


SCRIPTS: Final = (
    "desk", "club", "jumped", "squad", "ways",
    *page_picture.SCRIPTS, *page_from_phone.SCRIPTS, *page_share.SCRIPTS, *page_worth.SCRIPTS,
)  # fmt: skip
"""The desk's script, and one for each page that has its own."""


SCREENS: Final[dict[str, Screen]] = {
    "/": today.page, "/set-out": page_setout.page, "/jumped": page_jumped.page,
    "/squad": page_squad.page, "/squad/set-out.pdf": page_squad.paper,
    "/squad/sheets.pdf": page_squad.sheets,
    "/ways": page_ways.page,
    "/worth": page_worth.page, "/worth.pdf": page_worth.sheet,
    "/sheet.pdf": away.sheet, "/phone.html": away.phone, "/clip.{kind}": away.clip,
    "/season": page_season.page, "/season/own": page_season.fit,
    "/season/runs": page_runs.page, "/season/run": page_runs.run,
    **page_club.SCREENS, **page_copies.SCREENS, **page_take_in.SCREENS, **page_picture.SCREENS,
    **page_from_phone.SCREENS, **page_share.SCREENS,
}  # fmt: skip
"""What is looked at, and what is taken away."""
DATA: Final[dict[str, Screen]] = {
    "/live": page_setout.live, "/figure": page_setout.figure,
    "/squad/live": page_squad.live, "/squad/progress": page_squad.progress,
    "/ways/told": page_ways.told,
}  # fmt: skip
"""What a page's script asks for."""
ASKED: Final[dict[str, Screen]] = {
    "/solve": page_setout.solve, "/stop": page_setout.stop,
    **page_picture.ASKED,
    "/ways/solve": page_ways.solve,
}  # fmt: skip
"""What a page's script sends, and is answered with data."""
FORMS: Final[dict[str, Screen]] = {
    **page_club.POSTS, **page_copies.POSTS, **page_take_in.POSTS, **page_picture.POSTS,
    **page_from_phone.POSTS, **page_share.POSTS,
    "/jumped": page_jumped.put_down, "/jumped/strike": page_jumped.strike,
    "/squad/work": page_squad.begin, "/squad/stop": page_squad.stop,
    "/season/run": page_runs.put_right, "/season/own": page_season.take_in,
    "/season/own/back": page_season.put_back,
    "/end": Desk.ended,
}  # fmt: skip
"""What each form of the desk is sent to."""


def _endpoint(answer: Answer, data: bool = False) -> Callable[[Request], Awaitable[Response]]:
    """An answer as Starlette asks for it; every fault becomes lines on a page, or in the data."""

    async def endpoint(request: Request) -> Response:
        body = await request.body() if request.method == "POST" else b""
        try:
            given = dict(request.query_params)
            if body:
                given |= dict(parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=200))
            return await run_in_threadpool(answer, {**given, **request.path_params})
        except BadInput as error:
            if data:
                return JSONResponse({"state": "failed", "why": "; ".join(error.told())}, 400)
            return pages.refused(error)
        except (UnicodeDecodeError, ValueError):
            return pages.refused(refuse("form", "cannot be read"))
        except Exception as error:
            if os.environ.get("PHASEMARK_TRACE"):
                raise
            kind = type(error).__name__
            rule = f"a fault of the program, not of yours ({kind}: {error}); nothing was changed"
            return pages.refused(refuse("phasemark", rule), 500)

    return endpoint


def _text(made: Callable[[], str], kind: str) -> Answer:
    return lambda given: Response(made(), media_type=kind)


def _script(name: str) -> Answer:
    return _text(lambda: pages.script(name), "text/javascript")


def routes(desk: Desk) -> list[Route]:
    """Every address of a desk."""

    def of(table: Mapping[str, Screen], method: str, data: bool = False) -> Iterator[Route]:
        for path, answer in table.items():
            yield Route(path, _endpoint(partial(answer, desk), data), methods=[method])

    pieces: dict[str, Answer] = {
        "/desk.css": _text(pages.style, "text/css"),
        **{f"/{name}.js": _script(name) for name in SCRIPTS},
        "/icon.svg": _text(lambda: ICON, "image/svg+xml"),
    }
    return [
        *of(SCREENS, "GET"),
        *(Route(path, _endpoint(answer), methods=["GET"]) for path, answer in pieces.items()),
        *of(DATA, "GET", True),
        *of(ASKED, "POST", True),
        *of(FORMS, "POST"),
        Route(FILM, page_frame.frame, methods=["POST"]),
    ]


async def _nowhere(request: Request, error: Exception) -> Response:
    return pages.refused(refuse("address", "no such page on this desk"), 404)


def app_of(desk: Desk) -> Starlette:
    """The desk as an application, without its guard."""
    return Starlette(routes=routes(desk), exception_handlers={404: _nowhere, 405: _nowhere})


def warm() -> None:
    """Import what planning and drawing need while the first page is being looked at."""

    def load() -> None:
        import layout.desk.choices
        import layout.desk.figure
        import layout.desk.season  # noqa: F401

        pages.style()

    threading.Thread(target=load, daemon=True).start()
