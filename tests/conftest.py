"""Property tests: no deadline, since a shared machine is slow now and then; repeatable in CI.

Motions solved on this machine before make no difference: the tests have a cache of their own.
"""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

from hypothesis import settings

settings.register_profile("phasemark", deadline=None, max_examples=60)
settings.register_profile("phasemark-ci", deadline=None, max_examples=60, derandomize=True)
settings.register_profile("phasemark-quick", deadline=None, max_examples=10, derandomize=True)
if os.environ.get("PHASEMARK_TESTS") == "quick":
    settings.load_profile("phasemark-quick")
else:
    settings.load_profile("phasemark-ci" if os.environ.get("CI") else "phasemark")

_CACHE = tempfile.mkdtemp(prefix="phasemark-tests-")
atexit.register(shutil.rmtree, _CACHE, ignore_errors=True)
os.environ["PHASEMARK_CACHE"] = _CACHE
