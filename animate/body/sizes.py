"""Sizes and builds of bodies that are accepted: light, for whoever only asks."""

from __future__ import annotations

from typing import Final, Literal

Build = Literal["male", "female", "average"]
STATURE_RANGE: Final = (1.10, 2.30)
"""Statures the segment tables are stretched to [m]; both studies measured adults."""
MASS_RANGE: Final = (18.0, 180.0)
"""Masses accepted [kg]."""
