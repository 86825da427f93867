"""The demo club, Marram Point: fictional athletes and example tables."""

from __future__ import annotations

from importlib.resources import files


def club_files() -> dict[str, str]:
    """The athlete files, by name without its ending."""
    found = (p for p in files(__package__).iterdir() if p.name.endswith(".toml"))
    return {
        p.name.removesuffix(".toml"): p.read_text(encoding="utf-8")
        for p in sorted(found, key=lambda p: p.name)
    }
