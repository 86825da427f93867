"""The command line: parse, hand on, and turn every fault into one line and exit code 2."""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import signal
import sys
from collections.abc import Sequence
from functools import partial
from typing import Final

from layout.commands.parsing import OneLine
from layout.words.faults import BadInput, Fault, refuse, shown

COMMANDS: Final[dict[str, tuple[str, str]]] = {
    "desk": (
        "the coach's whole day in the browser: athlete, drill, runway, tape card, print",
        "desk_",
    ),
    "plan": ("spacings and tape card of a drill for one athlete; --list shows the drills", "plan_"),
    "draw": ("the same plan as a true-scale drawing: SVG, PDF or PNG", "draw_"),
    "film": ("the athlete in motion through the drill, as a clip or a still", "film_"),
    "compare": ("two ways side by side, or your own picture beside the target", "compare_"),
    "squad": ("one runway for many: shared marks, lanes, one tape card, one drawing", "squad_"),
    "ladder": ("where an athlete stands, a block of weeks, the load of a session", "ladder_"),
    "book": ("what was planned and jumped, kept in one private file for the club", "book_"),
    "handout": (
        "a sheet to print for an athlete: drawing, positions, tape card, targets",
        "handout_",
    ),
    "demo": ("plans, tape cards and drawings of the demo club, Marram Point", "demo_"),
}
EXAMPLES: Final = """\
examples:
  phasemark desk
  phasemark demo
  phasemark plan --list
  phasemark plan tevin.toml full-triple-jump
  phasemark plan hop-step-sand --name Ada --born 2008 --stature 1.70 --mass 58 --leg left --target 11.20
  phasemark draw tevin.toml full-triple-jump --to tevin.svg
  phasemark film imka.toml short-triple-jump --to imka.gif
  phasemark handout tevin.toml full-triple-jump --to tevin.html
  phasemark squad club.csv hop-step-sand --venue marram-point
  phasemark ladder imka.toml --at sand-six --hit 4/5 --sound quiet
  phasemark book new marram.book

Plans are advice for a coach who is there: warm up, mind surface, age and load,
stop on pain.
Each command has its own help: phasemark plan --help
"""


def parser() -> OneLine:
    """The whole command line; each command's own options are filled in when they are first needed."""
    top = OneLine(
        prog="phasemark",
        description="Plan, set out, show and follow triple-jump drills.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="store_true", help="print the version and leave")
    rooms = top.add_subparsers(
        dest="command", metavar="COMMAND", parser_class=OneLine, title="commands"
    )
    for name, (summary, _) in COMMANDS.items():
        room: OneLine = rooms.add_parser(name, help=summary, allow_abbrev=False)
        room.fill = partial(_fill, name)
    return top


def _fill(name: str, room: OneLine) -> None:
    from layout.commands import options, uses

    summary = COMMANDS[name][0]
    room.description, room.epilog = f"{summary[0].upper()}{summary[1:]}.", options.EPILOGS[name]
    room.formatter_class = argparse.RawDescriptionHelpFormatter
    options.add(room, name)
    uses.set_apart(room, name)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command: 0 done, 2 bad input or an output that cannot be written, 130 interrupted,
    128 and the signal's number where one stopped it."""
    from layout.commands.streams import Gone, complain, ready_streams, silence, stoppable

    ready_streams()
    # Matrices here are small: threads to share them out over cost more than they save.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(100_000, 20, 20)  # hardly a circle to find: looking is an eighth of a clip
    try:
        with stoppable():
            return _run(sys.argv[1:] if arguments is None else list(arguments))
    except BadInput as error:
        for line in error.told():
            complain(line)
        return 2
    except KeyboardInterrupt as error:
        complain("stopped")
        return 128 + getattr(error, "number", signal.SIGINT)
    except Gone:
        silence()
        return 0
    except Exception as error:
        if os.environ.get("PHASEMARK_TRACE"):
            raise
        if isinstance(error, OSError) and error.strerror:
            # The system refuses; whatever it is, it is not this program's fault.
            complain(str(Fault(_place_of(error), error.strerror)))
            return 2
        kind = type(error).__name__
        fault = Fault("phasemark", f"a fault of the program, not of yours ({kind}: {shown(error)})")
        complain(f"{fault}; PHASEMARK_TRACE=1 shows where")
        return 1


def _place_of(error: OSError) -> str:
    name = error.filename
    return os.fsdecode(name) if isinstance(name, str | bytes) and name else "the system refused"


def _say(text: str) -> None:
    from layout.commands.streams import tell

    tell(text)


def _run(words: list[str]) -> int:
    if any("\0" in word for word in words):
        raise refuse("words", "no NUL allowed", next(w for w in words if "\0" in w))
    top = parser()
    given = top.parse_args(words)
    if given.version:
        from layout import __version__

        _say(f"phasemark {__version__}\n")
        return 0
    if not given.command:
        _say(top.format_help())
        return 0
    from layout.commands.uses import completed, refuse_own_input, refuse_unused

    given = completed(given)
    refuse_unused(given)
    refuse_own_input(given)
    room = importlib.import_module(f"layout.commands.{COMMANDS[given.command][1]}")
    code = room.run(given)
    _say("")
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
