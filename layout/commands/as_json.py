"""A ladder, a session and a season as data for other programs: metres, shares of 1, body weights."""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any, Final

from layout.plan.value import Plan
from layout.rules.sources import said
from layout.rules.standing import Standing
from layout.rules.wind import assisted
from layout.training.block import Block, LadderView
from layout.training.rungs import Rung
from layout.training.session import SessionLoad
from layout.words.dates import iso
from layout.words.note import Note

if TYPE_CHECKING:
    from layout.season.positions import Position
    from layout.season.refit import Refit
    from layout.season.season import Season
    from layout.season.told import Best, Phase, Told, Trend

VERSION: Final = 1
"""Of the JSON of a ladder, a session and a season."""


def values(thing: Any) -> Any:
    """A thing as JSON has it: fields by name, days as text, notes with their sources in words."""
    if isinstance(thing, Note):
        return {**picked(thing, "code text"), "source": said(thing.source), "against": thing.grave}
    if is_dataclass(thing):
        return picked(thing, " ".join(f.name for f in fields(thing)))
    if isinstance(thing, Mapping):
        return {str(k): values(v) for k, v in thing.items()}
    if isinstance(thing, list | tuple):
        return [values(v) for v in thing]
    return thing.isoformat() if isinstance(thing, datetime.date) else thing


def picked(thing: Any, names: str) -> dict[str, Any]:
    """Some values of a thing, in that order; "rung=main.slug" calls one otherwise."""
    out = {}
    for name in names.split():
        key, _, path = name.partition("=")
        value = thing
        for part in (path or key).split("."):
            value = None if value is None else getattr(value, part)
        out[key] = values(value)
    return out


def rounded(value: Any, digits: int = 5) -> Any:
    """Figures rounded to what means anything, and nothing that JSON has no word for."""
    if isinstance(value, float):
        return round(value, digits) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {k: rounded(v, digits) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(v, digits) for v in value]
    return value


def json_text(value: Any) -> str:
    """A value as JSON, a field a line."""
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def _counts_as(standing: Standing) -> dict[str, Any]:
    """How an athlete counted, and what was taken instead of known."""
    assumed = [picked(a, "field text") for a in standing.assumed]
    return {**picked(standing, "age level training_years=years"), "assumed": assumed}


# --- a ladder and a session -----------------------------------------------------------------------


def _rung(rung: Rung) -> dict[str, Any]:
    out = picked(rung, "rung=slug title height drill=drill.slug version=choices")
    out["version"] = {k: v for k, v in out["version"].items() if v is not None}
    return out | picked(
        rung, "contacts_per_run=contacts intensity=drill.intensity rest_hours=rest sessions "
        "tolerance_m=tolerance enter down")  # fmt: skip


def _spacing(plan: Plan) -> dict[str, Any]:
    out: dict[str, Any] = rounded({
        "lengths_m": [f.length for f in plan.flights],
        "phases": [f.phase for f in plan.flights],
        **picked(plan.approach, "run_up_m=length strides"),
        "hurdles": [picked(h, "x_m=x height_m=height place thing") for h in plan.hurdles],
    }, 4)  # fmt: skip
    return out | picked(plan, "warnings")


def _block(block: Block) -> dict[str, Any]:
    sessions = [
        picked(s, "number week date=on") | {
            "parts": [picked(p, "rung=rung.slug sets runs contacts") for p in s.parts],
            **picked(s, "contacts budget=budget.pair budget_for=budget.who rest_hours=rest only_if"),
            "easy": s.easy,
        }
        for s in block.sessions
    ]  # fmt: skip
    return {
        "sessions": sessions,
        "left_out": [picked(r, "date=on why") for r in block.left_out],
        "contacts_by_week": values(block.by_week()),
        "contacts_by_drill": block.by_drill(),
        "contacts_by_intensity": block.by_intensity(),
    }


def ladder_json(view: LadderView) -> str:
    """A placing, its ladder and its block."""
    rungs = []
    for rung in view.ladder.rungs:
        row = {**_rung(rung), "open": rung.slug not in view.shut}
        if rung.slug in view.shut:
            row["why_closed"] = values(view.shut[rung.slug])
        if rung.slug in view.plans:
            row["spacing"] = _spacing(view.plans[rung.slug])
        if rung.slug in view.unplanned:
            row["no_spacing"] = view.unplanned[rung.slug]
        rungs.append(row)
    return json_text({
        "version": VERSION,
        **picked(view, "athlete=name date=on"),
        "counts_as": _counts_as(view.placing.standing),
        "placing": picked(
            view.placing, "advice rung=rung.slug came_from=came_from.slug first reasons up=up.slug "
            "sideways=sideways.slug down=down.slug ask"),
        "ladder": rungs,
        "block": _block(view.block),
        "cautions": view.cautions,
    })  # fmt: skip


def session_json(load: SessionLoad) -> str:
    """A session's load."""
    drill = "name=task.name drill=task.drill.slug sets=task.sets runs=task.runs contacts "
    drill += "intensity=task.drill.intensity legs_change=changing"
    return json_text({
        "version": VERSION,
        **picked(load, "athlete=name date=on"),
        "counts_as": _counts_as(load.standing),
        "drills": [picked(d, drill) for d in load.done],
        "kinds": [{**values(k), "contacts": k.contacts} for k in load.kinds],
        **picked(load, "contacts left right both budget=budget.pair budget_for=budget.who "
                 "over_budget=over rest_hours=rest notes cautions"),
    })  # fmt: skip


# --- a season -------------------------------------------------------------------------------------


def _trend(trend: Trend | None) -> dict[str, Any] | None:
    return None if trend is None else {**values(trend), "clear": trend.clear}


def _phase(phase: Phase | None) -> dict[str, Any] | None:
    return None if phase is None else {**values(phase), "trend": _trend(phase.trend)}


def _best(best: Best | None) -> dict[str, Any] | None:
    if best is None:
        return None
    out = picked(best, "total phases official day kind=said wind_m_s=wind")
    wind = None if best.wind is None else assisted(best.wind)
    return {**out, "day": iso(best.day), "wind_assisted": wind}


def _drill(told: Told) -> dict[str, Any]:
    names = (
        "drill=kind.drill phases=kind.phases arcs=kind.arcs strides=kind.strides sand=kind.sand "
    )
    return {
        **picked(told, f"{names} from_standing=kind.stand measured=count days"),
        "phases_m": [_phase(p) for p in told.phases],
        "total_m": _phase(told.total),
        "step_share_trend": _trend(told.step_trend),
        "best_m": _best(told.best),
        "best_legal_m": _best(told.legal),
    }


def refit_values(found: Refit) -> dict[str, Any]:
    """What the attempts say of the athlete's own figures."""
    have = [{"strides": s, "attempts": n} for s, n in found.have]
    return {
        **picked(found, "enough lacking"),
        "have": have,
        **picked(found, "timed set_aside=blunders stretch"),
        "parameters": [{**values(p), "evidence": p.evidence} for p in found.parameters],
        **picked(found, "known_only_together=linked misfits_m=misfits"),
    }


def _position(found: Position) -> dict[str, Any]:
    """One measure of the pictures, in its own unit."""
    kinds = {"training": found.training, "competition": found.competition}
    return {
        **picked(found, "name=measure.name unit=measure.unit"),
        **{
            kind: m and {**picked(m, "value margin"), "days": [iso(d.day) for d in m.dots]}
            for kind, m in kinds.items()
        },
        "difference": found.difference,
        "beyond_margin": found.differs,
    }


def season_json(season: Season) -> str:
    """A whole season."""
    from layout.season.next_phase import best_split_text

    placing, split = season.placing, season.split
    place = placing and picked(
        placing, "advice rung=rung.slug from=came_from.slug up=up.slug reasons ask"
    )
    best = split and picked(
        split, "usual best=optimum.shares nearly_as_good=optimum.flat bounds gain_bounds_m=gain "
        "at_edge=optimum.at_edge usual_is_as_good=inside own_parameters=fitted"
    ) | {"text": best_split_text(split)}  # fmt: skip
    return json_text(rounded({
        "version": VERSION,
        **picked(season, "athlete=name on since entries=attempts fouls"),
        "days": {k or "not known": n for k, n in season.days.items()},
        "left_out": [{**values(row), "day": iso(row.day)} for row in season.aside],
        "measured": [_drill(t) for t in season.told],
        **picked(season, "next_centimetres=next_phase"),
        "refit": season.refit and refit_values(season.refit),
        "spacing_m": values(season.spacings),
        "ladder": place and {**place, "seen": season.seen},
        "no_rung": season.no_rung or None,
        "closed_but_jumped": values(season.closed),
        "counts_as": _counts_as(season.standing),
        "target_asks": values(season.asks),
        "positions": [_position(p) for p in season.positions],
        "weeks": values(season.weeks),
        "best_split": best,
        "no_athlete": season.why_not or None,
        "pain_put_down": season.pains,
        "cautions": season.cautions,
    }))  # fmt: skip
