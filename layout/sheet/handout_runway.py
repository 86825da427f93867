"""The runway drawing of a handout: the same band as on the drawing alone."""

from layout.sheet.band import Band as Band
from layout.sheet.band import band as band
