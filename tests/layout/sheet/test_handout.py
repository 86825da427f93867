"""The handout: everything on it, whole, nothing over anything else, and true to scale."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache, partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.athlete.athlete import athlete_from
from layout.commands.demo_ import plans
from layout.moving.clip import step_contact
from layout.moving.poses import KeyPose, key_poses
from layout.moving.solved import ready
from layout.page.page import MARGIN, PAPERS, SCALES, Line, Page, Text
from layout.page.pdf import to_pdf
from layout.page.svg import to_svg
from layout.plan.drill import catalogue
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.handout import Wish, handout
from layout.sheet.texts import ADVICE, Words
from layout.words.faults import BadInput
from layout.words.feet import as_read
from tests.paper import bar_length, bare, collisions, has_span, pdf_paths, reader, svg_paths
from tests.strategies import CLUB, athlete_tables, attempt, drill_names, pit_or_track, plan

WAYS = [(paper, upright) for paper in PAPERS for upright in (True, False)]
ALL = [(who, drill) for who in CLUB for drill in sorted(catalogue())]
BARS = {50: 2, 100: 5, 200: 10}


def outside(page: Page) -> list[str]:
    """Lines that leave the margins."""
    low, wide, high = MARGIN - 0.05, page.width - MARGIN + 0.05, page.height - MARGIN + 0.05
    out = []
    for item in page.ink:
        if isinstance(item, Line):
            xs, ys = zip(*item.points, strict=True)
            if min(xs) < low or max(xs) > wide or min(ys) < low or max(ys) > high:
                out.append(f"{item.name} {min(xs):.1f} {min(ys):.1f} {max(xs):.1f} {max(ys):.1f}")
    return out


def said_on(pages: Sequence[Page]) -> str:
    """All texts, without spaces."""
    return bare("".join(i.text for page in pages for i in page.ink if isinstance(i, Text)))


def lacking(
    made: Plan, pages: Sequence[Page], system: str = "cm", zero: str = "board"
) -> list[str]:
    """What a handout ought to say and does not, word for word."""
    words = Words(made, tape_card(made, zero, system))  # type: ignore[arg-type]
    told = [words.name, words.title, words.job, *words.facts, *words.warnings, words.zero]
    told += [part for row in (*words.tape, *words.numbers) for part in row]
    told += [*words.points, *words.load, *words.cautions, words.sure, ADVICE]
    told += [part.strip() for fault in words.faults for part in fault.split("->")]
    # Over the table to write in figures stand without their unit, which their row names.
    cells = [cell for row in words.lengths for cell in row]
    parts = [part for cell in cells for part in re.split(" ± |, ", cell)]
    told += [re.sub(r" (m|cm|in|%)$", "", part) for part in parts]
    said = said_on(pages)
    return [t for t in told if bare(t) not in said]


@lru_cache(maxsize=len(CLUB))
def every(who: str) -> list[tuple[Plan, Wish, tuple[Page, ...] | BadInput]]:
    """An athlete's handouts of every drill, each on one of the papers, or why there is none."""
    out = []
    for i, drill in enumerate(sorted(catalogue())):
        made = plan(who, drill, pit_or_track(drill))
        wish = Wish(*WAYS[(i + 3 * CLUB.index(who)) % len(WAYS)])
        out.append((made, wish, attempt(partial(handout, made, tape_card(made), wish=wish))))
    return out


@pytest.mark.parametrize("who", CLUB)
def test_every_drill_for_every_athlete_is_whole_and_nothing_collides(who: str) -> None:
    for made, wish, pages in every(who):
        if isinstance(pages, BadInput):
            assert "does not fit this paper; would fit:" in str(pages)
            continue
        for page in pages:
            assert collisions(page) == [], (made.drill, wish)
            assert outside(page) == [], (made.drill, wish)
        assert lacking(made, pages) == [], (made.drill, wish)


@pytest.mark.parametrize("who", CLUB)
def test_targets_stand_once_on_a_page(who: str) -> None:
    for made, wish, pages in every(who):
        if isinstance(pages, BadInput):
            continue
        told = 0
        for page in pages:
            heads = [text for text in texts_on([page]) if text in ("share", "share %")]
            assert len(heads) <= 1, (made.drill, wish)
            told += len(heads)
        assert told >= 1, (made.drill, wish)


@lru_cache(maxsize=1)
def solved() -> tuple[tuple[Plan, str, str, tuple[KeyPose, ...], dict[str, str]], ...]:
    """The demo's plans with their kept motions."""
    from animate.body.body import body
    from animate.motion.chain import Settings

    out = []
    for _, made, zero, system in plans():
        who = body(made.who.stature, made.who.mass, made.who.build)
        motion = ready(made, who, Settings())
        if motion is not None:
            reading = dict(step_contact(motion).reading.shown())
            out.append((made, zero, system, key_poses(made, motion), reading))
    return tuple(out)


@cache
def demo_pages(number: int) -> tuple[Page, ...]:
    """The handout of one of `solved`, on the paper it has where nothing else is asked for."""
    made, zero, system, poses, reading = solved()[number]
    return handout(made, tape_card(made, zero, system), poses, reading)  # type: ignore[arg-type]


def test_the_demo_has_kept_motions() -> None:
    assert len(solved()) >= 6


@pytest.mark.parametrize(("paper", "upright"), [("A4", None), ("Letter", True), ("Letter", False)])
def test_demo_handouts_with_positions(paper: str, upright: bool | None) -> None:
    for number, (made, zero, system, poses, reading) in enumerate(solved()):
        card = tape_card(made, zero, system)  # type: ignore[arg-type]
        wish = Wish(paper, upright)
        pages = demo_pages(number) if wish == Wish() else handout(made, card, poses, reading, wish)
        for page in pages:
            assert collisions(page) == [], made.drill
            assert outside(page) == [], made.drill
        assert lacking(made, pages, system, zero) == [], made.drill
        said = said_on(pages)
        for number, pose in enumerate(poses, start=1):
            assert bare(f"{number}. {pose.label}") in said
            told = [as_read(f"{name} {value}", card.system) for name, value in pose.measures]
            assert all(bare(text) in said for text in told)
        gap = [
            i for p in pages for i in p.ink if isinstance(i, Line) and i.name.startswith("pose-")
        ]
        assert len(gap) == len(poses)


@pytest.mark.parametrize("upright", [True, False])
@pytest.mark.parametrize("paper", PAPERS)
def test_scale_is_true_in_the_files_themselves(paper: str, upright: bool) -> None:
    """Scale bar and every phase, in millimetres, out of the PDF and out of the SVG."""
    made = plan("imka", "hop-step-sand")
    for scale in SCALES[:2]:
        try:
            pages = handout(made, tape_card(made), wish=Wish(paper, upright, scale))
        except BadInput:
            assert scale == 50
            continue
        assert {page.scale for page in pages} == {scale}
        assert f"1:{scale}" in said_on(pages)
        pdf = reader(to_pdf(pages))
        assert len(pdf.pages) == len(pages)
        for paths in (pdf_paths(pdf.pages[0]), svg_paths(to_svg(pages[0]))):
            wanted = 1000.0 * BARS[scale] / scale
            assert bar_length(paths) == pytest.approx(wanted, abs=0.1)
            for flight in made.flights:
                assert has_span(paths, 1000.0 * flight.length / scale)
        assert f"thisbaris{1000 * BARS[scale] // scale}mmlong" in said_on(pages)


def test_figures_are_at_the_scale_they_name() -> None:
    """The knees' distance, dimensioned on the second figure."""
    pages, reading = demo_pages(0), solved()[0][-1]
    texts = [i.text for page in pages for i in page.ink if isinstance(i, Text)]
    (said,) = [t for t in texts if t.startswith("Figures 1:")]
    gap = float(reading["knee_gap"].removesuffix(" cm")) / 100.0
    paths = [list(i.points) for page in pages for i in page.ink if isinstance(i, Line)]
    assert has_span(paths, 1000.0 * gap / int(said.removeprefix("Figures 1:")), 0.05)


def test_all_text_of_a_pdf_can_be_read_out() -> None:
    pages = demo_pages(0)
    for page, leaf in zip(pages, reader(to_pdf(pages)).pages, strict=True):
        said = bare(leaf.extract_text())
        assert [i.text for i in page.ink if isinstance(i, Text) and bare(i.text) not in said] == []


NAMES = [
    "Łucja O'Brien-Ðặng",
    "<script>alert(1)</script> & $x^2$ \\n",
    "W" * 80,
    "Wolfeschlegelsteinhausenbergerdorff " * 5,
    "i",
    "الكتاب שלום",
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("upright", [True, False])
def test_any_name_is_whole_and_in_its_place(name: str, upright: bool) -> None:
    made = plan("imka", "two-hops-step-sand")
    made = replace(made, who=replace(made.who, name=name.strip()))
    pages = handout(made, tape_card(made), wish=Wish("Letter", upright))
    for page in pages:
        assert collisions(page) == []
    assert said_on(pages).count(bare(name)) >= len(pages)
    assert all(f">{name}" not in to_svg(page) or "<" not in name for page in pages)


@settings(max_examples=15)
@given(
    athlete_tables(), drill_names, st.sampled_from(WAYS), st.sampled_from(("cm", "ft")),
    st.sampled_from((None, *SCALES)),
)  # fmt: skip
def test_any_athletes_handout(
    table: dict[str, object], drill: str, way: tuple[str, bool], system: str, scale: int | None
) -> None:
    try:
        made = plan(athlete_from(table), drill, pit_or_track(drill))
    except BadInput:
        return
    card = tape_card(made, "board", system)  # type: ignore[arg-type]
    pages = attempt(lambda: handout(made, card, wish=Wish(*way, scale)))
    if isinstance(pages, BadInput):
        assert "does not fit this paper; " in str(pages)
        return
    assert [hit for page in pages for hit in (*collisions(page), *outside(page))] == []
    assert lacking(made, pages, system) == []
    assert scale in (None, pages[0].scale)


def test_what_does_not_fit_says_what_would_and_that_is_so() -> None:
    made = plan("tevin", "full-triple-jump")
    with pytest.raises(BadInput, match=r"does not fit this paper; would fit: 1:100 on this paper"):
        handout(made, tape_card(made), wish=Wish("A4", False, 50))
    assert handout(made, tape_card(made), wish=Wish("A4", False, 100))[0].scale == 100
    low, high = runway.extent(made)
    with pytest.raises(BadInput, match=f"{high - low:.1f} m"):
        handout(made, tape_card(made), wish=Wish("A4", True, 50))


def test_cautions_stay_on_the_first_page_of_the_demo() -> None:
    for number, (made, zero, system, *_) in enumerate(solved()):
        if made.drill == "alternate-bounds":
            continue  # at 1:100 its drawing wants the paper across, and takes half of it
        card = tape_card(made, zero, system)  # type: ignore[arg-type]
        first = said_on(demo_pages(number)[:1])
        assert all(bare(as_read(c, card.system)) in first for c in made.cautions), made.drill
        warned = [as_read(note.text, card.system) for note in made.warnings]
        assert all(bare(text) in first for text in warned), made.drill


def test_same_plan_same_pages() -> None:
    made = plan("runa", "hop-step-hold")
    assert handout(made, tape_card(made)) == handout(made, tape_card(made), wish=Wish())


ONE_PAGE = {
    ("Runa", "hop-step-hold"),
    ("Runa", "hop-step-sand"),
    ("Bram", "hop-step-sand"),
    ("Bram", "two-hops-step-beside"),
    ("Imka", "short-triple-jump"),
}
"""Of the demo, on A4 at 1:100."""


def test_the_demo_is_on_one_page_or_has_its_positions_large_on_the_second() -> None:
    for number, (made, *_) in enumerate(solved()):
        pages = demo_pages(number)
        assert len(pages) == 1 or (made.who.name, made.drill) not in ONE_PAGE, made.drill
        if len(pages) == 1:
            continue
        (scale,) = re.findall(r"Figures 1:(\d+)", " ".join(texts_on(pages)))
        first = texts_on(pages[:1])
        alone = "Tape card" in " ".join(first) and "Look for" in first and "Jumped" in first
        assert not alone or int(scale) <= 30, made.drill
        low = max(i.at[1] for i in pages[1].ink if isinstance(i, Text) and i.text != ADVICE
                  and not i.text.startswith("page "))  # fmt: skip
        assert low > 0.45 * pages[1].height, made.drill


def texts_on(pages: Sequence[Page]) -> list[str]:
    return [i.text for page in pages for i in page.ink if isinstance(i, Text)]
