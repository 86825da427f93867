"""The desk's speed and memory as a coach meets them, in a real browser, by hand.

`python -m tests.bench.desk_speed [quick]` prints each figure beside its target, for some minutes; `quick`
takes every fourth drill. Where the machine is busy the wall time says little: beside it stands the
processor time of desk and page together, which is what a quiet machine would take, since one waits for
the other.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Page, sync_playwright

from layout.plan.drill import catalogue
from tests.browser import BROWSER
from tests.layout.desk.desks import killed

SIZES: Final = {"phone": (390, 844), "laptop": (1366, 768)}
MOVED: Final = """async (to) => {
  const slider = document.getElementById('strides'), card = document.getElementById('card');
  const seen = new Promise((go) => {
    const watch = new MutationObserver(() => { watch.disconnect(); go(); });
    watch.observe(card, { childList: true, subtree: true, characterData: true });
    setTimeout(go, 5000);
  });
  const start = performance.now();
  slider.value = to;
  slider.dispatchEvent(new Event('input', { bubbles: true }));
  await seen;
  await new Promise((go) => requestAnimationFrame(() => setTimeout(go, 0)));
  return performance.now() - start;
}"""
"""A finger puts the strides elsewhere: how long until runway and card are painted [ms]."""
PUT: Final = """async (text) => {
  const form = document.getElementById('jumped'), start = performance.now();
  form.elements.r0.value = form.elements.r1.value = text;
  const asked = new URLSearchParams(new FormData(form));
  await (await fetch('/jumped', { method: 'POST', body: asked })).text();
  return performance.now() - start;
}"""
"""A run is put down: how long until the page that confirms it has come [ms]."""


def told(name: str, values: list[float], unit: str, target: str) -> None:
    """One row: median, least and most beside the target."""
    middle = statistics.median(values)
    print(f"{name:<46}{middle:>8.0f} {unit:<3} ({min(values):.0f} to {max(values):.0f}, "
          f"{len(values)})  target {target}")  # fmt: skip


def memory(process: Any) -> float:
    """What the desk's own process holds [MB]."""
    text = Path(f"/proc/{process.pid}/status").read_text()
    return int(text.partition("VmRSS:")[2].split()[0]) / 1024


def worked_of(process: Any) -> float:
    """Processor time of the desk's threads so far [ms]."""
    tasks = Path(f"/proc/{process.pid}/task").glob("*/schedstat")
    return sum(int(t.read_text().split()[0]) for t in tasks) / 1e6


def spent(process: Any, cdp: Any) -> float:
    """Processor time of the desk and of the page so far [ms]."""
    told = {m["name"]: m["value"] for m in cdp.send("Performance.getMetrics")["metrics"]}
    return worked_of(process) + 1000 * float(told["TaskDuration"])


def started(times: int) -> None:
    """From the command to the first page in a browser that is open already."""
    taken, worked = [], []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        page = browser.new_page()
        for _ in range(times + 1):
            start = time.perf_counter()
            with killed(Path(tempfile.mkdtemp())) as (address, process):
                page.goto(address)
                page.locator("h1").wait_for()
                taken.append(1000 * (time.perf_counter() - start))
                worked.append(worked_of(process))
        browser.close()
    told("start to first page", taken[1:], "ms", "1000")
    told("  processor time of the desk", worked[1:], "ms", "1000")


def strides(page: Page, home: str, size: str, step: int, process: Any) -> None:
    """Every athlete and drill with a run-up: each number of strides new, then one seen before."""
    wide, high = SIZES[size]
    page.set_viewport_size({"width": wide, "height": high})
    cdp = page.context.new_cdp_session(page)
    cdp.send("Performance.enable")
    new, again, worked, seen = [], [], [], []
    worst: dict[str, float] = {}
    for slug in [d.slug for d in catalogue().values() if d.start == "run"][::step]:
        for athlete in range(1, 7):
            page.goto(f"{home}/set-out?a={athlete}&d={slug}")
            if not page.locator("#runway svg").count():
                continue
            page.evaluate(MOVED, "2")
            for to in ("3", "4", "5"):
                before = spent(process, cdp)
                new.append(page.evaluate(MOVED, to))
                worked.append(spent(process, cdp) - before)
                worst[slug] = max(worst.get(slug, 0.0), worked[-1])
            before = spent(process, cdp)
            again.append(page.evaluate(MOVED, "4"))
            seen.append(spent(process, cdp) - before)
    told(f"strides to painted runway and card, {size}", new, "ms", "80, worst 200")
    told("  processor time", worked, "ms", "80, worst 200")
    told(f"the same, seen before, {size}", again, "ms", "40")
    told("  processor time", seen, "ms", "40")
    print(
        "  worst:", *(f"{s} {ms:.0f}" for s, ms in sorted(worst.items(), key=lambda r: -r[1])[:3])
    )


def day(page: Page, home: str, step: int) -> None:
    """What a long day asks for: every screen of everybody, sheets, phone pages, clips, solves."""
    slugs = list(catalogue())[::step]
    for athlete in range(1, 7):
        for slug in slugs:
            page.goto(f"{home}/set-out?a={athlete}&d={slug}")
            for out in ("sheet.pdf", "phone.html", "clip.svg"):
                page.context.request.get(f"{home}/{out}?a={athlete}&d={slug}")
            page.goto(f"{home}/jumped?a={athlete}&d={slug}")


def main() -> None:
    """All of it."""
    step = 4 if "quick" in sys.argv else 1
    started(5)
    with killed(Path(tempfile.mkdtemp())) as (address, process), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        page, home = browser.new_context().new_page(), address.partition("/enter")[0]
        page.goto(address)
        time.sleep(3.0)
        print(f"{'idle, first page shown':<46}{memory(process):>8.0f} MB   target 60")
        for size in SIZES:
            strides(page, home, size, step, process)
        page.goto(f"{home}/jumped?a=6&d=hop-step-sand")
        taken = [page.evaluate(PUT, f"3.{i:02}") for i in range(10, 40)]
        told("a run put down", taken, "ms", "100")
        day(page, home, step)
        print(f"{'after a day of use':<46}{memory(process):>8.0f} MB   target 150")
        browser.close()


if __name__ == "__main__":
    if BROWSER is None:
        raise SystemExit("no chromium on this machine")
    main()
