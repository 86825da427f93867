"""Placings, blocks and session loads as plain text for a small screen."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import Final

from layout.commands import text as plain
from layout.plan.value import Plan
from layout.rules.budget import Budget
from layout.rules.load import COMPARED, Peak
from layout.rules.sources import said
from layout.training.block import Block, Part, Session
from layout.training.judge import cm
from layout.training.ladder import STALE, Placing
from layout.training.rungs import Ladder, Rung
from layout.training.session import SessionLoad
from layout.words.note import Note

_HEAD: Final = {
    "up": "UP to",
    "stay": "STAY on",
    "sideways": "SIDEWAYS to",
    "down": "DOWN to",
    "rest": "REST. Now on",
}


_PLACE: Final = (
    "board", "sand-short", "sand-end", "edge", "off-runway", "run-out", "runs-down", "misplaced",
)  # fmt: skip
"""Warnings of a plan that a coach who sets a rung out must see."""


def folded(text: str, first: str = "  ", then: str | None = None) -> list[str]:
    """A paragraph folded to the screen, numbers kept on one line with their units."""
    return plain.folded(plain.tied(text), first, then)


def columns(rows: Sequence[tuple[str, ...]], right: frozenset[int] = frozenset()) -> list[str]:
    """Rows in columns, numbers kept on one line with their units."""
    return plain.columns([(*row[:-1], plain.tied(row[-1])) for row in rows], right)


def date_text(on: datetime.date) -> str:
    """A day as "Mon 4 May 2026"; the same in every language setting of the machine."""
    return f"{day_text(on)} {on.year}"


def day_text(on: datetime.date) -> str:
    """A day as "Mon 4 May"."""
    days = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{days[on.weekday()]} {on.day} {months[on.month - 1]}"


def version_text(rung: Rung) -> str:
    """The drill and what is changed of it: "hop-step-sand, natural hops, 6 strides"."""
    changed = rung.choices
    out = [rung.drill.slug]
    if changed.arc:
        out.append(f"{changed.arc} hops")
    if changed.cycles:
        out.append(f"{changed.cycles} times" if changed.cycles > 1 else "once")
    if changed.strides:
        out.append(f"{changed.strides} strides")
    if changed.hurdle:
        out.append(f"hurdles {cm(changed.hurdle)}")
    return ", ".join(out)


def version_words(rung: Rung) -> str:
    """The drill and its version as words of `phasemark plan`."""
    changed = rung.choices
    out = [rung.drill.slug]
    for option, value in (
        ("hops", changed.arc),
        ("cycles", changed.cycles),
        ("strides", changed.strides),
        ("hurdle", changed.hurdle and f"{100 * changed.hurdle:.0f}cm"),
    ):
        if value:
            out.append(f"--{option} {value}")
    return " ".join(out)


def ladder_list(ladder: Ladder) -> list[str]:
    """All rungs, lowest first."""
    rows = [
        (
            str(r.height),
            r.slug,
            f"{r.title}; {r.level}, {r.youngest}+" + (" *" if r.start else ""),
        )
        for r in ladder.rungs
    ]
    return [
        "RUNGS, lowest first, with level and youngest age; one height is sideways",
        *columns(rows, frozenset({0})),
        "  * where beginner, intermediate and advanced athletes start, nothing seen.",
        "",
        "Heights, ages and figures of the rungs are ours, under the drills' limits.",
        "next: phasemark ladder ATHLETE.toml --at RUNG --hit 4/5 --sound quiet",
    ]


def _noted(notes: Iterable[Note]) -> list[str]:
    out: list[str] = []
    for note in notes:
        out += folded(f"{note.text} [{said(note.source)}]", "  ! " if note.grave else "  - ")
    return out


def _falls_text(rung: Rung) -> str:
    out = []
    if rung.down.sound:
        out.append(f"contacts are {rung.down.sound}")
    if rung.down.hit is not None:
        out.append(f"under {100 * rung.down.hit:.0f} % of runs on the marks")
    if rung.down.contact:
        out.append(f"over {rung.down.contact:.2f} s on the ground")
    return ", or ".join(out) or "nothing but pain or a limit"


def _next_text(placing: Placing) -> list[str]:
    here = placing.rung
    rows = []
    if placing.up:
        ask = "; ".join(placing.ask) or "nothing more asked"
        rows.append(("up", f"{placing.up.title} [{placing.up.slug}]. After: {ask}."))
    else:
        rows.append(("up", "No higher rung is open."))
    if placing.sideways:
        asks = placing.up and placing.up.enter
        misses = asks and (asks.knee_gap is not None or asks.step_share is not None)
        when = "When only knee gap or step share misses, or after" if misses else "After"
        other = f"{placing.sideways.title} [{placing.sideways.slug}]"
        rows.append(("sideways", f"{other}. {when} {STALE * here.sessions} sessions here."))
    goal = (
        f"{placing.down.title} [{placing.down.slug}]"
        if placing.down
        else "Shorter marks, half the runs"
    )
    rows.append(("down", f"{goal}. When {_falls_text(here)}."))
    rows.append(("stop", "Any pain: --pain."))
    return columns(rows)


def _closed_text(placing: Placing) -> list[str]:
    why: dict[str, list[str]] = {}
    for rung, note in placing.closed:
        why.setdefault(f"{note.text} [{said(note.source)}]", []).append(rung.slug)
    out: list[str] = []
    for text, slugs in why.items():
        out += folded(f"{text} {', '.join(slugs)}", "  x ")
    return ["CLOSED FOR NOW", *out, ""] if out else []


def _climb(placing: Placing, ladder: Ladder) -> list[str]:
    shut = {rung.slug for rung, _ in placing.closed}
    rows = []
    for rung in ladder.rungs:
        if rung.slug in shut or rung.height < placing.rung.height:
            continue
        sign = ">" if rung == placing.rung else " "
        rows.append((sign, str(rung.height), rung.slug, rung.title))
    return columns(rows, frozenset({1}))


def placing_text(name: str, placing: Placing, ladder: Ladder, on: datetime.date) -> list[str]:
    """Where an athlete stands, why, and what comes next."""
    rung = placing.rung
    highest = ladder.rungs[-1].height
    out = [f"{name}: the ladder on {date_text(on)}", *folded(placing.standing.text), ""]
    out += folded(
        f"{_HEAD[placing.move]} height {rung.height} of {highest}: {rung.title} [{rung.slug}]",
        "",
        "  ",
    )
    out += folded(f"Drill: {version_text(rung)}. {rung.drill.intensity.capitalize()} intensity.")
    out += folded(rung.drill.job)
    out += ["", "WHY", *_noted(placing.reasons)]
    if placing.move == "rest":
        lower = (placing.down or rung).slug
        again = f"No sessions until then; after it begin lower and count from there: --at {lower}."
        return [*out, "", *folded(again, "")]
    out += ["", "FROM HERE", *_next_text(placing)]
    out += ["", "THE CLIMB AHEAD", *_climb(placing, ladder), ""]
    return out + _closed_text(placing)


# --- the block ------------------------------------------------------------------------------------


def _part_text(part: Part) -> str:
    return f"{part.rung.slug} {part.sets} x {part.runs}"


def _session_row(session: Session) -> tuple[str, ...]:
    easy = " (easy)" if session.easy else ""
    parts = ", ".join(_part_text(p) for p in session.parts)
    return (day_text(session.on).ljust(10), str(session.contacts).rjust(8), parts + easy)


def block_text(block: Block, start: datetime.date, weeks: int) -> list[str]:
    """The dates, doses and contacts of a block, with its totals."""
    out = [f"BLOCK of {plain.counted(weeks, 'week')} from {date_text(start)}"]
    if not block.sessions:
        return [*out, "  No sessions.", *_left_out(block)]
    since: dict[Budget, datetime.date] = {}
    for session in block.sessions:
        since.setdefault(session.budget, session.on)
    for budget, on in since.items():
        week = f", {budget.sessions} sessions a week" if budget.sets else ""
        when = "" if on == block.sessions[0].on else f" from {day_text(on)}"
        out += folded(f"Contacts{when}: {budget.text}{week} [{said(budget.source)}].")
    out += folded("Sets x runs; at the same hour or later each day.")
    rows: list[tuple[str, ...]] = [("day".ljust(10), "contacts", "what, in this order")]
    for session in block.sessions:
        if session.only_if:
            out += columns(rows, frozenset({1})) if len(rows) > 1 else []
            ask = "; ".join(session.only_if)
            out += folded(f"Then {session.main.rung.title}, ONLY IF: {ask}.", "  > ")
            rows = []
        rows.append(_session_row(session))
    out += columns(rows, frozenset({1}))
    out += _left_out(block)
    weekly = ", ".join(f"{n}" for n in block.by_week().values())
    kinds = ", ".join(f"{n} {what}" for what, n in block.by_intensity().items())
    drills = ", ".join(f"{what} {n}" for what, n in block.by_drill().items())
    whole = sum(s.contacts for s in block.sessions)
    most = max(s.contacts for s in block.sessions)
    out += ["", "CONTACTS"]
    out += folded(f"{whole} in all; week by week {weekly}. Most in one session {most}.")
    out += folded(f"By intensity: {kinds}.")
    return out + folded(f"By drill: {drills}.")


def _left_out(block: Block) -> list[str]:
    why: dict[str, list[str]] = {}
    for on, text in block.left_out:
        reason = text if text.startswith("at most") else text.partition(" after ")[0]
        why.setdefault(reason, []).append(day_text(on))
    out: list[str] = []
    for reason, days in why.items():
        shown = ", ".join(days[:4]) + (f" and {len(days) - 4} more" if len(days) > 4 else "")
        tail = "" if reason.startswith("at most") else " after the session before"
        out += folded(f"Left out, {reason}{tail}: {shown}.")
    return out


def _gaps(plan: Plan) -> str:
    """Phases in order, like moves together: "hops 3.19, 3.29, step 2.89"."""
    out = []
    for move, flights in groupby(plan.flights, key=lambda f: f.move):
        lengths = [f"{f.length:.2f}" for f in flights]
        out.append(f"{move}{'s' if len(lengths) > 1 else ''} {', '.join(lengths)}")
    return ", ".join(out)


def spacing_text(plans: Mapping[str, Plan], unplanned: Mapping[str, str]) -> list[str]:
    """The spacing of each rung, toe to toe, and why there is none."""
    out = ["SPACING, toe to toe; a forecast, so move a mark when the athlete says so"]
    for slug, plan in plans.items():
        gaps = _gaps(plan)
        start = (
            f"start {plan.approach.length:.1f} m back" if plan.approach.strides else "from standing"
        )
        text = f"{slug}: {gaps} m; {start}"
        if plan.hurdles:
            first = plan.hurdles[0]
            at = ", ".join(f"{h.x:.2f}" for h in plan.hurdles)
            text += f"; {first.thing}s {cm(first.height)} {first.place} at {at} m from the first contact"
        out += folded(f"{text}.", "  ", "      ")
        for note in plan.warnings:
            if note.code in _PLACE:
                out += folded(f"{note.text} [{said(note.source)}]", "    ! ")
    for slug, why in unplanned.items():
        out += folded(f"{slug}: cannot be set out here; {why}.", "  ! ", "      ")
    return out


# --- one session ----------------------------------------------------------------------------------


def _range(pair: tuple[float, float] | None, form: str = ".1f") -> str:
    if pair is None:
        return "-"
    low, high = (f"{v:{form}}" for v in pair)
    return low if low == high else f"{low}-{high}"


def _peak_text(peaks: Sequence[Peak]) -> str:
    return ", ".join(_range((p.low, p.high), "g") for p in peaks) or "none at hand"


def session_text(name: str, load: SessionLoad, on: datetime.date) -> list[str]:
    """The load of one session."""
    out = [f"{name}: load of a session on {date_text(on)}", *folded(load.standing.text), ""]
    rows = []
    for done in load.done:
        task = done.task
        legs = "; legs change every run" if done.changing else ""
        rows.append(
            (
                task.name,
                f"{task.sets} x {task.runs}",
                str(done.contacts),
                f"contacts, {task.drill.intensity}{legs}",
            )
        )
    out += columns(rows, frozenset({1, 2}))
    budget, over = load.budget, "OVER: " if load.contacts > load.budget.most else ""
    out += folded(
        f"Contacts: {load.contacts}, {over}{budget.text} [{said(budget.source)}]. {load.rest} h at least "
        "before the next session.",
    )
    grave = [n for n in load.notes if n.grave]
    if grave:
        out += ["", "WARNINGS", *_noted(grave)]
    out += ["", "CONTACTS, each named by what it takes off into; forces in body weights"]
    table: list[tuple[str, ...]] = [("", "left", "right", "both", "mean", "peak", " ")]
    for kind in load.kinds:
        feet = (str(kind.left), str(kind.right), str(kind.both))
        table.append((kind.kind, *feet, _range(kind.vertical), _peak_text(kind.peaks), " "))
    table.append(("all", str(load.left), str(load.right), str(load.both), "", "", " "))
    out += columns(table, frozenset({1, 2, 3, 4}))
    out += folded("mean: up, of this plan (model: Phasemark's estimate). peak: published, full jumps of "
                  "grown jumpers, so a ceiling for anything slower:")  # fmt: skip
    for peak in dict.fromkeys(p for k in load.kinds for p in k.peaks):
        out += folded(
            f"{_range((peak.low, peak.high), 'g')} {peak.what} [{said(peak.source)}]", "  - "
        )
    others = ", ".join(f"{p.what} {p.low:g}" for p in COMPARED)
    out += folded(f"to compare: {others} [{COMPARED[0].source}]", "  - ")
    one_foot = load.left + load.right
    if one_foot:
        share = 100 * load.left / one_foot
        out += ["", *folded(f"Balance: left {load.left}, right {load.right} "
                            f"({share:.0f} : {100 - round(share)}).", "")]  # fmt: skip
    remarks = [n for n in load.notes if not n.grave]
    if remarks:
        out += ["", "REMARKS", *_noted(remarks)]
    out += ["", "TAKE CARE"]
    for text in load.cautions:
        out += folded(text, "  - ")
    return out
