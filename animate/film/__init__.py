"""Motion shown: clips, stills, and one writer for each kind of file."""
