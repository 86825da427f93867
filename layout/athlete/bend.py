"""A wanted split bent towards what the athlete has shown: no contact is asked for more."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from layout.athlete.carry import (
    SHOWN_MARGIN,
    Form,
    March,
    form_for_target,
    form_of_march,
    with_margin,
)
from layout.athlete.march import Chain, march
from layout.words.trade import MOVES

CLOSE: Final = 0.002
"""Lengths [m] and upward speeds [m/s] this near count as met (ours)."""
_HALVINGS: Final = 7
WHOLE: Final = Chain(MOVES, ("natural",) * len(MOVES), sand=True)


def whole(who: Body, form: Form) -> March:
    """The whole jump that a form makes."""
    return march(who, form, WHOLE, np.array([form.entry]))


def _fits(who: Body, form: Form, lengths: Array, fastest: float) -> bool:
    if form.excess > CLOSE or form.entry > fastest + 1e-9:
        return False
    return np.allclose(whole(who, form).length[:, 0], lengths, atol=CLOSE)


def bent(
    who: Body,
    line: Form,
    wanted: Sequence[float],
    can: Sequence[float],
    slowest: float | None,
    fastest: float,
) -> tuple[Form | None, float]:
    """The form for three phases as near to the wanted ones as the athlete can make them.

    phases = wanted + share (can - wanted), share the least that fits, by 7 halvings; fits: made to
    `CLOSE`, nothing asked beyond what may be, entry no faster than `fastest`.

    Returns the form and the share [-]: 0 where the wanted phases can be made, 1 and no form where only
    the others can. Source: ours; `asked` has an example.

    line: the athlete's; with what may be asked for of it.
    wanted, can: phases of the wanted split, and phases the athlete can make, of one total [m].
    slowest, fastest: bounds of the entry speed [m/s].
    """
    wish, able = np.asarray(wanted, float), np.asarray(can, float)
    free = form_for_target(who, line, tuple(wish), slowest, None if slowest is None else fastest)
    if _fits(who, free, wish, fastest):
        return free, 0.0
    low, high, found = 0.0, 1.0, None
    # Free of bounds, the wanted phases may only have been met too fast: look again inside them.
    for share in (0.0,) * (slowest is None) + (None,) * _HALVINGS:
        share = (low + high) / 2.0 if share is None else share
        lengths = wish + share * (able - wish)
        form = form_for_target(who, line, tuple(lengths), slowest, fastest)
        if _fits(who, form, lengths, fastest):
            found, high = form, share
        else:
            low = share
        if high == 0.0:
            break
    return found, high


def asked(who: Body, shown: Form, target: Sequence[float]) -> tuple[Form, float]:
    """The form behind a target, inside what may be asked for, and the total it makes.

    Where the target asks for more, first its split bends, then its total is as long as can be:
    speed and upward speeds each `SHOWN_MARGIN` above the shown ones. `shown` is from the best jump,
    `target` the hop, step and jump wanted [m]; the total is theirs, or less [m]. Source: ours.

    >>> from animate.body.body import body
    >>> from layout.athlete.carry import form_from_jump
    >>> who = body(1.80, 72.0, "male")
    >>> shown = form_from_jump(who, (5.2, 4.2, 5.0), speed=9.0)
    >>> [round(total, 2) for _, total in (asked(who, shown, (5.3, 4.3, 5.1)), asked(who, shown, (7, 5, 6)))]
    [14.7, 15.75]
    """
    total, fastest = float(sum(target)), with_margin(shown.entry)
    form = form_for_target(who, shown, target)
    if form.excess <= CLOSE and form.entry <= fastest + 1e-9:
        return form, total
    change = np.linspace(-0.7, SHOWN_MARGIN, 81)
    many = march(who, shown, WHOLE, shown.entry * (1.0 + change), 1.0 + change)
    totals = many.total
    reach = min(total, float(totals[-1]))
    share = float(np.interp(reach, totals, change))
    one = march(who, shown, WHOLE, np.array([shown.entry * (1.0 + share)]), 1.0 + share)
    wish = np.asarray(target, float) * reach / total
    found, _ = bent(who, shown, tuple(wish), tuple(one.length[:, 0]), 0.8 * shown.entry, fastest)
    return found or form_of_march(one, shown), reach
