"""Placings, blocks and session loads as plain text for a small screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from itertools import groupby
from typing import Final

from layout.commands import text as plain
from layout.plan.value import Plan
from layout.rules.load import COMPARED, Peak
from layout.rules.sources import said
from layout.training.block import LadderView, Session
from layout.training.ladder import MOVED, STALE, Placing
from layout.training.rungs import Ladder, Rung
from layout.training.seen import cm, version_text
from layout.training.session import SessionLoad
from layout.words.names import some_of
from layout.words.trade import date_text, day_text

_PLACE: Final = (
    "board", "sand-short", "sand-end", "edge", "off-runway", "run-out", "runs-down", "misplaced",
    "underfoot",
)  # fmt: skip
"""Warnings of a plan that a coach who sets a rung out must see."""


def folded(text: str, first: str = "  ", then: str | None = None) -> list[str]:
    """A paragraph folded to the screen, numbers kept on one line with their units."""
    return plain.folded(plain.tied(text), first, then)


def columns(rows: Sequence[tuple[str, ...]], right: frozenset[int] = frozenset()) -> list[str]:
    """Rows in columns, numbers kept on one line with their units."""
    return plain.columns([(*row[:-1], plain.tied(row[-1])) for row in rows], right)


noted = partial(plain.noted, tie=True)


def care(cautions: Iterable[str]) -> list[str]:
    """What to take care of."""
    return ["", "TAKE CARE", *(line for text in cautions for line in folded(text, "  - "))]


def placed_text(placing: Placing) -> str:
    """Where to go, for a terminal: "UP to"."""
    where, _, to = MOVED[placing.advice].partition(" ")
    return f"{where.upper()} {to}"


def version_words(rung: Rung) -> str:
    """The drill and its version as words of `phasemark plan`."""
    changed = rung.choices
    out = [rung.drill.slug]
    hurdle = changed.hurdle and f"{100 * changed.hurdle:.0f}cm"
    values = {"hops": changed.arc, "cycles": changed.cycles, "strides": changed.strides}
    out += [f"--{option} {v}" for option, v in {**values, "hurdle": hurdle}.items() if v]
    return " ".join(out)


def ladder_list(ladder: Ladder) -> list[str]:
    """All rungs, lowest first."""
    rows = [
        (str(r.height), r.slug, f"{r.title}; {r.level}, {r.youngest}+{' *' if r.start else ''}")
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
    lower = placing.down
    goal = f"{lower.title} [{lower.slug}]" if lower else "Shorter marks, half the runs"
    rows.append(("down", f"{goal}. When {_falls_text(here)}."))
    rows.append(("stop", "Any pain: --pain."))
    return columns(rows)


def _climb(view: LadderView) -> list[str]:
    here = view.placing.rung
    rows = [(">" if r == here else " ", str(r.height), r.slug, r.title) for r in view.ahead]
    return columns(rows, frozenset({1}))


def _closed_text(placing: Placing) -> list[str]:
    why: dict[str, list[str]] = {}
    for rung, note in placing.closed:
        why.setdefault(f"{note.text} [{said(note.source)}]", []).append(rung.slug)
    out: list[str] = []
    for text, slugs in why.items():
        out += folded(f"{text} {', '.join(slugs)}", "  x ")
    return ["CLOSED FOR NOW", *out, ""] if out else []


def ladder_text(view: LadderView) -> list[str]:
    """Where an athlete stands, why and what comes next; the block; and the spacing of its rungs."""
    out = placing_text(view)
    if view.placing.advice != "rest":
        out += [*block_text(view), "", *spacing_text(view)]
    return out + care(view.cautions)


def reasons_text(placing: Placing) -> list[str]:
    """Why, and with which options what was seen is said."""
    if placing.advice == "rest":
        return noted(placing.reasons)
    how = "Say what was seen with --hit 4/5, --sound quiet, --contact 0.20; the rung with --at."
    return [*noted(placing.reasons), *folded(how)]


def placing_text(view: LadderView) -> list[str]:
    """Where an athlete stands, why, and what comes next."""
    placing = view.placing
    rung = placing.rung
    standing = folded(placing.standing.text)
    out = [f"{view.name}: the ladder on {date_text(view.on)}", *standing, ""]
    out += folded(
        f"{placed_text(placing)} height {rung.height} of {view.highest}: {rung.title} [{rung.slug}]",
        "",
        "  ",
    )
    out += folded(f"Drill: {version_text(rung)}. {rung.drill.intensity.capitalize()} intensity.")
    out += folded(rung.drill.job)
    out += ["", "WHY", *reasons_text(placing)]
    if placing.advice == "rest":
        lower = (placing.down or rung).slug
        again = f"No sessions until then; after it begin lower and count from there: --at {lower}."
        return [*out, "", *folded(again, "")]
    out += ["", "FROM HERE", *_next_text(placing)]
    out += ["", "THE CLIMB AHEAD", *_climb(view), ""]
    return out + _closed_text(placing)


# --- the block ------------------------------------------------------------------------------------


def _session_row(session: Session) -> tuple[str, ...]:
    easy = " (easy)" if session.easy else ""
    parts = ", ".join(f"{p.rung.slug} {p.sets} x {p.runs}" for p in session.parts)
    return (day_text(session.on).ljust(10), str(session.contacts).rjust(8), parts + easy)


def block_text(view: LadderView) -> list[str]:
    """The dates, doses and contacts of a block, with its totals."""
    block = view.block
    out = [f"BLOCK of {plain.counted(view.weeks, 'week')} from {date_text(view.on)}"]
    if not block.sessions:
        return [*out, "  No sessions.", *_left_out(view)]
    for budget, on in view.budgets.items():
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
    out += _left_out(view)
    weekly = ", ".join(f"{n}" for n in block.by_week().values())
    kinds = ", ".join(f"{n} {what}" for what, n in block.by_intensity().items())
    drills = ", ".join(f"{what} {n}" for what, n in block.by_drill().items())
    out += ["", "CONTACTS"]
    out += folded(
        f"{block.contacts} in all; week by week {weekly}. Most in one session {block.most}."
    )
    out += folded(f"By intensity: {kinds}.")
    return out + folded(f"By drill: {drills}.")


def _left_out(view: LadderView) -> list[str]:
    out: list[str] = []
    for reason, days in view.left_out.items():
        shown = some_of([day_text(on) for on in days], 4)
        out += folded(f"Left out, {reason}: {shown}.")
    return out


def _gaps(plan: Plan) -> str:
    """Phases in order, like moves together: "hops 3.19, 3.29, step 2.89"."""
    out = []
    for move, flights in groupby(plan.flights, key=lambda f: f.phase):
        lengths = [f"{f.length:.2f}" for f in flights]
        out.append(f"{move}{'s' if len(lengths) > 1 else ''} {', '.join(lengths)}")
    return ", ".join(out)


def spacing_text(view: LadderView) -> list[str]:
    """The spacing of the rungs to set out, toe to toe, and why there is none."""
    out = ["SPACING, toe to toe; a forecast, so move a mark when the athlete says so"]
    for slug in (s for s in view.to_set_out if s in view.plans):
        plan = view.plans[slug]
        run = plan.approach
        start = f"start {run.length:.1f} m back" if run.strides else "from standing"
        text = f"{slug}: {_gaps(plan)} m; {start}"
        if plan.hurdles:
            first = plan.hurdles[0]
            at = ", ".join(f"{h.x:.2f}" for h in plan.hurdles)
            text += f"; {first.thing}s {cm(first.height)} {first.place} at {at} m from the first contact"
        out += folded(f"{text}.", "  ", "      ")
        out += noted((n for n in plan.warnings if n.code in _PLACE), "    ")
    for slug in (s for s in view.to_set_out if s in view.unplanned):
        why = view.unplanned[slug]
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


def session_text(load: SessionLoad) -> list[str]:
    """The load of one session."""
    standing = folded(load.standing.text)
    out = [f"{load.name}: load of a session on {date_text(load.on)}", *standing, ""]
    rows = []
    for done in load.done:
        task, legs = done.task, "; legs change every run" if done.changing else ""
        what = f"contacts, {task.drill.intensity}{legs}"
        rows.append((task.name, f"{task.sets} x {task.runs}", str(done.contacts), what))
    out += columns(rows, frozenset({1, 2}))
    budget, over = load.budget, "OVER: " if load.over else ""
    out += folded(
        f"Contacts: {load.contacts}, {over}{budget.text} [{said(budget.source)}]. {load.rest} h at least "
        "before the next session."
    )
    out += plain.section("WARNINGS", noted(n for n in load.notes if n.grave))
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
    out += folded(f"to compare: {others} [{said(COMPARED[0].source)}]", "  - ")
    if load.balance is not None:
        left, right = load.balance
        out += ["", *folded(f"Balance: left {load.left}, right {load.right} "
                            f"({left} : {right}).", "")]  # fmt: skip
    out += plain.section("REMARKS", noted(n for n in load.notes if not n.grave))
    return out + care(load.cautions)
