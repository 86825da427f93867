"""The desk from another machine's side: a network of its own, with nothing but the hotspot between."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import pytest

from tests.browser import BROWSER, PATIENCE
from tests.layout.desk.desks import run_desk

pytest.importorskip("playwright")
from playwright.sync_api import sync_playwright

from tests.layout.desk.shown import context_of

PLACE = f"pm{os.getpid() % 10000}"
NEAR, FAR = (f"10.213.{os.getpid() % 250}.{end}" for end in (1, 2))
ASK = """
import json, socket, sys
host, port = sys.argv[1], int(sys.argv[2])
answers = []
for raw in json.loads(sys.argv[3]):
    got = b""
    try:
        with socket.create_connection((host, port), 60) as s:
            s.settimeout(60)
            s.sendall(raw.encode("latin-1"))
            while (chunk := s.recv(65536)) and len(got) < 2_000_000:
                got += chunk
    except OSError as error:
        got = got or f"no way: {error}".encode()
    answers.append(got.decode("utf-8", "replace"))
json.dump(answers, sys.stdout)
"""


def ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True, capture_output=True)


@contextmanager
def network() -> Iterator[None]:
    """A second network, joined to this machine's by one wire."""
    ip("netns", "add", PLACE)
    try:
        ip("link", "add", f"{PLACE}a", "type", "veth", "peer", "name", f"{PLACE}b")
        ip("link", "set", f"{PLACE}b", "netns", PLACE)
        ip("addr", "add", f"{NEAR}/30", "dev", f"{PLACE}a")
        ip("link", "set", f"{PLACE}a", "up")
        ip("-n", PLACE, "addr", "add", f"{FAR}/30", "dev", f"{PLACE}b")
        ip("-n", PLACE, "link", "set", f"{PLACE}b", "up")
        ip("-n", PLACE, "link", "set", "lo", "up")
        yield
    finally:
        subprocess.run(["ip", "link", "del", f"{PLACE}a"], check=False, capture_output=True)
        subprocess.run(["ip", "netns", "del", PLACE], check=False, capture_output=True)


def may() -> bool:
    """Whether a second network may be tried here."""
    root = os.name == "posix" and os.geteuid() == 0
    return root and shutil.which("ip") is not None and BROWSER is not None


pytestmark = [
    pytest.mark.skipif(not may(), reason="no second network can be made here"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


@dataclass
class Hotspot:
    """A desk that lets phones in, asked from the other network."""

    port: int  # of the hotspot
    desk: int  # of the desk itself
    path: str  # of a page that no phone has opened

    def asked(self, raws: Sequence[str], port: int = 0, host: str = NEAR) -> list[str]:
        """What comes back over there, one thing sent after the other."""
        command = ["ip", "netns", "exec", PLACE, "python3", "-I", "-S", "-c", ASK, host]
        done = subprocess.run(
            [*command, str(port or self.port), json.dumps(raws)],
            capture_output=True, timeout=PATIENCE, check=True,
        )  # fmt: skip
        answers: list[str] = json.loads(done.stdout)
        return answers

    def ask(self, raw: str, port: int = 0, host: str = NEAR) -> str:
        """The same for one."""
        return self.asked([raw], port, host)[0]

    def line(self, path: str, *more: str, method: str = "GET", host: str = "") -> str:
        """How one address is asked for, as it is written."""
        lines = [f"{method} {path} HTTP/1.1", f"Host: {host or f'{NEAR}:{self.port}'}", *more]
        return "\r\n".join([*lines, "Connection: close", "", ""])

    def get(self, path: str, *more: str, method: str = "GET", host: str = "") -> str:
        """One address."""
        return self.ask(self.line(path, *more, method=method, host=host))

    def post(self, body: str, kind: str, *more: str) -> str:
        """One thing sent to the page."""
        head = (
            f"POST {self.path} HTTP/1.1", f"Host: {NEAR}:{self.port}",
            f"Origin: http://{NEAR}:{self.port}", f"Content-Type: {kind}",
            f"Content-Length: {len(body)}", *more, "Connection: close", "", "",
        )  # fmt: skip
        return self.ask("\r\n".join(head) + body)


@pytest.fixture(scope="module")
def hotspot(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hotspot]:
    with contextlib.ExitStack() as joined:
        try:
            joined.enter_context(network())
        except subprocess.CalledProcessError:
            pytest.skip("no second network can be made here")
        address, run = run_desk(tmp_path_factory.mktemp("desk"), "--share", NEAR)
        try:
            with sync_playwright() as play:
                browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
                page = context_of(browser).new_page()
                page.goto(address)
                page.goto(f"{address.partition('/enter')[0]}/share?a=6&d=hop-step-sand")
                page.get_by_role("button", name="Make a page for one phone").click()
                shown = page.locator(".address").inner_text()
                found = re.fullmatch(rf"http://{re.escape(NEAR)}:(\d+)(/t/[\w-]{{22}})", shown)
                assert found is not None
                own = re.findall(r":(\d+)/", address)
                yield Hotspot(int(found[1]), int(own[0]), found[2])
                browser.close()
        finally:
            run.send_signal(signal.SIGINT)
            run.communicate(timeout=PATIENCE)


def status(answer: str) -> int:
    return int(answer.split(" ", 2)[1]) if answer.startswith("HTTP/") else 0


def test_the_desk_itself_cannot_be_reached(hotspot: Hotspot) -> None:
    for host in (NEAR, "127.0.0.1"):
        assert hotspot.ask("GET / HTTP/1.0\r\n\r\n", hotspot.desk, host).startswith("no way")


def test_of_all_addresses_only_the_page_is_there(hotspot: Hotspot) -> None:
    secret = hotspot.path.removeprefix("/t/")
    paths = (
        "/", "/club", "/from-phone", "/share", "/share/state", "/season", "/end", "/desk.css", "/icon.svg",
        "/t", "/t/", f"/t/{secret}/", f"/t/{secret[:-1]}", f"/x/../t/{secret}", f"/./t/{secret}",
        f"//t/{secret}", f"/%74/{secret}", f"/t/%{ord(secret[0]):x}{secret[1:]}",
        f"/t/{secret}?a=1", f"/t/{secret}#x", "*", f"http://127.0.0.1:{hotspot.desk}/",
        f"http://{NEAR}:{hotspot.port}/club", "/..%2f..%2fetc/passwd", f"/t/{secret}%0d%0aX: y",
    )  # fmt: skip
    answers = hotspot.asked([hotspot.line(path) for path in paths])
    for path, answer in zip(paths, answers, strict=True):
        assert status(answer) in (0, 400, 404), path
    assert status(hotspot.get(hotspot.path)) == 200


def test_by_any_other_name_and_from_any_other_page_it_is_refused(hotspot: Hotspot) -> None:
    for host, told in (
        ("evil.example", 421), (NEAR, 421), ("127.0.0.1", 421), (f"127.0.0.1:{hotspot.desk}", 421),
    ):  # fmt: skip
        assert status(hotspot.get(hotspot.path, host=host)) == told, host
    assert status(hotspot.ask(f"GET {hotspot.path} HTTP/1.0\r\n\r\n")) in (400, 421)
    twice = f"Host: {NEAR}:{hotspot.port}"
    assert status(hotspot.get(hotspot.path, twice)) == 400
    assert status(hotspot.get(hotspot.path, "Origin: http://evil.example")) == 403
    assert status(hotspot.get(hotspot.path, "Sec-Fetch-Site: cross-site")) == 403
    for method, told in (("PUT", 405), ("OPTIONS", 405), ("TRACE", 405), ("CONNECT", 405)):
        assert status(hotspot.get(hotspot.path, method=method)) in (told, 400, 404), method


def test_looking_opens_nothing_a_tap_does_and_a_second_phone_is_refused(hotspot: Hotspot) -> None:
    assert "set-cookie" not in hotspot.get(hotspot.path).lower()
    assert status(hotspot.post("pm1 x", "text/plain")) == 403
    assert status(hotspot.post("x" * 65_000, "text/plain")) == 413
    tapped = hotspot.post("open=1", "application/x-www-form-urlencoded")
    assert status(tapped) == 303
    cookie = next(
        line.split(": ", 1)[1].partition(";")[0]
        for line in tapped.splitlines()
        if line.lower().startswith("set-cookie")
    )
    assert status(hotspot.post("open=1", "application/x-www-form-urlencoded")) == 403
    assert status(hotspot.get(hotspot.path)) == 403
    page = hotspot.get(hotspot.path, f"Cookie: {cookie}")
    assert status(page) == 200
    assert "Hop and step to the sand" in page
    assert status(hotspot.get("/", f"Cookie: {cookie}")) == 404
