"""What is wrong with an input, as one line a coach can act on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any


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
    text = repr(value) if isinstance(value, str) else str(value)
    text = "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)
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
        place = f"{shown_path(self.file)}:{self.line}: " if self.line else ""
        place = place or (f"{shown_path(self.file)}: " if self.file else "")
        given = "" if self.value is None else f", got {shown(self.value)}"
        return f"{place}{self.field}: {self.rule}{given}"


def shown_path(path: str) -> str:
    """A path as one printable line."""
    return "".join(c if c.isprintable() else "?" for c in path)


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
