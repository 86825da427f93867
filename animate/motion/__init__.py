"""Motion through given contacts: solved, checked, measured, compared, kept; `motions` ships solved ones."""
