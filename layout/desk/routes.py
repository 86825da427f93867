"""The desk's addresses: which answer each leads to, and what becomes of every fault."""

from __future__ import annotations

import os
import threading
from collections.abc import Awaitable, Callable
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
    **page_club.SCREENS, **page_copies.SCREENS, **page_take_in.SCREENS, **page_picture.SCREENS,
    **page_from_phone.SCREENS, **page_share.SCREENS,
}  # fmt: skip
FORMS: Final[dict[str, Screen]] = {
    **page_club.POSTS, **page_copies.POSTS, **page_take_in.POSTS, **page_picture.POSTS,
    **page_from_phone.POSTS, **page_share.POSTS,
    "/jumped": page_jumped.put_down, "/jumped/strike": page_jumped.strike,
    "/squad/work": page_squad.begin, "/squad/stop": page_squad.stop,
    "/season/run": page_runs.put_right, "/season/own": page_season.take_in,
    "/season/own/back": page_season.put_back,
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

    def of(answer: Screen) -> Answer:
        return partial(answer, desk)

    screens: dict[str, Answer] = {
        "/": of(today.page), "/set-out": of(page_setout.page), "/jumped": of(page_jumped.page),
        "/squad": of(page_squad.page), "/squad/set-out.pdf": of(page_squad.paper),
        "/squad/sheets.pdf": of(page_squad.sheets),
        "/ways": of(page_ways.page),
        "/worth": of(page_worth.page),
        "/sheet.pdf": of(away.sheet), "/phone.html": of(away.phone), "/clip.{kind}": of(away.clip),
        "/season": of(page_season.page), "/season/own": of(page_season.fit),
        "/season/runs": of(page_runs.page), "/season/run": of(page_runs.run),
        **{path: of(answer) for path, answer in SCREENS.items()},
        "/desk.css": _text(pages.style, "text/css"),
        **{f"/{name}.js": _script(name) for name in SCRIPTS},
        "/icon.svg": _text(lambda: ICON, "image/svg+xml"),
    }  # fmt: skip
    data: dict[str, Answer] = {
        "/live": of(page_setout.live),
        "/figure": of(page_setout.figure),
        "/squad/live": of(page_squad.live),
        "/squad/progress": of(page_squad.progress),
        "/ways/told": of(page_ways.told),
    }
    posts: dict[str, Answer] = {
        "/solve": of(page_setout.solve),
        "/stop": of(page_setout.stop),
        **{path: of(answer) for path, answer in page_picture.ASKED.items()},
        "/ways/solve": of(page_ways.solve),
    }
    return [
        *(Route(path, _endpoint(answer), methods=["GET"]) for path, answer in screens.items()),
        *(Route(path, _endpoint(answer, True), methods=["GET"]) for path, answer in data.items()),
        *(Route(path, _endpoint(answer, True), methods=["POST"]) for path, answer in posts.items()),
        *(Route(path, _endpoint(of(answer)), methods=["POST"]) for path, answer in FORMS.items()),
        Route(FILM, page_frame.frame, methods=["POST"]),
        Route("/end", _endpoint(desk.ended), methods=["POST"]),
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
