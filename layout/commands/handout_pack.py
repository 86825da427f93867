"""`phasemark handout SQUAD DRILLS`: all athletes' handouts in one PDF, or a folder to send from."""

from __future__ import annotations

import argparse
import os
import sys
from multiprocessing import active_children
from pathlib import Path
from typing import Final

from layout.commands.given import as_number, choices_from, day, far_ahead, one_of
from layout.commands.handout_parts import PRINT, wish_from
from layout.commands.plan_ import keep_existing, save, say
from layout.commands.squad_ import (
    closed_lines,
    drills_named,
    encoding_of,
    overruled,
    pool,
    shut_faults,
)
from layout.plan.drill import Drill
from layout.plan.tape import ZEROS
from layout.plan.venue import find_venue
from layout.squad.batch import names_of
from layout.squad.ledger import Ledger
from layout.squad.pack import Making, Pack, index_html_of, keep_file, pack_pdf, run_pack
from layout.squad.pack_again import key_of, made_before, whole_key
from layout.squad.roster import Squad, read_squad
from layout.words.faults import BadInput, refuse
from layout.words.reading import is_folder, number, spread
from layout.words.units import parse_length

ALL: Final = "all.pdf"
INDEX: Final = "index.html"


def _stem(word: str) -> str:
    """What a squad's file or folder is called, also where it is given as a dot."""
    return Path(word).resolve().stem or "squad"


def _making(given: argparse.Namespace) -> Making:
    step = None
    if given.tape_step is not None:
        step = parse_length(given.tape_step, "--tape-step", lowest=0.005, highest=0.5)
    if given.no_figure and given.solve:
        raise refuse("--solve", "does not go with --no-figure")
    return Making(
        find_venue(given.venue),
        day(given.on),
        choices_from(given, 10.0),
        one_of("zero", given.zero, ZEROS),  # type: ignore[arg-type]
        "cm" if one_of("tape", given.tape, ("cm", "ft")) == "cm" else "ft",
        step,
        wish_from(given),
        "print-grey" if given.grey else "light",
        "none" if given.no_figure else "solve" if given.solve else "kept",
    )


def run(given: argparse.Namespace) -> int:
    """Write a pack.

    Raises
    ------
    BadInput
        Of broken athletes only after the others are done.
    """
    if len(given.words) != 2:
        rule = "a squad (a table or a folder of athlete files) and drills, as A,B, needed"
        raise refuse("words", rule + spread(given.words), " ".join(given.words))
    names = [n.strip() for n in given.words[1].split(",") if n.strip()]
    given.own_drills = given.drills
    making = _making(given)
    drills = drills_named(given, names, making.venue)
    if not drills:
        raise refuse("drills", "at least one drill's name needed", given.words[1])
    to = Path(given.to) if given.to else Path(f"{_stem(given.words[0])}-pack")
    kind = to.suffix.lower()
    if kind == ".pdf":
        keep_existing(str(to), given.overwrite)
    elif given.to and kind and not is_folder(str(to)):
        raise refuse(
            "--to", "must be a file ending in .pdf, or a folder without an ending", given.to
        )
    squad = read_squad(Path(given.words[0]), far_ahead(making.on))
    overruled(squad, drills, making.on, making.choices)
    if not squad.members:
        raise BadInput(squad.faults)
    title = f"Squad pack: {_count(len(squad.members), 'athlete')}"
    facts = (
        f"{making.venue.title}, {making.on.isoformat()}.",
        *(f"{i}. {drill.title}" for i, drill in enumerate(drills, start=1)),
    )
    told = (title, facts, tuple(str(f) for f in squad.faults))
    pack = None
    if kind != ".pdf":
        own = (ALL, INDEX)
        pack = made_before(squad.members, drills, making, to, own, told, given.overwrite)
    before = pack is not None
    if pack is None:
        pack = _made(given, squad, drills, making, None if kind == ".pdf" else to)
    faults = [*squad.faults, *pack.report.faults]
    shut = [
        fault
        for d in drills
        for fault in shut_faults(d.slug, [c for slug, c in pack.report.closed if slug == d.slug])
    ]
    if not pack.chapters:
        raise BadInput([*faults, *shut])
    lines = [*encoding_of(squad), *_told(pack, squad), *closed_lines(pack.report.closed)]
    if before:
        lines = [f"{to}: {title}, as it was made before", *lines, *_folder(pack)]
    elif pack.whole:
        data = pack_pdf(pack.chapters, [*faults, *shut], making, title, facts)
        if kind == ".pdf":
            save(to, data, given.overwrite)
            lines.insert(0, f"{to}: {title}, {_pages(pack)}")
        else:
            page = index_html_of(pack, title, facts, [*faults, *shut], ALL)
            ledger = Ledger(to)
            key = whole_key([key_of(m, drills, making) for m in squad.members], *told)
            for name, content in ((ALL, data), (INDEX, page.encode())):
                keep_file(ledger, name, content, pack.report, given.overwrite, key)
            ledger.close()
            lines.insert(0, f"{to}: {title}, {_pages(pack)}")
            lines += _folder(pack)
    if faults:
        lines.append(f"  {_count(len(faults), 'fault')}, told below; the others are done")
    after = PRINT if kind == ".pdf" else f"next: open {to / INDEX}, or print {to / ALL} at 100 %"
    say([*lines, after])
    if faults:
        raise BadInput(faults)
    return 0


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _pages(pack: Pack) -> str:
    return _count(sum(len(c.pages) for c in pack.chapters), "page") + " and contents"


def _made(
    given: argparse.Namespace,
    squad: Squad,
    drills: list[Drill],
    making: Making,
    folder: Path | None,
) -> Pack:
    from tqdm import tqdm

    cores = os.cpu_count() or 1
    if given.cores is not None:
        cores = int(number("--cores", as_number("cores", given.cores, int), 1, 256))
    bar = tqdm(unit="athlete", file=sys.stderr, disable=None, leave=False)

    def tell(done: int, total: int) -> None:
        bar.total = total
        bar.update(done - bar.n)

    with bar, pool(min(cores, len(squad.members))) as executor:
        try:
            return run_pack(
                squad.members, drills, making, executor, folder, given.overwrite, tell,
                lambda member: key_of(member, drills, making),
            )  # fmt: skip
        except KeyboardInterrupt:
            # A motion that is being worked out would be waited for, up to minutes.
            for child in active_children():
                child.terminate()
            raise


def _told(pack: Pack, squad: Squad) -> list[str]:
    bare = [c for c in pack.chapters if c.lacking]
    if not bare:
        return []
    return [
        f"  {len(bare)} of {len(pack.chapters)} sheets are without positions of the athlete; "
        "--solve works each motion out, up to a minute each, and keeps it"
    ]


def _folder(pack: Pack) -> list[str]:
    report = pack.report
    lines = [f"  {len(report.made)} files made, {len(report.finished)} found finished"]
    if report.kept:
        lines.append(
            f"  {len(report.kept)} kept as they are, since somebody changed them (--overwrite "
            f"replaces them): {names_of(report.kept)}"
        )
    return lines
