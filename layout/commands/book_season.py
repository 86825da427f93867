"""`phasemark book season` and `fit`: what the book tells back of one athlete."""

from __future__ import annotations

import argparse
import datetime
import shlex
from pathlib import Path
from typing import Any, Final

from layout.book.people import find_member
from layout.book.sound import opened
from layout.book.store import privacy_warning
from layout.book.typed import read_word
from layout.commands.book_add import shown_in
from layout.commands.output import end
from layout.commands.streams import tell
from layout.page.files import PAGE_KINDS
from layout.words.dates import read_day, read_past_day
from layout.words.faults import refuse
from layout.words.units import System

EPILOGS: Final = {
    "season": """\
examples:
  phasemark book season marram.book imka
  phasemark book season marram.book imka --sound quiet --contact 0.20
  phasemark book season marram.book imka --since 2026-01-01 --plots plots
  phasemark book season marram.book imka --json
It tells what was jumped against what was planned, where the next centimetres
are, the athlete's own parameters, new marks, the next rung, contacts by week
and the best split. What the book cannot know is typed: --sound, --contact,
--pain. A drill without a kept plan is taken to be jumped as the catalogue has
it.
next: phasemark book fit marram.book imka, for the lines of the athlete file
""",
    "fit": """\
examples:
  phasemark book fit marram.book imka
  phasemark book fit marram.book imka --save imka-own.toml
  phasemark book fit marram.book imka --since 2026-01-01 --json
Only what the attempts tell is moved; the rest stays at its default. The athlete
file that you wrote is never changed: --save makes a new one.
next: phasemark plan imka-own.toml DRILL
""",
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of a word."""
    room.add_argument("athlete", help="name, or its beginning")
    day = "up to this day" if word == "fit" else "the day it is told for"
    room.add_argument("--on", metavar="DATE", help=f"{day} (today)")
    room.add_argument(
        "--since", metavar="DATE", help="from this day on (26 weeks before the latest attempt)"
    )
    if word == "fit":
        room.add_argument(
            "--save", metavar="FILE", help="a new athlete file with the figures in it"
        )
        room.add_argument("--json", action="store_true", help="print as JSON")
        return
    room.add_argument("--venue", default="club", help="where the new marks are for (club)")
    room.add_argument("--drill-file", metavar="FILE", help="your own drills, as TOML")
    room.add_argument("--ladder", metavar="FILE", help="your own ladder, as TOML")
    for name, what, text in (
        ("at", "RUNG", "rung the athlete is on, if not as the book has it"),
        ("hit", "M/N", "runs with every mark met of all runs, if not as the book has it"),
        ("sound", "WORD", "loudest contact that came more than once: quiet, firm or loud"),
        ("contact", "S", "time on the ground, s"),
    ):
        room.add_argument(f"--{name}", metavar=what, help=text)
    pain = room.add_mutually_exclusive_group()
    pain.add_argument("--pain", action="store_true", help="any pain: rest comes first")
    pain.add_argument(
        "--pain-gone",
        action="store_true",
        help="pain put down of late is gone, and a doctor or physiotherapist agrees",
    )
    room.add_argument("--plots", metavar="FOLDER", help="also put plots there, in a new folder")
    room.add_argument("--as", dest="kind", help="plots as svg, png or pdf (svg)")
    room.add_argument("--grey", action="store_true", help="plots in grey, for print")
    room.add_argument("--overwrite", action="store_true", help="replace the plots in it")
    room.add_argument("--tape", metavar="UNIT", help="show in cm or ft (cm)")
    room.add_argument("--json", action="store_true", help="print as JSON")


def _typed(given: argparse.Namespace) -> dict[str, Any]:
    names = ("at", "hit", "sound", "contact")
    out = {n: getattr(given, n) for n in names if getattr(given, n) is not None}
    return {**out, "pain": given.pain} if given.pain or given.pain_gone else out


def told_days(given: argparse.Namespace) -> tuple[datetime.date, str | None]:
    """The day it is told for, and the first day that counts."""
    on = read_past_day("--on", given.on)
    since = None if given.since is None else read_day("--since", given.since)
    if since is not None and since > on:
        raise refuse("--since", f"must be a day up to {on}", since)
    return on, None if since is None else since.isoformat()


def run(given: argparse.Namespace) -> int:
    """Print the season or an athlete's own figures, with plots or a new file where asked."""
    return (_fit if given.word == "fit" else _season)(given)


def _season(given: argparse.Namespace) -> int:
    from layout.commands.season_text import season_text
    from layout.plan.drill import read_drills
    from layout.plan.venue import find_venue
    from layout.season.season import Asked, season_of
    from layout.training.rungs import ladder, read_ladder

    system = shown_in(given.tape, given.json)
    kind = read_word("--as", given.kind or "svg", PAGE_KINDS)
    for option, value in (
        ("--as", given.kind),
        ("--grey", given.grey),
        ("--overwrite", given.overwrite),
    ):
        if value and given.plots is None:
            raise refuse(option, "goes with --plots FOLDER", None if value is True else value)
    own = read_drills(Path(given.drill_file)) if given.drill_file else None
    rungs = read_ladder(Path(given.ladder), own) if given.ladder else ladder()
    on, since = told_days(given)
    with opened(given.book) as book:
        member = find_member(book, given.athlete)
        asked = Asked(since, _typed(given), own or {})
        season = season_of(book, member, on, rungs, find_venue(given.venue), asked)
    saved = _plots(given, season, kind, system) if given.plots is not None else []
    if given.json:
        from layout.commands.as_json import season_json

        tell(season_json(season))
        return 0
    words = f"{shlex.quote(str(given.book))} {shlex.quote(season.name)}"
    out = [*season_text(season, system), "", *saved]
    if season.refit is not None and season.refit.enough:
        out.append(f"next: phasemark book fit {words} --save FILE.toml")
    else:
        out.append(f"next: phasemark book add {words} DRILL READINGS --strides N --speed V")
    if given.plots is None and season.attempts:
        out.append(f"      phasemark book season {words} --plots FOLDER")
    return end([*out, *privacy_warning(given.book, book.unfinished)])


def _fit(given: argparse.Namespace) -> int:
    from layout.book.exchange import save_private
    from layout.commands.as_json import VERSION, json_text, refit_values, rounded
    from layout.commands.season_text import aside_text, refit_text
    from layout.season.put_in import calibration_lines, own_file, top_lines
    from layout.season.season import fit_of

    on, since = told_days(given)
    with opened(given.book) as book:
        member = find_member(book, given.athlete)
        fitted = fit_of(book, member, on, since)
    found, athlete, refitted = fitted.refit, fitted.athlete, fitted.refitted
    table = calibration_lines(refitted, found, fitted.first, fitted.last) if found.enough else []
    lines = [*top_lines(athlete, refitted).values(), *table] if found.enough else []
    words = f"{shlex.quote(str(given.book))} {shlex.quote(member.name)}"
    if given.save is not None:
        if not found.enough:
            raise refuse("--save", f"not enough yet: {'; '.join(found.lacking)}")
        if member.file is None:
            raise refuse("--save", "the book has no athlete file to begin from; copy the lines")
        made = own_file(member.file, athlete, refitted, table)
        save_private(Path(given.save), made.encode())
    if given.json:
        out = {
            "version": VERSION, "athlete": member.name, "on": on.isoformat(), **refit_values(found),
            "lines": lines, "left_out": [row.id for row in fitted.aside],
        }  # fmt: skip
        tell(json_text(rounded(out)))
        return 0
    out_lines = [f"{member.name}: own figures to {on.isoformat()}", *aside_text(fitted.aside, "cm"),
                 *refit_text(found)]  # fmt: skip
    if lines:
        out_lines += ["", "FOR THE ATHLETE FILE", *(f"  {line}" for line in lines), ""]
    else:
        out_lines += ["", f"next: phasemark book add {words} DRILL READINGS --strides N --speed V"]
    if given.save is not None:
        file = shlex.quote(given.save)
        out_lines += [f"saved {given.save}; your own file is as it was",
                      f"next: phasemark plan {file} hop-step-sand"]  # fmt: skip
    elif lines and member.file is not None:
        out_lines.append(f"next: phasemark book fit {words} --save FILE.toml")
    return end([*out_lines, *privacy_warning(given.book, book.unfinished)])


def _plots(given: argparse.Namespace, season: Any, kind: str, system: System) -> list[str]:
    from layout.book.exchange import save_folder
    from layout.season.plots import season_pages
    from layout.sheet.plots import lost_letters, plot_file

    pages = season_pages(season, system)
    files = {f"{n}.{kind}": plot_file(page, kind, given.grey) for n, page in pages.items()}
    if not files:
        return ["no plots: nothing was measured"]
    folder = Path(given.plots)
    save_folder(folder, files, given.overwrite)
    lost = lost_letters(season.name)
    return (
        [f"saved {folder / name}" for name in files] + lost + ["Keep them as private as the book."]
    )
