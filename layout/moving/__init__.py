"""A plan's athlete in motion: chain, motion, clip, key poses, hurdles; `motions` ships the demo's."""
