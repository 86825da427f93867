"""The animated SVG as a real browser shows it, at several instants."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from animate.film.raster import Raster
from animate.film.scene import Scene
from animate.film.svg import svg
from tests.animate.film.film_scenes import beside, off, scene, without_texts

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--hide-scrollbars",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PAGE = """<!doctype html><style>body{{margin:0}}svg{{display:block}}</style>{svg}
<script>const s=document.querySelector("svg");s.pauseAnimations();s.setCurrentTime({t})</script>"""

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")


def shot(whole: Scene, t: float, folder: Path, *flags: str) -> Image.Image:
    assert BROWSER is not None
    page, picture = folder / "page.html", folder / "shot.png"
    page.write_text(PAGE.format(svg=svg(whole), t=t), encoding="utf-8")
    picture.unlink(missing_ok=True)
    command = [
        BROWSER,
        *FLAGS,
        *flags,
        f"--user-data-dir={folder / 'user'}",
        f"--screenshot={picture}",
    ]
    command += [f"--window-size={whole.size[0]},{whole.size[1] + 200}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    with Image.open(picture) as image:
        return image.convert("RGB").crop((0, 0, *whole.size))


@pytest.mark.parametrize("kind", ["both", "beside"])
@pytest.mark.parametrize("share", [0.0, 0.33, 4.8])
def test_the_browser_shows_the_frame_of_the_instant(
    kind: str, share: float, tmp_path: Path
) -> None:
    whole = scene("both") if kind == "both" else beside()
    total, frame = sum(whole.durations), 0
    t = share * total + 0.005
    rest = t % total
    while rest >= whole.durations[frame]:
        rest -= whole.durations[frame]
        frame += 1
    # Letters are set by the browser's own rules, so they are left out where it is to be close.
    for made, most in ((whole, 4.0), (without_texts(whole), 1.3)):
        seen = shot(made, t, tmp_path)
        raster = Raster(made)
        own = off(seen, raster.whole(frame))
        assert own < most
        others = [off(seen, raster.whole(i)) for i in range(len(made.durations)) if i != frame]
        assert own < min(others)


def test_a_viewer_who_asks_for_less_motion_sees_the_held_frame(tmp_path: Path) -> None:
    made = without_texts(scene("both"))
    ours = Raster(made).whole(made.poster)
    calm = "--force-prefers-reduced-motion"
    for t in (0.005, 0.8 * sum(made.durations)):
        assert off(shot(made, t, tmp_path, calm), ours) < 1.3
        assert off(shot(made, t, tmp_path), ours) > 2.0
