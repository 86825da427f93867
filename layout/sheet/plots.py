"""Plots for those who would rather look than read: lengths, speed and height, lever."""

from __future__ import annotations

import io
from collections.abc import Mapping
from itertools import pairwise
from typing import Any, Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.body.swing_table import lever_curves
from animate.film.themes import theme
from animate.motion.motion import Motion
from animate.refused import Refused
from layout.plan.value import Plan
from layout.words.feet import FOOT
from layout.words.trade import MOVES
from layout.words.units import System, show_length

PLOT_KINDS: Final = ("svg", "png", "pdf")
STEP_LINE: Final = 0.30
"""Share of the total that a step is often compared with [-] (common practice, no source)."""
POINTS: Final = 400
"""Instants a curve is drawn through (ours)."""
HATCH: Final = "////"
PATHS: Final[Mapping[str, Any]] = {"svg.fonttype": "path", "pdf.fonttype": 42}
"""Letters as outlines in SVG, embedded whole in PDF."""
WIDE: Final = 8.4
"""Width of a plot [in]."""


def colours_of(grey: bool) -> dict[str, tuple[float, float, float]]:
    """Colours of the roles, 0 to 1, light or grey."""
    look = theme("print-grey" if grey else "light")
    return {role: (r / 255, g / 255, b / 255) for role, (r, g, b) in look.colours.items()}


def saved(figure: Any, kind: str, letters: Mapping[str, Any] = PATHS) -> bytes:
    """A plot as a file's bytes, the same each time; `letters` says how they are kept.

    Raises
    ------
    ValueError
        A kind that is not in PLOT_KINDS.
    """
    import matplotlib

    if kind not in PLOT_KINDS:
        raise Refused("kind", ", ".join(PLOT_KINDS), f"{kind!r}")
    out = io.BytesIO()
    # No date inside, so that the same plot is the same file.
    facts = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(kind, {})
    style: dict[Any, Any] = {"svg.hashsalt": "phasemark", **letters}
    with matplotlib.rc_context(style):
        figure.savefig(out, format=kind, dpi=150, metadata=facts)
    return out.getvalue()


def blank(high: float) -> Any:
    """An empty plot of the house's width and the given height [in]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    made = Figure(figsize=(WIDE, high), layout="constrained")
    FigureCanvasAgg(made)
    return made


def plain(axes: Any) -> None:
    """Give axes the house's look: two spines, a light grid, letters that can be read."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color="#666666", alpha=0.25, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=10)


def named(plan: Plan) -> str:
    """Whose plot it is, and of what drill."""
    return f"{plan.who.name}: {plan.title}"


def lost_letters(name: str) -> list[str]:
    """What to say of letters of a name that no font has for a plot; nothing where all are there."""
    from layout.page.letters import fonts_for, missing_line

    lost = missing_line(fonts_for([(name, False)]), "plots")
    return [f"  ! {lost}"] if lost else []


def _title(figure: Any, name: str, text: str) -> None:
    import textwrap

    from layout.sheet.printed import families

    # A name may hold $ or \\: nothing here is mathematics.
    lines = [name, text] if name else [text]
    said = "\n".join(one for line in lines for one in textwrap.wrap(line, 76))
    figure.suptitle(
        said, fontsize=11, ha="left", x=0.01, parse_math=False, fontfamily=families(said)
    )


def jumped(plan: Plan) -> tuple[float, ...]:
    """Lengths of the best jump, phase by phase [m]; empty where they are not known."""
    if not plan.gaps:
        return ()
    return tuple(f.length - gap for f, gap in zip(plan.flights, plan.gaps, strict=True))


def split_plot(plan: Plan, kind: str = "svg", grey: bool = False, system: System = "cm") -> bytes:
    """Each phase's share of the total as bars, target beside jumped, with the step's 30 % line.

    Parameters
    ----------
    plan : Plan
    kind : {"svg", "png", "pdf"}
    grey : bool

    Raises
    ------
    ValueError
        Another kind.
    """
    colours, best = colours_of(grey), jumped(plan)
    made = blank(3.6)
    axes = made.subplots()
    target = tuple(f.length for f in plan.flights)
    places = np.arange(len(target), dtype=float)
    sets = [("target" if not plan.forecast else "plan (a forecast)", target, colours["near"], "")]
    if best:
        sets.append(("best jump", best, colours["far"], HATCH))
    wide = 0.8 / len(sets)
    for i, (name, lengths, colour, hatch) in enumerate(sets):
        at = places + (i - (len(sets) - 1) / 2.0) * wide
        shares = 100.0 * np.array(lengths) / sum(lengths)
        axes.bar(at, shares, wide * 0.92, label=f"{name}, {show_length(sum(lengths), system)}", color=colour,
                 edgecolor=colours["near"], hatch=hatch, linewidth=0.8)  # fmt: skip
        for x, length, share in zip(at, lengths, shares, strict=True):
            box = {"facecolor": colours["paper"], "edgecolor": "none", "pad": 1.5}
            axes.text(x, 1.5, f"{show_length(length, system)}\n{share:.1f} %", ha="center", va="bottom",
                      fontsize=9, color=colours["text"], bbox=box)  # fmt: skip
    moves = tuple(f.phase for f in plan.flights)
    if moves == MOVES and plan.ends == "sand":
        axes.axhline(100.0 * STEP_LINE, color=colours["measure"], linewidth=1.4, linestyle="--")
        axes.annotate("a step of 30 %\n(common practice,\nno source)", (len(moves) - 0.55, 30.0), (0, 3),
                      textcoords="offset points", fontsize=9, color=colours["measure"])  # fmt: skip
        axes.set_xlim(-0.6, len(moves) + 0.1)
    axes.set_xticks(places, moves)
    axes.set_ylim(0.0, 1.25 * max(100.0 * max(v) / sum(v) for _, v, *_ in sets))
    axes.set_ylabel("share of the total [%]", fontsize=10)
    axes.legend(fontsize=9, loc="upper left", frameon=False, ncols=2)
    plain(axes)
    _title(
        made,
        named(plan),
        "Lengths, phase by phase, and their shares: computed by Phasemark but for a best",
    )
    return saved(made, kind)


def along(plan: Plan, motion: Motion | None = None) -> tuple[Array, Array, Array]:
    """Speed and height of the body's centre along the run.

    Parameters
    ----------
    plan : Plan
    motion : Motion, optional
        Of that plan; without it flights are parabolas and contacts straight lines.

    Returns
    -------
    tuple of ndarray (n,)
        x [m], horizontal speed [m/s], height [m].
    """
    if motion is not None:
        # As far as the last touchdown: what follows in the sand is not the jump.
        times = np.linspace(0.0, float(motion.touchdowns[-1]), POINTS)
        frames = motion.frames(times)
        return frames.com[:, 0], frames.com_velocity[:, 0], frames.com[:, 1]
    rows = []
    for f in plan.flights:
        t = np.linspace(0.0, f.time, 40)
        z = f.start_z + f.vy * t - GRAVITY * t * t / 2.0
        rows.append(np.stack([f.start_x + f.vx * t, np.full(t.shape, f.vx), z]))
    x, speed, height = np.concatenate(rows, axis=1)
    return x, speed, height


def run_plot(
    plan: Plan,
    motion: Motion | None = None,
    kind: str = "svg",
    grey: bool = False,
    system: System = "cm",
) -> bytes:
    """Speed over height along the run, the contacts named between them.

    Parameters
    ----------
    plan : Plan
    motion : Motion, optional
    kind : {"svg", "png", "pdf"}
    grey : bool

    Raises
    ------
    ValueError
        Another kind.
    """
    colours = colours_of(grey)
    x, speed, height = along(plan, motion)
    unit, one = ("ft", FOOT) if system == "ft" else ("m", 1.0)
    made = blank(4.8)
    upper, lower = made.subplots(2, 1, sharex=True)
    for axes, values, role, name in (
        (upper, speed, "near", f"speed forward [{unit}/s]"),
        (lower, height, "measure", f"height [{unit}]"),
    ):
        for contact in plan.contacts:
            axes.axvline(contact.x / one, color=colours["quiet"], linewidth=0.8, linestyle=":")
        axes.plot(x / one, values / one, color=colours[role], linewidth=2.0)
        axes.set_ylabel(name, fontsize=10)
        plain(axes)
    for first, second in pairwise(plan.contacts):
        upper.annotate(first.leave, ((first.x + second.x) / 2.0 / one, 1.0), (0, 3), ha="center",
                       xycoords=("data", "axes fraction"), textcoords="offset points", fontsize=9,
                       color=colours["quiet"])  # fmt: skip
    for flight in plan.flights:
        inside = np.flatnonzero((x >= flight.start_x) & (x <= flight.end_x))
        # The curve's own highest point: a solved body leaves the ground a little higher or lower.
        top = inside[int(np.argmax(height[inside]))]
        lower.annotate(show_length(float(height[top]), system).removesuffix(" m"),
                       (x[top] / one, height[top] / one), (0, 4), ha="center",
                       textcoords="offset points", fontsize=9, color=colours["text"])  # fmt: skip
    lower.margins(y=0.2)
    lower.set_xlabel(
        f"along the runway from the first contact [{unit}]; dotted: toe marks", fontsize=10
    )
    whose = (
        "of the solved motion" if motion is not None else "of the plan, contacts as straight lines"
    )
    _title(
        made,
        named(plan),
        f"Speed and height of the body's centre, {whose}: computed by Phasemark, not measured",
    )
    return saved(made, kind)


def lever_plot(
    who: Body, kind: str, grey: bool = False, name: str = "", system: System = "cm"
) -> bytes:
    """The trade as two curves over knee bend: time to swing up, and knee gap at the same time.

    Parameters
    ----------
    who : Body
    kind : {"svg", "png", "pdf"}
    grey : bool
    name : str
        Whose it is.

    Raises
    ------
    ValueError
        Another kind.
    """
    colours = colours_of(grey)
    near, far, quiet = (colours[role] for role in ("left", "right", "quiet"))
    bends = np.radians(np.arange(35.0, 151.0))
    curves = lever_curves(who, bends)
    x = np.degrees(bends)
    unit, one = ("in", FOOT / 12.0) if system == "ft" else ("cm", 0.01)
    made = blank(4.0)
    left, right = made.subplots(1, 2)
    left.plot(x, curves["time"], color=near, linewidth=2.2)
    left.plot(x, curves["time_flat"], color=quiet, linewidth=1.2, linestyle="--")
    left.annotate("without gravity", (x[8], curves["time_flat"][8]), (4, 6),
                  textcoords="offset points", fontsize=9, color=quiet)  # fmt: skip
    left.set_title("Slower: swing from touchdown to level [s]", fontsize=11, loc="left")
    right.plot(x, curves["gap_same_time"] / one, color=far, linewidth=2.2)
    right.plot(x, curves["gap_same_angle"] / one, color=quiet, linewidth=1.2, linestyle="--")
    right.annotate("at the same thigh angles", (x[60], curves["gap_same_angle"][60] / one),
                   (0, 5), textcoords="offset points", fontsize=9, color=quiet)  # fmt: skip
    right.set_title(f"Further behind: knee gap at the same time [{unit}]", fontsize=11, loc="left")
    for axes in (left, right):
        axes.set_xlabel("knee bend [°], long to short lever; computed by Phasemark", fontsize=10)
        plain(axes)
        axes.set_axisbelow("line")
    _title(
        made,
        name,
        "The free leg as a lever: computed by Phasemark; whether a longer one pays is an open question",
    )
    return saved(made, kind, {"svg.fonttype": "none"})
