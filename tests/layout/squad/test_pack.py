"""A squad pack: everybody in it or told, every page number right, and a folder to send from."""

from __future__ import annotations

import datetime
import pickle
import re
import shutil
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import animate.motion.solve as solver
from animate.film.themes import theme
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.solve import fingerprint
from layout.moving.solved import at_hand, motion_of
from layout.page.page import MARGIN, Page, Text
from layout.page.pdf import to_pdf
from layout.plan.drill import catalogue
from layout.plan.venue import venues
from layout.squad import pack as room
from layout.squad.pack import (
    NOT_WANTED,
    Making,
    Pack,
    athlete_files,
    athlete_work,
    key_of,
    pack_pdf,
    run_pack,
)
from layout.squad.pack_contents import Chapter, contents, index_html
from layout.squad.roster import Member
from layout.squad.work import LEDGER, Work
from layout.words.faults import Fault
from tests.paper import bare, box, collisions, reader
from tests.strategies import CLUB, member, person_names, plan

DRILLS = tuple(catalogue()[d] for d in ("hop-step-sand", "alternate-bounds"))
MAKING = Making(venues()["marram-point"], datetime.date(2026, 11, 25), figures=False)
SQUAD = tuple(Member(member(n), file=f"{n}.toml") for n in CLUB[:3])
FACTS = ("Marram Point, 2026-11-25.", "1. Hop and step")
SCRIPT = 'Łucja O\'Brien-Ðặng <script>alert("1")</script> & 名前'


class Here(Executor):
    """Work done at once in this process, as if it had been sent to another."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        done = fn(*pickle.loads(pickle.dumps(args)), **kwargs)
        future.set_result(pickle.loads(pickle.dumps(done)))
        return future


class Gone(Executor):
    """Workers that stop after the first athlete."""

    def __init__(self) -> None:
        self.count = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.count += 1
        if self.count > 1:
            future.set_exception(BrokenExecutor("gone"))
        else:
            future.set_result(fn(*args, **kwargs))
        return future


def named(text: str) -> Member:
    return Member(replace(member("imka"), name=text), file="squad.csv", line=2)


@pytest.fixture(scope="module")
def made() -> Pack:
    return run_pack(SQUAD, DRILLS, MAKING, Work(), Here())


@pytest.fixture(scope="module")
def book(made: Pack) -> Any:
    return reader(pack_pdf(made.chapters, (), MAKING, "Squad pack: 3 athletes", FACTS))


def test_every_athlete_and_drill_is_in_it_in_order(made: Pack) -> None:
    assert [c.name for c in made.chapters] == ["Runa", "Runa", "Bram", "Bram", "Imka", "Imka"]
    assert [c.title for c in made.chapters] == [d.title for d in DRILLS] * 3
    assert made.report.whole
    assert not made.report.faults
    assert not made.files


def test_page_numbers_of_the_contents_are_right(made: Pack, book: Any) -> None:
    pages = [bare(leaf.extract_text()) for leaf in book.pages]
    assert len(pages) == 1 + sum(len(c.pages) for c in made.chapters)
    front, _ = contents("t", FACTS, made.chapters, (), "A4")
    numbers = [int(i.text) for i in front[0].ink if isinstance(i, Text) and i.text.isdigit()]
    assert len(numbers) == len(made.chapters)
    for number, chapter in zip(numbers, made.chapters, strict=True):
        assert bare(f"{chapter.name}: {chapter.title}") in pages[number - 1]
        assert str(number) in pages[0]
        # The page before is another handout's.
        assert bare(f"{chapter.name}: {chapter.title}") not in pages[number - 2] or number == 2
    for i, page in enumerate(pages, start=1):
        assert bare(f"Pack page {i} of {len(pages)}") in page


def test_lines_of_the_contents_lead_to_their_pages(made: Pack, book: Any) -> None:
    order = {leaf.indirect_reference.idnum: i for i, leaf in enumerate(book.pages)}
    links = [note.get_object() for note in book.pages[0]["/Annots"]]
    assert len(links) == len(made.chapters)
    at = 1
    for link, chapter in zip(links, made.chapters, strict=True):
        assert link["/Subtype"] == "/Link"
        assert order[link["/Dest"][0].idnum] == at
        left, low, right, top = (float(v) for v in link["/Rect"])
        assert 0 < left < right < float(book.pages[0].mediabox.width)
        assert 10 < top - low < 40
        at += len(chapter.pages)
    assert [o.title for o in book.outline] == [
        "Contents", *(f"{c.name}: {c.title}" for c in made.chapters)
    ]  # fmt: skip


def many(count: int) -> list[Chapter]:
    page = Page(210.0, 297.0, 100, "t", ())
    return [
        Chapter(f"Athlete {i:03}" + " long name" * (i % 7), "Hop", (page,) * (1 + i % 3), "")
        for i in range(count)
    ]


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_long_contents_take_several_pages_and_count_themselves(paper: str) -> None:
    chapters = many(200)
    faults = [Fault("mass", "must be a number", "x" * 50, "squad.csv", i) for i in range(40)]
    front, links = contents("Squad pack: 200 athletes", FACTS, chapters, faults, paper)
    assert len(front) > 2
    assert [p for page in front for p in collisions(page)] == []
    at = len(front)
    for (_, _, target), chapter in zip(links, chapters, strict=True):
        assert target == at
        at += len(chapter.pages)
    said = bare("".join(i.text for p in front for i in p.ink if isinstance(i, Text)))
    assert all(bare(str(f)) in said for f in faults)
    assert all(bare(c.name) in said for c in chapters)


@given(st.lists(person_names, min_size=1, max_size=30), st.integers(0, 3))
def test_names_of_any_kind_are_whole_in_the_contents(names: list[str], lacking: int) -> None:
    page = Page(210.0, 297.0, 100, "t", ())
    chapters = [Chapter(n, "Hop", (page,), NOT_WANTED if lacking else "") for n in names]
    front, links = contents("Squad pack", FACTS, chapters, (), "A4")
    assert len(links) == len(names)
    said = bare("".join(i.text for p in front for i in p.ink if isinstance(i, Text)))
    assert all(bare(n) in said for n in names)
    assert (bare(NOT_WANTED) in said) == bool(lacking)
    for sheet in front:
        assert collisions(sheet) == []


def test_a_page_says_why_it_is_without_positions(made: Pack) -> None:
    for chapter in made.chapters:
        said = [i for i in chapter.pages[0].ink if isinstance(i, Text) and i.text == NOT_WANTED]
        assert len(said) == 1
        # Under the handout's own ink, and further from the edge than printers leave free.
        left, top, _, low = box(said[0])
        page = chapter.pages[0]
        others = [box(i) for i in page.ink if isinstance(i, Text) and i is not said[0]]
        assert left >= MARGIN
        assert page.height - low > 4.9
        assert max(other[3] for other in others) < top


def test_the_packs_own_line_meets_no_other_text(made: Pack) -> None:
    for chapter in made.chapters:
        for i, page in enumerate(chapter.pages, start=1):
            whole = room._strip(page, f"Pack page {i} of 1000", "right")
            texts = [box(t) for t in whole.ink if isinstance(t, Text)]
            own = texts.pop()
            for left, top, right, low in texts:
                assert right < own[0] or left > own[2] or low < own[1] or top > own[3]


def test_a_broken_athlete_is_told_and_stops_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    from layout.plan.spacing import make_plan as plain

    def sometimes(athlete: Any, *rest: Any) -> Any:
        if athlete.name == "Bram":
            raise RuntimeError("a bug")
        return plain(athlete, *rest)

    monkeypatch.setattr("layout.squad.batch.make_plan", sometimes)
    short = replace(member("runa"), name="Slow", target=3.0)
    members = (*SQUAD, Member(short, file="slow.toml"))
    pack = run_pack(members, DRILLS[:1], MAKING, Work(), Here())
    assert [c.name for c in pack.chapters] == ["Runa", "Imka"]
    said = [str(f) for f in pack.report.faults]
    assert any("bram.toml" in s and "a fault of the program" in s for s in said)
    assert any(s.startswith("slow.toml: Slow, hop-step-sand: ") for s in said)
    text = bare(reader(pack_pdf(pack.chapters, pack.report.faults, MAKING, "t", FACTS)).pages[0]
                .extract_text())  # fmt: skip
    assert bare("Not in this pack:") in text
    assert all(bare(s) in text for s in said)


def test_workers_that_stop_are_told_and_what_is_done_stays(tmp_path: Path) -> None:
    pack = run_pack(SQUAD, DRILLS[:1], MAKING, Work(tmp_path), Gone())
    assert not pack.report.whole
    assert "a worker stopped" in str(pack.report.faults[0])
    assert (tmp_path / "athletes" / "Runa.pdf").read_bytes().startswith(b"%PDF")


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pack")
    run_pack(SQUAD[:2], DRILLS, MAKING, Work(folder), Here())
    return folder


@pytest.fixture
def folder(tmp_path: Path, once: Path) -> Path:
    """A finished folder."""
    return Path(shutil.copytree(once, tmp_path / "out"))


def test_a_folder_has_a_sheet_and_telephone_pages_for_each(folder: Path) -> None:
    made = {p.name for p in (folder / "athletes").iterdir()}
    assert made == {
        f"{n}{end}"
        for n in ("Runa", "Bram")
        for end in (".pdf", "-hop-step-sand.html", "-alternate-bounds.html")
    }
    text = bare("".join(p.extract_text() for p in
                        reader((folder / "athletes" / "Runa.pdf").read_bytes()).pages))  # fmt: skip
    assert all(bare(f"Runa: {d.title}") in text for d in DRILLS)
    assert "Bram" not in text
    html = (folder / "athletes" / "Runa-hop-step-sand.html").read_text(encoding="utf-8")
    assert NOT_WANTED in html
    assert "Bram" not in html


def test_a_second_run_writes_nothing(folder: Path) -> None:
    before = {p: p.stat().st_mtime_ns for p in (folder / "athletes").iterdir()}
    pack = run_pack(SQUAD[:2], DRILLS, MAKING, Work(folder), Here())
    assert pack.report.made == []
    assert len(pack.report.finished) == 6
    assert {p: p.stat().st_mtime_ns for p in (folder / "athletes").iterdir()} == before


def test_what_somebody_changed_is_kept_unless_told(folder: Path) -> None:
    mine = folder / "athletes" / "Runa.pdf"
    mine.write_text("mine")
    (folder / "athletes" / "Bram.pdf").unlink()
    pack = run_pack(SQUAD[:2], DRILLS, MAKING, Work(folder), Here())
    assert pack.report.kept == ["athletes/Runa.pdf"]
    assert pack.report.made == ["athletes/Bram.pdf"]
    assert mine.read_text() == "mine"
    run_pack(SQUAD[:2], DRILLS, MAKING, Work(folder, True), Here())
    assert mine.read_bytes().startswith(b"%PDF")


def test_a_change_of_the_squad_makes_those_files_anew(folder: Path) -> None:
    taller = Member(replace(member("runa"), stature=1.60), file="runa.toml")
    pack = run_pack((taller, SQUAD[1]), DRILLS, MAKING, Work(folder), Here())
    assert sorted(pack.report.made) == sorted(athlete_files(taller, DRILLS))
    assert len(pack.report.finished) == 3


@pytest.mark.parametrize("name", [SCRIPT, "../up/and\\over", "-rf ~", "W" * 80, "\u0627\u0628"])
def test_names_of_any_kind_make_safe_files(name: str, tmp_path: Path) -> None:
    pack = run_pack((named(name),), DRILLS[:1], MAKING, Work(tmp_path), Here())
    assert not pack.report.faults
    files = [p for p in tmp_path.rglob("*") if p.is_file() and p.name != LEDGER]
    assert {p.parent for p in files} == {tmp_path / "athletes"}
    assert len(files) == 2
    assert not any(set(p.name) & set('<>:"/\\|?*') or p.name.startswith("-") for p in files)
    led = [("All in one", (("to print (PDF)", "all.pdf"),)), *pack.files]
    index = index_html("Squad pack", FACTS, led, ())
    assert "<script" not in index
    from html.parser import HTMLParser
    from urllib.parse import unquote

    ways: list[str] = []
    words: list[str] = []

    class Look(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            ways.extend(unquote(v or "") for k, v in attrs if k == "href" and tag == "a")

        def handle_data(self, data: str) -> None:
            words.append(data)

    Look().feed(index)
    assert name in words
    assert set(ways) == {"all.pdf", *(p.relative_to(tmp_path).as_posix() for p in files)}
    assert not re.search(r"https?:", index)
    assert not re.search(r'href="[^"]*[ \'<>]', index)
    front = reader(pack_pdf(pack.chapters, (), MAKING, "t", FACTS)).pages
    said = bare(front[0].extract_text())
    # Letters that are joined or run from the right come back in their own order or not at all.
    assert bare(name) in said or not name.isascii()


def test_a_kept_motion_is_at_hand_while_its_file_is_sound(monkeypatch: pytest.MonkeyPatch,
                                                   tmp_path: Path) -> None:  # fmt: skip
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path))
    known = plan("imka", "short-triple-jump")
    motion = motion_of(known)
    who = known.who
    # As another athlete of that size has it, on this machine and not shipped.
    from animate.body.body import body
    from layout.moving.chain import chain_of

    print_of = fingerprint(chain_of(known), body(who.stature, who.mass, who.build), Settings())
    monkeypatch.setattr("layout.moving.solved.ready", lambda *_: None)
    assert at_hand(known) is None
    motion.save(tmp_path / f"{print_of}.json")
    found = at_hand(known)
    assert found is not None
    assert isinstance(found, Motion)
    assert found.chain == motion.chain
    (tmp_path / f"{print_of}.json").write_text("damaged")
    assert at_hand(known) is None


def test_a_motion_that_is_not_found_leaves_the_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    from layout.words.faults import refuse

    def never(*_: Any) -> None:
        raise refuse("motion", "no motion found within 9 s")

    monkeypatch.setattr("layout.moving.solved.motion_of", never)
    done = athlete_work(SQUAD[0], DRILLS[:1], replace(MAKING, figures=True))
    (chapter,) = done.more
    assert chapter.lacking == "Without positions: no motion found within 9 s."
    assert not done.faults


def test_progress_is_told(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    tell: Callable[[int, int], None] = lambda done, total: told.append((done, total))  # noqa: E731
    run_pack(SQUAD, DRILLS[:1], MAKING, Work(tell=tell), Here())
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


def test_links_change_nothing_else() -> None:
    front, links = contents("t", FACTS, many(3), (), "A4")
    look = theme("light")
    with_links = reader(to_pdf([*front, *front], look, "t", links=[(0, links[0][1], 1)]))
    assert "/Annots" in with_links.pages[0]
    assert "/Annots" not in with_links.pages[1]
    without = reader(to_pdf([*front, *front], look, "t"))
    assert with_links.pages[0].extract_text() == without.pages[0].extract_text()


def test_a_stopped_pack_keeps_what_is_done_and_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C after one athlete: their files stand, and no motion is sought twice."""
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    sought: list[object] = []
    usual = solver.solve

    def solve(*given: Any) -> Motion:
        sought.append(given)
        return usual(*given)

    def stop(done: int, _: int) -> None:
        if done:
            raise KeyboardInterrupt

    monkeypatch.setattr(solver, "solve", solve)
    squad = tuple(Member(replace(member(n), mass=61.0), file=f"{n}.toml") for n in ("imka", "sefa"))
    making, drill = replace(MAKING, figures=True), (catalogue()["hop-step-hold"],)
    folder = tmp_path / "out"

    def go(tell: Callable[[int, int], None] | None = None) -> Pack:
        key = lambda one: key_of(one, drill, making)  # noqa: E731
        return run_pack(squad, drill, making, Work(folder, tell=tell), Here(), key)

    with pytest.raises(KeyboardInterrupt):
        go(stop)
    done = {p: p.stat().st_mtime_ns for p in (folder / "athletes").iterdir()}
    assert len(done) == 2
    assert len(sought) == 2
    pack = go()
    assert not any(c.lacking for c in pack.chapters)
    assert {folder / name for name in pack.report.finished} == set(done)
    assert len(pack.report.made) == 2
    assert {p: p.stat().st_mtime_ns for p in done} == done
    assert len(sought) == 2
