"""The coach planning weeks: rungs, ladder, block, load of a session."""
