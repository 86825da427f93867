"""Everything that must pass, in one command: python -m tests; or a quick part: python -m tests quick."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
QUICK = (
    "tests/test_arrows.py", "tests/test_house.py",
    *(f"tests/layout/{room}" for room in ("words", "rules", "athlete", "plan", "training")),
    *(f"layout/{room}" for room in ("words", "rules", "athlete", "plan", "training")),
    "tests/animate/body", "animate/body",
)  # fmt: skip
"""No motion is solved here, no browser opened and no gallery made; properties have fewer examples."""


def steps(quick: bool, cores: int) -> list[list[str]]:
    """The commands, the last one being the tests: a file of them stays on one core.

    Parameters
    ----------
    quick : bool
    cores : int
        Processes for the tests.
    """
    share = ["-p", "no:benchmark", *(["-n", str(cores), "--dist", "loadfile"] if cores > 1 else [])]
    return [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["pytest", *share, "--no-loadscope-reorder", *(QUICK if quick else ())],
    ]


def main(words: list[str]) -> int:
    """Run every step side by side, and tell each as it ends; 1 where one failed.

    `quick` is the only word.
    """
    if words not in ([], ["quick"]):
        print(f"tests: nothing or quick, got {' '.join(words)}", file=sys.stderr)
        return 2
    # What a desk works out has the lowest priority: where nobody else works, tests as low leave it its share.
    if os.environ.get("CI") and hasattr(os, "nice"):
        os.nice(19)
    cores = (
        len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    )
    # One thread each: the cores are shared out already.
    env = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    env |= {"PHASEMARK_TESTS": "quick"} if words else {}
    # Each core reads every test; what pytest makes of them takes longer than all the rest of reading.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    began, failed = time.monotonic(), False
    *others, tests = [[sys.executable, "-m", *step] for step in steps(bool(words), cores)]
    beside = [
        subprocess.Popen(o, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        for o in others
    ]
    ran = subprocess.run(tests, cwd=ROOT, env=env, check=False)
    for run in beside:
        out, _ = run.communicate()
        print("+", " ".join(str(w) for w in run.args[2:]), "\n", out, sep="", end="")  # type: ignore[index]
        failed |= run.returncode != 0
    print(f"{time.monotonic() - began:.0f} s")
    return int(failed or ran.returncode != 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
