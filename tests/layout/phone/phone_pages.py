"""Phone pages of the demo club, and what a reader of their markup finds: for the tests of phones."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import lru_cache
from html.parser import HTMLParser
from typing import Final

from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.clip import step_contact
from layout.moving.poses import at_marks, key_poses
from layout.moving.solved import at_hand, with_motion
from layout.page.page import Page
from layout.phone.phone import phone
from layout.plan.tape import TapeCard, tape_card
from layout.plan.value import Plan
from layout.sheet.handout import Wish, handout

VOID: Final = {"meta", "link", "input", "br"}
NAMES: Final = (
    "Łucja O'Brien-Ðặng",
    '<script>alert(1)</script> & "q" \'</title><img src=x onerror=alert(2)>',
    "Wolfeschlegelsteinhausenbergerdorff " * 5 + "W" * 80,
    "الكتاب שלום",
)


@dataclass(frozen=True)
class Made:
    """A phone page and what it was made of."""

    plan: Plan
    card: TapeCard
    motion: Motion | None
    pages: tuple[Page, ...]
    html: str


@lru_cache(maxsize=1)
def demo() -> tuple[tuple[Plan, TapeCard, Motion], ...]:
    """The demo's plans with their kept motions."""
    out = []
    for _, plan, zero, system in plans():
        motion = at_hand(plan)
        if motion is not None:
            told = plan if plan.hurdles else with_motion(plan, motion)
            out.append((told, tape_card(plan, zero, system), motion))  # type: ignore[arg-type]
    return tuple(out)


def made(
    who: str,
    drill: str,
    name: str | None = None,
    wish: Wish | None = None,
    still: bool = False,
    plain: bool = False,
) -> Made:
    """The page of one of the demo's athletes, under another name where wanted.

    A plain page prints the sheet of the athlete's own name: no fonts are looked for.
    """
    plan, card, found = next(
        row for row in demo() if row[0].who.name.lower() == who and row[0].drill == drill
    )
    motion = None if still else found
    poses = key_poses(plan, motion) if motion else ()
    reading = step_contact(motion).reading.shown() if motion else None
    named = plan if name is None else replace(plan, who=replace(plan.who, name=name))
    figures = at_marks(plan, motion) if motion else ()
    pages = handout(plan if plain else named, card, poses, reading, wish, figures)
    html = phone(named, card, pages, poses, motion, reading)
    return Made(named, card, motion, pages, html)


@dataclass
class Read(HTMLParser):
    """Elements and texts of a page, as a browser's reader takes them."""

    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    inside: list[str] = field(default_factory=list)
    raw: dict[str, list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element opens."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.inside.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element without inside, as SVG has them."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """An element closes: the last one open."""
        assert self.inside.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text, or what a style or script holds."""
        if self.inside and self.inside[-1] in ("style", "script"):
            self.raw.setdefault(self.inside[-1], []).append(data)
        else:
            self.texts.append(data)


def read(html: str) -> Read:
    """A page taken apart; fails where an element is not closed in its turn."""
    found = Read()
    found.feed(html)
    found.close()
    assert found.inside == []
    return found


def said(html: str) -> str:
    """The texts of what is on the screen, one space between words."""
    shown = html.partition('<div class="screen">')[2].partition('</div>\n<div class="sheets">')[0]
    shown = re.sub(r"<(br|/[a-z0-9]+)>", r"<\1> ", shown)
    found = Read()
    found.feed(shown)
    return " ".join("".join(found.texts).split())
