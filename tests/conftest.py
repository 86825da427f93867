"""Property tests: no deadline, since a shared machine is slow now and then; repeatable in CI."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("phasemark", deadline=None, max_examples=60)
settings.register_profile("phasemark-ci", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("phasemark-ci" if os.environ.get("CI") else "phasemark")
