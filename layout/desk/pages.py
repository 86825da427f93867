"""Pages as answers: templates, what every page has, and faults beside what was asked."""

from __future__ import annotations

import datetime
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final

from jinja2 import DictLoader, Environment, StrictUndefined
from starlette.responses import HTMLResponse

from layout.words.faults import BadInput

PLACES: Final = (("/", "Today"), ("/club", "Club"))
"""The screens on the bar, in the order of a coach's day."""
_HERE: Final = files("layout.desk")


@lru_cache(maxsize=1)
def _templates() -> Environment:
    """Every text that goes into a page is escaped; only our own drawings are marked as safe."""
    found = {p.name: p.read_text("utf-8") for p in _HERE.iterdir() if p.name.endswith(".html")}
    made = Environment(
        loader=DictLoader(found), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.globals |= {"places": PLACES}
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


@lru_cache(maxsize=1)
def style() -> str:
    """The style sheet: a screen's, and the desk's own."""
    from layout.phone.drawing import style_of

    return style_of(_HERE.joinpath("desk.css").read_text("utf-8"))


@lru_cache(maxsize=1)
def script() -> str:
    """The script: a screen's, and the desk's own."""
    from layout.phone.drawing import script_of

    return script_of(_HERE.joinpath("desk.js").read_text("utf-8"))


def day_text(day: datetime.date) -> str:
    """A day as a coach says it.

    >>> day_text(datetime.date(2026, 11, 26))
    'Thursday 26 November'
    """
    return f"{day:%A} {day.day} {day:%B}"
