"""The options of each command; kept apart so that --help needs nothing else."""

from __future__ import annotations

import argparse
from typing import Final

from layout.athlete.athlete import Athlete
from layout.athlete.fields import fields_of
from layout.rules.rule import rule

EPILOGS: Final = {
    "desk": """\
examples:
  phasemark desk
  phasemark desk marram.book
Opens in the browser of this machine, for that browser alone, and asks the
network for nothing. Without a book the demo club is there to try, in a book of
its own in a new folder. Ctrl-C or the page ends it; everything put down is kept.
With --share, phones on a hotspot reach pages that are made for them on Set out,
at one address of this machine, and nothing else.
next: choose an athlete and a drill on the page
""",
    "plan": """\
examples:
  phasemark plan --list
  phasemark plan --read two-hops-step-track
  phasemark plan tevin.toml full-triple-jump
  phasemark plan bram.toml two-hops-step-sand --hops low --strides 6 --zero pit
  phasemark plan sefa.toml short-triple-jump --length 38-6 --tape ft
  phasemark plan hop-step-sand --name Ada --born 2008 --stature 1.70 --mass 58 --leg left --target 11.20
Hurdles are checked against the athlete's own motion.
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
  phasemark handout runa.toml hop-step-sand --to runa.html --book marram.book
  phasemark handout imka.toml short-triple-jump --plots plots
  phasemark handout club.csv short-triple-jump,hop-step-sand --to club.pdf
  phasemark handout . full-triple-jump --to to-send
  phasemark handout imka.toml short-triple-jump --poster still --paper A3 --to poster.pdf
  phasemark handout imka.toml short-triple-jump --poster clip --to poster.gif
A squad is a table or a folder of athlete files, as for phasemark squad; --to
names one PDF for all, or a folder with a PDF and a page for the phone for
each. With --book a phone page has a key that only that book knows: runs sent
from it name nobody. The drawing is to scale and never shrinks: what does not fit a page goes
to the next one.
""",
    "demo": """\
examples:
  phasemark demo
  phasemark demo my-folder --overwrite
next: open one of the drawings, then phasemark plan with a file of your own
athlete.
""",
}


Row = tuple[str, str, str | None]
"""What stands for an option's value ("" for a switch), its help, and its value when left out."""
OPTIONS: Final[dict[str, Row]] = {
    "across": ("", "paper across; else what suits", None),
    "aim": ("AIM", "with --worth, what is made greatest: both, step or speed (both)", "both"),
    "arms": ("ARMS", "alternate or together (alternate)", "alternate"),
    "at": ("RUNG", "rung the athlete is on; by level if left out", None),
    "board-at": ("L", "take-off line to pit", None),
    "camera": ("CAMERA", "both, fixed or follow (both)", "both"),
    "contact": ("S", "time on the ground in seconds: 0.18", None),
    "cores": ("N", "processes for a folder (all cores)", None),
    "cycles": ("N", "how often the phases repeat", None),
    "days": ("DAYS", "days to jump on (mon,thu)", "mon,thu"),
    "despite": ("WHO", "go on with a drill that is closed to the athlete: who decided and why", None),
    "drill-file": ("FILE", "your own drills, as TOML", None),
    "drills": ("A,B,C", "several drills, for a folder of drawings", None),
    "free-knee": ("DEG", "free knee, 180 straight: 90", None),
    "free-thigh": ("DEG", "free thigh in the step flight, minus below level: -5", None),
    "from": ("DATE", "first day: 2026-11-25 (today)", None),
    "grey": ("", "for a printer without colour", None),
    "hit": ("M/N", "runs with every mark met, of all runs: 4/5", None),
    "hops": ("ARC", "low, natural or high hops", None),
    "hurdle": ("L", "hurdle height, such as 15 cm", None),
    "json": ("", "print it as JSON", None),
    "knee-gap": ("L", "free knee behind the support knee: 40cm", None),
    "ladder": ("FILE", "your own ladder, as TOML", None),
    "lead": ("LEG", "right or left: leg of the first contact", None),
    "length": ("L", "length, first contact to last", None),
    "list": ("", "list the drills", None),
    "measured": ("FILE", "points clicked on a picture, as CSV", None),
    "more": ("", "also speeds, forces, sources, best split", None),
    "no-figure": ("", "without the athlete's positions, and hurdles not checked", None),
    "share": ("ADDRESS", "let phones on a hotspot reach pages made for them at this address", None),
    "no-browser": ("", "open no browser, print the address", None),
    "of": ("OF", "knees, lever, thigh, hops, arms or trunk (knees)", "knees"),
    "on": ("DATE", "day it is for, as 2026-11-25 (today)", None),
    "overwrite": ("", "replace files that exist", None),
    "pain": ("", "there was pain", None),
    "paper": ("PAPER", "A4, A3, Letter, Legal or Tabloid (A4)", "A4"),
    "plot": ("FILE", "with --of lever: the trade as a plot", None),
    "plots": ("FOLDER", "also plots: lengths, speed and height, lever", None),
    "poster": ("KIND", "knees, lever, hop, two ways each: still or clip", None),
    "read": ("DRILL", "read one drill: points, faults, dose", None),
    "save": ("FILE", "keep the plan as a .json file", None),
    "scale": ("SCALE", "1:50, 1:100 or 1:200; the largest that fits if left out", None),
    "seen": ("FILE", "the fields below (hit, sound, ...) as TOML", None),
    "session": ("DRILLS", "load of a session: NAME:SETSxRUNS, ...", None),
    "sessions": ("N", "sessions done on this rung", None),
    "sets": ("K", "shared sets; else as few as the tolerance allows", None),
    "slow": ("N", "times slower than life (4)", "4"),
    "sound": ("SOUND", "contacts are quiet, firm or loud", None),
    "step-share": ("PC", "step of a whole jump, per cent: 29", None),
    "still": ("STILL", "strip or trail: a still instead of a clip", "no"),
    "strides": ("N", "strides of approach", None),
    "tape": ("UNIT", "cm or ft", "cm"),
    "tape-step": ("L", "round readings to this, such as 5 cm", None),
    "thigh-held": ("S", "seconds it is held: 0.1", None),
    "to": ("FILE", "file to write: .gif, .svg, .png, .mp4 or .webm", None),
    "tolerance": ("L", "most a mark may be off a phase: 12cm or 5%% (%(default)s)",
                  f"{100 * rule('shared_mark'):g} cm"),
    "trunk": ("DEG", "trunk lean, 0 upright, plus forward: 3", None),
    "upright": ("", "paper upright instead of across", None),
    "venue": ("VENUE", "venue name or your own TOML (club)", "club"),
    "weeks": ("N", "1 to 26 (4)", "4"),
    "weigh": ("MOVES", "what counts more, such as step=2,jump=0.5", None),
    "wind": ("V", "wind along the runway, m/s, minus is against: --wind=-0.5", None),
    "worth": ("FILE", "what it is worth to the athlete, on a sheet: .svg, .pdf or .png", None),
    "zero": ("ZERO", "where the tape's zero is: board, start or pit", "board"),
    # What says something else in one command.
    "compare json": ("", "print as JSON", None),
    "compare grey": ("", "for print without colour", None),
    "draw to": ("FILE", "drawing to write: .svg, .pdf or .png", None),
    "film grey": ("", "for print without colour", None),
    "handout book": ("FILE", "the club's book: runs sent from the phone page then name nobody", None),
    "handout cores": ("N", "of a squad: processes (all cores)", None),
    "handout scale": ("SCALE", "1:50, 1:100 or 1:200; what keeps most on one page if left out", None),
    "handout to": ("FILE", "what to write: .pdf, .svg or .html", None),
    "handout upright": ("", "paper upright", None),
    "ladder drill-file": ("FILE", "your own drills, for --ladder or --session", None),
    "ladder knee-gap": ("L", "free knee behind at the step contact: 35cm", None),
    "ladder list": ("", "list the rungs", None),
    "plan json": ("", "print the plan as JSON", None),
    "squad json": ("", "print the set-out as JSON", None),
    "squad paper": ("PAPER", "A4, A3, Letter, Legal or Tabloid; else A4 or A3, as it fits", None),
    "squad to": ("PATH", "drawing to write; with --drills, a folder", None),
}  # fmt: skip
"""By name, and by command and name."""
Box = tuple[str, str]
DRILL: Final[Box] = (
    "the drill",
    "drill-file venue strides hops cycles length lead board-at hurdle wind on despite",
)
TAPE: Final[Box] = "the tape", "zero tape tape-step"
POSITIONS: Final[Box] = (
    "positions at the step contact; the model's own if left out",
    "knee-gap free-knee free-thigh thigh-held trunk arms",
)
ATHLETE: Final = "the athlete, instead of a file or over it"
OWN: Final[Box] = ATHLETE, ""
END: Final[Box] = "", "overwrite"
BOXES: Final[dict[str, tuple[Box, ...]]] = {
    "plan": (("", "list read json save more"), DRILL, TAPE, OWN, END),
    "draw": (("", "to scale paper upright grey"), DRILL, TAPE, OWN, END),
    "desk": (("", "no-browser share"),),
    "film": (("", "to grey slow camera still"), POSITIONS, DRILL, TAPE, OWN, END),
    "compare": (("", "to grey of worth aim plot measured json"), POSITIONS, DRILL, TAPE, OWN, END),
    "squad": (
        ("", "json to drills drill-file cores"),
        ("sharing marks", "sets tolerance weigh venue strides hops cycles board-at hurdle wind on despite"),
        ("tape and paper", "tape tape-step scale paper upright grey"),
        END,
    ),
    "ladder": (
        ("", "list session despite json ladder drill-file venue"),
        ("what was seen", "seen at hit sound contact step-share knee-gap sessions pain"),
        ("the block of weeks", "weeks from days"),
        OWN,
    ),
    "handout": (
        ("", "to book paper upright across scale grey no-figure plots"),
        ("many athletes, and the wall", "cores poster"),
        DRILL, TAPE, OWN, END,
    ),
    "demo": (END,),
}  # fmt: skip
"""Options of each command, in groups."""
WORDS: Final = {
    "squad": ("FILE DRILL", "squad, and a drill's name"),
    "ladder": ("ATHLETE", "athlete file (.toml)"),
}
ONE_PLAN: Final = "ATHLETE DRILL", "athlete file (.toml) and drill name; or a saved plan (.json)"


def add(room: argparse.ArgumentParser, command: str) -> None:
    """Give a command its words and options."""
    if command == "book":
        room.add_argument("word", nargs="?", help="what to do; see below")
        rest = "the book, and what the word needs"
        room.add_argument("rest", nargs=argparse.REMAINDER, help=rest)
        return
    if command == "desk":
        room.add_argument(
            "book", nargs="?", help="the club's book (.book); the demo club's if left out"
        )
    elif command == "demo":
        room.add_argument("folder", nargs="?", default="phasemark-demo", help="where to put it")
    else:
        sign, text = WORDS.get(command, ONE_PLAN)
        room.add_argument("words", nargs="*", metavar=sign, help=text)
    for title, names in BOXES[command]:
        box = room.add_argument_group(title) if title else room
        for name in names.split():
            sign, text, usual = OPTIONS.get(f"{command} {name}") or OPTIONS[name]
            put(box, name, sign, text, usual)
        for field in fields_of(Athlete) if title == ATHLETE else ():
            if field.help:
                put(box, field.dest.replace("_", "-"), field.sign, field.help)
    if command == "squad":
        room.set_defaults(length=None, split=None, lead=None)


def put(
    box: argparse._ActionsContainer,
    name: str,
    sign: str | None,
    text: str,
    usual: str | None = None,
) -> None:
    """One option; a switch where its sign is empty."""
    if sign == "":
        box.add_argument(f"--{name}", action="store_true", help=text)
        return
    kept = {"from": "from_"}.get(name, name.replace("-", "_"))
    box.add_argument(f"--{name}", dest=kept, metavar=sign, default=usual, help=text)
