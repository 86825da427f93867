"""A page in millimetres, its letters, and the ways out of it."""
