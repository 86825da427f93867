"""A drill of the club's own as a form: what its run asks is computed, and a coach may only ask for more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

from layout.athlete.fields import toml_line
from layout.book.own import own_of, text_of
from layout.book.store import Book
from layout.desk.club import entry_of, put_entry, put_lines, sure
from layout.desk.form import beside, by_field, known_only, lines_of, mark_of, refuse_changed
from layout.desk.venue_form import slug_of
from layout.plan.drill import MOST_MOVES, MOST_STRIDES, YOUNGEST, Drill, catalogue, drills_from
from layout.rules.demand import Demand, demand_of
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import counted, same
from layout.words.reading import read_count, table_of
from layout.words.trade import ARC_WORDS, LEVELS, MOVES

ROWS: Final = 4
"""Phases a new drill has room for; more come by a tap."""
STANDING: Final = "stand"
FULL: Final = "full"
TEXTS: Final = ("points", "faults", "cautions")
"""Fields of a text a line."""
FIELDS: Final = (
    "title", "job", "phases", "cycles", "run", "lead", "ends", "finish", "board", "hurdle", "youngest",
    "level", "intensity", "dose", *TEXTS,
)  # fmt: skip
"""What a fault may stand beside, in the form's order."""
_BESIDE: Final = {"arcs": "phases", "start": "run", "strides": "run", "full": "run"}
_PLAIN: Final = ("title", "job", "lead", "ends", "finish", "level", "intensity")
_USUAL: Final = {"lead": "strong", "finish": "run on"}

RUNS: Final = (
    (STANDING, "from standing"), *((f"{n}", counted(n, "stride")) for n in range(1, MOST_STRIDES + 1)),
    (FULL, "the athlete’s full run-up"),
)  # fmt: skip
"""Run-ups as they are sent and read."""


def _names() -> Iterator[str]:
    for i in range(MOST_MOVES):
        yield from (f"m{i}", f"a{i}", f"h{i}")
    for level in LEVELS:
        yield from (f"sets-{level}", f"runs-{level}", f"height-{level}")


NAMES: Final = frozenset(
    (*_PLAIN, *TEXTS, "cycles", "run", "board", "place", "youngest", *_names())
)
"""Every field of the form as it is sent."""


class Seen(NamedTuple):
    """The form as a page shows it: values, rows of phases, faults by field, and what the run asks."""

    values: Mapping[str, str]
    rows: int
    wrong: Mapping[str, str]
    other: list[str]
    asks: str


def values_of(drill: Drill) -> dict[str, str]:
    """What a form about a drill begins with; what its run asks anyway is left empty."""
    least = _least(drill.moves, drill.cycles, _strides(_run_of(drill)), drill.ends, drill.hurdle)
    out = {name: getattr(drill, name) for name in ("title", "job", "lead", "ends", "finish")}
    for i, (move, arc) in enumerate(zip(drill.moves, drill.arcs, strict=True)):
        out |= {f"m{i}": move, f"a{i}": arc}
    if drill.hurdle is not None:
        out |= {f"h{i}": "on" for i in drill.hurdle.under} | {"place": drill.hurdle.place}
        out |= {f"height-{n}": f"{h}" for n, h in zip(LEVELS, drill.hurdle.heights, strict=True)}
    for level, (sets, runs) in zip(LEVELS, drill.dose, strict=True):
        out |= {f"sets-{level}": f"{sets}", f"runs-{level}": f"{runs}"}
    out |= {name: "\n".join(getattr(drill, name)) for name in TEXTS}
    more = {
        "youngest": (drill.youngest, max(YOUNGEST, least.youngest)),
        "level": (drill.level, least.level), "intensity": (drill.intensity, least.intensity),
    }  # fmt: skip
    out |= {name: f"{now}" for name, (now, own) in more.items() if now != own}
    return out | {
        "cycles": f"{drill.cycles}", "run": _run_of(drill), "board": "on" if drill.board else "",
    }  # fmt: skip


def begun_from(drill: Drill) -> dict[str, str]:
    """A new form with another drill's values, but its name; a lesser age than usual is asked for anew."""
    values = values_of(drill)
    if drill.youngest < YOUNGEST:
        del values["youngest"]
    return values | {"title": ""}


def _run_of(drill: Drill) -> str:
    return FULL if drill.full else STANDING if drill.start == "stand" else f"{drill.strides}"


def _strides(run: str) -> int:
    if run in (STANDING, ""):
        return 0
    return MOST_STRIDES if run == FULL else read_count("run", run, 1, MOST_STRIDES)


def _least(moves: Any, cycles: int, strides: int, ends: str, hurdle: Any) -> Demand:
    over = (hurdle if isinstance(hurdle, str) or hurdle is None else hurdle.place) == "over"
    return demand_of([*moves] * cycles, strides, ends == "track", over)


def asks(values: Mapping[str, str]) -> str:
    """What the run of a form asks of whoever does it, in words; empty where it has no phases yet."""
    table = table_from(values)
    moves = [m for m in table["phases"] if m in MOVES]
    try:
        cycles = read_count("cycles", values.get("cycles") or "1", 1, 12)
        strides = _strides(values.get("run", ""))
    except BadInput:
        return ""
    if not moves:
        return ""
    least = _least(moves, cycles, strides, values.get("ends", ""), values.get("place", ""))
    years = max(YOUNGEST, least.youngest)
    why = (
        f"its run holds {least.why}"
        if years == least.youngest
        else f"unless you say from {least.youngest}"
    )
    level = "any level" if least.level == LEVELS[0] else f"{least.level} level"
    return f"From {years} years ({why}), {level}, intensity {least.intensity}."


def _rows(values: Mapping[str, str]) -> int:
    used = [i for i in range(MOST_MOVES) if values.get(f"m{i}")]
    asked = int(values["rows"]) if values.get("rows", "").isdecimal() else ROWS
    more = 1 if values.get("more") else 0
    return min(MOST_MOVES, max(ROWS, asked, *(i + 1 for i in used), 0) + more)


def seen(values: Mapping[str, str], faults: tuple[Fault, ...] = ()) -> Seen:
    """The form for a page, each fault beside its field."""
    wrong, other = by_field(faults, FIELDS, _field)
    told = {name: "; ".join(map(beside, found)) for name, found in wrong.items()}
    shown = {**dict.fromkeys(NAMES, ""), **values}
    return Seen(shown, _rows(values), {**dict.fromkeys(FIELDS, ""), **told}, other, asks(values))


def _field(name: str) -> str:
    parts = name.split(".")
    name = parts[2] if parts[0] == "drill" and len(parts) > 2 else parts[0]
    return _BESIDE.get(name, name)


# --- as a file ------------------------------------------------------------------------------------


def table_from(values: Mapping[str, str]) -> dict[str, Any]:
    """What a file holds of a form; what is usual is left out."""
    rows = [i for i in range(MOST_MOVES) if values.get(f"m{i}")]
    run = values.get("run", "")
    table: dict[str, Any] = {name: values[name] for name in ("title", "job") if values.get(name)}
    table["phases"] = [values[f"m{i}"] for i in rows]
    table["arcs"] = [values.get(f"a{i}") or ARC_WORDS[1] for i in rows]
    table["cycles"] = _whole(values.get("cycles") or "1")
    if run == FULL:
        table |= {"start": "run", "full": True}
    elif run.isdecimal():
        table |= {"start": "run", "strides": _whole(run)}
    else:
        table["start"] = run
    table |= {n: values[n] for n in ("lead", "ends", "finish") if values.get(n)}
    table |= {"board": True} if values.get("board") else {}
    under = [n for n, i in enumerate(rows) if values.get(f"h{i}")]
    if values.get("place") or under:
        heights = {n: _whole(values.get(f"height-{n}", "")) for n in LEVELS}
        table["hurdle"] = {"place": values.get("place", ""), "under": under, **heights}
    table |= {n: values[n] for n in ("level", "intensity") if values.get(n)}
    table |= {"youngest": _whole(values["youngest"])} if values.get("youngest") else {}
    table["dose"] = {
        n: [_whole(values.get(f"{what}-{n}", "")) for what in ("sets", "runs")] for n in LEVELS
    }
    table |= {n: values[n].split("\n") for n in TEXTS if values.get(n)}
    return {n: v for n, v in table.items() if _USUAL.get(n) != v and (n, v) != ("cycles", 1)}


def _whole(text: str) -> Any:
    return int(text) if text.isdecimal() and len(text) < 9 else text


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{n} = {_toml(v)}" for n, v in value.items()) + " }"
    if isinstance(value, list) and any(len(str(v)) > 20 for v in value):
        return "[\n" + "".join(f"  {_toml(v)},\n" for v in value) + "]"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return toml_line("", value).removeprefix(" = ")


def text_with(before: str, name: str, values: Mapping[str, str]) -> str:
    """A drill's file with the form's values in it; everything else stays as it stands."""
    after = table_from(values)
    if not before:
        lines = [f"[drill.{name}]", *(f"{n} = {_toml(v)}" for n, v in after.items())]
        return sure("\n".join(lines) + "\n", {"drill": {name: after}})
    table = table_of(before, "drill")
    was = table_from(values_of(drills_from(table, "drill", before)[name]))
    changed = {n: after.get(n) for n in {**was, **after} if was.get(n) != after.get(n)}
    head, top, below = entry_of(before)
    put = {n: None if v is None else f"{n} = {_toml(v)}" for n, v in changed.items()}
    top = put_lines(top, put)
    wanted = {n: v for n, v in {**table["drill"][name], **changed}.items() if v is not None}
    text = "\n".join([*head, *top, *below]) + "\n"
    return sure(text, {"drill": {name: wanted}})


# --- kept -----------------------------------------------------------------------------------------


def own_drill(book: Book, slug: str) -> tuple[str, Drill | None]:
    """An own drill's mark and what it is; nothing where it is a new one."""
    if not slug:
        return mark_of(""), None
    text = text_of(book, "drill", slug)
    return mark_of(text), drills_from(table_of(text, "drill"), "", text)[slug]


def keep(book: Book, slug: str, given: Mapping[str, str]) -> str:
    """Keep a drill as the form says; `slug` is empty for a new one. Returns its slug.

    Refused with every fault; where it was changed meanwhile, or its name is another's.
    """
    values = read_form(given)
    before = text_of(book, "drill", slug) if slug else ""
    if slug:
        refuse_changed("drill", given, mark_of(before), slug)
    own = own_of(book).drills
    known = {**catalogue(), **own}
    name = slug or _free(slug_of(values.get("title", ""), "own-drill"), own)
    faults: list[Fault] = []
    taken = {same(d.title) for s, d in known.items() if s != slug}
    if name in catalogue() or same(values.get("title", "")) in taken:
        faults.append(
            Fault("title", "is the name of a drill already; give yours another", values["title"])
        )
    put_entry(book, f"drill.{name}", lambda: text_with(before, name, values), faults)
    return name


def _free(name: str, own: Mapping[str, Drill]) -> str:
    """A short name that no other own drill has: another title may make the same."""
    tried = (f"{name}-{n}" if n > 1 else name for n in range(1, len(own) + 2))
    return next(t for t in tried if t not in own)


def read_form(given: Mapping[str, str]) -> dict[str, str]:
    """The fields of the form; a text a line keeps its lines."""
    known_only(given, {*NAMES, "d", "was", "rows", "more", "look"})
    values = lines_of(given, NAMES - {*TEXTS})
    for name in TEXTS:
        rows = [" ".join(row.split()) for row in given.get(name, "").splitlines()]
        values[name] = "\n".join(row for row in rows if row)
        if len(values[name]) > 4000:
            raise refuse(name, "is too long")
    return {n: v for n, v in values.items() if v}
