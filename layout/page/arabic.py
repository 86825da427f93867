"""Right-to-left letters in a line that is set from the left: turned round, Arabic ones joined.

What a page needs for a name: no nesting of directions, and the joined forms that Unicode has as
letters of their own (Arabic Presentation Forms-B).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Final

_FORMS: Final = ("isolated", "final", "initial", "medial")
_LAM_ALEF: Final = {"آ": "\ufef5", "أ": "\ufef7", "إ": "\ufef9", "ا": "\ufefb"}
"""Lam before these alefs is one letter, isolated; its final form is the next one."""
_PAIRS: Final = str.maketrans("()[]{}<>«»", ")(][}{><»«")

_CLOSES: Final = {")": "(", "]": "[", "}": "{", "»": "«"}


@lru_cache(maxsize=1)
def _forms() -> dict[str, dict[str, str]]:
    """Forms of each letter, by name."""
    out: dict[str, dict[str, str]] = {}
    for code in (*range(0xFE80, 0xFEF5), *range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFC00)):
        kind, _, base = unicodedata.decomposition(chr(code)).partition(" ")
        if kind.strip("<>") in _FORMS and " " not in base:
            out.setdefault(chr(int(base, 16)), {}).setdefault(kind.strip("<>"), chr(code))
    # The joiner without a width asks its neighbours for the form they have beside a letter.
    return {**out, "\u200d": {"initial": "", "final": ""}}


def is_rtl(letter: str) -> bool:
    """Whether a letter is written from right to left."""
    return unicodedata.bidirectional(letter) in ("R", "AL")


def _joins(letters: list[str], i: int, step: int) -> str:
    """The nearest letter that way, over marks; empty at the end."""
    i += step
    while 0 <= i < len(letters) and unicodedata.bidirectional(letters[i]) == "NSM":
        i += step
    return letters[i] if 0 <= i < len(letters) else ""


def _shaped(letters: list[str]) -> list[str]:
    """Arabic letters in the form their neighbours ask for."""
    forms = _forms()
    out: list[str] = []
    i = 0
    while i < len(letters):
        letter = letters[i]
        own = forms.get(letter, {})
        before, after = _joins(letters, i, -1), _joins(letters, i, 1)
        tied = bool(own) and "initial" in forms.get(before, {})
        if letter == "ل" and i + 1 < len(letters) and letters[i + 1] in _LAM_ALEF:
            pair = _LAM_ALEF[letters[i + 1]]
            out.append(chr(ord(pair) + tied))
            i += 2
            continue
        ties = "initial" in own and "final" in forms.get(after, {})
        kind = _FORMS[tied + 2 * ties]
        out.append(own.get(kind, letter))
        i += 1
    return out


def joined(text: str) -> str:
    """A line with its right-to-left stretches turned round and joined, for setting from the left.

    Returns the same text where nothing in it runs from right to left.

    >>> joined("Imka"), joined("\\u05d0\\u05d1 (2)") == "\\u05d1\\u05d0 (2)"
    ('Imka', True)
    """
    if not any(map(is_rtl, text)):
        return text
    out: list[str] = []
    i = 0
    while i < len(text):
        if not is_rtl(text[i]):
            out.append(text[i])
            i += 1
            continue
        end = i + 1
        for j in range(i + 1, len(text)):
            if is_rtl(text[j]):
                end = j + 1
            elif unicodedata.bidirectional(text[j]) == "L":
                break
        while end < len(text) and _belongs(text[i:end], text[end]):
            end += 1
        out += _turned(_shaped(list(text[i:end])))
        i = end
    return "".join(out)


def _belongs(stretch: str, letter: str) -> bool:
    """Whether a letter goes with the stretch before it: a mark, or the bracket that closes one."""
    if unicodedata.bidirectional(letter) == "NSM":
        return True
    opening = _CLOSES.get(letter, "")
    return bool(opening) and stretch.count(opening) > stretch.count(letter)


def _turned(letters: list[str]) -> list[str]:
    """In reverse, but figures in their own order and marks after their letters."""
    groups: list[str] = []
    for letter in letters:
        kind = unicodedata.bidirectional(letter)
        last = groups[-1][-1:] if groups else ""
        figure = kind in ("EN", "AN") and last.isdigit()
        if groups and (kind == "NSM" or figure):
            groups[-1] += letter
        else:
            groups.append(letter.translate(_PAIRS))
    return groups[::-1]
