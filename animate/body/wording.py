"""How numbers are set in type: a true minus, a multiplication sign, a dash for nothing."""

from __future__ import annotations

from typing import Final

MINUS: Final = "\N{MINUS SIGN}"
TIMES: Final = "\N{MULTIPLICATION SIGN}"
NOTHING: Final = "\N{EN DASH}"


def typeset(text: str) -> str:
    """A number's text with a true minus sign.

    >>> typeset("-12") == MINUS + "12"
    True
    """
    return text.replace("-", MINUS)
