"""The options of each command; kept apart so that --help needs nothing else."""

from __future__ import annotations

import argparse
from typing import Final

from layout.athlete.athlete import Athlete
from layout.athlete.fields import fields_of
from layout.rules.rule import rule

EPILOGS: Final = {
    "plan": """\
examples:
  phasemark plan --list
  phasemark plan --read two-hops-step-track
  phasemark plan tevin.toml full-triple-jump
  phasemark plan bram.toml two-hops-step-sand --hops low --strides 6 --zero pit
  phasemark plan sefa.toml short-triple-jump --length 38-6 --tape ft
  phasemark plan hop-step-sand --name Ada --born 2008 --stature 1.70 --mass 58 --leg left --target 11.20
Hurdles are checked against the athlete's own motion, which takes seconds to a
minute the first time and is then kept; --unchecked does not wait, and says that
nobody has looked.
next: phasemark draw, with the same words and --to FILE.svg
""",
    "draw": """\
examples:
  phasemark draw tevin.toml full-triple-jump --to tevin.svg
  phasemark draw bram.toml two-hops-step-sand --to bram.pdf --scale 1:50 --paper A3
  phasemark draw plan.json --to plan.png
The scale is exact and printed; print PDF and SVG at 100 %, and check the bar
with a ruler.
""",
    "film": """\
examples:
  phasemark film imka.toml short-triple-jump --to imka.gif
  phasemark film imka.toml short-triple-jump --to imka.svg --slow 6 --camera follow
  phasemark film imka.toml short-triple-jump --still strip --to strip.svg
  phasemark film imka.toml hop-step-sand --knee-gap 40cm --free-knee 90 --to apart.gif
The first clip of an athlete and drill is solved, which takes seconds to a
minute; after that it is kept.
.svg opens in any browser; .mp4 and .webm want the extra:
pip install "phasemark[video]"
""",
    "compare": """\
examples:
  phasemark compare imka.toml short-triple-jump --of knees
  phasemark compare imka.toml short-triple-jump --of lever --plot trade.png
  phasemark compare imka.toml short-triple-jump --measured imka-step.csv
knees: closer and further apart at the step contact; lever: free leg long and
short; hops: low and natural; arms: alternate and together.
measured: your own side-view picture against the target figure, as .svg, .png or
.pdf. A table with the columns point, x, y, value: hip and, with near or far
before them, knee, ankle, heel, toe (also shoulder, head, elbow, wrist) in
pixels, y down; two marks on the runway with their readings.
""",
    "ladder": """\
examples:
  phasemark ladder --list
  phasemark ladder imka.toml
  phasemark ladder imka.toml --at sand-six --hit 4/5 --sound quiet
  phasemark ladder bram.toml --at track-low --hit 1/6 --weeks 2 --days mon,thu
  phasemark ladder tevin.toml --session "hop-step-sand:3x4, hop-step-hold:2x3"
hit: runs with every mark met, of all runs; sound: the loudest contact that
came more than once.
next: phasemark plan, with the rung's drill and version
""",
    "book": """\
examples:
  phasemark book new marram.book
words, each with its own help (phasemark book add --help):
  new      make an empty book, which only you can read
  keep     take in an athlete file, a saved plan, or just a name
  add      put down one attempt, from tape readings of any zero
  correct  change an attempt or strike it out; the earlier values are kept
  list     what was jumped, sums, load by week, plans, corrections
  season   what the book tells back: phases, load, next rung, best split
  fit      the athlete's own figures, as lines of the athlete file
  in, out  plain tables: one that you filled, or the whole book
  check    is the file sound, private and consistent?
  erase    take one athlete out for good
next: phasemark book keep marram.book ATHLETE.toml
""",
    "squad": """\
examples:
  phasemark squad club.csv two-hops-step-track --venue track
  phasemark squad . hop-step-sand --sets 3 --tolerance 12cm --weigh step=2
  phasemark squad club.csv two-hops-step-sand --to set-out.svg --grey
  phasemark squad club.csv --drills hop-step-sand,two-hops-step-sand --to season
FILE is a table (CSV) with the fields of an athlete file as its columns, and
weight, how much an athlete counts (1); or a folder of athlete files. A line
that begins with # above the titles is a remark. With --drills and --to a
folder, everybody's own drawings are made as well; run the same again to go on
where it stopped.
""",
    "handout": """\
examples:
  phasemark handout tevin.toml full-triple-jump --to tevin.pdf
  phasemark handout imka.toml hop-step-sand --to imka.pdf --paper Letter --across --grey
  phasemark handout imka.toml hop-step-sand --to imka.svg --scale 1:50
  phasemark handout plan.json --to plan.pdf --no-figure
  phasemark handout tevin.toml full-triple-jump --to tevin.html
  phasemark handout imka.toml short-triple-jump --plots plots
  phasemark handout club.csv short-triple-jump,hop-step-sand --to club.pdf
  phasemark handout . full-triple-jump --to to-send
  phasemark handout imka.toml short-triple-jump --poster still --paper A3 --to poster.pdf
  phasemark handout imka.toml short-triple-jump --poster clip --to poster.gif
A squad is a table or a folder of athlete files, as for phasemark squad; --to
names one PDF for all, or a folder with a PDF and a page for the phone for
each. The drawing is to scale and never shrinks: what does not fit a page goes
to the next one. The first sheet of an athlete and drill is solved, which takes
seconds to a minute; then it is kept.
""",
    "demo": """\
examples:
  phasemark demo
  phasemark demo my-folder --overwrite
next: open one of the drawings, then phasemark plan with a file of your own
athlete.
""",
}


def add(room: argparse.ArgumentParser, command: str) -> None:
    """Give a command its options."""
    if command == "demo":
        room.add_argument("folder", nargs="?", default="phasemark-demo", help="where to put it")
        _writing(room)
        return
    if command == "squad":
        _squad(room)
        return
    if command == "ladder":
        _ladder(room)
        _athlete(room)
        return
    if command == "book":
        room.add_argument("word", nargs="?", help="what to do; see below")
        room.add_argument(
            "rest", nargs=argparse.REMAINDER, help="the book, and what the word needs"
        )
        return
    room.add_argument(
        "words",
        nargs="*",
        metavar="ATHLETE DRILL",
        help="athlete file (.toml) and drill name; or a saved plan (.json)",
    )
    if command in ("film", "compare"):
        _moving(room, command)
    elif command == "handout":
        _handout(room)
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
    if command in ("plan", "draw"):
        room.add_argument(
            "--unchecked", action="store_true", help="do not wait to check hurdles for clearance"
        )
    _drill(room)
    _tape(room)
    _athlete(room)
    _writing(room)


def _squad(room: argparse.ArgumentParser) -> None:
    room.add_argument("words", nargs="*", metavar="FILE DRILL", help="squad, and a drill's name")
    room.add_argument("--json", action="store_true", help="print the set-out as JSON")
    room.add_argument("--to", metavar="PATH", help="drawing to write; with --drills, a folder")
    room.add_argument("--drills", metavar="A,B,C", help="several drills, for a folder of drawings")
    room.add_argument("--drill-file", metavar="FILE", help="your own drills, as TOML")
    room.add_argument("--cores", metavar="N", help="processes for a folder (all cores)")
    box = room.add_argument_group("sharing marks")
    box.add_argument("--sets", metavar="K", help="shared sets; else as few as the tolerance allows")
    box.add_argument(
        "--tolerance",
        metavar="L",
        default=f"{100 * rule('shared_mark'):g} cm",
        help="most a mark may be off a phase: 12cm or 5%% (%(default)s)",
    )
    box.add_argument("--weigh", metavar="MOVES", help="what counts more, such as step=2,jump=0.5")
    box.add_argument("--venue", default="club", help="venue name or your own TOML (club)")
    box.add_argument("--strides", metavar="N", help="strides of approach")
    box.add_argument("--hops", metavar="ARC", help="low, natural or high hops")
    box.add_argument("--cycles", metavar="N", help="how often the phases repeat")
    box.add_argument("--board-at", metavar="L", help="take-off line to pit")
    box.add_argument("--hurdle", metavar="L", help="hurdle height, such as 15 cm")
    box.add_argument("--on", metavar="DATE", help="day it is for, as 2026-11-25 (today)")
    _despite(box)
    box = room.add_argument_group("tape and paper")
    box.add_argument("--tape", default="cm", metavar="UNIT", help="cm or ft")
    box.add_argument("--tape-step", metavar="L", help="round readings to this, such as 5 cm")
    box.add_argument("--scale", help="1:50, 1:100 or 1:200; the largest that fits if left out")
    box.add_argument("--paper", help="A4, A3, Letter, Legal or Tabloid; else A4 or A3, as it fits")
    box.add_argument("--upright", action="store_true", help="paper upright instead of across")
    box.add_argument("--grey", action="store_true", help="for a printer without colour")
    _writing(room)
    room.set_defaults(length=None, split=None, lead=None)


def _moving(room: argparse.ArgumentParser, command: str) -> None:
    kinds = ".gif, .svg, .png, .mp4 or .webm"
    room.add_argument("--to", metavar="FILE", help=f"file to write: {kinds}")
    room.add_argument("--grey", action="store_true", help="for print without colour")
    if command == "compare":
        room.add_argument("--of", default="knees", help="knees, lever, hops or arms (knees)")
        room.add_argument("--plot", metavar="FILE", help="with --of lever: the trade as a plot")
        room.add_argument("--measured", metavar="FILE", help="points clicked on a picture, as CSV")
        room.add_argument("--json", action="store_true", help="with --measured: print as JSON")
    else:
        room.add_argument("--slow", default="4", metavar="N", help="times slower than life (4)")
        room.add_argument("--camera", default="both", help="both, fixed or follow (both)")
        room.add_argument("--still", default="no", help="strip or trail: a still instead of a clip")
    box = room.add_argument_group("positions at the step contact; the model's own if left out")
    box.add_argument("--knee-gap", metavar="L", help="free knee behind the support knee: 40cm")
    box.add_argument("--free-knee", metavar="DEG", help="free knee, 180 straight: 90")
    box.add_argument(
        "--free-thigh", metavar="DEG", help="free thigh in the step flight, minus below level: -5"
    )
    box.add_argument("--thigh-held", metavar="S", help="seconds it is held: 0.1")
    box.add_argument("--trunk", metavar="DEG", help="trunk lean, 0 upright, plus forward: 3")
    box.add_argument("--arms", default="alternate", help="alternate or together (alternate)")


def _ladder(room: argparse.ArgumentParser) -> None:
    room.add_argument("words", nargs="*", metavar="ATHLETE", help="athlete file (.toml)")
    room.add_argument("--list", action="store_true", help="list the rungs")
    room.add_argument("--session", metavar="DRILLS", help="load of a session: NAME:SETSxRUNS, ...")
    room.add_argument("--json", action="store_true", help="print it as JSON")
    room.add_argument("--ladder", metavar="FILE", help="your own ladder, as TOML")
    room.add_argument(
        "--drill-file", metavar="FILE", help="your own drills, for --ladder or --session"
    )
    room.add_argument("--venue", default="club", help="venue name or your own TOML (club)")
    box = room.add_argument_group("what was seen")
    box.add_argument("--seen", metavar="FILE", help="the fields below (hit, sound, ...) as TOML")
    box.add_argument("--at", metavar="RUNG", help="rung the athlete is on; by level if left out")
    box.add_argument("--hit", metavar="M/N", help="runs with every mark met, of all runs: 4/5")
    box.add_argument("--sound", help="contacts are quiet, firm or loud")
    box.add_argument("--contact", metavar="S", help="time on the ground in seconds: 0.18")
    box.add_argument("--step-share", metavar="PC", help="step of a whole jump, per cent: 29")
    box.add_argument("--knee-gap", metavar="L", help="free knee behind at the step contact: 35cm")
    box.add_argument("--sessions", metavar="N", help="sessions done on this rung")
    box.add_argument("--pain", action="store_true", help="there was pain")
    block = room.add_argument_group("the block of weeks")
    block.add_argument("--weeks", default="4", metavar="N", help="1 to 26 (4)")
    block.add_argument("--from", dest="from_", metavar="DATE", help="first day: 2026-11-25 (today)")
    block.add_argument("--days", default="mon,thu", help="days to jump on (mon,thu)")


def _handout(room: argparse.ArgumentParser) -> None:
    room.add_argument("--to", metavar="FILE", help="what to write: .pdf, .svg or .html")
    room.add_argument("--paper", default="A4", help="A4, A3, Letter, Legal or Tabloid (A4)")
    room.add_argument("--upright", action="store_true", help="paper upright")
    room.add_argument("--across", action="store_true", help="paper across; else what suits")
    room.add_argument(
        "--scale", help="1:50, 1:100 or 1:200; what keeps most on one page if left out"
    )
    room.add_argument("--grey", action="store_true", help="for a printer without colour")
    room.add_argument(
        "--no-figure", action="store_true", help="without positions: no waiting, hurdles unchecked"
    )
    room.add_argument(
        "--plots", metavar="FOLDER", help="also plots: lengths, speed and height, lever"
    )
    box = room.add_argument_group("many athletes, and the wall")
    box.add_argument(
        "--solve", action="store_true", help="of a squad: work out motions that are not kept yet"
    )
    box.add_argument("--cores", metavar="N", help="of a squad: processes (all cores)")
    box.add_argument(
        "--poster", metavar="KIND", help="knees, lever, hop, two ways each: still or clip"
    )


def _drill(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the drill")
    box.add_argument("--drill-file", metavar="FILE", help="your own drills, as TOML")
    box.add_argument("--venue", default="club", help="venue name or your own TOML (club)")
    box.add_argument("--strides", metavar="N", help="strides of approach")
    box.add_argument("--hops", metavar="ARC", help="low, natural or high hops")
    box.add_argument("--cycles", metavar="N", help="how often the phases repeat")
    box.add_argument("--length", metavar="L", help="length, first contact to last")
    box.add_argument("--lead", metavar="LEG", help="right or left: leg of the first contact")
    box.add_argument("--board-at", metavar="L", help="take-off line to pit")
    box.add_argument("--hurdle", metavar="L", help="hurdle height, such as 15 cm")
    box.add_argument("--on", metavar="DATE", help="day it is for, as 2026-11-25 (today)")
    _despite(box)


def _despite(box: argparse._ArgumentGroup) -> None:
    box.add_argument(
        "--despite",
        metavar="WHO",
        help="go on with a drill that is closed to the athlete: who decided and why",
    )


def _tape(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the tape")
    box.add_argument(
        "--zero", default="board", help="where the tape's zero is: board, start or pit"
    )
    box.add_argument("--tape", default="cm", metavar="UNIT", help="cm or ft")
    box.add_argument("--tape-step", metavar="L", help="round readings to this, such as 5 cm")


def _athlete(room: argparse.ArgumentParser) -> None:
    box = room.add_argument_group("the athlete, instead of a file or over it")
    for field in fields_of(Athlete):
        if field.help:
            option = f"--{field.dest.replace('_', '-')}"
            box.add_argument(option, metavar=field.sign, help=field.help)


def _writing(room: argparse.ArgumentParser) -> None:
    room.add_argument("--overwrite", action="store_true", help="replace files that exist")
