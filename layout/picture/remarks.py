"""What is said beside a measured picture: what to mind, what was not read, what the margins are of."""

from __future__ import annotations

from animate.body.body import Body
from layout.picture.measured import Measured
from layout.picture.points import Frame
from layout.picture.signs import signs_of


def warnings_of(frame: Frame, measured: Measured, who: Body, support: str = "") -> list[str]:
    """Signs that a picture measures wrongly, and another leg down than the plan's.

    support: r or l; empty where there is no plan.
    """
    out = list(signs_of(frame, who, measured))
    wanted = {"r": "right", "l": "left"}.get(support, "")
    if wanted and measured.side and measured.side != wanted:
        out.append(
            f"The {measured.side} leg is down in the picture, the {wanted} one in the plan: another "
            "contact, a picture turned left for right, or near and far swapped."
        )
    return out


def remarks(measured: Measured, target: bool = True) -> list[str]:
    """What was not read, what the margins are made of, and what the target is, where there is one."""
    e = measured.errors
    names = [m.label for m in measured.missing]
    missing = [f"Not read for want of points: {', '.join(names)}."] if names else []
    out = [
        *missing,
        f"± holds about 19 times of 20 for errors of {e.click:.3g} pixels in a click, "
        f"{100 * e.joint:g} cm in finding a joint, {100 * e.tape:g} cm in a reading or known length and "
        f"{100 * e.plane:.2g} % in the scale of the plane (one standard deviation each; ours, no "
        "source).",
        "Not in the margin: blur, the moment the picture was taken, and depth. Filmed from 10 m, every "
        "metre the athlete is off the middle of the picture shifts near and far knee by about 2 cm "
        "against each other.",
    ]
    if target:
        out.append(
            "The target is a computed figure of the athlete's stature, not a verdict: hold it beside "
            "what you see."
        )
    return out
