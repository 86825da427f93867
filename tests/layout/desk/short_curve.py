"""phasemark whose curves have three points and one change in their margin, so that a test sees one to its
end: `python -m tests.layout.desk.short_curve desk ...`. A process it starts imports this file too."""

from __future__ import annotations

import sys

from layout.moving import worth

for _name, _value in (("STEPS", 1), ("VARIED", worth.VARIED[:1]), ("LEAST", 1)):
    setattr(worth, _name, _value)

if __name__ == "__main__":
    from layout.cli import main

    sys.exit(main(sys.argv[1:]))
