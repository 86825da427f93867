"""A whole practice in a browser: six phones, one drill, networks that come and go, a desk that is killed.

What a phone has confirmed is counted here, and at the end of each round held against the book.
"""

from __future__ import annotations

import datetime
import random
import re
import subprocess
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Browser, BrowserContext, Page, expect

from layout.book.people import members
from layout.book.rows import attempts
from layout.book.store import open_book
from layout.book.waits import waiting
from layout.desk.demo import demo_book
from tests.browser import PATIENCE
from tests.layout.desk.desks import run_desk
from tests.layout.desk.shown import context_of, stands

AT: Final = "127.0.0.2"
"""Where phones reach the desk: an address of its own, as on a hotspot."""
DRILL: Final = "hop-step-sand"
WRONG: Final = (-1, 0, 0, 0, 1, 1)
"""How far each phone's clock is off [days]."""


@dataclass
class Phone:
    """One phone with its page, and what it has confirmed: run by run, its words and whether struck."""

    name: str
    context: BrowserContext
    page: Page
    day: datetime.date
    said: list[str]
    confirmed: list[tuple[str, bool]] = field(default_factory=list)
    online: bool = True

    def network(self, there: bool) -> None:
        """Cut the network, or give it back."""
        self.context.set_offline(not there)
        self.online = there

    def put(self, draw: random.Random) -> None:
        """Put a run down; it counts as soon as the phone shows it."""
        pads = self.page.locator(".pads input")
        readings = [f"{draw.uniform(1.5, 3.5):.2f}" for _ in range(pads.count())]
        for i, text in enumerate(readings):
            pads.nth(i).fill(text)
        if draw.random() < 0.2:
            self.page.locator("label", has=self.page.locator("[name=sound][value=loud]")).click()
            readings.append("loud")
        self.page.locator("#put").click()
        expect(self.page.locator("#kept li")).to_have_count(len(self.confirmed) + 1)
        self.confirmed.append((" ".join(readings), False))

    def strike(self, draw: random.Random) -> None:
        """Strike a run out."""
        left = [i for i, (_, struck) in enumerate(self.confirmed) if not struck]
        if left:
            at = draw.choice(left)
            self.page.locator(f'[data-strike="{at}"]').click()
            expect(self.page.locator(f'[data-strike="{at}"]')).to_have_count(0)
            self.confirmed[at] = (self.confirmed[at][0], True)


@dataclass
class Practice:
    """A desk on a new book, six athletes at one drill, six phones."""

    folder: Path
    browser: Browser
    draw: random.Random
    phones: list[Phone] = field(default_factory=list)
    deaths: int = 0
    cuts: int = 0

    def __post_init__(self) -> None:
        self.book, _ = demo_book(self.folder)
        self.address, self.run = self.start()

    def start(self) -> tuple[str, subprocess.Popen[str]]:
        """The desk, as a coach starts it."""
        book = str(self.book.relative_to(self.folder))
        return run_desk(self.folder, book, "--share", AT)

    def kill(self) -> None:
        """The desk is gone from one moment to the next."""
        self.run.kill()
        self.run.communicate(timeout=PATIENCE)
        self.deaths += 1

    def restart(self) -> None:
        """The desk is started again."""
        self.address, self.run = self.start()

    def hand_out(self) -> None:
        """Every athlete's page goes to a phone of its own, opened by a tap."""
        coach = context_of(self.browser)
        page = coach.new_page()
        page.goto(self.address)
        home = self.address.partition("/enter")[0]
        with open_book(self.book) as book:
            everybody = members(book)[:6]
        assert len(everybody) == 6
        for member, off in zip(everybody, WRONG, strict=True):
            page.goto(f"{home}/share?a={member.id}&d={DRILL}&v=marram-point")
            page.get_by_role("button", name="Make a page for one phone").click()
            self.phones.append(self._phone(member.name, page.locator(".address").inner_text(), off))
            page.goto(f"{home}/share")  # the code is gone once a phone has the page
            expect(page.locator(".address")).to_have_count(0)
        coach.close()

    def _phone(self, name: str, address: str, off: int) -> Phone:
        context = context_of(
            self.browser, viewport={"width": 390, "height": 844}, reduced_motion="reduce"
        )
        page, said = context.new_page(), []
        page.on("pageerror", lambda e: said.append(str(e)))
        page.on("dialog", lambda d: d.accept())
        now = datetime.datetime.now() + datetime.timedelta(days=off)
        page.clock.set_fixed_time(now)
        page.goto(address)
        page.get_by_role("button", name="Open it on this phone").click()
        expect(page.locator("#put")).to_be_visible()
        stands(page)
        return Phone(name, context, page, now.date(), said)

    def round(self) -> None:
        """Runs on every phone while networks come and go and the desk may die; then all is well again."""
        draw = self.draw
        dies = draw.random() < 0.5
        order = [phone for phone in self.phones for _ in range(draw.randrange(1, 3))]
        draw.shuffle(order)
        when = draw.randrange(len(order)) if dies else -1
        back = draw.randrange(when, len(order)) if dies else -1
        for step, phone in enumerate(order):
            if step == when:
                self.kill()
            if draw.random() < 0.35:
                phone.network(not phone.online)
                self.cuts += 1
            phone.put(draw)
            if draw.random() < 0.1:
                phone.strike(draw)
            if draw.random() < 0.1 and phone.online and not (dies and when <= step):
                phone.page.reload()  # as somebody who cannot leave it alone
                expect(phone.page.locator("#kept li")).to_have_count(len(phone.confirmed))
            if step == back:
                self.restart()
        for phone in self.phones:
            phone.network(True)
        self.all_home()
        self.compare()

    def all_home(self) -> None:
        """Wait until every phone says that the desk has everything."""
        for phone in self.phones:
            count = len(phone.confirmed)
            text = re.compile(rf"^{count} runs? on the desk\.$") if count else ""
            expect(phone.page.locator("#home")).to_have_text(text)

    def compare(self) -> None:
        """Every run that a phone confirmed is in the inbox exactly once, and nothing else is."""
        with open_book(self.book) as book:
            found = waiting(book, every=True)
            assert attempts(book) == []
        want: Counter[tuple[Any, ...]] = Counter()
        for phone in self.phones:
            for number, (words, struck) in enumerate(phone.confirmed, 1):
                want[phone.name, str(phone.day), number, words, struck] += 1
        have = Counter((w.athlete, w.day, w.run, w.words, w.struck) for w in found)
        assert have == want, (have - want, want - have)
        assert [phone.said for phone in self.phones if phone.said] == []

    def close(self) -> None:
        """The end of the practice."""
        for phone in self.phones:
            phone.context.close()
        self.run.kill()
        self.run.communicate(timeout=PATIENCE)


@dataclass(frozen=True)
class Held:
    """What some rounds came to."""

    rounds: int
    runs: int
    deaths: int
    cuts: int
    seconds: float


def held(folder: Path, browser: Browser, rounds: int, seed: int, each: int = 20) -> Held:
    """Rounds of practices, a new practice after `each`; fails at the first run lost or doubled."""
    start, runs, deaths, cuts, done = time.monotonic(), 0, 0, 0, 0
    while done < rounds:
        place = folder / f"practice-{done}"
        place.mkdir()
        practice = Practice(place, browser, random.Random(f"{seed} {done}"))
        try:
            practice.hand_out()
            for _ in range(min(each, rounds - done)):
                practice.round()
                done += 1
        finally:
            practice.close()
        runs += sum(len(phone.confirmed) for phone in practice.phones)
        deaths, cuts = deaths + practice.deaths, cuts + practice.cuts
    return Held(done, runs, deaths, cuts, time.monotonic() - start)
