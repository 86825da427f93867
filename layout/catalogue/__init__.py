"""Drills, ladder, venues, sources and the demo club, as TOML and CSV."""
