"""`phasemark demo`: the fictional club's athletes, plans, tape cards and drawings."""

from __future__ import annotations

import argparse
import datetime
import tomllib
from collections.abc import Iterator
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from animate.film.film import save as save_film
from animate.film.themes import theme
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from layout.athlete.athlete import Athlete, athlete_from
from layout.catalogue.club import club_files
from layout.commands.output import end, keep_existing, make_folder, save_all
from layout.commands.streams import progress
from layout.commands.text import plan_text
from layout.moving.clip import clip_of, side_by_side_of, stills_of
from layout.moving.poses import at_marks
from layout.moving.solved import motion_of, with_motion
from layout.moving.ways import ways
from layout.page.files import page_file
from layout.plan.drill import find_drill
from layout.plan.spacing import Choices, make_plan
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.plan.venue import find_venue
from layout.sheet.drawing import Sheet, draw

DEMO_DAY: Final = datetime.date(2026, 11, 25)
"""The demo's plans are for one fixed day, so that they come out the same everywhere."""
VENUE: Final = "marram-point"
SET: Final[tuple[tuple[str, str, str, str, Choices], ...]] = (
    ("runa", "hop-step-hold", "board", "cm", Choices()),
    ("runa", "hop-step-sand", "pit", "cm", Choices()),
    ("bram", "hop-step-sand", "pit", "cm", Choices(arc="low")),
    ("bram", "two-hops-step-beside", "start", "cm", Choices(arc="low")),
    ("imka", "two-hops-step-track", "board", "cm", Choices(cycles=2)),
    ("imka", "short-triple-jump", "board", "cm", Choices()),
    ("sefa", "two-hops-step-sand", "board", "ft", Choices()),
    ("sefa", "full-triple-jump", "board", "ft", Choices()),
    ("odalys", "alternate-bounds", "start", "cm", Choices()),
    ("odalys", "full-triple-jump", "board", "cm", Choices()),
    ("tevin", "three-hops-step-over", "board", "cm", Choices()),
    ("tevin", "full-triple-jump", "board", "cm", Choices()),
)
"""Athlete, drill, zero of the tape, its unit, and what the coach changes."""
COMPARED: Final = "imka-short-triple-jump"
"""The plan that the demo shows in clips."""
CLIPS: Final = (".gif", "-moving.svg", "-trail.svg", "-knees.gif", "-lever.gif")
"""Endings of those files."""


def tables() -> dict[str, str]:
    """The club's example tables by file name: a roster, and joints clicked on a picture."""
    folder = files("layout.catalogue").joinpath("club")
    found = sorted(p.name for p in folder.iterdir() if p.name.endswith(".csv"))
    return {name: folder.joinpath(name).read_text(encoding="utf-8") for name in found}


@lru_cache
def member(name: str) -> Athlete:
    """An athlete of the demo club."""
    text = club_files()[name]
    return athlete_from(tomllib.loads(text), f"{name}.toml", text)


def plans() -> Iterator[tuple[str, Plan, str, str]]:
    """Every demo plan, with its file stem, the tape's zero and unit."""
    venue = find_venue(VENUE)
    for name, drill, zero, system, choices in SET:
        made = make_plan(member(name), find_drill(drill), venue, DEMO_DAY, choices)
        yield f"{name}-{drill}", made, zero, system


def _clips(folder: Path, plan: Plan, motion: Motion, overwrite: bool) -> None:
    """Clip, animated drawing, ghost trail and comparisons of the plan that has them."""
    whole, moving, trail, *compared = (folder / f"{COMPARED}{end}" for end in CLIPS)
    save_film(clip_of(plan, motion, fps=12.5), whole, overwrite)
    save_film(clip_of(plan, motion, camera="fixed"), moving, overwrite)
    save_film(stills_of(plan, motion, "trail"), trail, overwrite)
    for path, of in zip(compared, ("knees", "lever"), strict=True):
        (one, first), (two, second) = ways(of, Settings(), plan)
        motions = motion_of(plan, first), motion_of(plan, second)
        save_film(side_by_side_of((plan, plan), *motions, (one, two)), path, overwrite)


def _plan_files(stem: Path, planned: Plan, zero: str, system: str, overwrite: bool) -> None:
    """What the demo shows of one plan."""
    motion = motion_of(planned)
    plan = with_motion(planned, motion)
    card = tape_card(plan, zero, "ft" if system == "ft" else "cm")
    page = draw(plan, card, Sheet(), at_marks(plan, motion))
    texts: dict[str, str | bytes] = {
        ".txt": "\n".join(plan_text(plan, card)) + "\n",
        ".json": to_json(plan),
        ".svg": page_file(page, "svg", theme("light")),
        ".pdf": page_file(page, "pdf", theme("light")),
    }
    save_all([(f"{stem}{end}", text) for end, text in texts.items()], overwrite)
    save_film(stills_of(plan, motion, "strip"), f"{stem}-strip.svg", overwrite)
    if stem.name == COMPARED:
        _clips(stem.parent, plan, motion, overwrite)


def run(given: argparse.Namespace) -> int:
    """Write the demo's files."""
    folder = Path(given.folder)
    make_folder("folder", given.folder, "club")
    club = {folder / "club" / f"{n}.toml": text for n, text in club_files().items()}
    club |= {folder / "club" / name: text for name, text in tables().items()}
    stems = [f"{name}-{drill}" for name, drill, *_ in SET]
    ends = (".txt", ".json", ".svg", ".pdf", "-strip.svg")
    clips = [folder / f"{COMPARED}{end}" for end in CLIPS]
    for path in (*club, *(folder / f"{s}{e}" for s in stems for e in ends), *clips):
        keep_existing(str(path), given.overwrite)
    save_all(list(club.items()), given.overwrite)
    with progress("plan") as tell:
        for done, (stem, planned, zero, system) in enumerate(plans()):
            tell(done, len(SET))
            _plan_files(folder / stem, planned, zero, system, given.overwrite)
    return end([
        f"{len(SET)} plans of Marram Point, a fictional club, are in {folder}:",
        "  each as .txt (tape card), .svg and .pdf (true-scale drawing), -strip.svg (the",
        "  athlete's positions) and .json (the plan); clips of one of them as .gif.",
        "next: phasemark desk shows the club in the browser, to change by point and tap",
        f"      open {folder / 'tevin-full-triple-jump.svg'}",
        f"      phasemark plan {folder / 'club' / 'imka.toml'} two-hops-step-track",
    ])  # fmt: skip
