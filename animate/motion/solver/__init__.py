"""How a motion is found: key poses, mechanics as expressions, the program, the library.

Nothing here imports the optimiser until a solve is asked for.
"""
