"""`phasemark handout SQUAD DRILLS`: all athletes' handouts in one PDF, or a folder to send from."""

from __future__ import annotations

import argparse
from multiprocessing import active_children
from pathlib import Path
from typing import Final

from layout.commands.given import choices_from, far_ahead, tape_from, wish_from
from layout.commands.output import PRINT, end, keep_existing, look_of, save
from layout.commands.squad_ import closed_lines, drills_named, encoding_of, overruled
from layout.commands.streams import progress
from layout.commands.text import counted
from layout.commands.working import cores_from, faults_line, pool, report_lines
from layout.plan.drill import Drill
from layout.plan.tape import ZEROS
from layout.plan.venue import find_venue
from layout.squad.pack import (
    Making,
    Pack,
    key_of,
    made_before,
    pack_pdf,
    run_pack,
    titled,
    whole_key,
)
from layout.squad.pack_contents import index_html
from layout.squad.roster import Squad, read_squad
from layout.squad.squad_words import closed_faults
from layout.squad.work import Work
from layout.words.dates import day_or_today
from layout.words.faults import BadInput, refuse
from layout.words.reading import is_folder, one_of, spread

ALL: Final = "all.pdf"
INDEX: Final = "index.html"


def _stem(word: str) -> str:
    """What a squad's file or folder is called, also where it is given as a dot."""
    return Path(word).resolve().stem or "squad"


def _making(given: argparse.Namespace) -> Making:
    return Making(
        find_venue(given.venue),
        day_or_today("--on", given.on),
        choices_from(given, 10.0),
        one_of("--zero", given.zero, ZEROS),  # type: ignore[arg-type]
        *tape_from(given),
        wish_from(given),
        look_of(given),
        not given.no_figure,
    )


def _place(given: argparse.Namespace) -> Path:
    """Where the pack goes: one PDF, or a folder."""
    to = Path(given.to) if given.to else Path(f"{_stem(given.words[0])}-pack")
    if _one_file(to):
        keep_existing(str(to), given.overwrite)
    elif given.to and to.suffix and not is_folder(str(to)):
        rule = "must be a file ending in .pdf, or a folder without an ending"
        raise refuse("--to", rule, given.to)
    return to


def _one_file(to: Path) -> bool:
    return to.suffix.lower() == ".pdf"


def run(given: argparse.Namespace) -> int:
    """Write a pack; broken athletes are told after the others are done."""
    if len(given.words) != 2:
        rule = "a squad (a table or a folder of athlete files) and drills, as A,B, needed"
        raise refuse("words", rule + spread(given.words), " ".join(given.words))
    names = [n.strip() for n in given.words[1].split(",") if n.strip()]
    making = _making(given)
    drills = drills_named(given, names, making.venue)
    if not drills:
        raise refuse("drills", "at least one drill's name needed", given.words[1])
    to = _place(given)
    squad = read_squad(Path(given.words[0]), far_ahead(making.on))
    overruled(squad, drills, making.on, making.choices)
    if not squad.members:
        raise BadInput(squad.faults)
    title, facts = titled(squad.members, drills, making)
    told = (title, facts, tuple(str(f) for f in squad.faults))
    pack = None
    if not _one_file(to) and is_folder(str(to)):
        work = Work(to, given.overwrite)
        pack = made_before(squad.members, drills, making, work, (ALL, INDEX), told)
    before = pack is not None
    if pack is None:
        work = Work(None if _one_file(to) else to, given.overwrite)
        pack = _made(given, squad, drills, making, work)
    faults = [*squad.faults, *pack.report.faults]
    shut = closed_faults(drills, pack.report.closed)
    if not pack.chapters:
        raise BadInput([*faults, *shut])
    if not before and pack.report.whole:
        data = pack_pdf(pack.chapters, [*faults, *shut], making, title, facts)
        if _one_file(to):
            save(to, data, given.overwrite)
        else:
            files = [("All in one", (("to print (PDF)", ALL),)), *pack.files]
            page = index_html(title, facts, files, [*faults, *shut])
            key = whole_key([key_of(m, drills, making) for m in squad.members], *told)
            for name, content in ((ALL, data), (INDEX, page.encode())):
                work.keep(name, content, key)
            work.close()
    lines = _said(to, title, pack, squad, before) + ([faults_line(len(faults))] if faults else [])
    after = PRINT if _one_file(to) else f"next: open {to / INDEX}, or print {to / ALL} at 100 %"
    return end([*lines, after], faults)


def _said(to: Path, title: str, pack: Pack, squad: Squad, before: bool) -> list[str]:
    """What was made, and of whom there are no positions or no marks."""
    lines = [*encoding_of(squad), *_bare(pack), *closed_lines(pack.report.closed)]
    files = [] if _one_file(to) else report_lines(pack.report)
    if before:
        return [f"{to}: {title}, as it was made before", *lines, *files]
    if not pack.report.whole:
        return lines
    pages = counted(sum(len(c.pages) for c in pack.chapters), "page")
    return [f"{to}: {title}, {pages} and contents", *lines, *files]


def _made(
    given: argparse.Namespace, squad: Squad, drills: list[Drill], making: Making, work: Work
) -> Pack:
    cores = min(cores_from(given), len(squad.members))
    with progress("athlete") as work.tell, pool(cores) as executor:
        try:
            return run_pack(
                squad.members, drills, making, work, executor,
                lambda member: key_of(member, drills, making),
            )  # fmt: skip
        except KeyboardInterrupt:
            # An athlete that is being worked on would be waited for; motions found are kept.
            for child in active_children():
                child.terminate()
            raise


def _bare(pack: Pack) -> list[str]:
    bare = [c for c in pack.chapters if c.lacking]
    if not bare:
        return []
    return [f"  {len(bare)} of {len(pack.chapters)} sheets are without positions of the athlete"]
