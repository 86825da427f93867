"""Pages as answers: templates, what every page has, and faults beside what was asked."""

from __future__ import annotations

import datetime
import secrets
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final
from urllib.parse import quote

from jinja2 import DictLoader, Environment, StrictUndefined
from starlette.responses import HTMLResponse, Response

from layout.words.dates import said_day
from layout.words.faults import BadInput

PLACES: Final = (
    ("/", "Today"),
    ("/squad", "Squad"),
    ("/season", "Season"),
    ("/picture", "Picture"),
    ("/club", "Club"),
)
"""The screens on the bar, in the order of a coach's day."""
UNITS: Final = (("cm", "metres"), ("ft", "feet and inches"))
"""What a tape may be read in, and how it is called."""
PLAYING: Final = ("desk", "ways")
"""Scripts that play a clip."""
_HERE: Final = files("layout.desk")


@lru_cache(maxsize=1)
def _templates() -> Environment:
    """Every text that goes into a page is escaped; only our own drawings are marked as safe."""
    found = {p.name: p.read_text("utf-8") for p in _HERE.iterdir() if p.name.endswith(".html")}
    made = Environment(
        loader=DictLoader(found), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.filters["day"] = said_day
    made.globals |= {"once": lambda: secrets.token_hex(8), "places": PLACES, "tapes": UNITS}
    return made


def part(name: str, /, **values: Any) -> str:
    """A part of a page, or a whole one."""
    return _templates().get_template(name).render(values)


def page(name: str, here: str, /, status: int = 200, **values: Any) -> HTMLResponse:
    """A whole page; `here` is the screen it belongs to."""
    return HTMLResponse(part(name, here=here, **values), status)


def refused(error: BadInput, status: int = 400) -> HTMLResponse:
    """A page for what cannot be done: every fault on its own line, and the way back."""
    return page("refused.html", "", status, told=error.told())


def file(name: str, data: bytes, kind: str, how: str = "attachment") -> Response:
    """A file for the browser to put where downloads go, or to show (`how`: inline)."""
    headers = {"content-disposition": f"{how}; filename*=UTF-8''{quote(name)}"}
    if kind == "application/pdf":  # the browser's own viewer is no part of our page
        headers["content-security-policy"] = "frame-ancestors 'none'"
    return Response(data, media_type=kind, headers=headers)


@lru_cache(maxsize=1)
def style() -> str:
    """The style sheet: a screen's, and the desk's own, page by page."""
    from layout.phone.drawing import style_of

    own = sorted(p.name for p in _HERE.iterdir() if p.name.endswith(".css"))
    own.sort(key="desk.css".__ne__)  # what all pages share first
    return style_of("".join(_HERE.joinpath(name).read_text("utf-8") for name in own))


@lru_cache(maxsize=16)
def script(name: str) -> str:
    """A script: what plays a clip stands before those that need it."""
    from layout.phone.drawing import script_of

    text = _HERE.joinpath(f"{name}.js").read_text("utf-8")
    return script_of(text) if name in PLAYING else text


def day_text(day: datetime.date) -> str:
    """A day as a coach says it.

    >>> day_text(datetime.date(2026, 11, 26))
    'Thursday 26 November'
    """
    return f"{day:%A} {day.day} {day:%B}"
