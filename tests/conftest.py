"""Property tests: no deadline, since a shared machine is slow now and then; repeatable in CI.

Motions solved on this machine before make no difference: the tests have a cache of their own.
"""

from __future__ import annotations

import atexit
import datetime
import os
import shutil
import tempfile
import time

import pytest
from hypothesis import HealthCheck, settings

SLOW_MACHINE = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("phasemark", SLOW_MACHINE, max_examples=60)
settings.register_profile("phasemark-ci", SLOW_MACHINE, max_examples=60, derandomize=True)
settings.register_profile("phasemark-quick", SLOW_MACHINE, max_examples=10, derandomize=True)
if os.environ.get("PHASEMARK_TESTS") == "quick":
    settings.load_profile("phasemark-quick")
else:
    settings.load_profile("phasemark-ci" if os.environ.get("CI") else "phasemark")

_CACHE = tempfile.mkdtemp(prefix="phasemark-tests-")
atexit.register(shutil.rmtree, _CACHE, ignore_errors=True)
os.environ["PHASEMARK_CACHE"] = _CACHE

EVENING, MORNING = 21, 9


def away_from_midnight() -> None:
    """Where the day would end while tests run, they run where it is morning: many ask for today's day twice.

    Programs and browsers that they start do so too.
    """
    if not hasattr(time, "tzset") or datetime.datetime.now().hour < EVENING:
        return
    before = os.environ.get("TZ")
    east = (MORNING - datetime.datetime.now(datetime.UTC).hour + 11) % 24 - 11
    os.environ["TZ"] = f"Etc/GMT{-east:+d}"
    time.tzset()
    if datetime.datetime.now().hour >= EVENING:  # this machine does not know the zone
        del os.environ["TZ"]
        os.environ |= {"TZ": before} if before else {}
        time.tzset()


away_from_midnight()
SLOW = (
    "tests/test_gallery.py",
    "tests/layout/commands/test_cli.py",
    "tests/layout/phone/test_phone_browser.py",
    "tests/layout/desk/test_desk_squad.py",
    "tests/layout/desk/test_desk_day.py",
    "tests/layout/desk/test_desk_season_browser.py",
    "tests/layout/desk/test_picture_files.py",
    "tests/layout/desk/test_desk_browser.py",
    "tests/layout/desk/test_desk_squad_browser.py",
    "tests/layout/desk/",
    "tests/animate/motion/test_best.py",
    "tests/layout/moving/test_clearing.py",
    "tests/layout/commands/test_hurdles_checked.py",
    "tests/animate/test_kept.py",
    "tests/layout/commands/",
    "tests/layout/sheet/",
    "tests/layout/season/",
    "tests/layout/squad/",
    "tests/layout/plan/test_spacing.py",
    "tests/layout/page/test_files.py",
    "tests/layout/moving/",
    "tests/animate/motion/",
)
"""Files that take long begin first, so that no core is left with one of them at the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put slow files first, each whole."""
    places = {path: number for number, path in enumerate(SLOW)}
    items.sort(
        key=lambda i: next((n for p, n in places.items() if i.nodeid.startswith(p)), len(SLOW))
    )
