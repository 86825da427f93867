"""Many rounds of a whole practice, by hand: ``python -m tests.bench.practice 200 [SEED]``.

Six phones, one drill, clocks wrong by a day, networks cut and given back at random, the desk killed and
started again; stops at the first run that is lost or doubled.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path


def main() -> None:
    """Run the rounds and say what they came to."""
    from playwright.sync_api import sync_playwright

    from tests.browser import BROWSER
    from tests.layout.desk.practice import held

    rounds, seed = int(sys.argv[1]), int((sys.argv[2:] or ["1"])[0])
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        found = held(Path(folder), browser, rounds, seed)
        browser.close()
    said = f"{found.rounds} rounds, {found.runs} runs confirmed, each in the inbox once"
    how = f"network changed {found.cuts} times, desk killed {found.deaths} times"
    print(f"{said}; {how}; {found.seconds:.0f} s")


if __name__ == "__main__":
    main()
