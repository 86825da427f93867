"""One whole process that makes the bench clip: `film_bench_child.py ours|theirs FILE GIVEN`.

Both draw the same scene: sixteen outlines of the body in the same colours and edges, the same
static runway with its scale, the same two changing texts, 90 frames of 960 x 540 at 25 a second.
Ours is given bodies and works out the outlines; theirs is given the finished outlines.
"""

from __future__ import annotations

import marshal
import sys
from typing import Any

FRAMES, WIDTH, HEIGHT, RATE = 90, 960, 540, 25
LEFT, RIGHT, LOW = -1.0, 6.5, -0.62


def texts(frame: int, body: list[list[float]]) -> tuple[str, str]:
    """The two texts that change."""
    return f"{frame / RATE:.2f} s", f"hip at {body[0][0]:.2f} m"


def ours(file: str, bodies: list[list[list[float]]]) -> None:
    from animate.body.figure import athlete
    from animate.film.film import save
    from animate.film.ground import Runway
    from animate.film.scene import Camera, Caption, Panel, Scene

    scale = WIDTH / (RIGHT - LEFT)
    ground = Runway(
        LEFT, RIGHT, sand=6.0, boards=(0.0,), marks=((5.0, "step"),), hurdles=((2.5, 0.3),)
    )
    panel = Panel(
        (0, 0, WIDTH, HEIGHT),
        (Camera(LEFT, LOW, scale),),
        ground.shapes(20 / scale),
        tuple(athlete(body) for body in bodies),
        18,
    )
    captions = []
    for frame, body in enumerate(bodies):
        clock, place = texts(frame, body)
        captions.append(
            (Caption((20, 36), clock, 22), Caption((940, 36), place, 22, align="right"))
        )
    name = (Caption((480, 36), "step", 22, align="middle"),)
    scene = Scene((WIDTH, HEIGHT), (1 / RATE,) * FRAMES, (panel,), name, tuple(captions))
    save(scene, file)


def theirs(file: str, given: dict[str, list[Any]]) -> None:
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt
    from matplotlib.animation import FFMpegWriter, FuncAnimation, PillowWriter

    bodies = given["bodies"]
    figure = plt.figure(figsize=(WIDTH / 100, HEIGHT / 100), dpi=100)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(LEFT, RIGHT)
    axes.set_ylim(LOW, LOW + HEIGHT / WIDTH * (RIGHT - LEFT))
    axes.axis("off")
    for start, end, colour in ((LEFT, 6.0, "#e2d3c8"), (6.0, RIGHT, "#f3e4b2")):
        axes.fill([start, end, end, start], [-0.1, -0.1, 0, 0], colour)
    axes.plot([LEFT, RIGHT], [0, 0], color="#463c34", lw=1)
    axes.fill([-0.2, 0, 0, -0.2], [-0.1, -0.1, 0, 0], "#463c34")
    axes.plot([2.5, 2.5], [0, 0.3], color="#8c4200", lw=3)
    axes.fill([4.93, 5.07, 5.0], [0, 0, 0.16], "#b05400")
    for x in range(7):
        axes.plot([x, x], [-0.15, -0.1], color="#5c626c", lw=1)
        axes.text(x, -0.3, f"{x} m", ha="center", fontsize=11)
    axes.text(5.0, -0.5, "step", ha="center", fontsize=12)
    figure.text(0.5, 0.93, "step", ha="center", fontsize=16)
    clock = figure.text(0.02, 0.93, "", fontsize=16)
    place = figure.text(0.98, 0.93, "", ha="right", fontsize=16)
    limbs = []
    for outline, fill, edge in given["outlines"][0]:
        limbs.append(axes.fill(*zip(*outline, strict=True), fill, ec=edge, lw=1)[0])

    def update(frame: int) -> list[Any]:
        for limb, (outline, _, _) in zip(limbs, given["outlines"][frame], strict=True):
            limb.set_xy(outline)
        one, two = texts(frame, bodies[frame])
        clock.set_text(one)
        place.set_text(two)
        return [*limbs, clock, place]

    writer = PillowWriter(fps=RATE) if file.endswith(".gif") else FFMpegWriter(fps=RATE)
    FuncAnimation(figure, update, frames=FRAMES, blit=False).save(file, writer=writer, dpi=100)


if __name__ == "__main__":
    who, where, source = sys.argv[1:]
    with open(source, "rb") as file_given:
        told = marshal.load(file_given)  # the quickest there is: neither side is to pay for reading
    (ours if who == "ours" else theirs)(where, told)
    if sys.platform == "linux":  # the parent's own peak hides a small child's in rusage
        with open("/proc/self/status") as status:
            peak = int(next(line.split()[1] for line in status if line.startswith("VmHWM")))
        helper = 0
        if "subprocess" in sys.modules:  # the other writer's encoder is a process beside it
            import resource

            helper = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        print(peak, helper)
