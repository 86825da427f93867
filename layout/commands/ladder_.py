"""`phasemark ladder`: where an athlete stands, a block of weeks, and the load of a session."""

from __future__ import annotations

import argparse
import datetime
import shlex
from dataclasses import replace
from pathlib import Path
from typing import Any

from layout.athlete.athlete import Athlete
from layout.commands.as_json import ladder_json, session_json
from layout.commands.given import athlete_of, despite_from, nothing_closed, own_drills
from layout.commands.ladder_text import ladder_list, ladder_text, session_text, version_words
from layout.commands.output import end, say
from layout.commands.streams import tell
from layout.plan.drill import Drill
from layout.plan.venue import find_venue
from layout.rules.cautions import UNTIL_GONE
from layout.training.block import MOST_WEEKS, Block, block, ladder_view, parse_days
from layout.training.ladder import next_rung
from layout.training.rungs import Ladder, Rung, ladder, read_ladder
from layout.training.seen import in_seen, read_seen
from layout.training.session import parse_session, session_load
from layout.words.dates import day_or_today
from layout.words.faults import BadInput, refuse
from layout.words.reading import read_count, spread

_SEEN = ("at", "hit", "sound", "contact", "step_share", "knee_gap", "sessions")


def _athlete(given: argparse.Namespace) -> Athlete:
    if len(given.words) > 1:
        rule = "one athlete file (.toml) needed" + spread(given.words)
        raise refuse("words", rule, " ".join(given.words))
    if given.words and not given.words[0].lower().endswith(".toml"):
        raise refuse("athlete", "must be a file ending in .toml", given.words[0])
    return athlete_of(given, given.words)


def _changes(given: argparse.Namespace) -> dict[str, Any]:
    out: dict[str, Any] = {k: getattr(given, k) for k in _SEEN if getattr(given, k) is not None}
    return {**out, "pain": True} if given.pain else out


def _typed(error: BadInput, *options: str) -> BadInput:
    """Faults of what was typed, named as it is typed."""

    def field(name: str) -> str:
        name = f"--{name}" if name in options else name
        return name.replace("_", "-") if name.startswith("--") else name

    return BadInput(replace(f, field=field(f.field)) for f in error.faults)


def run(given: argparse.Namespace) -> int:
    """Print the rungs, an athlete's placing and block, or the load of a session."""
    own = own_drills(given)
    rungs = ladder() if given.ladder is None else read_ladder(Path(given.ladder), own)
    if given.list:
        return end(ladder_list(rungs))
    athlete, on = _athlete(given), day_or_today("--from", given.from_)
    if athlete.born is not None and athlete.born > on.year:
        rule = f"must be a day in the athlete's lifetime, born {athlete.born}"
        raise refuse("--from", rule, on.isoformat())
    if given.session is not None:
        if given.pain:
            raise refuse("--pain", f"no session: {UNTIL_GONE}")
        return _session(given, athlete, rungs, own, on)
    return _place(given, athlete, rungs, on)


def _place(given: argparse.Namespace, athlete: Athlete, rungs: Ladder, on: datetime.date) -> int:
    weeks = read_count("--weeks", given.weeks, 1, MOST_WEEKS)
    try:
        seen = read_seen(Path(given.seen) if given.seen is not None else None, on, _changes(given))
        days = parse_days(given.days)
        placing = next_rung(athlete, seen, rungs)
    except BadInput as error:
        if given.seen:
            error = in_seen(error, Path(given.seen), _changes(given))
        typed = ("days", "at") if given.at else ("days",)
        raise _typed(error, *typed) from None
    done = (seen.sessions or 0) if placing.advice == "stay" else 0
    try:
        made = block(athlete, placing, rungs, on, weeks, days, done)
    except BadInput as error:
        raise _typed(error, "from") from None
    view = ladder_view(athlete, placing, rungs, made, find_venue(given.venue), on, weeks)
    if given.json:
        tell(ladder_json(view))
    else:
        say([*ladder_text(view), *_next(given, placing.rung, made)])
    return 0


def _next(given: argparse.Namespace, rung: Rung, made: Block) -> list[str]:
    """What to run next."""
    if not made.sessions:
        return []
    who = shlex.join(given.words) or "ATHLETE.toml"
    parts = ",".join(f"{p.rung.slug}:{p.sets}x{p.runs}" for p in made.sessions[0].parts)
    return [
        "",
        f"next: phasemark plan {who} {version_words(rung)}",
        f"      phasemark ladder {who} --session {parts}",
    ]


def _session(
    given: argparse.Namespace, athlete: Athlete, rungs: Ladder, own: dict[str, Drill],
    on: datetime.date,
) -> int:  # fmt: skip
    despite = despite_from(given)
    try:
        tasks = parse_session(given.session, athlete, on, rungs, own, despite)
    except BadInput as error:
        raise BadInput(replace(f, field="--session") for f in error.faults) from None
    if despite and not any(task.despite for task in tasks):
        raise nothing_closed(despite)
    load = session_load(athlete, tasks, find_venue(given.venue), on)
    if given.json:
        tell(session_json(load))
        return 0
    out = session_text(load)
    who = shlex.join(given.words) or "ATHLETE.toml"
    return end([*out, "", f"next: phasemark ladder {who}, for where this athlete stands"])
