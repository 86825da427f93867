"""A squad's long work, done athlete by athlete beside the desk: figures for later, sheets for all in one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from layout.words.faults import BadInput, Fault, shown

if TYPE_CHECKING:
    from layout.desk.roll import Roll
    from layout.plan.drill import Drill
    from layout.squad.laid import NoMarks
    from layout.squad.pack import Making
    from layout.squad.pack_contents import Chapter
    from layout.squad.roster import Member

Kind = Literal["figures", "sheets"]


@dataclass(frozen=True)
class Round:
    """What is to be done for whom: every figure worked out, or every sheet made.

    asked: the address's part of it.
    left: of whom nothing can be made, and why.
    mark: tells one wish from another: what it is made from.
    """

    kind: Kind
    asked: Roll
    members: tuple[Member, ...]
    drills: tuple[Drill, ...]
    making: Making
    left: tuple[Fault, ...]
    mark: str


@dataclass(frozen=True)
class Told:
    """How far a round is: `done` of `of`, what is under way, and what could not be done.

    state: stale where the book has changed since it was done.
    missed: how many could not be done; `why` has a line of each, or says how many more there are.
    data: the sheets, once they are made.
    """

    state: Literal["working", "stopped", "done", "failed", "stale"]
    done: int = 0
    of: int = 0
    now: str = ""
    why: tuple[str, ...] = ()
    missed: int = 0
    data: bytes = field(default=b"", repr=False)


def round_of(
    kind: Kind,
    asked: Roll,
    members: Sequence[Member],
    drills: Sequence[Drill],
    making: Making,
    left: Sequence[Fault] = (),
) -> Round:
    """A round over a squad and its drills."""
    from layout.squad.work import fingerprint

    made_from = (kind, [m.athlete for m in members], tuple(drills), making, [str(f) for f in left])
    mark = fingerprint(*made_from)
    return Round(kind, asked, tuple(members), tuple(drills), making, tuple(left), mark)


def failed(error: Exception) -> Told:
    """A round that a fault of the program ended."""
    kind = f"{type(error).__name__}: {shown(error)}"
    return Told("failed", why=(f"a fault of the program, not of yours ({kind})",))


class Doing:
    """A round in the process that does it, one athlete's drill after the other.

    What was stopped is begun again; motions that were found are on the disk, so that those are not.
    """

    def __init__(self, wish: Round) -> None:
        from layout.squad.batch import closed_in

        self.wish = wish
        shut: dict[str, dict[int, NoMarks]] = {}
        for drill in wish.drills:
            how = self._making(drill)
            shut |= closed_in(wish.members, [drill], how.on, how.choices)
        self.pieces = [
            (member, drill)
            for i, member in enumerate(wish.members)
            for drill in wish.drills
            if i not in shut[drill.slug]
        ]
        self.shut = [(slug, why) for slug, rows in shut.items() for why in rows.values()]
        self.faults: list[Fault] = list(wish.left)
        self.bare: list[Fault] = []  # Sheets without positions, though these were wanted
        self.chapters: list[Chapter] = []
        self.done = 0

    def _making(self, drill: Drill) -> Making:
        """How one drill is made: with what it has a place for of what is changed for all."""
        from layout.squad.batch import choices_for

        how = self.wish.making
        return replace(how, choices=choices_for(drill, how.choices))

    def told(self) -> Told:
        """How far it is."""
        of = len(self.pieces) + (self.wish.kind == "sheets")
        now = "putting the sheets together"
        if self.done < len(self.pieces):
            member, drill = self.pieces[self.done]
            now = f"{member.athlete.name}, {drill.title}"
        missed = [*self.faults, *self.bare]
        return Told("working", self.done, of, now, BadInput(missed).told(), len(missed))

    def step(self, stop: Callable[[], bool]) -> Told:
        """Do the next piece; `Stopped` where `stop` is true before its motion is found."""
        if self.done < len(self.pieces):
            (self._sheet if self.wish.kind == "sheets" else self._figure)(stop)
            self.done += 1
            if self.done < len(self.pieces) or self.wish.kind == "sheets":
                return self.told()
        data = self._pack() if self.wish.kind == "sheets" and self.chapters else b""
        last = self.told()
        return replace(last, state="done", done=last.of, now="", data=data)

    def _figure(self, stop: Callable[[], bool]) -> None:
        from layout.moving.solved import moved
        from layout.squad.batch import planned
        from layout.squad.work import caught

        member, drill = self.pieces[self.done]
        how, why = self._making(drill), list[Fault]()
        plans, faults = planned(member, [drill], how.venue, how.on, how.choices)
        for plan in plans.values():
            faults += caught(lambda: why.extend(moved(plan, stop=stop)[2]), member, drill.slug)  # noqa: B023
        name = f"{member.athlete.name}, {drill.slug}"
        self.faults += [*faults, *(replace(f, field=f"{name}: {f.field}") for f in why)]

    def _sheet(self, stop: Callable[[], bool]) -> None:
        from layout.squad.pack import athlete_work

        member, drill = self.pieces[self.done]
        made = athlete_work(member, [drill], self._making(drill), stop)
        self.faults += made.faults
        self.chapters += made.more
        name = f"{member.athlete.name}, {drill.slug}"
        if self.wish.making.figures:
            self.bare += [Fault(name, c.lacking.rstrip(".")) for c in made.more if c.lacking]

    def _pack(self) -> bytes:
        from layout.squad.pack import pack_pdf, titled
        from layout.squad.squad_words import closed_faults

        wish = self.wish
        title, facts = titled(wish.members, wish.drills, self.wish.making)
        told = [*self.faults, *closed_faults(wish.drills, self.shut)]
        return pack_pdf(self.chapters, told, self.wish.making, title, facts)
