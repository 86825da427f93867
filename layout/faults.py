"""What is wrong with an input, as one line a coach can act on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any


def printable(text: str) -> str:
    """A text on one line: what does not print is written out."""
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def shown(value: Any, longest: int = 60) -> str:
    """A value as one short printable line, never with control characters.

    Parameters
    ----------
    value : Any
        Whatever was given.
    longest : int
        Characters kept.

    Returns
    -------
    str

    >>> shown("a\\nb")
    "'a\\\\nb'"
    """
    try:
        text = repr(value) if isinstance(value, str) else str(value)
    except ValueError:  # a whole number of thousands of digits
        text = "a number too long to show"
    text = printable(text)
    return text if len(text) <= longest else text[: longest - 1] + "…"


@dataclass(frozen=True)
class Fault:
    """One thing wrong: the field, the rule it breaks, the value given, the file and line if known.

    Attributes
    ----------
    field, rule : str
    value : Any
        What was given; None where nothing was.
    file : str
        Path as the coach gave it; empty when the value did not come from a file.
    line : int
        1-based; 0 when unknown.
    """

    field: str
    rule: str
    value: Any = None
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = f"{self.file}: " if self.file else ""
        if self.line:
            place = f"{self.file}:{self.line}: " if self.file else f"line {self.line}: "
        given = "" if self.value is None else f", got {shown(self.value)}"
        return printable(f"{place}{self.field}: {self.rule}{given}")


class BadInput(ValueError):
    """Input that cannot be used; carries every fault found, each printed on its own line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))

    def at(self, file: str, line: int = 0) -> BadInput:
        """The same faults, placed in a file where they had no place yet."""
        return BadInput(
            f if f.file else replace(f, file=file, line=f.line or line) for f in self.faults
        )


def refuse(field: str, rule: str, value: Any = None) -> BadInput:
    """A `BadInput` with one fault, ready to raise."""
    return BadInput([Fault(field, rule, value)])
