"""What a curve says, in a coach's words: one sentence, what limits it, a table, and how far to trust it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from animate.body.wording import MINUS, typeset
from animate.motion.chain import Settings
from animate.motion.outcome import NotFound
from layout.moving.worth import AIMS, LEAST, NEEDED, VARIED, Worth, kept_curve, one_step
from layout.moving.worth_topics import TOPICS, UNTESTED
from layout.plan.value import Plan

FLAT: Final = {"both": 0.03, "step": 0.03, "speed": 0.05}
"""Within this of the best the curve counts as flat [m], [m/s] (ours)."""
OURS: Final = (
    "A planar model's answer, ours, not a measurement: it says what this body could do best from this "
    "landing, not what an athlete will do."
)
WRONG: Final = (
    "The model has no soft tissue, no time for a muscle to build up, and torque that does not depend on the "
    "joint's angle: left at full strength it jumps too far, so its strength is set to the plan's length."
)
_ITS: Final = {"both": "step and jump together", "step": "the step", "speed": "the speed kept"}


@dataclass(frozen=True, eq=False)
class Answer:
    """What one thing is worth, as it stands beside others.

    worth: the curve, where it is kept.
    text: its sentence, or why there is none; empty where it is not at hand.
    """

    worth: Worth | None
    text: str

    @property
    def state(self) -> str:
        """Whether it is known."""
        if self.worth is not None:
            return "known"
        return "can't be told" if self.text else "not worked out"


def answer(plan: Plan, of: str, asked_for: Settings) -> Answer:
    """What is kept of a topic, by the first aim of which there is a whole curve; nothing is solved.

    asked_for: positions of what it stands beside; a curve leaves them open, so with any it is no answer.
    """
    if TOPICS[of].against:
        return Answer(None, f"can't be told; {TOPICS[of].against}.")
    if not one_step(tuple(c.leave for c in plan.contacts)):
        return Answer(None, f"can't be told; it {NEEDED}.")
    why = ""
    for aim, name in AIMS.items():
        try:
            worth = kept_curve(plan, of, aim)
        except NotFound as fault:
            why = why or f"can't be told for {name}; {fault.told}."
            continue
        if worth is not None:
            return Answer(worth, headline(worth)) if asked_for == Settings() else Answer(None, "")
    return Answer(None, why)


def short(answer: Answer) -> str:
    """An answer in a line, for what has no more room."""
    if answer.worth is not None:
        return f"{answer.text} A planar model's answer, not a measurement."
    return f"{answer.state}{'' if answer.text else ' yet'}."


def near(worth: Worth) -> float:
    """Within this of the best the curve counts as flat: `FLAT`, or the best's own margin if more."""
    own = worth.margins[worth.top]
    return max(FLAT[worth.aim], own if math.isfinite(own) else 0.0)


def flat(worth: Worth) -> tuple[int, int]:
    """First and last of the points round the best that differ from it by less than `near`."""
    least = near(worth)
    first = last = worth.top
    while first > 0 and worth.loss(first - 1) < least:
        first -= 1
    while last + 1 < len(worth.points) and worth.loss(last + 1) < least:
        last += 1
    return first, last


def size(worth: Worth, value: float) -> str:
    """A difference as people read it."""
    if not math.isfinite(value):
        return "not known"
    if worth.aim == "speed":
        return f"{value:.2f} m/s"
    return f"{100 * value:.0f} cm"


def beside_best(worth: Worth, i: int) -> str:
    """What a point gives beside the best, as people read it."""
    text = size(worth, worth.loss(i))
    return text if not any(c in "123456789" for c in text) else f"{MINUS}{text}"


def at(worth: Worth, i: int) -> str:
    """The value of a point."""
    value = typeset(f"{worth.topic.shown(worth.points[i].value):.0f}")
    return f"{value} {worth.topic.unit}".replace(" °", "°")


def _ends(worth: Worth) -> tuple[int, ...]:
    first, last = flat(worth)
    return tuple(i for i in dict.fromkeys((0, len(worth.points) - 1)) if not first <= i <= last)


def its(worth: Worth) -> str:
    """What is made greatest; the hop counts where it is the hop that is varied."""
    if worth.topic.name == "hops" and worth.aim != "speed":
        return "hop, step and jump together" if worth.aim == "both" else "hop and step together"
    return _ITS[worth.aim]


def headline(worth: Worth) -> str:
    """One sentence: first that it is untested, then where it is best and how flat and what the ends cost,
    or that it can't be told."""
    what = UNTESTED + worth.topic.told[:1].upper() + worth.topic.told[1:]
    told = [i for i in _ends(worth) if worth.tells(i)]
    what_counts = its(worth)
    whole = f"from {at(worth, 0)} to {at(worth, len(worth.points) - 1)}"
    if not told:
        most = max(range(len(worth.points)), key=worth.loss)
        found = f"{size(worth, worth.loss(most))} ± {size(worth, margin(worth, most))}"
        return f"{what}: {whole} no difference in {what_counts} can be told; the most found is {found}."
    first, last = flat(worth)
    band = (
        f"between {at(worth, first)} and {at(worth, last)}"
        if first < last
        else f"at {at(worth, first)}"
    )
    least = size(worth, near(worth))
    start = (
        f"{what}: {band} it changes {what_counts} by under {least}"
        if first < last
        else f"{what}: {what_counts} best {band}"
    )
    parts = [
        f"at {at(worth, i)} it costs {size(worth, worth.loss(i))} ± {size(worth, margin(worth, i))}"
        for i in told
    ]
    unknown = [f"at {at(worth, i)} it can't be told" for i in _ends(worth) if i not in told]
    return f"{start}; {'; '.join((*parts, *unknown))}."


def margin(worth: Worth, i: int) -> float:
    """Margin of what a point costs."""
    other = worth.margins[worth.top] if i != worth.top else 0.0
    return math.hypot(worth.margins[i], other)


def limits(worth: Worth) -> str:
    """What is asked most more at either end, and where no motion was found beyond it."""
    out = []
    for end, stop in ((0, worth.stops[0]), (len(worth.points) - 1, worth.stops[1])):
        if stop:
            told = f"Beyond {at(worth, end)} no motion within strength was found"
            out.append(f"{told}; what runs short there: {stop}.")
        elif end == worth.top:
            out.append(f"Beyond {at(worth, end)} it was not tried, and it may be better there.")
    return " ".join(out)


def strength(worth: Worth) -> str:
    """On what strength it stands."""
    share, impact = worth.terms.strength, worth.terms.impact
    return (
        f"Legs give {100 * share:.0f} % of one published jumper's strength, set so that the model's best is "
        f"the plan (the athlete is taken to have {100 * worth.presumed:.0f} %); in the first fifth of a "
        f"contact {impact:g} times that jumper's is let through, for the impact."
    )


def trust(worth: Worth) -> str:
    """What the margin is made of."""
    names, apart = ", ".join(name for name, _ in VARIED), size(worth, worth.apart)
    return (
        f"The margin is the most that one of these changes a difference: {names}; at least {LEAST} of them "
        f"must be found. In it too: every point was solved from both its neighbours, {apart} apart at most."
    )


def rows(worth: Worth) -> list[tuple[str, str, str, str]]:
    """The table: value, what it costs beside the best, margin, speed the foot leaves with."""
    out = []
    for i, point in enumerate(worth.points):
        loss = "best found" if i == worth.top else beside_best(worth, i)
        if i != worth.top and not worth.tells(i):
            loss = f"{loss} (can't be told)"
        out.append(
            (
                at(worth, i),
                loss,
                f"± {size(worth, margin(worth, i))}",
                f"{point.found.speed:.2f} m/s",
            )
        )
    return out


def said(worth: Worth) -> list[str]:
    """What goes with the answer wherever it stands."""
    return [text for text in (OURS, limits(worth), strength(worth), trust(worth), WRONG) if text]
