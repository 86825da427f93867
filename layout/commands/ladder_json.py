"""Placings, blocks and session loads as data for other programs."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from layout.plan.value import Plan
from layout.rules.sources import said
from layout.rules.standing import Standing
from layout.training.block import Block
from layout.training.ladder import Placing
from layout.training.rungs import Ladder, Rung
from layout.training.session import SessionLoad
from layout.words.note import Note

VERSION: Final = 1


def _note(note: Note) -> dict[str, Any]:
    return {
        "code": note.code,
        "text": note.text,
        "source": said(note.source),
        "against": note.grave,
    }


def _rung(rung: Rung) -> dict[str, Any]:
    version = {k: v for k, v in asdict(rung.choices).items() if v is not None}
    return {
        "rung": rung.slug,
        "title": rung.title,
        "height": rung.height,
        "drill": rung.drill.slug,
        "version": version,
        "contacts_per_run": rung.contacts,
        "intensity": rung.drill.intensity,
        "rest_hours": rung.rest,
        "sessions": rung.sessions,
        "tolerance_m": rung.tolerance,
        "enter": asdict(rung.enter),
        "down": asdict(rung.down),
    }


def _spacing(plan: Plan) -> dict[str, Any]:
    return {
        "lengths_m": [round(f.length, 4) for f in plan.flights],
        "moves": [f.move for f in plan.flights],
        "run_up_m": round(plan.approach.length, 4),
        "strides": plan.approach.strides,
        "hurdles": [
            {"x_m": round(h.x, 4), "height_m": h.height, "place": h.place, "thing": h.thing}
            for h in plan.hurdles
        ],
        "warnings": [_note(n) for n in plan.warnings],
    }


def counts_as(standing: Standing) -> dict[str, Any]:
    """How an athlete counted, and what was taken instead of known."""
    return {
        "age": standing.age,
        "level": standing.level,
        "training_years": standing.years,
        "assumed": [{"field": a.field, "text": a.text} for a in standing.assumed],
    }


def _block(block: Block) -> dict[str, Any]:
    return {
        "sessions": [
            {
                "number": s.number,
                "week": s.week,
                "date": s.on.isoformat(),
                "parts": [
                    {"rung": p.rung.slug, "sets": p.sets, "runs": p.runs, "contacts": p.contacts}
                    for p in s.parts
                ],
                "contacts": s.contacts,
                "budget": list(s.budget.pair),
                "budget_for": s.budget.who,
                "rest_hours": s.rest,
                "only_if": list(s.only_if),
                "easy": s.easy,
            }
            for s in block.sessions
        ],
        "left_out": [{"date": on.isoformat(), "why": why} for on, why in block.left_out],
        "contacts_by_week": {str(k): v for k, v in block.by_week().items()},
        "contacts_by_drill": block.by_drill(),
        "contacts_by_intensity": block.by_intensity(),
    }


def ladder_json(
    name: str,
    on: str,
    placing: Placing,
    ladder: Ladder,
    made: Block,
    plans: Mapping[str, Plan],
    unplanned: Mapping[str, str],
    cautions: tuple[str, ...],
) -> str:
    """A placing, its ladder and its block as JSON; lengths in metres, shares of 1."""
    shut = {rung.slug: why for rung, why in placing.closed}

    def named(rung: Rung | None) -> str | None:
        return None if rung is None else rung.slug

    rungs = []
    for rung in ladder.rungs:
        row = {**_rung(rung), "open": rung.slug not in shut}
        if rung.slug in shut:
            row["why_closed"] = _note(shut[rung.slug])
        if rung.slug in plans:
            row["spacing"] = _spacing(plans[rung.slug])
        if rung.slug in unplanned:
            row["no_spacing"] = unplanned[rung.slug]
        rungs.append(row)
    whole = {
        "version": VERSION,
        "athlete": name,
        "date": on,
        "counts_as": counts_as(placing.standing),
        "placing": {
            "move": placing.move,
            "rung": placing.rung.slug,
            "came_from": placing.came_from.slug,
            "first": placing.first,
            "reasons": [_note(n) for n in placing.reasons],
            "up": named(placing.up),
            "sideways": named(placing.sideways),
            "down": named(placing.down),
            "ask": list(placing.ask),
        },
        "ladder": rungs,
        "block": _block(made),
        "cautions": list(cautions),
    }
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def session_json(name: str, on: str, load: SessionLoad) -> str:
    """A session's load as JSON; forces in body weights."""
    whole = {
        "version": VERSION,
        "athlete": name,
        "date": on,
        "counts_as": counts_as(load.standing),
        "drills": [
            {
                "name": d.task.name,
                "drill": d.task.drill.slug,
                "sets": d.task.sets,
                "runs": d.task.runs,
                "contacts": d.contacts,
                "intensity": d.task.drill.intensity,
                "legs_change": d.changing,
            }
            for d in load.done
        ],
        "kinds": [{**asdict(k), "contacts": k.contacts} for k in load.kinds],
        "contacts": load.contacts,
        "left": load.left,
        "right": load.right,
        "both": load.both,
        "budget": list(load.budget.pair),
        "budget_for": load.budget.who,
        "over_budget": load.contacts > load.budget.most,
        "rest_hours": load.rest,
        "notes": [_note(n) for n in load.notes],
        "cautions": list(load.cautions),
    }
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"
