"""Everything that must pass, in one command: python -m tests."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STEPS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("pytest",),
)


def main() -> int:
    """Run every step; stop at the first that fails."""
    for step in STEPS:
        print("+", " ".join(step), flush=True)
        code = subprocess.run([sys.executable, "-m", *step], cwd=ROOT, check=False).returncode
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
