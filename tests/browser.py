"""A real browser without a window, told what to do over a pipe: for the tests of pages."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

BROWSER: Final = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS: Final = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--hide-scrollbars", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--disable-dev-shm-usage", "--remote-debugging-pipe",
]  # fmt: skip
PATIENCE: Final = 300.0 if os.environ.get("CI") else 120.0
"""How long an answer may take before the test fails [s]."""
KEYS: Final = {
    "Tab": (9, ""), "Enter": (13, "\r"), " ": (32, " "), "ArrowRight": (39, ""),
    "ArrowLeft": (37, ""),
}  # fmt: skip


class Tab:
    """One page of the browser, and everything it reported."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back, self._rest, self._number = to, back, b"", 0
        self._session: str | None = None
        self.events: list[dict[str, Any]] = []
        targets = self.send("Target.getTargets")["targetInfos"]
        page = next(t for t in targets if t["type"] == "page")
        found = self.send("Target.attachToTarget", targetId=page["targetId"], flatten=True)
        self._session = found["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable")

    def send(self, method: str, **given: Any) -> dict[str, Any]:
        """Ask for one thing and wait for the answer."""
        self._number += 1
        asked: dict[str, Any] = {"id": self._number, "method": method, "params": given}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        while True:
            told = self._next(PATIENCE)
            assert told is not None, f"no answer to {method}"
            if told.get("id") == self._number:
                assert "error" not in told, told
                result: dict[str, Any] = told["result"]
                return result

    def _next(self, seconds: float) -> dict[str, Any] | None:
        end = time.monotonic() + seconds
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._back], [], [], max(end - time.monotonic(), 0.0))
            if not ready:
                return None
            got = os.read(self._back, 1 << 20)
            assert got, "the browser is gone"
            self._rest += got
        one, _, self._rest = self._rest.partition(b"\0")
        told: dict[str, Any] = json.loads(one)
        if "method" in told:
            self.events.append(told)
        return told

    def screen(self, width: int, height: int, **media: str) -> None:
        """Size of the screen [px], and what it prefers."""
        self.send(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=1, mobile=width < 600,
        )  # fmt: skip
        wishes = [{"name": n.replace("_", "-"), "value": v} for n, v in media.items()]
        self.send("Emulation.setEmulatedMedia", features=wishes)

    def open(self, file: Path) -> None:
        """Load a file and wait until it is shown."""
        self.events.clear()
        self.send("Page.navigate", url=file.as_uri())
        end = time.monotonic() + PATIENCE
        while not any(e["method"] == "Page.loadEventFired" for e in self.events):
            self._next(1.0)
            assert time.monotonic() < end, "the page did not load"

    def value(self, script: str) -> Any:
        """What an expression is in the page."""
        told = self.send(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    def until(self, script: str) -> None:
        """Wait until an expression is true in the page."""
        end = time.monotonic() + PATIENCE
        while not self.value(script):
            assert time.monotonic() < end, script
            time.sleep(0.02)

    def click(self, selector: str) -> None:
        """Press the mouse in the middle of an element."""
        x, y = self.value(
            f"(()=>{{const e=document.querySelector({json.dumps(selector)});"
            "e.scrollIntoView({block:'center',behavior:'instant'});"
            "const b=e.getBoundingClientRect();return [b.x+b.width/2,b.y+b.height/2]})()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.send("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def press(self, key: str) -> None:
        """Press a key where the focus is."""
        code, text = KEYS[key]
        more = {"text": text} if text else {}
        name = "Space" if key == " " else key
        self.send(
            "Input.dispatchKeyEvent", type="keyDown", key=key, code=name,
            windowsVirtualKeyCode=code, **more,
        )  # fmt: skip
        self.send(
            "Input.dispatchKeyEvent", type="keyUp", key=key, code=name, windowsVirtualKeyCode=code
        )

    def picture(self, file: Path, whole: bool = False) -> None:
        """What is seen, as a PNG; the whole length of the page where wanted."""
        told = self.send("Page.captureScreenshot", captureBeyondViewport=whole)
        file.write_bytes(base64.b64decode(told["data"]))

    def printed(self) -> bytes:
        """What the page prints, as a PDF."""
        told = self.send("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
        return base64.b64decode(told["data"])

    def complaints(self) -> list[str]:
        """Errors and warnings of the console, and exceptions."""
        out = []
        for event in self.events:
            method, told = event["method"], event["params"]
            if method == "Runtime.exceptionThrown":
                out.append(str(told["exceptionDetails"]))
            if method == "Runtime.consoleAPICalled" and told["type"] in ("error", "warning"):
                out.append(str(told["args"]))
            if method == "Log.entryAdded" and told["entry"]["level"] in ("error", "warning"):
                out.append(told["entry"]["text"])
        return out

    def asked_for(self) -> list[str]:
        """Addresses the page asked for, itself and what it carries inside left out."""
        urls = [
            e["params"]["request"]["url"]
            for e in self.events
            if e["method"] == "Network.requestWillBeSent"
        ]
        return [u for u in urls[1:] if not u.startswith("data:")]


@contextmanager
def browser(folder: Path) -> Iterator[Tab]:
    """A browser with one empty page and a profile of its own.

    Parameters
    ----------
    folder : Path
        Where its profile may lie.

    Yields
    ------
    Tab
    """
    assert BROWSER is not None
    there, to = os.pipe()
    back, here = os.pipe()

    # The browser reads its orders from file 3 and answers on file 4.
    quoted = f'exec "$0" "$@" 3<&{there} 4>&{here}'
    command = ["bash", "-c", quoted, BROWSER, *FLAGS, f"--user-data-dir={folder / 'profile'}"]
    run = subprocess.Popen(
        [*command, "about:blank"],
        pass_fds=(there, here), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(there)
    os.close(here)
    try:
        yield Tab(to, back)
    finally:
        os.close(to)
        os.close(back)
        run.terminate()
        run.wait(PATIENCE)
