"""`python -m layout` is the command `phasemark`."""

import sys

from layout.cli import main

sys.exit(main())
