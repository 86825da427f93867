"""`phasemark book list`: what the book holds."""

from __future__ import annotations

import argparse
import dataclasses
import itertools
import json
import shlex
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Final, NamedTuple

from layout.book import entry, rows
from layout.book.correct import plain
from layout.book.people import Member, find_member, members
from layout.book.sound import opened
from layout.book.store import Book, privacy_warning
from layout.commands.book_add import phases_text, shown_in
from layout.commands.output import say
from layout.commands.streams import tell
from layout.commands.text import columns, counted, folded, widest
from layout.rules.wind import LEGAL_WIND, assisted
from layout.season import totals
from layout.words.dates import read_day
from layout.words.faults import refuse
from layout.words.reading import read_count
from layout.words.units import System, show_length

EPILOGS: Final = {
    "list": """\
examples:
  phasemark book list marram.book
  phasemark book list marram.book runa --drill hop-step-sand --last 50
  phasemark book list marram.book --sums
  phasemark book list marram.book runa --by-week
  phasemark book list marram.book --by-session
  phasemark book list marram.book --plans
  phasemark book list marram.book imka --pictures
  phasemark book list marram.book --corrections
  phasemark book list marram.book --athletes
"""
}
USAGE: Final = """phasemark book list [-h] [--sums | --by-week | --by-session | --plans |
                           --pictures | --corrections | --athletes]
                           [--drill DRILL] [--since DATE] [--until DATE]
                           [--last N] [--struck] [--tape UNIT] [--json]
                           CLUB.book [athlete]"""
"""The parser would not break the list of alternatives."""
LAST: Final = 20


class View(NamedTuple):
    """One way to list: its help, what it finds, and the columns of each thing found."""

    help: str
    find: Callable[[Book, int | None], Sequence[Any]] = lambda _book, _who: ()
    row: Callable[[Any], tuple[str, ...]] = lambda _thing: ()
    right: frozenset[int] = frozenset()
    head: tuple[tuple[str, ...], ...] = ()


def _members(book: Book, who: int | None) -> list[Member]:
    return [m for m in members(book) if who in (None, m.id)]


def _changes(book: Book, who: int | None) -> list[Any]:
    from layout.book.correct import changes
    from layout.book.pictures import pictures

    found = changes(book)
    if who is not None:
        own = {("attempt", a.id) for a in rows.attempts(book, who, struck=True)}
        own |= {("picture", p.id) for p in pictures(book, who, struck=True)}
        found = [c for c in found if (c.room, c.row) in own | {("athlete", who)}]
    if not found:
        raise refuse("corrections", "none were made")
    return found


def _pictures(book: Book, who: int | None) -> list[Any]:
    from layout.book.pictures import pictures

    return pictures(book, who)


def _picture_row(kept: Any) -> tuple[str, ...]:
    from layout.book.pictures import short_of

    return (
        f"{kept.id}", kept.day, kept.name, kept.kind, kept.drill or " ", kept.instant,
        short_of(kept.measures),
    )  # fmt: skip


WEEK: Final = "week of", "sessions", "runs", "contacts", "most in one session of one athlete"
VIEWS: Final = {
    "sums": View("best and mean by athlete and drill"),
    "by_week": View(
        "ground contacts by week", totals.weeks,
        lambda w: (w.monday, f"{w.sessions}", f"{w.runs}", f"{w.contacts}", f"{w.hardest}"),
        frozenset({1, 2, 3}), (WEEK,)),
    "by_session": View(
        "days and places, with their notes", totals.sessions,
        lambda d: (d.day, d.place, d.kinds.replace(",", ", ") or "not known",
                   counted(d.athletes, "athlete"), counted(d.runs, "run"),
                   counted(d.contacts, "contact"), d.note or " "),
        frozenset({3, 4, 5})),
    "plans": View(
        "plans kept", totals.plans,
        lambda p: (f"{p.id}", p.day, p.athlete, p.drill, counted(p.attempts, "attempt"))),
    "pictures": View("what was measured on pictures", _pictures, _picture_row),
    "corrections": View(
        "every value that was changed, and what it was", _changes,
        lambda c: (c.at[:16].replace("T", " "), f"{c.room} {c.row}", c.field,
                   f"{plain(c.before, c.field)} -> {plain(c.after, c.field)}")),
    "athletes": View(
        "who is in the book", _members,
        lambda m: (m.name, f"born {m.born}" if m.born else "", m.leg or "", m.level or " ")),
}  # fmt: skip


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of the word."""
    room.usage = USAGE
    room.add_argument("athlete", nargs="?", help="name, or its beginning; everybody if left out")
    what = room.add_mutually_exclusive_group()
    for name, view in VIEWS.items():
        what.add_argument(f"--{name.replace('_', '-')}", action="store_true", help=view.help)
    room.add_argument("--drill", help="only this drill")
    room.add_argument("--since", metavar="DATE", help="from this day on")
    room.add_argument("--until", metavar="DATE", help="up to this day")
    room.add_argument("--last", metavar="N", help=f"so many of the latest ({LAST})")
    room.add_argument("--struck", action="store_true", help="also attempts struck out")
    room.add_argument("--tape", metavar="UNIT", help="show in cm or ft (cm)")
    room.add_argument("--json", action="store_true", help="print as JSON")


def run(given: argparse.Namespace) -> int:
    """Print what was asked for."""
    system = shown_in(given.tape, given.json)
    _usable(given)
    with opened(given.book) as book:
        who = find_member(book, given.athlete).id if given.athlete else None
        if given.json and not any(getattr(given, view) for view in VIEWS):
            _print_json({**k._asdict(), "official": k.official} for k in _chosen(book, given, who))
            return 0
        if not any(getattr(given, view) for view in VIEWS):
            found, lines = _attempts(book, given, who, system)
        else:
            found, lines = _asked(book, given, who, system)
    if given.json:
        _print_json(dataclasses.asdict(f) for f in found)
        return 0
    file = shlex.quote(str(given.book))
    nothing = [f"nothing here yet; next: phasemark book add {file} NAME DRILL READINGS"]
    if out := [*(lines if found else nothing), *privacy_warning(given.book, book.unfinished)]:
        say(out)
    return 0


def _print_json(rows: Iterable[dict[str, Any]]) -> None:
    """A list as JSON, a thousand rows at a time: there may be a hundred thousand."""
    sign, parts = "[", []
    for row in rows:
        text = json.dumps(row, ensure_ascii=False, indent=1).replace("\n", "\n ")
        parts.append(f"{sign}\n {text}")
        sign = ","
        if len(parts) == 1000:
            tell("".join(parts))
            parts.clear()
    tell("".join(parts) + ("[]\n" if sign == "[" else "\n]\n"))


def _usable(given: argparse.Namespace) -> None:
    """Refuse what the view asked for would pass over."""
    view = next((v for v in VIEWS if getattr(given, v)), None)
    if view is None:
        return
    tape = () if view == "sums" else ("tape",)
    for name in ("drill", "since", "until", "last", "struck", *tape):
        value = getattr(given, name)
        if value not in (None, False):
            rule = f"has no meaning with --{view.replace('_', '-')}"
            raise refuse(f"--{name}", rule, None if value is True else value)


def _asked(
    book: Book, given: argparse.Namespace, who: int | None, system: System
) -> tuple[Sequence[Any], list[str]]:
    """What was found, and the same as lines."""
    if given.sums:
        wrong = totals.looks_wrong(book, who)
        sums = totals.sums(book, who, wrong)
        return sums, [*_sums_text(sums, system), *_wrong_text(wrong)]
    view = next(view for name, view in VIEWS.items() if getattr(given, name))
    found = view.find(book, who)
    lines = [*view.head, *map(view.row, found)] if found else []
    return found, columns(lines, view.right) if lines else []


def _chosen(book: Book, given: argparse.Namespace, who: int | None) -> Iterator[rows.Attempt]:
    """The attempts asked for."""
    since = read_day("--since", given.since).isoformat() if given.since else None
    until = read_day("--until", given.until).isoformat() if given.until else None
    if since and until and since > until:
        raise refuse("--until", f"must be a day from {since} on", until)
    return rows.each_attempt(
        book,
        who,
        drill=entry.find_slug(book, given.drill) if given.drill else None,
        since=since,
        until=until,
        last=read_count("--last", given.last, 1, 10_000_000) if given.last else LAST,
        struck=given.struck,
    )


def _attempts(
    book: Book, given: argparse.Namespace, who: int | None, system: System
) -> tuple[Sequence[Any], list[str]]:
    """Print the attempts, a thousand at a time; returns whether there were any, and the last lines.

    They are read twice, at one moment of the book: once for the columns' widths, once to print.
    """
    seen: Counter[str] = Counter()

    def table() -> Iterator[tuple[str, ...]]:
        seen.clear()
        for kept in _chosen(book, given, who):
            seen.update(all=1, unsaid=kept.kind is None, assisted=assisted(kept.wind))
            more = phases_text(kept, system)
            more += f", {kept.speed:.2f} m/s" if kept.speed is not None else ""
            more += f"; {kept.note}" if kept.note else ""
            more += " [struck out]" if kept.struck else ""
            yield f"{kept.id}", kept.day, kept.athlete, kept.drill, more

    with rows.one_moment(book.db):
        wide, again = widest(table()), table()
        while part := list(itertools.islice(again, 1000)):
            say(columns(part, frozenset({0}), wide))
    lines = []
    if unsaid := seen["unsaid"]:
        some = f"{unsaid} of these {'does' if unsaid == 1 else 'do'} not say"
        of = "None of these says" if unsaid == seen["all"] else some
        lines.append(f"    {of} whether it was training or competition (--kind)")
    if seen["assisted"]:
        lines.append(f"    w: wind-assisted, over +{LEGAL_WIND}")
    return range(seen["all"]), lines


def _sums_text(sums: Sequence[totals.Sum], system: System) -> list[str]:
    def metres(value: float | None) -> str:
        return "" if value is None else show_length(value, system)

    def best(s: totals.Sum) -> str:
        if s.best == s.best_legal:
            return metres(s.best)
        return f"{metres(s.best)} w, legal {metres(s.best_legal) or 'none'}"

    head = ("athlete", "drill", "runs", "measured", "fouls", "best", "mean", "days")
    body = [
        (s.athlete, s.drill, f"{s.attempts}", f"{s.measured}", f"{s.fouls}", best(s),
         metres(s.mean), f"{s.first} to {s.last}" if s.first != s.last else s.first)
        for s in sums
    ]  # fmt: skip
    lines = columns([head, *body], frozenset({2, 3, 4, 5, 6}))
    if any(s.best != s.best_legal for s in sums):
        lines.append(
            f"    w: wind-assisted, over +{LEGAL_WIND}; no wind written down counts as legal"
        )
    return lines


def _wrong_text(wrong: Sequence[int], most: int = 10) -> list[str]:
    if not wrong:
        return []
    ids = ", ".join(map(str, wrong[:most])) + (" ..." if len(wrong) > most else "")
    word = "looks wrong and is" if len(wrong) == 1 else "look wrong and are"
    return folded(
        f"{counted(len(wrong), 'attempt')} {word} left out of best and mean: {ids}; phasemark book "
        "season says why", "    ! ", "      ",
    )  # fmt: skip
