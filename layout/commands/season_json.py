"""A season as data for other programs."""

from __future__ import annotations

import datetime
from dataclasses import asdict
from typing import Any

from layout.book.record import Aside
from layout.book.typed import assisted
from layout.commands.as_json import VERSION, counts_as, json_text, notes, rounded
from layout.season.best_split import BestSplit, best_split_text
from layout.season.refit import Refit
from layout.season.season import Season
from layout.season.told import Best, Phase, Told, Trend
from layout.training.ladder import Placing


def _trend(trend: Trend | None) -> dict[str, Any] | None:
    return None if trend is None else {**asdict(trend), "clear": trend.clear}


def _phase(phase: Phase) -> dict[str, Any]:
    return {**asdict(phase), "trend": _trend(phase.trend)}


def _best(best: Best | None) -> dict[str, Any] | None:
    if best is None:
        return None
    return {
        "total": best.total, "phases": best.phases, "official": best.official,
        "day": datetime.date.fromordinal(best.day).isoformat(), "kind": best.said,
        "wind_m_s": best.wind, "wind_assisted": None if best.wind is None else assisted(best.wind),
    }  # fmt: skip


def _aside(row: Aside) -> dict[str, Any]:
    return {**asdict(row), "day": datetime.date.fromordinal(row.day).isoformat()}


def _drill(told: Told) -> dict[str, Any]:
    kind = told.kind
    return {
        "drill": kind.drill,
        "phases": kind.phases,
        "arcs": kind.arcs,
        "strides": kind.strides,
        "sand": kind.sand,
        "from_standing": kind.stand,
        "measured": told.count,
        "days": told.days,
        "phases_m": [_phase(p) for p in told.phases],
        "total_m": None if told.total is None else _phase(told.total),
        "step_share_trend": _trend(told.step_trend),
        "best_m": _best(told.best),
        "best_legal_m": _best(told.legal),
    }


def refit_values(found: Refit) -> dict[str, Any]:
    """What the attempts say of the athlete's own figures."""
    return {
        "enough": found.enough,
        "lacking": found.lacking,
        "have": [{"strides": s, "attempts": n} for s, n in found.have],
        "timed": found.timed,
        "set_aside": found.blunders,
        "stretch": found.stretch,
        "parameters": [{**asdict(p), "evidence": p.evidence} for p in found.parameters],
        "known_only_together": found.linked,
        "misfits_m": [asdict(m) for m in found.misfits],
    }


def _placing(placing: Placing, seen: tuple[str, ...]) -> dict[str, Any]:
    return {
        "advice": placing.advice,
        "rung": placing.rung.slug,
        "from": placing.came_from.slug,
        "up": placing.up.slug if placing.up else None,
        "reasons": notes(placing.reasons),
        "ask": placing.ask,
        "seen": seen,
    }


def _split(found: BestSplit) -> dict[str, Any]:
    return {
        "usual": found.usual,
        "best": found.optimum.shares,
        "nearly_as_good": found.optimum.flat,
        "bounds": found.bounds,
        "gain_bounds_m": found.gain,
        "at_edge": found.optimum.at_edge,
        "usual_is_as_good": found.inside,
        "own_parameters": found.fitted,
        "text": best_split_text(found),
    }


def season_json(season: Season) -> str:
    """A season as JSON, lengths in metres, shares of 1."""
    found = season.next_phase
    out = {
        "version": VERSION,
        "athlete": season.name,
        "on": season.on.isoformat(),
        "since": season.since,
        "entries": season.attempts,
        "fouls": season.fouls,
        "days": {k or "not known": n for k, n in season.days.items()},
        "left_out": [_aside(row) for row in season.aside],
        "measured": [_drill(t) for t in season.told],
        "next_centimetres": None if found is None else asdict(found),
        "refit": None if season.refit is None else refit_values(season.refit),
        "spacing_m": [asdict(s) for s in season.spacings],
        "ladder": None if season.placing is None else _placing(season.placing, season.seen),
        "no_rung": season.no_rung or None,
        "closed_but_jumped": notes(season.closed),
        "counts_as": counts_as(season.standing),
        "target_asks": notes(season.asks),
        "weeks": [{**asdict(w), "notes": notes(w.notes)} for w in season.weeks],
        "best_split": None if season.split is None else _split(season.split),
        "no_athlete": season.why_not or None,
        "cautions": season.cautions,
    }
    return json_text(rounded(out))
