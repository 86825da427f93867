"""`phasemark squad`: shared marks for many on one runway, and whole squads drawn into a folder."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Sequence
from pathlib import Path

from animate.film.themes import theme
from layout.commands.given import choices_from, far_ahead, nothing_closed, own_drills, tape_from
from layout.commands.output import DRAWINGS, end, ending_of, keep_existing, look_of, save
from layout.commands.squad_text import card_bytes, squad_text
from layout.commands.streams import progress
from layout.commands.text import counted, folded
from layout.commands.working import cores_from, faults_line, pool, report_lines
from layout.page.files import page_file
from layout.page.page import parse_scale
from layout.plan.drill import Drill, catalogue, find_drill
from layout.plan.spacing import Choices
from layout.plan.venue import Venue, find_venue
from layout.rules.sources import said
from layout.sheet.drawing import Sheet
from layout.squad.batch import (
    Settings,
    gathered,
    no_marks,
    refuse_misplaced,
    run_batch,
    setout_json,
    shared_out,
)
from layout.squad.laid import NoMarks
from layout.squad.roster import Squad, read_squad
from layout.squad.sets import parse_tolerance
from layout.squad.squad_drawing import squad_page
from layout.squad.squad_words import closed_faults, no_marks_notes, shut_faults
from layout.squad.work import Work
from layout.words.dates import day_or_today
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import read_count, read_number, spread
from layout.words.trade import MOVES


def _weights(text: str | None) -> tuple[tuple[str, float], ...]:
    """Weights of phases, such as step=2,jump=0.5."""
    out: dict[str, float] = {}
    for part in (text or "").replace(";", ",").split(","):
        if not part.strip():
            continue
        move, equals, figure = (p.strip() for p in part.partition("="))
        if move not in MOVES or not equals or move in out:
            rule = f"each of {', '.join(MOVES)} at most once, such as step=2,jump=0.5"
            raise refuse("--weigh", rule, text)
        out[move] = read_number("--weigh", figure, 0.0, 100.0)
    return tuple(out.items())


def _weighed(given: argparse.Namespace, drills: list[Drill], settings: Settings) -> None:
    """Refuse weights that name no phase of any drill, or leave one with nothing that counts."""
    told = dict(settings.weights)
    moves = {m for d in drills for m in d.chain}
    for move in told:
        if move not in moves:
            raise refuse("--weigh", f"must be a phase of the drill, not {move}", given.weigh)
    for drill in drills:
        if not any(told.get(m, 1.0) for m in drill.chain):
            raise refuse("--weigh", f"some phase of {drill.slug} must count", given.weigh)


def _sheet(given: argparse.Namespace) -> Sheet | None:
    scale = parse_scale(given.scale) if given.scale else None
    if given.paper is None and not given.upright and scale is None:
        return None
    return Sheet(given.paper or "A4", given.upright, scale)


def _settings(given: argparse.Namespace, venue: Venue) -> Settings:
    sets = None if given.sets is None else read_count("--sets", given.sets, 1, 1000)
    return Settings(
        venue, day_or_today("--on", given.on), choices_from(given, 10.0), sets,
        parse_tolerance(given.tolerance), _weights(given.weigh), *tape_from(given), _sheet(given),
        look_of(given),
    )  # fmt: skip


def drills_named(given: argparse.Namespace, names: list[str], venue: Venue) -> list[Drill]:
    own = own_drills(given)
    choices = choices_from(given, 10.0)
    faults: list[Fault] = []
    out: dict[str, Drill] = {}
    for name in names:
        try:
            drill = find_drill(name, own)
            out.setdefault(drill.slug, drill)
            refuse_misplaced(drill, venue, choices)
        except BadInput as error:
            faults += error.faults
    if faults:
        raise BadInput(faults)
    return list(out.values())


def run(given: argparse.Namespace) -> int:
    """Share out one drill, or make a folder of many; broken athletes are told after the others."""
    if given.to is not None and not given.to.strip():
        raise refuse("--to", "must be a name", given.to)
    if given.drills is not None and not given.drills.replace(",", "").strip():
        raise refuse("--drills", "at least one drill's name needed", given.drills)
    wanted = 1 if given.drills else 2
    if len(given.words) != wanted:
        rule = "a squad's file with --drills" if given.drills else "a squad's file and a drill"
        hint = spread(given.words)
        raise refuse("words", f"{rule} needed{hint}", " ".join(given.words) or None)
    if given.drills and not given.to:
        raise refuse("--to", "must be a folder for the drawings")
    venue = find_venue(given.venue)
    names = given.drills.split(",") if given.drills else given.words[1:]
    names = [n.strip() for n in names if n.strip()]
    if not given.words[0].strip():
        raise refuse("squad", "must be a table or a folder of athlete files", given.words[0])
    if not names:
        raise refuse("drill", "must be a drill's name", given.words[1])
    if names == ["all"]:
        names = [d.slug for d in catalogue().values() if venue.has_pit or d.ends != "sand"]
    drills = drills_named(given, names, venue)
    settings = _settings(given, venue)
    _weighed(given, drills, settings)
    if given.to and not given.drills:
        ending_of(given.to, DRAWINGS)
        keep_existing(given.to, given.overwrite)
    squad = read_squad(Path(given.words[0]), far_ahead(settings.on))
    overruled(squad, drills, settings.on, settings.choices)
    if given.drills:
        return _folder(given, squad, drills, settings)
    return _one(given, squad, drills[0], settings)


def _one(given: argparse.Namespace, squad: Squad, drill: Drill, settings: Settings) -> int:
    runners, closed, faults = gathered(squad.members, drill, settings)
    faults = [*squad.faults, *faults]
    if not runners:
        raise BadInput([*faults, *shut_faults(drill.slug, closed)])
    laid, wanted = shared_out(runners, closed, drill, settings)
    if given.to:
        page = squad_page(laid, settings.sheet, settings.step)
        data = page_file(page, Path(given.to).suffix.lower()[1:], theme(settings.look))
        after = f"{given.to}: {page.title}"
    else:
        after = "next: the same with --to FILE.svg draws it; --sets K asks for K sets"
    if given.json:
        told = [setout_json(laid).rstrip()]
    else:
        told = [*encoding_of(squad), *squad_text(laid, wanted), "", after]
    if given.to:
        save(given.to, data, given.overwrite)
    return end(told, faults)


def overruled(squad: Squad, drills: list[Drill], on: datetime.date, choices: Choices) -> None:
    """Refuse --despite where no drill is closed to anybody."""
    closed = (no_marks(m.athlete, d, on, choices) for d in drills for m in squad.members)
    if choices.despite and not any(closed):
        raise nothing_closed(choices.despite)


def closed_lines(closed: Sequence[tuple[str, NoMarks]]) -> list[str]:
    """Who gets no marks of which drill, and why."""
    out: list[str] = []
    for slug in dict.fromkeys(s for s, _ in closed):
        for note in no_marks_notes([c for s, c in closed if s == slug]):
            out += folded(f"{slug}: {note.text} [{said(note.source)}]", "  ! ", "    ")
    return out


def encoding_of(squad: Squad) -> list[str]:
    if squad.encoding in ("", "utf-8"):
        return []
    return [f"(the table was read as {squad.encoding}; check that names look right)", ""]


def _folder(
    given: argparse.Namespace, squad: Squad, drills: list[Drill], settings: Settings
) -> int:
    if not squad.members:
        raise BadInput(squad.faults)
    folder = Path(given.to)
    with progress("task") as tell, pool(cores_from(given)) as executor:
        work = Work(folder, given.overwrite, tell)
        report = run_batch(squad.members, drills, settings, work, executor, card_bytes)
    made = f"{counted(len(squad.members), 'athlete')}, {counted(len(drills), 'drill')}"
    lines = [f"{folder}: {made}", *report_lines(report), *closed_lines(report.closed)]
    faults = [*squad.faults, *report.faults]
    done = {p.rpartition(".")[0] for p in (*report.made, *report.finished)}
    first = next((d.slug for d in drills if d.slug in done), None)
    if faults:
        lines.append(faults_line(len(faults)))
    elif first is None:
        faults = closed_faults(drills, report.closed)
    after = [f"next: open {folder / f'{first}.svg'}"] if first else []
    return end([*encoding_of(squad), *lines, *after], faults)
