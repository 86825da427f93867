"""Advance widths of DejaVu Sans in thousandths of an em, for laying text out without a font file.

Measured once from the font (Bitstream Vera licence with public-domain changes): U+0020 to U+007E,
then U+00A0 to U+017F. Other characters are taken as wide as an em.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

_REGULAR: Final = """
318 401 460 838 636 950 780 275 390 390 500 838 318 361 318 337 636 636 636 636 636 636 636
636 636 636 337 337 838 838 838 531 1000 684 686 698 770 632 575 775 752 295 295 656 557 863
748 787 603 787 695 635 611 732 684 989 685 611 685 390 337 390 838 500 500 613 635 550 635
615 352 635 634 278 278 579 278 974 634 612 635 635 411 521 392 634 592 818 592 592 525 636
337 636 838 318 401 636 636 636 636 337 500 500 1000 471 612 838 361 1000 500 500 838 401
401 500 636 636 318 500 401 471 612 969 969 969 531 684 684 684 684 684 684 974 698 632 632
632 632 295 295 295 295 775 748 787 787 787 787 787 838 787 732 732 732 732 611 605 630 613
613 613 613 613 613 982 550 615 615 615 615 278 278 278 278 612 634 612 612 612 612 612 838
612 634 634 634 634 592 635 592 684 613 684 613 684 613 698 550 698 550 698 550 698 550 770
635 775 635 632 615 632 615 632 615 632 615 632 615 775 635 775 635 775 635 775 635 752 634
916 695 295 278 295 278 295 278 295 278 295 278 590 556 295 278 656 579 579 557 278 557 278
557 375 557 342 562 284 748 634 748 634 748 634 813 748 634 787 612 787 612 787 612 1070
1023 695 411 695 411 695 411 635 521 635 521 635 521 635 521 611 392 611 392 611 392 732 634
732 634 732 634 732 634 732 634 732 634 989 818 611 592 611 685 525 685 525 685 525 352
"""
_BOLD: Final = """
348 456 521 838 696 1002 872 306 457 457 523 838 380 415 380 365 696 696 696 696 696 696 696
696 696 696 400 400 838 838 838 580 1000 774 762 734 830 683 683 821 837 372 372 775 637 995
837 850 733 850 770 720 682 812 774 1103 771 724 725 457 365 457 838 500 500 675 716 593 716
678 435 716 712 343 343 665 343 1042 712 687 716 716 493 595 478 712 652 924 645 652 582 712
365 712 838 348 456 696 696 636 696 365 500 500 1000 564 646 838 415 1000 500 500 838 438
438 500 736 636 380 500 438 564 646 1035 1035 1035 580 774 774 774 774 774 774 1085 734 683
683 683 683 372 372 372 372 838 837 850 850 850 850 850 838 850 812 812 812 812 724 738 719
675 675 675 675 675 675 1048 593 678 678 678 678 343 343 343 343 687 712 687 687 687 687 687
838 687 712 712 712 712 652 716 652 774 675 774 675 774 675 734 593 734 593 734 593 734 593
830 716 838 716 683 678 683 678 683 678 683 678 683 678 821 716 821 716 821 716 821 716 837
712 974 790 372 343 372 343 372 343 372 343 372 343 744 686 372 343 775 665 665 637 343 637
343 637 479 637 557 642 371 837 712 837 712 837 712 983 837 712 850 687 850 687 850 687 1167
1094 770 493 770 493 770 493 720 595 720 595 720 595 720 595 682 478 682 478 682 478 812 712
812 712 812 712 812 712 812 712 812 712 1103 924 724 652 724 725 582 725 582 725 582 435
"""


class _Widths(dict[str, float]):
    """By letter [em]; a letter that is not known is as wide as an em."""

    def __missing__(self, letter: str) -> float:
        return 1.0


def _table(text: str) -> _Widths:
    points = [*range(0x20, 0x7F), *range(0xA0, 0x180)]
    return _Widths({chr(p): int(w) / 1000.0 for p, w in zip(points, text.split(), strict=True)})


_FIGURE: Final = re.compile(r"(\S*\d (cm|m|m/s|s|in|ft/s|%|years)|\S*\d' \d+[¼½¾]?\")[.,;:)]*")
_WIDTHS: Final = {False: _table(_REGULAR), True: _table(_BOLD)}


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text [mm].

    size: of the em [mm].
    """
    return size * sum(map(_WIDTHS[bold].__getitem__, text))


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """A text folded into lines no wider than `width` [mm]; a word longer than that is broken.

    size, width: [mm].
    No character is lost but the spaces at the breaks.
    """
    return list(_folded(text, size, width, bold))


@lru_cache(maxsize=4096)
def _folded(text: str, size: float, width: float, bold: bool) -> tuple[str, ...]:
    words: list[str] = []
    for word in text.split():
        # A figure and its unit stay together.
        both = f"{words[-1]} {word}" if words else word
        if _FIGURE.fullmatch(both) and text_width(both, size, bold) <= width:
            words[-1] = both
        else:
            words.append(word)
    lines, line = [], ""
    for word in words:
        trial = f"{line} {word}" if line else word
        if text_width(trial, size, bold) <= width:
            line = trial
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold) > width and len(word) > 1:
            keep = len(word) - 1
            while keep > 1 and text_width(word[:keep], size, bold) > width:
                keep -= 1
            lines.append(word[:keep])
            word = word[keep:]
        line = word
    return (*lines, line) if line else tuple(lines)
