"""The options of each command; kept apart so that --help needs nothing else."""

from __future__ import annotations

import argparse
from typing import Final

EPILOGS: Final = {
    "plan": """\
examples:
  phasemark plan --list
  phasemark plan --read two-hops-step-track
  phasemark plan tevin.toml full-triple-jump
  phasemark plan bram.toml two-hops-step-sand --hops low --strides 6 --zero pit
  phasemark plan sefa.toml short-triple-jump --length 38-6 --tape ft
  phasemark plan hop-step-sand --name Ada --stature 1.70 --mass 58 --leg left --target 11.20
next: phasemark draw, with the same words and --to FILE.svg
""",
    "draw": """\
examples:
  phasemark draw tevin.toml full-triple-jump --to tevin.svg
  phasemark draw bram.toml two-hops-step-sand --to bram.pdf --scale 1:50 --paper A3
  phasemark draw plan.json --to plan.png
The scale is exact and printed; print PDF and SVG at 100 %, and check the bar with a ruler.
""",
    "film": """\
examples:
  phasemark film imka.toml hop-step-sand --to imka.gif
  phasemark film imka.toml hop-step-sand --to imka.svg --slow 6 --camera follow
  phasemark film imka.toml hop-step-sand --still strip --to strip.svg
  phasemark film imka.toml hop-step-sand --knee-gap 40cm --knee-bend 90 --to apart.gif
The first clip of an athlete and drill is solved, which takes up to a minute; after that it is kept.
.svg opens in any browser; .mp4 and .webm want the extra: pip install "phasemark[video]"
""",
    "compare": """\
examples:
  phasemark compare imka.toml hop-step-sand --of knees
  phasemark compare imka.toml hop-step-sand --of lever --to lever.svg --plot trade.png
knees: closer and further apart at the step contact; lever: free leg long and short;
hops: low and natural; arms: alternate and together.
""",
    "demo": """\
examples:
  phasemark demo
  phasemark demo my-folder --overwrite
next: open one of the drawings, then phasemark plan with a file of your own athlete.
""",
}
_BIRTH: Final = "year of birth, for the youth limits"


def add(room: argparse.ArgumentParser, command: str) -> None:
    """Give a command its options."""
    if command == "demo":
        room.add_argument("folder", nargs="?", default="phasemark-demo", help="where to put it")
        _writing(room)
        return
    room.add_argument(
        "words",
        nargs="*",
        metavar="ATHLETE DRILL",
        help="athlete file (.toml) and drill name; or a saved plan (.json)",
    )
    if command in ("film", "compare"):
        _moving(room, command)
    elif command == "plan":
        room.add_argument("--list", action="store_true", help="list the drills")
        room.add_argument("--read", metavar="DRILL", help="read one drill: points, faults, dose")
        room.add_argument("--json", action="store_true", help="print the plan as JSON")
        room.add_argument("--save", metavar="FILE", help="keep the plan as a .json file")
        room.add_argument(
            "--more", action="store_true", help="also speeds, forces, sources, best split"
        )
    else:
        room.add_argument("--to", metavar="FILE", help="drawing to write: .svg, .pdf or .png")
        room.add_argument("--scale", help="1:50, 1:100 or 1:200; the largest that fits if left out")
        room.add_argument("--paper", default="A4", help="A4, A3, Letter, Legal or Tabloid (A4)")
        room.add_argument("--upright", action="store_true", help="paper upright instead of across")
        room.add_argument("--grey", action="store_true", help="for a printer without colour")
    _drill(room)
    _tape(room)
    _athlete(room)
    _writing(room)


def _moving(room: argparse.ArgumentParser, command: str) -> None:
    kinds = ".gif, .svg, .png, .mp4 or .webm"
    room.add_argument("--to", metavar="FILE", help=f"file to write: {kinds}")
    room.add_argument("--grey", action="store_true", help="for print without colour")
    if command == "compare":
        room.add_argument("--of", default="knees", help="knees, lever, hops or arms (knees)")
        room.add_argument("--plot", metavar="FILE", help="with --of lever: the trade as a plot")
    else:
        room.add_argument("--slow", default="4", metavar="N", help="times slower than life (4)")
        room.add_argument("--camera", default="both", help="both, fixed or follow (both)")
        room.add_argument("--still", default="no", help="strip or trail: a still instead of a clip")
    box = room.add_argument_group("positions at the step contact; the model's own if left out")
    box.add_argument("--knee-gap", metavar="L", help="free knee behind the support knee: 40cm")
    box.add_argument("--knee-bend", metavar="DEG", help="free knee's bend, 0 straight: 90")
    box.add_argument("--thigh", metavar="DEG", help="free thigh in the step flight, 0 level: -5")
    box.add_argument("--thigh-held", metavar="S", help="seconds it is held: 0.1")
    box.add_argument("--trunk", metavar="DEG", help="trunk, 0 upright, minus forward: -3")
    box.add_argument("--arms", default="alternate", help="alternate or together (alternate)")


def _drill(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the drill")
    box.add_argument("--drills", metavar="FILE", help="your own drills, as TOML")
    box.add_argument("--venue", default="club", help="venue name or your own TOML (club)")
    box.add_argument("--strides", metavar="N", help="strides of approach")
    box.add_argument("--hops", metavar="ARC", help="low, natural or high hops")
    box.add_argument("--cycles", metavar="N", help="how often the moves repeat")
    box.add_argument("--length", metavar="L", help="wanted length, first contact to last")
    box.add_argument("--lead", metavar="LEG", help="right or left: leg of the first contact")
    box.add_argument("--board-at", metavar="L", help="take-off line to pit")
    box.add_argument("--hurdle", metavar="L", help="hurdle height, such as 15 cm")
    box.add_argument("--on", metavar="DATE", help="day it is for, as 2026-11-25 (today)")


def _tape(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the tape")
    box.add_argument(
        "--zero", default="board", help="where the tape's zero is: board, start or pit"
    )
    box.add_argument("--tape", default="cm", metavar="UNIT", help="cm or ft")
    box.add_argument("--tape-step", metavar="L", help="round readings to this, such as 5 cm")


def _athlete(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the athlete, instead of a file or over it")
    box.add_argument("--name", help="name")
    box.add_argument("--stature", metavar="L", help="standing height, such as 1.75 or 5-9")
    box.add_argument("--mass", metavar="KG", help="body mass in kilograms")
    box.add_argument("--leg", help="take-off leg: right or left")
    box.add_argument("--target", metavar="L", help="target total, such as 12.50 or 41-0 1/4")
    box.add_argument(
        "--split", help="35:30:35, distances, or balanced, hop-dominated, jump-dominated"
    )
    box.add_argument("--best", metavar="L", help="best total")
    box.add_argument(
        "--jumped", metavar="SPLIT", help="split of the best, such as 4.30/3.50/4.10 m"
    )
    box.add_argument("--born", metavar="YEAR", help=_BIRTH)
    box.add_argument("--build", help="male, female or average")
    box.add_argument("--level", help="beginner, intermediate or advanced")
    box.add_argument("--speed", metavar="V", help="timed speed at the board, m/s or km/h")
    box.add_argument("--full-strides", metavar="N", help="strides of the full approach")


def _writing(room: argparse.ArgumentParser) -> None:
    room.add_argument("--overwrite", action="store_true", help="replace files that exist")
