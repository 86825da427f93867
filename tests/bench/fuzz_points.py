"""Coverage-guided fuzzing of files of points, by hand; wants `pip install atheris`.

``python -m tests.bench.fuzz_points [CORPUS] [-max_total_time=300]``: any exception but a refusal
in one line stops it and keeps the input. What is read is measured too, with numpy set to raise.
"""

from __future__ import annotations

import sys


def points(data: bytes) -> None:
    """A file of any bytes, read and measured."""
    import numpy as np

    from layout.picture.measured import measure
    from layout.picture.points import points_from
    from layout.picture.signs import signs_of
    from layout.words.faults import BadInput
    from layout.words.table import decoded
    from tests.layout.picture.pictures import WHO

    try:
        text = decoded(data)[0]
    except ValueError:
        return
    told = ["nothing"]
    try:
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            for frame in points_from(text, "p.csv").frames:
                signs_of(frame, WHO, measure(frame, WHO))
    except BadInput as error:
        told = [str(f) for f in error.faults]
    assert told
    assert not [line for line in told if len(line.splitlines()) != 1]


def main() -> None:
    """Fuzz until told to stop."""
    import atheris

    with atheris.instrument_imports(include=["layout"]):
        import layout.picture.signs  # noqa: F401

    atheris.Setup(sys.argv, points)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
