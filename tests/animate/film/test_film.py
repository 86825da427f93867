"""Schedules, takes, cameras and layouts of clips; what is refused."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from animate.body.figure import JOINTS
from animate.body.shapes import Area, Label, Stroke
from animate.film import film
from animate.film.boxes import writing
from animate.film.ground import Runway
from animate.film.scene import Camera, Caption, Panel, Scene, check, starts
from animate.film.staging import in_view, shortened, standing_cameras
from animate.film.svg import svg
from tests.animate.film.film_motion import END, body_at
from tests.animate.film.film_scenes import NOTES, beside, scene, take

# --- schedule -------------------------------------------------------------------------------


@given(
    st.floats(-5, 5),
    st.floats(0.05, 4),
    st.floats(5, 50),
    st.floats(0.5, 8),
    st.floats(0, 1),
)
def test_a_schedule_keeps_its_pace_and_hits_the_hold(
    start: float, length: float, fps: float, slow: float, where: float
) -> None:
    hold = start + where * length
    plan = film.schedule(start, start + length, fps, slow, ((hold, 1.5),), last=0.5)
    (frame,) = plan.held
    assert plan.instants[frame] == hold
    assert plan.durations[frame] == 1.5
    steps = np.diff(plan.instants)
    assert (steps >= 0.5 / (fps * slow) - 1e-9).all()
    assert plan.instants[0] >= start - 1e-9
    assert plan.instants[-1] <= start + length + 1e-9
    free = [d for i, d in enumerate(plan.durations[:-1]) if i != frame]
    assert free == [1 / fps] * len(free)


def test_slow_motion_takes_as_many_times_longer() -> None:
    plain = film.schedule(0, 1, fps=25, slow=1, last=0.04)
    slow = film.schedule(0, 1, fps=25, slow=4, last=0.04)
    assert sum(slow.durations) == pytest.approx(4 * sum(plain.durations), abs=0.2)
    assert sum(plain.durations) == pytest.approx(1.04)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"end": -1}, "end: not before the start"),
        ({"end": math.nan}, "end: "),
        ({"fps": 0}, "fps: 1 to 50, got 0"),
        ({"fps": 60}, "fps: "),
        ({"slow": math.inf}, "slow: "),
        ({"slow": 100, "fps": 50, "end": 2}, "at most 5000 frames"),
        ({"holds": ((2.0, 1.0),)}, "hold: within the clip, 0 to 1 s, got 2.0"),
        ({"holds": ((0.5, 99.0),)}, "hold: for 0.02 to 60 s"),
        ({"holds": ((0.5, 1.0), (0.49, 1.0))}, "one hold a frame"),
        ({"last": 0}, "last: "),
    ],
)
def test_a_bad_schedule_is_refused_in_one_line(told: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words) as said:
        film.schedule(**{"start": 0.0, "end": 1.0, **told})
    assert "\n" not in str(said.value)


@given(st.lists(st.floats(0.02, 3), min_size=1, max_size=200))
def test_rounded_frame_times_never_drift(durations: list[float]) -> None:
    at = starts(tuple(durations), 0.01)
    assert at[-1] == round(sum(durations) * 100)
    assert all(b > a for a, b in pairwise(at))


# --- layouts --------------------------------------------------------------------------------


@pytest.mark.parametrize("camera", ["fixed", "follow", "both"])
@pytest.mark.parametrize("size", [(960, 540), (480, 270), (540, 960), (1280, 400)])
@pytest.mark.parametrize("slow", [1.0, 6.0])
def test_the_whole_body_is_in_every_picture(
    camera: str, size: tuple[int, int], slow: float
) -> None:
    plan = film.schedule(0, END, fps=20, slow=slow)
    made = film.clip(take(plan), plan, (), camera, size)  # type: ignore[arg-type]
    check(made)
    for panel in made.panels:
        for frame, shapes in enumerate(panel.moving):
            eye = panel.camera(frame)
            for shape in shapes:
                for x, z in getattr(shape, "points", ()):
                    assert 0 <= (x - eye.left) * eye.scale <= panel.box[2]
                    assert 0 <= (z - eye.bottom) * eye.scale <= panel.box[3]


def test_the_following_camera_keeps_the_hip_near_the_middle_and_slides_whole_pixels() -> None:
    made = scene("follow")
    (panel,) = made.panels
    assert len(panel.cameras) == len(made.durations)
    for camera in panel.cameras:
        shift = (camera.left - panel.cameras[0].left) * camera.scale
        assert shift == pytest.approx(round(shift), abs=1e-6)
    plan = film.schedule(0.0, END, fps=20, slow=1.5, holds=((0.3, 0.7),))
    for t, camera in zip(plan.instants, panel.cameras, strict=True):
        hip = (body_at(t)[0][0] - camera.left) * camera.scale
        assert abs(hip - panel.box[2] / 2) < 0.08 * panel.box[2]


def test_in_slow_motion_the_camera_stands_and_goes_on_while_the_body_is_in_the_air() -> None:
    """Ground that slid through every frame made a GIF half as large again, and its texts hard to read."""
    plan = film.schedule(0.0, END, fps=20, slow=8, holds=((0.3, 0.7),))
    (panel,) = film.clip(take(plan), plan, (), "follow", (960, 540)).panels
    lefts = [camera.left for camera in panel.cameras]
    moves = [i for i, (a, b) in enumerate(pairwise(lefts)) if b != a]
    assert all(b >= a for a, b in pairwise(lefts))
    assert 0 < len(moves) <= 0.55 * len(lefts)
    for left in lefts:
        shift = (left - lefts[0]) * panel.cameras[0].scale
        assert shift == pytest.approx(round(shift), abs=1e-6)
    held = plan.held[0]
    assert lefts[held - 1] == lefts[held] == lefts[held + 1]


def test_the_camera_goes_on_in_the_flights_that_are_nearest_and_never_in_a_hold() -> None:
    flights = {76: 12, 124: 12}  # middle and length in frames, each beside half-way, at 66 and 133
    wide, count = 960, 200

    def feet(i: int) -> float:
        return max(max(0.0, 1 - (2 * (i - m) / long) ** 2) for m, long in flights.items())

    bodies = [[(0.06 * i, feet(i)), (0.06 * i, 1.7)] for i in range(count)]
    cameras = [Camera(0.06 * i - 4.8, -0.5, 100.0) for i in range(count)]
    for held in ((), (76,)):
        plan = film.Schedule(tuple(0.02 * i for i in range(count)), (0.08,) * count, 4.0, held)
        lefts = [camera.left for camera in standing_cameras(cameras, bodies, plan, wide)]
        moved = {i for i in range(1, count) if lefts[i] != lefts[i - 1]}
        early = {i for i in moved if i < 100}
        assert all(feet(i) > 0 for i in moved - early)
        assert len(moved - early) > 8
        if held:
            assert early
            assert not early & set(range(74, 80))
        else:
            assert all(feet(i) > 0 for i in early)


def test_side_by_side_shares_one_scale_and_shows_differences() -> None:
    made = beside()
    left, right = made.panels
    assert left.cameras[0].scale == right.cameras[0].scale
    assert left.box[2:] == right.box[2:]
    said = [caption.text for caption in made.still_captions]
    assert {"Runa", "Bram", "knee gap", "31 cm", "52 cm", "+21 cm", "+0.013 s"} <= set(said)
    notes = [s for s in made.panels[0].moving[0] if isinstance(s, Label)]
    held = [s.text for s in notes if s.role not in ("quiet", "mark")]
    assert held == []  # the notes start later


@pytest.mark.parametrize(
    ("row", "texts"),
    [
        (film.Row("a", 31.4, 52.5, "cm"), ("31 cm", "52 cm", "+21 cm")),
        (film.Row("a", 5.0, 4.79, "m", 2), ("5.00 m", "4.79 m", "−0.21 m")),
        (film.Row("a", -0.4, 0.4, "°"), ("0°", "0°", "same")),
        (film.Row("a", None, 3.0), ("–", "3", "–")),
    ],
)
def test_rows_print_the_difference_of_what_is_printed(
    row: film.Row, texts: tuple[str, str, str]
) -> None:
    assert row.texts() == texts


def test_rows_come_from_compared_measures() -> None:
    from animate.motion.compare import Difference
    from animate.motion.measures import MEASURE

    told = [
        Difference(MEASURE["knee_gap"], 31.25, 52.0, 20.75),
        Difference(MEASURE["contact_time"], 0.157, None, None),
    ]
    rows = film.rows_of(told, ("contact_time", "knee_gap", "toe_ahead"))
    assert [row.texts() for row in rows] == [
        ("0.157 s", "–", "–"),
        ("31.2 cm", "52.0 cm", "+20.8 cm"),
    ]


def test_stills_have_one_frame_and_every_pose() -> None:
    plan = film.schedule(0, END, fps=10)
    strip = film.pose_strip(take(plan), plan, columns=3)
    check(strip)
    assert len(strip.durations) == 1
    assert len(strip.panels) == len(plan.instants)
    assert len({panel.cameras[0].scale for panel in strip.panels}) == 1
    trail = film.ghost_trail(take(plan), plan, notes=NOTES)
    check(trail)
    bodies = [s for s in trail.panels[0].still if isinstance(s, Area) and s.role == "body"]
    assert len(bodies) == 2 * len(plan.instants)


@pytest.mark.parametrize(
    ("poses", "most", "shape"), [(13, 7, (7, 2)), (13, 6, (5, 3)), (4, 6, (4, 1))]
)
def test_the_rows_of_a_strip_are_filled_evenly(
    poses: int, most: int, shape: tuple[int, int]
) -> None:
    plan = film.Schedule(tuple(END * i / poses for i in range(poses)), (0.1,) * poses, 1.0, ())
    boxes = [panel.box for panel in film.pose_strip(take(plan), plan, columns=most).panels]
    assert (len({box[0] for box in boxes}), len({box[1] for box in boxes})) == shape


def test_a_picture_of_a_strip_holds_only_the_ground_it_shows() -> None:
    plan = film.Schedule((0.0, END), (0.1, 0.1), 1.0, ())
    for panel in film.pose_strip(take(plan), plan).panels:
        low = panel.cameras[0].left
        high = low + panel.box[2] / panel.cameras[0].scale
        for shape in panel.still:
            if not isinstance(shape, Label):
                assert min(x for x, _ in shape.points) < high + 0.2
                assert max(x for x, _ in shape.points) > low - 0.2
    first, last = (p.still for p in film.pose_strip(take(plan), plan).panels)
    boards = [sum(isinstance(s, Area) and s.role == "line" for s in row) for row in (first, last)]
    steps = [sum(s.role == "mark" and isinstance(s, Area) for s in row) for row in (first, last)]
    assert (boards, steps) == ([1, 0], [0, 1])


def test_long_lines_are_cut_to_what_is_seen_and_no_further() -> None:
    line = Stroke(tuple((x / 10, math.sin(x / 10)) for x in range(101)), "arc")
    (cut,) = in_view((line,), 2.0, 3.0)
    assert isinstance(cut, Stroke)
    assert [x for x, _ in cut.points] == [x / 10 for x in range(19, 32)]
    whole = Stroke(((0.0, 0.0), (10.0, 0.0)), "line")
    assert in_view((whole, line), 11.0, 12.0) == ()
    assert in_view((whole,), 4.0, 5.0) == (whole,)


def test_a_trail_of_small_figures_says_its_measure_over_the_picture_only() -> None:
    plan = film.Schedule((0.0, 0.15, END), (0.1,) * 3, 1.0, ())
    for wide, inside in ((1600, True), (300, False)):
        made = film.ghost_trail(take(plan), plan, wide, notes=NOTES)
        drawn = [s for s in made.panels[0].still if s.role == "measure"]
        assert any(isinstance(s, Label) for s in drawn) == inside
        assert any(isinstance(s, Stroke) for s in drawn)
        assert any(c.role == "measure" for c in made.still_captions)


def test_a_mirrored_athlete_makes_the_same_clip_with_the_legs_changed() -> None:
    plan = film.schedule(0, END, fps=20)
    right = take(plan)
    swap = [*range(3), *range(6, 9), *range(3, 6), *range(13, 17), *range(9, 13)]
    left = replace(right, positions=np.array(right.positions)[:, swap], near="l")
    assert film.clip(left, plan).panels == film.clip(right, plan).panels


@given(st.text(max_size=60), st.floats(20, 600), st.floats(8, 40))
def test_texts_are_cut_never_grown(text: str, room: float, size: float) -> None:
    cut = shortened(text, room, size)
    assert cut == text or (cut.endswith("…") and text.startswith(cut[:-1].rstrip()))
    assert len(cut) <= max(len(text), 2)


# --- ground ---------------------------------------------------------------------------------


@given(st.floats(0.05, 1.5), st.lists(st.floats(0, 30), max_size=8))
def test_names_of_marks_never_overlap(line: float, marks: list[float]) -> None:
    ground = Runway(-1, 31, 20, (0.0,), tuple((x, f"mark {i}") for i, x in enumerate(marks)))
    shapes = ground.shapes(line)
    named = [s for s in shapes if isinstance(s, Label) and s.role == "mark"]
    assert sorted(s.text for s in named) == sorted(f"mark {i}" for i in range(len(marks)))
    for i, one in enumerate(named):
        for other in named[:i]:
            level = abs(one.at[1] - other.at[1]) < line
            assert not level or abs(one.at[0] - other.at[0]) >= 0.6 * line * 6
    lowest = min((s.at[1] for s in shapes if isinstance(s, Label)), default=0)
    assert lowest - line / 2 >= -ground.below(line) - 1e-9


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"start": math.nan}, "finite"),
        ({"end": -2}, "end 0 to 200 m beyond"),
        ({"hurdles": ((1.0, 2.0),)}, "hurdle: 0 to 1.2 m high, got 2.0"),
        ({"marks": ((math.inf, "x"),)}, "finite"),
    ],
)
def test_a_bad_runway_is_refused(told: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Runway(**{"start": 0.0, "end": 10.0, **told})


# --- what is refused ------------------------------------------------------------------------

PLAN = film.schedule(0, END, fps=10)


def broken(at: int) -> film.Take:
    bodies = [list(body) for body in take(PLAN).positions]
    bodies[at][3] = (math.nan, 1.0)
    return replace(take(PLAN), positions=bodies)


@pytest.mark.parametrize(
    ("given_take", "words"),
    [
        (broken(2), r"take at 0\.200 s: positions: must be finite numbers, got nan"),
        (replace(take(PLAN), positions=[]), "take: a body for each of 7 instants, got 0"),
        (replace(take(PLAN), com=[(0.0, math.inf)] * 7), "take com: must be finite"),
        (replace(take(PLAN), com=[(0.0, 1.0)]), "take com: one for each of 7"),
        (replace(take(PLAN), positions=np.zeros((7, 14, 2))), "17 points needed, got 14"),
        (replace(take(PLAN), near="x"), "near: r or l"),  # type: ignore[arg-type]
    ],
)
def test_a_bad_take_is_refused_in_one_line(given_take: film.Take, words: str) -> None:
    for make in (film.clip, film.pose_strip, film.ghost_trail):
        with pytest.raises(ValueError, match=words) as told:
            make(given_take, PLAN)
        assert "\n" not in str(told.value)


def test_more_that_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="camera: fixed, follow or both, got 'crane'"):
        film.clip(take(PLAN), PLAN, camera="crane")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="theme: must be one of"):
        film.clip(take(PLAN), PLAN, theme="neon")
    with pytest.raises(ValueError, match="at most 6 rows, got 7"):
        film.side_by_side(take(PLAN), take(PLAN), PLAN, [film.Row("a", 1, 2)] * 7)
    with pytest.raises(ValueError, match="size: taller for 6 rows"):
        film.side_by_side(take(PLAN), take(PLAN), PLAN, [film.Row("a", 1, 2)] * 6, size=(960, 200))
    with pytest.raises(ValueError, match="must be finite numbers, got nan"):
        film.side_by_side(take(PLAN), take(PLAN), PLAN, [film.Row("a", math.nan, 2)])
    with pytest.raises(ValueError, match="captions: one for each of 7 pictures, got 1"):
        film.pose_strip(take(PLAN), PLAN, ["x"])
    with pytest.raises(ValueError, match=r"file: .gif, .svg, .png, .mp4 or .webm needed, got .avi"):
        film.save(scene(), tmp_path / "a.avi")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "size", [(0, 0), (959, 540), (-2, 540), (960, 10**6), (960.5, 540), (math.nan, 540)]
)
def test_an_impossible_size_is_refused(size: Any) -> None:
    words = r"^size: even whole numbers from 16 to 4096"
    with pytest.raises(ValueError, match=words):
        film.clip(take(PLAN), PLAN, size=size)
    with pytest.raises(ValueError, match=words):
        film.side_by_side(take(PLAN), take(PLAN), PLAN, size=size)
    with pytest.raises(ValueError, match=words):
        film.pose_strip(take(PLAN), PLAN, cell=size)
    with pytest.raises(ValueError, match=words):
        film.ghost_trail(take(PLAN), PLAN, width=size[0] if size[0] != 960 else 961)


POINT = st.tuples(st.floats(-300, 300), st.floats(-5, 12))


@settings(max_examples=25, deadline=None)
@given(st.lists(POINT, min_size=17, max_size=17), st.sampled_from([(480, 270), (64, 64)]))
def test_any_finite_body_is_drawn_or_refused_in_one_line(
    body: list[tuple[float, float]], size: tuple[int, int]
) -> None:
    plan = film.schedule(0, 0.1, fps=10)
    odd = film.Take([body] * len(plan.instants), name="x" * 60, runway=Runway(-5, 10))
    for camera in ("fixed", "follow", "both"):
        said = ""
        try:
            made = film.clip(odd, plan, NOTES, camera, size)
            check(made)
        except ValueError as refused:
            said = str(refused)
        assert "\n" not in said
        if not said:
            assert svg(made).endswith("</svg>\n")


PANEL = Panel((0, 0, 64, 48), (Camera(0, 0, 20),), (Stroke(((0, 0), (1, 1)), "line"),))
GOOD = Scene((64, 48), (0.1, 0.1), (PANEL,))


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (replace(GOOD, durations=()), "frames: 1 to 5000, got 0"),
        (replace(GOOD, durations=(0.1, 0.001)), r"durations\[1\]: 0.02 to 600 s, got 0.001"),
        (replace(GOOD, durations=(0.1, math.nan)), r"durations\[1\]"),
        (replace(GOOD, size=(65, 48)), "size: even whole numbers"),
        (replace(GOOD, size=(0, 48)), "size: "),
        (replace(GOOD, size=(100_000, 48)), "size: "),
        (replace(GOOD, poster=2), "poster: a frame from 0 to 1, got 2"),
        (replace(GOOD, captions=((),)), "captions: one set for each of 2 frames, got 1"),
        (replace(GOOD, still_captions=(Caption((math.nan, 1), "x"),)), "caption: finite"),
        (replace(GOOD, still_captions=(Caption((1, 1), "a\nb"),)), "printable text on one line"),
        (replace(GOOD, still_captions=(Caption((1, 1), "x" * 201),)), "at most 200 characters"),
        (replace(GOOD, panels=(replace(PANEL, box=(0, 0, 65, 48)),)), "a box inside the picture"),
        (replace(GOOD, panels=(replace(PANEL, cameras=(Camera(0, 0, math.nan),)),)), "camera"),
        (
            replace(GOOD, panels=(replace(PANEL, cameras=(Camera(0, 0, 9), Camera(0, 0, 8))),)),
            "all cameras of one scale",
        ),
        (replace(GOOD, panels=(replace(PANEL, moving=((),)),)), "shapes for each of 2 frames"),
        (
            replace(
                GOOD,
                panels=(
                    replace(PANEL, moving=((), (Area(((0, 0), (1, math.nan), (1, 1)), "near"),))),
                ),
            ),
            "panel 0, frame 1: must be finite coordinates",
        ),
        (replace(GOOD, panels=(replace(PANEL, still=(Stroke(((0, 0),), "line"),)),)), "points"),
        (
            replace(GOOD, panels=(replace(PANEL, still=(Label((0, 0), "x\x00"),)),)),
            "printable text",
        ),
        (
            replace(GOOD, panels=(replace(PANEL, still=(Stroke(((0, 0), (1, 1)), "pink"),)),)),  # type: ignore[arg-type]
            "role: one of .*, got 'pink'",
        ),
        (
            replace(
                GOOD,
                panels=(replace(PANEL, still=(Stroke(((0, 0), (1, 1)), "line", dash=(0, 1)),)),),
            ),
            "dash lengths above 0",
        ),
    ],
)
@pytest.mark.parametrize("ending", ["gif", "svg", "png"])
def test_a_bad_scene_is_refused_in_one_line_and_leaves_no_file(
    bad: Scene, words: str, ending: str, tmp_path: Path
) -> None:
    with pytest.raises(ValueError, match=words) as told:
        film.save(bad, tmp_path / f"a.{ending}")
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ending", ["gif", "svg", "png"])
def test_an_existing_clip_is_kept_unless_told(ending: str, tmp_path: Path) -> None:
    file = tmp_path / f"a.{ending}"
    file.write_text("mine")
    with pytest.raises(ValueError, match="exists already and is kept"):
        film.save(GOOD, file)
    assert file.read_text() == "mine"
    film.save(GOOD, file, overwrite=True)
    assert file.read_bytes() != b"mine"
    assert [p.name for p in tmp_path.iterdir()] == [file.name]
    with pytest.raises(ValueError, match="its folder must exist"):
        film.save(GOOD, tmp_path / "no" / file.name)


# --- light imports --------------------------------------------------------------------------

LIGHT = """
import sys
sys.path.insert(0, {root!r})
import animate.film.film
heavy = {{"numpy", "PIL", "matplotlib", "av", "shapely"}}
assert not heavy & set(sys.modules), heavy & set(sys.modules)
from tests.animate.film.test_film_plain import small
for ending, allowed in (("svg", set()), ("gif", {{"PIL"}})):
    animate.film.film.save(small(), {folder!r} + "/a." + ending)
    assert not (heavy - allowed) & set(sys.modules), (ending, heavy & set(sys.modules))
"""


def test_importing_stays_light_and_a_gif_needs_no_numpy(tmp_path: Path) -> None:
    root = Path(__file__).parents[3]
    code = LIGHT.format(root=str(root), folder=str(tmp_path))
    subprocess.run([sys.executable, "-c", code], check=True)
    assert len(JOINTS) == 17
    assert {p.name for p in tmp_path.iterdir()} == {"a.svg", "a.gif"}


@pytest.mark.parametrize("size", [(480, 270), (960, 540), (200, 400)])
def test_a_trimmed_clip_is_the_same_picture_without_the_empty_sky(size: tuple[int, int]) -> None:
    plan = film.schedule(0, END, fps=10)
    whole, cut = (
        film.clip(take(plan), plan, camera="fixed", size=size, trim=trim) for trim in (False, True)
    )
    check(cut)
    assert whole.size == size
    assert cut.size[0] == size[0]
    assert cut.size[1] <= size[1]
    assert cut.panels[0].cameras == whole.panels[0].cameras
    assert cut.panels[0].moving == whole.panels[0].moving
    left, top, wide, high = cut.panels[0].box
    assert (left, wide, top + high) == (0, size[0], cut.size[1])
    eye = cut.panels[0].cameras[0]
    sky = eye.bottom + high / eye.scale - max(z for t in plan.instants for _, z in body_at(t))
    assert 0.19 < sky < 0.25 + 2 / eye.scale


@pytest.mark.parametrize("made", [lambda: scene("follow"), lambda: scene("both"), beside])
def test_no_text_on_the_ground_is_cut_by_the_edge(made: Callable[[], Scene]) -> None:
    """A camera that goes along cut "step contact" to "step contac"."""
    shown = 0
    for panel in made().panels:
        if len(panel.cameras) == 1:
            continue
        assert not [s for s in panel.still if isinstance(s, Label)]
        for camera, shapes in zip(panel.cameras, panel.moving, strict=True):
            for said in (s for s in shapes if isinstance(s, Label) and s.role in ("quiet", "mark")):
                long = writing(said.text, panel.text * said.size, said.bold).wide
                middle = (said.at[0] - camera.left) * camera.scale
                assert long / 2 - 1 <= middle <= panel.box[2] - long / 2 + 1, said.text
                shown += 1
    assert shown > 20
