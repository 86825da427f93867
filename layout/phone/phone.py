"""The handout as one page for a telephone: it opens from a message and asks the network for nothing.

It says what the sheet says, in the sheet's own words, and holds the sheet itself for the printer.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Final

from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.moving.poses import KeyPose, at_marks, told_in
from layout.page.letters import fonts_of
from layout.page.page import Page, View, extent, thinned
from layout.page.svg import Letters, escaped, letters_of
from layout.phone.clip import PhoneClip, phone_clip
from layout.phone.drawing import drawing, screen_drawings, script_of, sheet, style_of
from layout.phone.runs import Sent, choice, taking_runs
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.rules.cautions import in_short
from layout.sheet.handout import POSITIONS
from layout.sheet.handout_blocks import TABLE
from layout.sheet.texts import ADVICE, Words

POSE_SCALE: Final = 40
"""Scale of the positions before a screen fits them (ours)."""
SPEEDS: Final = (("1", "full"), ("0.5", "half"), ("0.25", "quarter"))
RESTING: Final = "0.25"
ICON: Final = '<link rel="icon" href="data:,">'
"""An empty one, so that no browser asks for one."""


def phone(
    plan: Plan,
    card: TapeCard,
    pages: Sequence[Page],
    poses: Sequence[KeyPose] = (),
    motion: Motion | None = None,
    reading: Mapping[str, str] | None = None,
    sent: Sent | None = None,
) -> str:
    """A handout as one HTML page.

    pages: `layout.sheet.handout.handout`: what the page prints.
    poses: none leaves the positions out.
    motion: without one there is no clip.
    reading: as for the sheet.
    sent: how its runs come home, and the look of what is printed.
    """
    sent = sent or Sent()
    poses = told_in(poses, card.system)
    words, letters = Words(plan, card, reading), letters_of(fonts_of(pages))
    clip = phone_clip(plan, card, motion, poses) if motion and poses else None
    figures = at_marks(plan, motion) if motion else ()
    narrow, wide, legend = screen_drawings(plan, card, letters, figures)
    first = pages[0]
    sheets = "".join(
        f'<div class="page">{sheet(p, sent.look or theme("light"), letters)}</div>' for p in pages
    )
    parts = [
        _section("tape", f"Tape card: zero at the {words.zero}", _tape(words)),
        _section(
            "drawing", "The runway, to scale", _runway(narrow, wide, legend, first, len(pages))
        ),
        _section("clip", "In motion", _clip(clip)) if clip else "",
        _section("positions", POSITIONS, _poses(poses, letters)) if poses else "",
        _section("coach", "Coach", _list(words.points, "ol")),
        _section("care", "Load and care", _list((*words.load, *words.cautions))),
        _section("faults", "Look for", _faults(words.faults)),
        _section("targets", "Targets", _targets(words, not poses)),
        _section("jumped", TABLE, taking_runs(plan, card, sent)),
    ]
    body = f"{_head(words, in_short(plan.who.standing))}<main>{''.join(parts)}</main>{_foot()}"
    return _document(
        escaped(f"{words.name}: {words.title}"), first, letters.rules, body, sheets, clip, sent.home
    )


def _document(
    title: str, first: Page, rules: str, body: str, sheets: str, clip: PhoneClip | None, home: bool
) -> str:
    """The file: a policy that allows its own style and script and nothing else, and the content.

    `home`: whether it may also ask where it came from.
    """
    here = files("layout.phone")
    paper = f"{rules}@page{{size:{first.width:g}mm {first.height:g}mm;margin:0}}"
    style, script = (
        "".join(here.joinpath(f"{name}.{kind}").read_text("utf-8") for name in ("phone", "runs"))
        for kind in ("css", "js")
    )
    style, script = paper + _tight(style_of(style)), _tight(script_of(script))
    policy = (
        f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; "
        "font-src data:; img-src data:; base-uri 'none'; form-action 'none'"
        + "; connect-src 'self'"
        * home
    )
    key = hashlib.sha256(body.encode()).hexdigest()[:16]
    data = f'<script type="application/json" id="frames">{clip.data}</script>' if clip else ""
    return (
        '<!DOCTYPE html>\n<html lang="en" class="still"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        '<meta name="color-scheme" content="light dark"><meta name="referrer" content="no-referrer">'
        f"{ICON}<title>{title}</title><style>{style}</style></head>\n"
        f'<body data-key="{key}"><div class="screen">{body}</div>\n'
        f'<div class="sheets">{sheets}</div>\n{data}<script>{script}</script></body></html>\n'
    )


def _tight(text: str) -> str:
    """Style or script without remarks and the spaces that lines begin with: it is sent each time."""
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def _hash(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
    return f"'sha256-{digest}'"


def _section(name: str, title: str, inside: str) -> str:
    return (
        f'<section id="{name}" aria-labelledby="{name}-title">'
        f'<h2 id="{name}-title">{escaped(title)}</h2>{inside}</section>'
    )


def _head(words: Words, care: str) -> str:
    warned = "".join(f"<li>{escaped(w)}</li>" for w in words.warnings)
    return (
        f"<header><h1><bdi>{escaped(words.name)}</bdi>: {escaped(words.title)}</h1>"
        + (f'<ul class="warned" aria-label="Mind this">{warned}</ul>' if warned else "")
        + f'<p class="care-line">{escaped(care)}</p>'
        f'<p class="job">{escaped(words.job)}</p><p>{escaped(" ".join(words.facts))}</p>'
        + '<p class="row scripted"><button type="button" id="dark" role="switch" '
        'aria-checked="false">Dark</button>'
        '<button type="button" id="print">Print the sheet</button></p></header>'
    )


def _foot() -> str:
    return f"<footer><p>{escaped(ADVICE)}</p></footer>"


def _list(texts: Iterable[str], kind: str = "ul") -> str:
    return f"<{kind}>{''.join(f'<li>{escaped(t)}</li>' for t in texts)}</{kind}>"


def _faults(texts: Iterable[str]) -> str:
    rows = []
    for text in texts:
        seen, *rest = (escaped(part.strip()) for part in text.split("->"))
        more = f"<br>{' → '.join(rest)}" if rest else ""
        rows.append(f"<li><b>{seen}</b>{more}</li>")
    return f"<ul>{''.join(rows)}</ul>"


def _tape(words: Words) -> str:
    rows = [
        f'<li><label><input type="checkbox" data-keep="tape-{i}"><b>{escaped(reading)}</b>'
        f"<span>{escaped(what)}</span></label></li>"
        for i, (reading, what) in enumerate(words.tape)
    ]
    return (
        f'<ul class="ticks">{"".join(rows)}</ul><p class="row scripted">'
        '<output id="ticked" for="tape"></output>'
        '<button type="button" id="untick">Untick all</button></p>'
    )


def _runway(narrow: str, wide: str, legend: Sequence[str], first: Page, count: int) -> str:
    both = f'<div class="narrow">{narrow}</div><div class="wide">{wide}</div>'
    sheets = f"the sheet, {count} pages," if count > 1 else "the sheet"
    told = (
        "To scale, but fitted to this screen: read it by its bar, not with a ruler. "
        f"Printed from here, {sheets} is at exactly 1:{first.scale}."
    )
    return f"<figure>{both}<figcaption>{_paragraphs([told, *legend])}</figcaption></figure>"


def _paragraphs(texts: Iterable[str]) -> str:
    return "".join(f"<p>{escaped(t)}</p>" for t in texts)


def _clip(clip: PhoneClip) -> str:
    held = next((m for m in clip.moments if m.frame == clip.poster), clip.moments[0])
    jumps = "".join(
        f'<button type="button" data-go="{m.frame}">{escaped(m.label)}</button>'
        for m in clip.moments
    )
    return (
        f'<figure id="film">{clip.close}{clip.whole}'
        f'<figcaption><span id="clock"></span><b id="said">{escaped(held.label)}: '
        f"{escaped(held.said)}</b></figcaption></figure>"
        "<p>Computed by Phasemark from the plan, not filmed. Numbers under the runway: the tape card's.</p>"
        '<div class="scripted"><input type="range" id="moment" min="0" step="1" '
        f'max="{clip.count - 1}" value="{clip.poster}" aria-label="Moment of the clip">'
        '<div class="row"><button type="button" id="back">Frame back</button>'
        '<button type="button" id="play">Play</button>'
        '<button type="button" id="on">Frame on</button></div>'
        f"{choice('speed', 'Speed', SPEEDS, RESTING, 'speeds')}"
        f'<div class="row jumps" role="group" aria-label="Go to and hold">{jumps}</div></div>'
    )


def _poses(poses: Sequence[KeyPose], letters: Letters) -> str:
    drawn = [thinned(View(POSE_SCALE, 0.0, 0.0).ink(pose.shapes)) for pose in poses]
    boxes = [extent(ink) for ink in drawn]
    # One size of picture for all, so that all figures are of one scale.
    wide = max(right - left for left, _, right, _ in boxes) + 2.0
    top = max(-box[1] for box in boxes) + 1.0
    low = max(max(box[3] for box in boxes), 0.0) + 1.0
    out = []
    for i, (pose, box) in enumerate(zip(poses, boxes, strict=True), start=1):
        left = wide / 2.0 - (box[0] + box[2]) / 2.0
        ink = thinned(View(POSE_SCALE, left, top).ink(pose.shapes))
        page = Page(wide, top + low, POSE_SCALE, pose.label, tuple(ink))
        # A value and its unit stay on one line.
        said = "".join(
            f"<li>{escaped(name)} <span>{escaped(value)}</span></li>"
            for name, value in pose.measures
        )
        picture = drawing(page, letters, f"Figure at the {pose.label}")
        out.append(
            f"<li><figure>{picture}<figcaption><b>{i}. {escaped(pose.label)}</b>"
            f"<ul>{said}</ul></figcaption></figure></li>"
        )
    return f'<ol class="poses">{"".join(out)}</ol>'


def _targets(words: Words, step: bool) -> str:
    *rows, total = words.lengths
    head = '<th scope="col"><span class="unseen">phase</span></th>' + "".join(
        f'<th scope="col">{name}</th>' for name in ("length", "share", "highest")
    )

    def row(cells: Sequence[str]) -> str:
        first, *rest = (escaped(c) for c in cells)
        return f'<tr><th scope="row">{first}</th>{"".join(f"<td>{c}</td>" for c in rest)}</tr>'

    numbers = words.numbers + words.step if step else words.numbers
    told = "".join(f"<div><dt>{escaped(a)}</dt><dd>{escaped(b)}</dd></div>" for a, b in numbers)
    return (
        f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(row(r) for r in rows)}</tbody>"
        f"<tfoot>{row(total)}</tfoot></table><dl>{told}</dl>{_paragraphs([words.sure])}"
    )
