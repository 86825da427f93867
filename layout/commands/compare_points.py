"""`phasemark compare --measured`: a coach's own picture beside the target figure."""

from __future__ import annotations

import argparse
import itertools
import json
import os
import shlex
from pathlib import Path
from typing import Any

import numpy as np

from animate.body.body import Array, Body
from animate.film.themes import theme
from layout.commands.as_json import picked
from layout.commands.checked import solving
from layout.commands.film_ import refuse_positions, settings_from
from layout.commands.given import need_words, plan_from
from layout.commands.output import (
    DRAWINGS,
    end,
    ending_of,
    keep_existing,
    look_of,
    save,
    stem_of,
)
from layout.commands.text import folded
from layout.moving.clip import step_contact
from layout.page.files import page_file
from layout.picture.beside import camera_text, figures_of, page_of
from layout.picture.measured import Held, Measured, held_against, measure
from layout.picture.places import measures_of, roles_of
from layout.picture.points import Frame, Points, read_points
from layout.picture.signs import moved, signs_of
from layout.rules.cautions import in_short
from layout.words.faults import BadInput, Fault


def _kind(to: str) -> str:
    return ending_of(to, DRAWINGS, of="with --measured ")


def _free(stem: str, ending: str) -> str:
    """A name that no file has yet: every picture measured gets a sheet of its own."""
    names = (f"{stem}{'' if n == 1 else f'-{n}'}{ending}" for n in itertools.count(1))
    return next(name for name in names if not os.path.lexists(name))


def _measured(points: Points, who: Body) -> list[Measured]:
    """Every frame measured; faults of all of them at once."""
    found: list[Measured] = []
    faults: list[Fault] = []
    for frame in points.frames:
        try:
            found.append(measure(frame, who))
        except BadInput as error:
            faults += error.at(points.file).faults
    if faults:
        raise BadInput(faults)
    return found


def _warnings(frame: Frame, measured: Measured, who: Body, support: str) -> list[str]:
    out = list(signs_of(frame, who, measured))
    wanted = "right" if support == "r" else "left"
    if measured.side and measured.side != wanted:
        out.append(
            f"The {measured.side} leg is down in the picture, the {wanted} one in the plan: another "
            "contact, a picture turned left for right, or near and far swapped."
        )
    return out


def remarks(measured: Measured) -> list[str]:
    """What was not read, what the margins are made of, and what the target is."""
    e = measured.errors
    names = [m.label for m in measured.missing]
    missing = [f"Not read for want of points: {', '.join(names)}."] if names else []
    return [
        *missing,
        f"± holds about 19 times of 20 for errors of {e.click:g} pixels in a click, "
        f"{100 * e.joint:g} cm in finding a joint, {100 * e.tape:g} cm in a reading or known length and "
        f"{100 * e.plane:.2g} % in the scale of the plane (one standard deviation each; ours, no "
        "source).",
        "Not in the margin: blur, the moment the picture was taken, and depth. Filmed from 10 m, every "
        "metre the athlete is off the middle of the picture shifts near and far knee by about 2 cm "
        "against each other.",
        "The target is a computed figure of the athlete's stature, not a verdict: hold it beside "
        "what you see.",
    ]


def _table(held: tuple[Held, ...]) -> list[str]:
    out = [f"  {'':<16}{'target':>14}{'measured':>20}{'difference':>12}"]
    for h in held:
        target, found, change, verdict = (
            t.replace("behind vertical", "behind") for t in figures_of(h)
        )
        label = h.measure.label
        out.append(f"  {label}{target:>{30 - len(label)}}{found:>20}{change:>12}  {verdict}")
    return out


def _alone(measured: Measured) -> list[str]:
    return [
        f"  {v.measure.label:<20}{v.measure.shown(v.value):>10} ± {v.measure.margin_text(v.margin)}"
        for v in measured.values
    ]


def record(
    measured: Measured, held: tuple[Held, ...], warnings: list[str], file: str
) -> dict[str, Any]:
    """A measured picture as plain data: metres, radians and shares, margins of two deviations."""
    names = "unit=measure.unit measured=value margin margin_from_scale=from_scale "
    names += "margin_from_clicks=from_clicks"
    rows = {v.measure.name: picked(v, names) for v in measured.values}
    for h in held:
        rows[h.measure.name] |= picked(h, "target difference clear")
    return {
        "file": file,
        **picked(measured, "frame runs support_leg=side pixels_per_metre=scale scale_margin tilt"),
        **picked(measured, "tilt_margin"),
        "measures": rows,
        "missing": [m.name for m in measured.missing],
        "warnings": warnings,
    }


def run(given: argparse.Namespace) -> int:
    """Measure a picture, hold it against the target figure, and draw both beside each other."""
    need_words(given, "an athlete file and a drill needed")
    if given.to:
        _kind(given.to)
    points = read_points(Path(given.measured))
    settings = settings_from(given)
    plan = plan_from(given)
    refuse_positions(given, plan)
    stem = f"{stem_of(plan)}-measured"
    to = given.to or (f"{stem}.svg" if given.overwrite else _free(stem, ".svg"))
    kind = _kind(to)
    keep_existing(to, given.overwrite)
    motion = solving(plan, settings)
    step = step_contact(motion)
    who = motion.body
    frames = points.frames
    chosen = points.chosen
    found = _measured(points, who)
    positions: Array = motion.frames(np.array([step.touchdown])).positions[0]
    target = measures_of(roles_of(positions, step.support), who)
    here = found[chosen]
    held = held_against(target, here)
    told = [_warnings(f, m, who, step.support) for f, m in zip(frames, found, strict=True)]
    told[chosen] += moved(frames, here.errors.click)
    title = f"{plan.who.name}: {plan.title}, step touchdown"
    notes = [(w, True) for w in told[chosen]]
    said = [*remarks(here), in_short(plan.who.standing, plan.despite)]
    notes += [(text, False) for text in said]
    page = page_of(positions, step.support, here, held, title, notes)
    data = page_file(page, kind[1:], theme(look_of(given)))
    if given.json:
        records = [
            record(m, held if i == chosen else (), told[i], points.file)
            for i, m in enumerate(found)
        ]
        save(to, data, given.overwrite)
        return end([json.dumps({"frames": records}, indent=1, ensure_ascii=False)])
    lines = [*folded(f"{to}: {title}", "", "  "),
             *folded(f"{points.file}: {camera_text(here)}", "", "  "), *_table(held)]  # fmt: skip
    lines += [line for w in told[chosen] for line in folded(w, "  ! ")]
    for text in said:
        lines += folded(text, "  - ")
    for i, m in enumerate(found):
        if i != chosen:
            lines += ["", *folded(f"{m.frame}: {camera_text(m)}", "", "  "), *_alone(m)]
            lines += [line for w in told[i] for line in folded(w, "  ! ")]
    save(to, data, given.overwrite)
    return end([*lines, _next(given, here)])


def _next(given: argparse.Namespace, measured: Measured) -> str:
    gap = next(v.value for v in measured.values if v.measure.name == "knee_gap")
    files = [w for w in given.words if w.lower().endswith(".toml")]
    if files and gap > 0:
        words = shlex.quote(files[0])
        return f"next: phasemark ladder {words} --knee-gap {100 * gap:.0f}cm"
    words = shlex.join(given.words)
    return f"next: phasemark compare {words} --of knees shows knees closer and further apart"
