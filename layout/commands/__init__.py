"""One file for each command, and the text and JSON they print."""
