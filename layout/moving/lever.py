"""The free leg as a lever, for one athlete: a table to read and a small plot to look at."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from animate.body import Body
from animate.swing_table import HIP_MOMENT_PER_MASS, lever_curves, lever_table
from animate.themes import theme

KEPT = (40, 60, 80, 90, 110, 130, 150)
"""Knee bends shown [deg]."""


def lever_lines(who: Body) -> list[str]:
    """The lever table as text for a small screen.

    Parameters
    ----------
    who : Body

    Returns
    -------
    list of str
    """
    out = [
        "FREE LEG AS A LEVER, by knee bend (0 = straight), at equal hip moment",
        "  bend  inertia  swing up  knee gap      thigh high     lift of",
        "        kg m2    s         at same time  before leaving body",
    ]
    for row in lever_table(who):
        bend = round(np.degrees(row.knee_bend))
        if bend not in KEPT:
            continue
        late = "late by" if row.late > 0 else "early by"
        out.append(
            f"  {bend:>3}°  {row.inertia:>6.2f}  {row.time:>7.3f}  {100 * row.gap_same_time:>9.1f} cm  "
            f"{late:>9} {1000 * abs(row.late):>3.0f} ms  {100 * row.lift:>5.1f} cm"
        )
    out += [
        "  A longer lever swings up slower, is further behind at the same time and carries more.",
        f"  Computed; the hip moment, {HIP_MOMENT_PER_MASS:g} N m per kg of body, is ours, no source:",
        "  all times move with it, their order does not.",
    ]
    return out


def _style(axes: Any, colour: str) -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=colour, alpha=0.25, linewidth=0.6)
    axes.tick_params(labelsize=10)


def lever_plot(who: Body, kind: str, grey: bool = False) -> bytes:
    """The trade as two curves over knee bend: time to swing up, and knee gap at the same time.

    Parameters
    ----------
    who : Body
    kind : {"svg", "png", "pdf"}
    grey : bool

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        Another kind.
    """
    if kind not in ("svg", "png", "pdf"):
        raise ValueError(f"kind: svg, png or pdf, got {kind!r}")
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    look = theme("print-grey" if grey else "light")
    near, far, quiet = (
        tuple(c / 255 for c in look.colours[role]) for role in ("left", "right", "quiet")
    )
    bends = np.radians(np.arange(35.0, 151.0))
    curves = lever_curves(who, bends)
    x = np.degrees(bends)
    out = io.BytesIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "phasemark"}):
        made = Figure(figsize=(8.4, 3.4), layout="constrained")
        FigureCanvasAgg(made)
        left, right = made.subplots(1, 2)
        left.plot(x, curves["time"], color=near, linewidth=2.2)
        left.plot(x, curves["time_flat"], color=quiet, linewidth=1.2, linestyle="--")
        left.annotate("without gravity", (x[8], curves["time_flat"][8]), (4, 6),
                      textcoords="offset points", fontsize=9, color=quiet)  # fmt: skip
        left.set_title("Slower: swing from touchdown to level [s]", fontsize=11, loc="left")
        right.plot(x, 100 * curves["gap_same_time"], color=far, linewidth=2.2)
        right.plot(x, 100 * curves["gap_same_angle"], color=quiet, linewidth=1.2, linestyle="--")
        right.annotate("at the same thigh angles", (x[60], 100 * curves["gap_same_angle"][60]),
                       (0, 5), textcoords="offset points", fontsize=9, color=quiet)  # fmt: skip
        right.set_title("Further behind: knee gap at the same time [cm]", fontsize=11, loc="left")
        for axes in (left, right):
            axes.set_xlabel("knee bend [°]; long lever left, short lever right", fontsize=10)
            _style(axes, "#666666")
        facts = {"Date": None} if kind == "svg" else {"CreationDate": None} if kind == "pdf" else {}
        made.savefig(out, format=kind, dpi=150, metadata=facts)
    return out.getvalue()
