"""`phasemark compare --measured`: a coach's own picture beside the target figure."""

from __future__ import annotations

import argparse
import itertools
import json
import os
import shlex
from pathlib import Path
from typing import Any

from animate.body.body import Body
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
from layout.page.files import page_file
from layout.picture.beside import camera_text, figures_of, page_of
from layout.picture.measured import Held, Measured, held_against, measure
from layout.picture.points import Points, read_points
from layout.picture.remarks import remarks, warnings_of
from layout.picture.signs import moved
from layout.picture.target import target_of
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
    aim, who = target_of(motion), motion.body
    frames = points.frames
    chosen = points.chosen
    found = _measured(points, who)
    here = found[chosen]
    held = held_against(aim.measures, here)
    told = [warnings_of(f, m, who, aim.support) for f, m in zip(frames, found, strict=True)]
    told[chosen] += moved(frames, here.errors.click)
    title = f"{plan.who.name}: {plan.title}, step touchdown"
    notes = [(w, True) for w in told[chosen]]
    said = [*remarks(here), in_short(plan.who.standing, plan.despite)]
    notes += [(text, False) for text in said]
    page = page_of(aim.positions, aim.support, here, held, title, notes)
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
