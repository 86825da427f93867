"""The club's book: what was planned and jumped, kept, corrected, exchanged, erased."""
