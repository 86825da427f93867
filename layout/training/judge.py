"""What was seen against what a rung asks: met, missed in shape, or not enough to go up."""

from __future__ import annotations

from dataclasses import dataclass

from layout.athlete.athlete import Athlete
from layout.rules.demand import PRACTICE
from layout.rules.load import FAST_SOURCE, LONGEST_FAST_CONTACT
from layout.training.rungs import SOUNDS, Rung, Wants
from layout.training.seen import LEAST_RUNS, Observed
from layout.words.note import Note


def cm(length: float) -> str:
    """A short length for a coach, in whole centimetres.

    >>> cm(0.996)
    '100 cm'
    """
    return f"{100 * length:.0f} cm"


def asked(wants: Wants, on: Rung) -> tuple[str, ...]:
    """What must be seen on one rung to climb to the next, as a coach reads it."""
    out = []
    if wants.hit is not None:
        close = cm(on.tolerance)
        out.append(f"{100 * wants.hit:.0f} % of runs with every mark met within {close}")
    if wants.sound is not None:
        out.append("quiet contacts" if wants.sound == "quiet" else f"no louder than {wants.sound}")
    if wants.contact is not None:
        out.append(f"contacts up to {wants.contact:.2f} s, if timed")
    if wants.knee_gap is not None:
        out.append(f"free knee {cm(wants.knee_gap)} or more behind at the step, if filmed")
    if wants.step_share is not None:
        low, high = (100 * s for s in wants.step_share)
        out.append(f"step {low:g} to {high:g} % of a whole jump")
    return tuple(out)


@dataclass(frozen=True)
class Judged:
    """What was met, what missed in shape (knee gap, step share), and all else that keeps from going up."""

    met: tuple[Note, ...]
    shape: tuple[Note, ...]
    held: tuple[Note, ...]


def _hit_text(hit: tuple[int, int]) -> str:
    return f"{hit[0]} of {hit[1]} runs on the marks"


def judge(wants: Wants, seen: Observed, athlete: Athlete, sessions: int) -> Judged:
    """What was seen against what the next rung asks, and the sessions its present one has.

    Hits and sound must be known, and the step share where it is asked (else that of the best jump is
    taken); contact time and knee gap count where they are, sessions where those done are known.
    """
    met, shape, held = list[Note](), list[Note](), list[Note]()

    def put(into: list[Note], code: str, text: str, source: str = "ours") -> None:
        into.append(Note(code, text, source, grave=into is not met))

    if wants.hit is not None:
        least = f"{100 * wants.hit:.0f} %"
        if seen.hit is None:
            put(held, "hit", f"How many runs met the marks is not given: --hit; {least} asked.")
        elif seen.hit[1] < LEAST_RUNS:
            put(held, "hit", f"{_hit_text(seen.hit)}: too few to tell; {LEAST_RUNS} runs at least.")
        elif seen.hit[0] < wants.hit * seen.hit[1] - 1e-9:
            put(held, "hit", f"{_hit_text(seen.hit)}; {least} asked.")
        else:
            put(met, "hit", f"{_hit_text(seen.hit)}; {least} asked.")
    if wants.sound is not None:
        if seen.sound is None:
            put(held, "sound", "How the contacts sound is not given: --sound quiet, firm or loud.")
        elif SOUNDS.index(seen.sound) > SOUNDS.index(wants.sound):
            put(held, "sound", f"Contacts are {seen.sound}; {wants.sound} asked.", PRACTICE)
        else:
            put(met, "sound", f"Contacts are {seen.sound}.", PRACTICE)
    if wants.contact is not None and seen.contact is not None:
        slow = seen.contact > wants.contact + 1e-9
        text = f"On the ground {seen.contact:.2f} s; {wants.contact:.2f} s or less asked."
        source = FAST_SOURCE if wants.contact == LONGEST_FAST_CONTACT else "ours"
        put(held if slow else met, "contact", text, source)
    if wants.knee_gap is not None and seen.knee_gap is not None:
        near = seen.knee_gap < wants.knee_gap - 1e-9
        text = f"Free knee {cm(seen.knee_gap)} behind at the step contact; "
        put(shape if near else met, "knee-gap", f"{text}{cm(wants.knee_gap)} or more asked.")
    if wants.step_share is not None:
        share, of = seen.step_share, ""
        if share is None and athlete.best_phases is not None:
            share, of = athlete.best_phases.shares[1], " in the best jump"
        low, high = wants.step_share
        band = f"{100 * low:g} to {100 * high:g} % asked."
        if share is None:
            text = f"The step's share is not given: --step-share; {band}"
            put(held, "step-share", text, PRACTICE)
        else:
            off = not low - 1e-9 <= share <= high + 1e-9
            text = f"The step is {100 * share:.1f} %{of}; {band}"
            put(shape if off else met, "step-share", text, f"{PRACTICE}; band ours")
    if seen.sessions is not None and seen.sessions < sessions:
        put(held, "sessions", f"{seen.sessions} of {sessions} sessions done on this rung.")
    return Judged(tuple(met), tuple(shape), tuple(held))


def falls(rung: Rung, seen: Observed) -> list[Note]:
    """What was seen that sends an athlete down from a rung."""
    out = []
    down = rung.down
    if down.sound and seen.sound and SOUNDS.index(seen.sound) >= SOUNDS.index(down.sound):
        out.append(Note("sound", f"Contacts are {seen.sound}: too hard for now.", PRACTICE))
    made, of = seen.hit or (0, 0)
    if down.hit is not None and of >= LEAST_RUNS and made < down.hit * of - 1e-9:
        text = f"Only {_hit_text((made, of))}; under {100 * down.hit:.0f} % goes down."
        out.append(Note("hit", text, "ours"))
    if down.contact and seen.contact and seen.contact > down.contact + 1e-9:
        text = f"On the ground {seen.contact:.2f} s: over {down.contact:.2f} s is no longer a fast rebound."
        source = FAST_SOURCE if down.contact == LONGEST_FAST_CONTACT else "ours"
        out.append(Note("contact", text, source))
    return out
