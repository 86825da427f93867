"""`phasemark film`: the plan's athlete in motion."""

from __future__ import annotations

import argparse
import math
import sys
from pathlib import Path

from animate.chain import Settings
from animate.film import save as save_film
from animate.motion import Motion, check
from animate.scene import Scene
from layout.commands.given import as_number, one_of, plan_from
from layout.commands.plan_ import say
from layout.faults import BadInput, Fault, refuse
from layout.moving.clip import clip_of, step_contact, stills_of
from layout.moving.solved import motion_of
from layout.plan.names import safe_name
from layout.plan.units import parse_length
from layout.plan.value import Plan

KINDS = (".gif", ".svg", ".png", ".mp4", ".webm")
SHOWN = (
    "knee_gap",
    "free_knee_touchdown",
    "free_thigh_touchdown",
    "free_thigh_takeoff",
    "free_thigh_highest",
    "free_thigh_hold",
    "support_knee_touchdown",
    "toe_ahead",
    "contact_time",
    "speed_touchdown",
    "speed_takeoff",
)
"""Measures printed after a clip."""


def settings_from(given: argparse.Namespace) -> Settings:
    """The positions that options ask for.

    Raises
    ------
    BadInput
    """

    def degrees(option: str) -> float | None:
        text = getattr(given, option.replace("-", "_"))
        return None if text is None else math.radians(as_number(option, text, float))

    gap, hold = given.knee_gap, given.thigh_held
    arms = one_of("arms", given.arms, ("alternate", "together"))
    high = degrees("thigh")
    try:
        return Settings(
            knee_gap=None if gap is None else parse_length(gap, "--knee-gap"),
            knee_bend=degrees("knee-bend"),
            thigh_high=None if high is None else high + math.pi / 2,
            hold=None if hold is None else float(as_number("thigh-held", hold, float)),
            trunk=degrees("trunk"),
            arms="together" if arms == "together" else "alternate",
        )
    except BadInput:
        raise
    except ValueError as error:
        field, _, rule = str(error).partition(": ")
        option = {"thigh_high": "thigh", "hold": "thigh-held"}.get(field, field.replace("_", "-"))
        raise refuse(f"--{option}", rule) from None


def solving(plan: Plan, settings: Settings) -> Motion:
    """The motion of a plan, with a line on the screen while it is being solved.

    Raises
    ------
    BadInput
    """
    shown = sys.stderr.isatty()

    def tell(iteration: int, seconds: float) -> None:
        if shown:
            line = f"\rsolving {plan.who.name}: {plan.title}, {seconds:.0f} s, step {iteration}"
            sys.stderr.write(f"{line:<78}")
            sys.stderr.flush()

    try:
        return motion_of(plan, settings, tell)
    finally:
        if shown:
            sys.stderr.write("\r" + " " * 78 + "\r")


def write(scene: Scene, to: str, overwrite: bool) -> None:
    """Save a scene, with a progress bar while frames are drawn.

    Raises
    ------
    BadInput
    """
    from tqdm import tqdm

    with tqdm(total=len(scene.durations), unit="frame", disable=None, leave=False) as bar:

        def tell(done: int, _: int) -> None:
            bar.update(done - bar.n)

        try:
            save_film(scene, to, overwrite, tell)
        except ValueError as error:
            text, _, _ = str(error).partition(", got ")
            rule = text.removeprefix("file: ").replace(
                "(overwrite it?)", "(--overwrite replaces it)"
            )
            raise BadInput([Fault("output", rule, None, to)]) from None


def measured(motion: Motion) -> list[str]:
    """What the step contact of a motion measures, a line each."""
    from animate.measures import MEASURE

    shown = step_contact(motion).reading.shown()
    return [f"  {MEASURE[n].label:<22}{MEASURE[n].at:<11}{shown[n]}" for n in SHOWN if n in shown]


def check_ending(to: str) -> str:
    """The ending of a film's name.

    Raises
    ------
    BadInput
    """
    kind = Path(to).suffix.lower()
    if kind not in KINDS:
        raise refuse("--to", f"a file ending in {', '.join(KINDS)} wanted", to)
    return kind


def keep_existing(to: str, overwrite: bool) -> None:
    """Refuse before any solving a file that is there and may not be replaced.

    Raises
    ------
    BadInput
    """
    if Path(to).exists() and not overwrite:
        rule = "exists already and is kept (--overwrite replaces it)"
        raise BadInput([Fault("output", rule, None, to)])


def run(given: argparse.Namespace) -> int:
    """Make a clip or a still of a plan.

    Raises
    ------
    BadInput
    """
    if not given.words:
        raise refuse("words", "an athlete file and a drill, or a saved plan, wanted")
    still = one_of("still", given.still, ("no", "strip", "trail"))
    camera = one_of("camera", given.camera, ("both", "fixed", "follow"))
    slow = float(as_number("slow", given.slow, float))
    if not 1.0 <= slow <= 20.0:
        raise refuse("--slow", "1 to 20 wanted", given.slow)
    settings = settings_from(given)
    plan = plan_from(given)
    to = given.to or f"{safe_name(plan.who.name)}-{plan.drill}.{'svg' if still != 'no' else 'gif'}"
    kind = check_ending(to)
    keep_existing(to, given.overwrite)
    motion = solving(plan, settings)
    look = "print-grey" if given.grey else "light"
    if still != "no":
        scene = stills_of(plan, motion, still, look)
    else:
        # The browser draws between frames; the others are smooth enough at twelve a second.
        fps = 25.0 if kind in (".svg", ".mp4", ".webm") else 12.5
        scene = clip_of(plan, motion, slow, camera, look, fps)  # type: ignore[arg-type]
    write(scene, to, given.overwrite)
    lines = [f"{to}: {plan.who.name}, {plan.title}", "At the step contact:", *measured(motion)]
    lines += [f"  ! mechanics: {fault}" for fault in check(motion).faults]
    say([*lines, "next: phasemark compare shows two ways of doing it side by side"])
    return 0
