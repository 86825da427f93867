"""Two ways of one drill side by side, as phasemark compare has them: plans, motions, what differs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from animate.motion.chain import Settings
from layout.desk.pages import part
from layout.desk.setout import SetOut, settings_of
from layout.moving.clip import which_step
from layout.moving.solved import at_hand, mark_of
from layout.moving.ways import HOPS, OF, differences, lacking, ways
from layout.phone.clip import clips_beside
from layout.phone.phone import RESTING, SPEEDS
from layout.plan.tape import TapeCard, tape_card
from layout.plan.value import Plan
from layout.rules.cautions import COMPUTED
from layout.words.feet import as_read

if TYPE_CHECKING:
    from animate.motion.motion import Motion

TITLES: Final = {"knees": "Knees", "lever": "Lever", "hops": "Hop height", "arms": "Arms"}


@dataclass(frozen=True, eq=False)
class Way:
    """One way: what it is called, its plan and positions, and its motion where it is at hand."""

    name: str
    plan: Plan
    card: TapeCard
    settings: Settings
    motion: Motion | None

    @property
    def key(self) -> str:
        """The name of the figure."""
        return mark_of(self.plan, self.settings)


@dataclass(frozen=True, eq=False)
class Pair:
    """Two ways of what is set out, and what they differ in."""

    out: SetOut
    of: str
    ways: tuple[Way, Way]


def offered(out: SetOut) -> list[tuple[str, str]]:
    """What two ways of this drill can differ in, and how it is called."""
    assert out.plan is not None
    plan = out.plan
    return [(of, TITLES[of]) for of in OF if not lacking(of, plan)]


def pair_of(out: SetOut, of: str) -> Pair:
    """Both ways of a drill that is possible as it is set out."""
    assert out.plan is not None
    named = ways(of, settings_of(out.asked), out.plan)
    arcs = HOPS if of == "hops" else (out.asked.hops,) * 2
    one, two = (_way(out, arc, *each) for arc, each in zip(arcs, named, strict=True))
    return Pair(out, of, (one, two))


def _way(out: SetOut, arc: str | None, name: str, settings: Settings) -> Way:
    asked = replace(out.asked, hops=arc)
    plan = out.plan_of(asked)
    card = tape_card(plan, asked.zero, asked.tape)
    return Way(name, plan, card, settings, at_hand(plan, settings))


def shown(pair: Pair) -> str:
    """Both figures with what they measure, as markup."""
    one, two = pair.ways
    assert one.motion is not None
    assert two.motion is not None
    return _shown(
        (one.plan, two.plan), (one.card, two.card), (one.motion, two.motion), (one.name, two.name),
    )  # fmt: skip


@lru_cache(maxsize=8)
def _shown(
    plans: tuple[Plan, Plan],
    cards: tuple[TapeCard, TapeCard],
    motions: tuple[Motion, Motion],
    names: tuple[str, str],
) -> str:
    clips, system = clips_beside(plans, cards, motions), cards[0].system
    rows = [tuple(as_read(cell, system) for cell in row) for row in differences(*motions)]
    return part(
        "pair.html", clips=clips, names=names, rows=rows, speeds=SPEEDS, resting=RESTING,
        which=which_step(motions[0]), computed=COMPUTED, same=plans[0] == plans[1],
    )  # fmt: skip
