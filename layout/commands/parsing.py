"""The parser of a command line: words and options in any order, faults on one line."""

from __future__ import annotations

import argparse
import difflib
import re
from collections.abc import Callable
from typing import Any, Final, NoReturn

from layout.words.faults import clipped

GONE: Final = ("--unchecked", "--solve", "--jumped")
"""Options of earlier versions."""
PLAIN_WORDS: Final = (
    (r"argument (--[^ :]+): expected .*", r"\1: needs a value; with a minus in front: \1=-5"),
    (r"argument (\S+): not allowed with argument (\S+)", r"\1: cannot go with \2"),
    (r"unrecognized arguments: (?:.* )?--jumped\b.*", "--jumped: it is called --best-phases now"),
    (rf"unrecognized arguments: (?:.* )?({'|'.join(GONE)})\b.*",
     r"\1: leave it out; every motion is worked out and every hurdle checked"),
    (r"unrecognized arguments: ", "unknown: "),
    (r"the following arguments are required: ", "missing: "),
)  # fmt: skip
"""What the parser says, and what a coach says."""


class OneLine(argparse.ArgumentParser):
    """A parser whose errors are one line, with the nearest known word.

    Words and options may come in any order.
    """

    fill: Callable[[OneLine], None] | None = None
    """What puts in its options, when they are first needed."""
    _mixing = False

    def known(self) -> list[argparse.Action]:
        """Its words and options."""
        fill, self.fill = self.fill, None
        if fill is not None:
            fill(self)
        return self._actions

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse what is known; argparse by itself wants all words side by side."""
        whole = (argparse.PARSER, argparse.REMAINDER)
        if self._mixing or any(a.nargs in whole for a in self.known()):
            return super().parse_known_args(args, namespace)
        self._mixing = True
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self._mixing = False

    def _get_values(self, action: argparse.Action, arg_strings: list[str]) -> Any:
        """Keep `--weeks=--` a value to be refused; argparse drops the dashes and hands on a list."""
        if action.option_strings and arg_strings == ["--"]:
            return "--"
        return super()._get_values(action, arg_strings)

    def print_help(self, file: Any = None) -> None:
        """Tell its help; argparse's own writing of it depends on the Python that runs it."""
        from layout.commands.streams import tell

        tell(self.format_help())

    def error(self, message: str) -> NoReturn:
        """Print one line and leave with exit code 2."""
        known = [o for a in self._actions for o in a.option_strings]
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                known += list(action.choices)
                for room in action.choices.values():
                    known += [o for a in room.known() for o in a.option_strings]
        # What argparse quotes or lists last is the word it did not know.
        tail = message.partition("arguments: ")[2].split()
        words = [*re.findall(r"invalid choice: '([^']*)'", message), *tail[:20]]
        words = [w[:60] for w in words if not w.startswith(GONE)]
        close = [c for w in words for c in difflib.get_close_matches(w, known, 1, 0.6)]
        hint = f"; did you mean {close[0]}?" if close and close[0] not in words else ""
        message = message.partition(" (choose from")[0]
        for said, plain in PLAIN_WORDS:
            message = re.sub(said, plain, message)
        line = clipped("".join(c if c.isprintable() else "?" for c in message[:2000]), 300)
        self.exit(2, f"phasemark: {line}{hint} (help: {self.prog} --help)\n")
