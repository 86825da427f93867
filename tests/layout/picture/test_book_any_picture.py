"""Any clicks at all: measured with finite figures, or refused in a line; never a traceback."""

from __future__ import annotations

import math
from dataclasses import astuple

from hypothesis import given
from hypothesis import strategies as st

from layout.page.page import Line
from layout.picture.beside import camera_text, figures_of, page_of
from layout.picture.measured import held_against, measure
from layout.picture.places import measures_of
from layout.picture.points import SIDES, points_from
from layout.picture.signs import signs_of
from layout.words.faults import BadInput
from tests.layout.picture.pictures import PLAIN, WHO, Picture, places, positions_of

AIM = measures_of(places(), WHO)
PIXEL = st.one_of(
    *(st.floats(0.0, 2000.0).map(repr) for _ in range(6)),
    st.sampled_from(["0", "1", "100", "-7.5", "640", "640.4", "99999", "-1e5"]),
)
LENGTH = st.sampled_from(["0.05", "0.5", "1", "1", "2.5", "2.5", "40"])


@st.composite
def anything(draw: st.DrawFn) -> str:
    """A file whose form is right and whose clicks are anywhere."""
    words = dict(zip(("support", "free"), draw(st.sampled_from(SIDES)), strict=True))
    parts = draw(st.lists(st.sampled_from(PLAIN), unique=True))
    needed = ["hip", "support knee", "free knee", "support toe", "free toe", "support ankle"]
    rows = []
    for name in dict.fromkeys([*needed, *parts]):
        word, _, part = name.partition(" ")
        rows.append(f"{words[word]} {part}" if part else name)
    lines = [f"{name};{draw(PIXEL)};{draw(PIXEL)};" for name in rows]
    if draw(st.booleans()):
        # A scale that brings most clicks within a few metres.
        lines += ["mark;0;900;0", f"mark;{draw(st.sampled_from(['700', '1500']))};{draw(PIXEL)};1"]
    for name, most in (("mark", 2), ("upright", 1), ("length", 1)):
        for _ in range(draw(st.integers(0, most))):
            size = draw(LENGTH)
            lines += [
                f"{name};{draw(PIXEL)};{draw(PIXEL)};{size}"
                for _ in range(1 if name == "mark" else 2)
            ]
    if draw(st.booleans()):
        lines.append("runs;;;left")
    return "\n".join(["point;x;y;value", *lines])


def through(text: str) -> bool:
    """Take a file all the way to the picture; whether it was not refused."""
    try:
        frame = points_from(text).frames[0]
        m = measure(frame, WHO)
        held = held_against(AIM, m)
        signs = signs_of(frame, WHO, m)
        page = page_of(positions_of(), "r", m, held, "t", [(s, True) for s in signs])
    except BadInput as error:
        return not error.faults
    for v in m.values:
        assert all(math.isfinite(x) for x in astuple(v)[1:]), v
    assert all(math.isfinite(x) for x in (m.scale, m.scale_margin, m.tilt, m.tilt_margin))
    assert all("nan" not in t for h in held for t in figures_of(h))
    assert "nan" not in " ".join((*signs, camera_text(m)))
    lines = [i for i in page.ink if isinstance(i, Line)]
    assert all(math.isfinite(c) for i in lines for p in i.points for c in p)
    return True


@given(anything())
def test_clicks_anywhere(text: str) -> None:
    through(text)


@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.floats(-400.0, 400.0), st.floats(-400.0, 400.0)),
        max_size=4,
    ),
    st.floats(-3.2, 3.2),
)
def test_a_true_picture_with_wild_clicks(wild: list[tuple[int, float, float]], tilt: float) -> None:
    lines = Picture(tilt=tilt, uprights=(1.2,), marks=(-1.0, 0.1, 1.1)).text().splitlines()
    for at, dx, dy in wild:
        i = 1 + at % (len(lines) - 1)
        name, x, y, value = lines[i].split(";")
        lines[i] = ";".join((name, repr(float(x) + dx), repr(float(y) + dy), value))
    went = through("\n".join(lines))
    if not wild and abs(tilt) < 1.5:
        assert went
