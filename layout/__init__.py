"""Phasemark: plan and set out triple-jump drills."""

__version__ = "0.1.0"
