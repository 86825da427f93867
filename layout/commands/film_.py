"""`phasemark film`: the plan's athlete in motion."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from animate.film.film import KINDS
from animate.film.film import save as save_film
from animate.film.scene import Scene
from animate.motion.chain import Settings
from animate.motion.check import Report, check
from animate.motion.motion import Motion
from animate.refused import Refused
from layout.commands.checked import solving
from layout.commands.given import need_words, plan_from
from layout.commands.output import end, look_of, marked, new_file, stem_of
from layout.commands.streams import progress
from layout.commands.text import figure_cautions, folded, hurdle_text
from layout.commands.uses import POSITIONS, asked, refused
from layout.moving.both import both_lines
from layout.moving.clearing import cleared
from layout.moving.clip import clip_of, has_step_contact, step_contact, stills_of, which_step
from layout.moving.positions import ANGLES, read_degrees, turned
from layout.moving.positions import moved_along as knees_moved
from layout.moving.solved import at_hand
from layout.moving.strong import SOURCE, called, strength_text
from layout.plan.value import Plan
from layout.rules.load import COLLEGE, STEP_PEAK
from layout.rules.rule import rule, source_of
from layout.words.faults import BadInput, not_written, refuse
from layout.words.reading import one_of, read_number
from layout.words.units import parse_length

SHOWN = (
    "knee_gap", "free_knee_touchdown", "free_thigh_touchdown", "free_thigh_takeoff",
    "free_thigh_highest", "free_thigh_hold", "support_knee_touchdown", "toe_ahead",
    "contact_time", "speed_touchdown", "speed_takeoff",
)  # fmt: skip
"""Measures printed after a clip."""


def settings_from(given: argparse.Namespace) -> Settings:
    """The positions that options ask for."""
    if given.thigh_held is not None and given.free_thigh is None:
        raise refuse("--thigh-held", "goes with --free-thigh", given.thigh_held)
    gap, hold = given.knee_gap, given.thigh_held
    arms = one_of("--arms", given.arms, ("alternate", "together"))
    angles: dict[str, Any] = {
        setting: turned(setting, read_degrees(setting, text, "--"))
        for setting, angle in ANGLES.items()
        if (text := getattr(given, angle.name.replace("-", "_"))) is not None
    }
    try:
        return Settings(
            knee_gap=None if gap is None else parse_length(gap, "--knee-gap"),
            hold=None if hold is None else read_number("--thigh-held", hold, 0.0, 60.0),
            arms="together" if arms == "together" else "alternate",
            **angles,
        )
    except Refused as fault:
        option = {"hold": "thigh-held"}.get(fault.field, fault.field.replace("_", "-"))
        raise refuse(f"--{option}", fault.told) from None


def refuse_positions(given: argparse.Namespace, plan: Plan) -> None:
    """Refuse positions at the step contact of a drill that has none."""
    if not has_step_contact(plan):
        why = f"{plan.drill} has no step contact"
        faults = [refused(given, n, why) for n in asked(given, sorted(POSITIONS - {"arms"}))]
        if faults:
            raise BadInput(faults)


Also = tuple[str, Callable[[str], None]]
"""A further file of a command: its name, and what writes it."""


def lost_letters(scene: Scene, to: str) -> list[str]:
    """What to say of letters that a clip in pixels shows as boxes; an SVG leaves them to the viewer."""
    kind = Path(to).suffix.lower()
    if kind == ".svg":
        return []
    from animate.body.shapes import Label
    from layout.page.letters import clip_line

    said = [c.text for group in (scene.still_captions, *scene.captions) for c in group]
    said += [s.text for p in scene.panels for s in p.still if isinstance(s, Label)]
    return marked(clip_line(said, kind[1:].upper()))


def write(scene: Scene, to: str, overwrite: bool, also: Sequence[Also] = ()) -> None:
    """Save a scene and what goes with it, with a line on the screen while frames are drawn."""
    with progress("frame") as tell:
        try:
            save_film(scene, to, overwrite, tell, also)
        except Refused as error:
            raise not_written(error, to) from None


def measured(motion: Motion) -> list[str]:
    """What the step contact of a motion measures, a line each."""
    from animate.motion.measures import MEASURE

    shown = step_contact(motion).reading.shown()
    return [f"  {MEASURE[n].label:<22}{MEASURE[n].at:<11}{shown[n]}" for n in SHOWN if n in shown]


def beside(motion: Motion) -> list[str]:
    """The step contact's angles beside those of two groups that were measured, a line each."""
    from animate.motion.measures import MEASURE

    if motion.chain.supports[step_contact(motion).index].leave != "step":
        return []
    shown = step_contact(motion).reading.shown()
    rows = [
        f"  {MEASURE[n].label:<22}{MEASURE[n].at:<11}{shown[n]:>6}{best:>8.0f}°{college:>10.0f}°"
        for n, (best, college) in rule("step_contact").items()
        if n in shown
    ]
    head = f"  {'':<33}{'here':>6}{'17 m':>9}{'college':>11}"
    said = f"Grown men's full jumps: over 17 m, ten college men ({source_of('step_contact')})."
    return [head, *rows, *folded(said)] if rows else []


def at_contact(plan: Plan, motion: Motion) -> str:
    """The contact that is measured, as a coach says it: which of several, and where it is."""
    step = step_contact(motion)
    support = motion.chain.supports[step.index]
    name = "step contact" if support.leave == "step" else f"contact before the {support.leave}"
    which = which_step(motion)
    place = f", {support.side.upper()} {support.toe:.2f} m" if which else ""
    return f"the {name}{f', {which}' if which else ''}{place}"


def moved_along(plan: Plan, motion: Motion) -> list[str]:
    """What a trunk that was asked for did to the knees that were not."""
    trunk = motion.settings.trunk
    alone = None if trunk is None else at_hand(plan, replace(motion.settings, trunk=None))
    found, was = knees_moved(motion, alone)
    if not found:
        return []
    without = f", {was} without --trunk" if was else ""
    said = f"--trunk moves the knees too: knee gap {found}{without}; --knee-gap holds it."
    return folded(f"  ! {said}", "")


def forces(motion: Motion, report: Report) -> list[str]:
    """Ground forces of a motion beside the published ones, and what it asks of the legs."""
    low, high, source = COLLEGE.low, STEP_PEAK.high, f"{COLLEGE.source}; {STEP_PEAK.source}"
    rows = [
        f"  {called(motion, i):<27}{motion.chain.supports[i].side.replace('both', '2').upper():<3}"
        f"peak {c.peak:>4.1f}  mean {c.mean:>4.1f}"
        for i, c in enumerate(report.contacts)
    ]
    return [
        "Ground force, up, in body weights, computed:",
        *rows,
        *folded(f"Published peaks of full triple jumps: {low:g} to {high:g} ({source})."),
        *folded(strength_text(motion, report.beyond, SOURCE)),
        *folded("Forces and torques are a model's, not this athlete's."),
    ]


def run(given: argparse.Namespace) -> int:
    """Make a clip or a still of a plan."""
    need_words(given, "an athlete file and a drill, or a saved plan, needed")
    still = one_of("--still", given.still, ("no", "strip", "trail"))
    camera = one_of("--camera", given.camera, ("both", "fixed", "follow"))
    slow = read_number("--slow", given.slow, 1.0, 20.0)
    settings = settings_from(given)
    plan = plan_from(given)
    refuse_positions(given, plan)
    to, kind = new_file(given, f"{stem_of(plan)}{'.svg' if still != 'no' else '.gif'}", KINDS)
    motion = solving(plan, settings)
    plan = cleared(plan, motion)
    look = look_of(given)
    if still != "no":
        scene = stills_of(plan, motion, still, look)
    else:
        # A GIF pays for every frame in bytes, and is smooth enough at twelve a second.
        fps = 25.0 if kind in (".svg", ".mp4", ".webm") else 12.5
        scene = clip_of(plan, motion, slow, camera, look, fps)  # type: ignore[arg-type]
    lines = [
        f"{to}: {plan.who.name}, {plan.title}",
        f"At {at_contact(plan, motion)}, computed:",
        *measured(motion),
        *beside(motion),
    ]
    report = check(motion)
    lines += [f"  ! mechanics: {fault.text}" for fault in report.faults]
    lines += [line for text in both_lines(plan, motion) for line in folded(text, "", "  ")]
    lines += [*moved_along(plan, motion), *forces(motion, report), *hurdle_text(plan)]
    lines += [*figure_cautions(plan), *lost_letters(scene, to)]
    write(scene, to, given.overwrite)
    return end([*lines, "next: phasemark compare shows two ways of doing it side by side"])
