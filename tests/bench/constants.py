"""Constants of the model that no row holds, each a margin more and less: whether its test notices.

    python -m tests.bench.constants [part of a name ...]

`tests.published.pins` names a test for each; it is run in a fork, with the constant moved wherever it is
known by its name. What only counts while files are read (`AS_READ`) cannot be moved so, and is left out.
"""

from __future__ import annotations

import os
import sys
from typing import Any

import pytest

from tests.bench.mutants import FLAGS, ROOT
from tests.published.moved import moved
from tests.published.pins import ONE_WAY, TESTS, margin


class Mover:
    """A pytest plugin: in place of the plain loop, each constant's own test with it moved."""

    def __init__(self, only: list[str]) -> None:
        self.only = only
        self.tried, self.unnoticed = 0, 0

    def pytest_runtestloop(self, session: Any) -> bool:
        """Try each constant both ways."""
        for name, where in TESTS.items():
            if not any(part in name for part in self.only):
                continue
            self.tried += 1
            items = [
                i for i in session.items if any(i.nodeid.split("[")[0] == w for w in where.split())
            ]
            signs = [ONE_WAY[name]] if name in ONE_WAY else [1, -1]
            ways = [self.notices(session, items, name, sign * margin(name)) for sign in signs]
            if not all(ways):
                print(
                    f"NOT NOTICED {name} {margin(name):g} {ways} {where}",
                    file=sys.__stderr__,
                    flush=True,
                )
                self.unnoticed += 1
        print(f"{self.unnoticed} of {self.tried} not noticed", file=sys.__stderr__)
        return True

    @staticmethod
    def notices(session: Any, items: list[Any], name: str, by: float) -> bool:
        """Whether one of the tests fails in a fork with the constant moved."""
        assert items, name
        if pid := os.fork():
            return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) != 0
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        with moved(name, by):
            for item in items:
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
                if session.testsfailed:
                    os._exit(1)
        os._exit(0)


if __name__ == "__main__":
    os.environ |= {"PHASEMARK_TESTS": "quick", "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    os.chdir(ROOT)
    files = sorted({w.partition("::")[0] for where in TESTS.values() for w in where.split()})
    pytest.main([*FLAGS, *files], plugins=[Mover(sys.argv[1:] or [""])])
