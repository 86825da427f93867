"""Frames of a video that the browser cannot step through, cut out here; the video itself is not kept."""

from __future__ import annotations

import json
import tempfile
from typing import BinaryIO

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from layout.words.faults import BadInput, refuse
from layout.words.reading import read_count, read_number


async def frame(request: Request) -> Response:
    """Times of all frames, and some of them as pictures, of the video that is sent.

    The video lies in a file without a name, which is gone with this answer whatever becomes of it.
    """
    try:
        at = read_number("from", request.query_params.get("from", ""), 0.0, 36_000.0, "s")
        count = read_count("count", request.query_params.get("count", ""), 1, 12)
        with tempfile.TemporaryFile() as file:
            async for part in request.stream():
                file.write(part)
            file.seek(0)
            return Response(await run_in_threadpool(_cut, file, at, count),
                            media_type="application/octet-stream")  # fmt: skip
    except BadInput as error:
        return _failed(error)
    except OSError as error:
        return _failed(refuse("video", f"no room for it on this machine ({error.strerror})"))
    except ClientDisconnect:
        return Response(status_code=400)


def _failed(error: BadInput) -> Response:
    """Why there are no frames: an answer like any other, so that the browser reports no failure."""
    return JSONResponse({"state": "failed", "why": "; ".join(f.rule for f in error.faults)})


def _cut(file: BinaryIO, at: float, count: int) -> bytes:
    """The frames behind a line that tells them: its length in four bytes, then JSON, then the pictures."""
    from layout.picture.film import cut

    found = cut(file, at, count)
    sizes = [len(p) for p in found.pictures]
    head = json.dumps({"times": found.times, "first": found.first, "sizes": sizes}).encode()
    return b"".join([len(head).to_bytes(4, "big"), head, *found.pictures])
