"""Placings, blocks and session loads as data for other programs."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from layout.commands.as_json import VERSION, counts_as, json_text, notes
from layout.plan.value import Plan
from layout.training.block import Block
from layout.training.rungs import Rung
from layout.training.session import SessionLoad
from layout.training.view import LadderView


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
        "phases": [f.phase for f in plan.flights],
        "run_up_m": round(plan.approach.length, 4),
        "strides": plan.approach.strides,
        "hurdles": [
            {"x_m": round(h.x, 4), "height_m": h.height, "place": h.place, "thing": h.thing}
            for h in plan.hurdles
        ],
        "warnings": notes(plan.warnings),
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
        "left_out": [{"date": r.on.isoformat(), "why": r.why} for r in block.left_out],
        "contacts_by_week": {str(k): v for k, v in block.by_week().items()},
        "contacts_by_drill": block.by_drill(),
        "contacts_by_intensity": block.by_intensity(),
    }


def ladder_json(view: LadderView) -> str:
    """A placing, its ladder and its block as JSON; lengths in metres, shares of 1."""
    placing, shut = view.placing, view.shut

    def named(rung: Rung | None) -> str | None:
        return None if rung is None else rung.slug

    rungs = []
    for rung in view.ladder.rungs:
        row = {**_rung(rung), "open": rung.slug not in shut}
        if rung.slug in shut:
            row["why_closed"] = notes([shut[rung.slug]])[0]
        if rung.slug in view.plans:
            row["spacing"] = _spacing(view.plans[rung.slug])
        if rung.slug in view.unplanned:
            row["no_spacing"] = view.unplanned[rung.slug]
        rungs.append(row)
    whole = {
        "version": VERSION,
        "athlete": view.name,
        "date": view.on.isoformat(),
        "counts_as": counts_as(placing.standing),
        "placing": {
            "advice": placing.advice,
            "rung": placing.rung.slug,
            "came_from": placing.came_from.slug,
            "first": placing.first,
            "reasons": notes(placing.reasons),
            "up": named(placing.up),
            "sideways": named(placing.sideways),
            "down": named(placing.down),
            "ask": list(placing.ask),
        },
        "ladder": rungs,
        "block": _block(view.block),
        "cautions": list(view.cautions),
    }
    return json_text(whole)


def session_json(load: SessionLoad) -> str:
    """A session's load as JSON; forces in body weights."""
    whole = {
        "version": VERSION,
        "athlete": load.name,
        "date": load.on.isoformat(),
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
        "over_budget": load.over,
        "rest_hours": load.rest,
        "notes": notes(load.notes),
        "cautions": list(load.cautions),
    }
    return json_text(whole)
