"""What phones on the hotspot reach: one page each, behind a secret, to the first that taps; nothing else."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout.book.doors import LETTERS, OPEN_FOR, claim, still_open
from layout.book.erase import erase
from layout.book.message import Said, new_key, written
from layout.book.people import find_member
from layout.book.rows import attempts
from layout.book.store import open_book
from layout.book.waits import waiting
from layout.desk.guard import MOST_ADDRESS, MOST_BODY
from layout.desk.hotspot import addresses, read_address
from layout.desk.routes import routes
from layout.desk.track import BUSY, Track
from layout.words.faults import BadInput
from tests.layout.book.book_cases import DAY, every_byte
from tests.layout.desk.desks import Asked, asked

AT = "10.1.2.3:41234"
HOME = f"http://{AT}"
FORM = {"origin": HOME, "content-type": "application/x-www-form-urlencoded"}
TEXT = {"origin": HOME, "content-type": "text/plain"}


class Shared:
    """A desk, one page of it, and phones that ask."""

    def __init__(self, desk: Asked) -> None:
        self.desk, self.later = desk, 0.0
        self.app = Track(desk.desk, AT, lambda: time.time() + self.later)
        self.path = self.made()
        self.phone = self.new_phone()

    def made(self, who: str = "Tevin", **more: str) -> str:
        fields = {"a": str(self.desk.numbers[who]), "d": "hop-step-sand", **more}
        assert self.desk.post("/share", fields).status_code == 303
        secret = next(reversed(self.desk.desk.hotspot.codes.values()))
        return f"/t/{secret}"

    def new_phone(self) -> TestClient:
        return TestClient(
            self.app, base_url=HOME, client=("10.1.2.9", 40000), follow_redirects=False
        )

    def tap(self, phone: TestClient | None = None, path: str = "") -> Any:
        return (phone or self.phone).post(path or self.path, content="open=1", headers=FORM)

    def key(self) -> str:
        return re.findall(r"key&quot;: &quot;([a-z2-7]{16})&quot;", self.phone.get(self.path).text)[
            0
        ]

    def send(self, text: str, phone: TestClient | None = None) -> Any:
        return (phone or self.phone).post(self.path, content=text, headers=TEXT)

    def message(self, *runs: Said) -> str:
        return written(f"{self.key()}-{new_key(6)}", DAY, "each", runs or [Said(("3.4", "2.9"))])


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[Shared]:
    with asked(tmp_path) as desk:
        yield Shared(desk)


@pytest.fixture
def opened(shared: Shared) -> Shared:
    assert shared.tap().status_code == 303
    return shared


def test_a_page_opens_by_a_tap_and_not_by_looking(shared: Shared) -> None:
    assert len(shared.path) == len("/t/") + LETTERS  # 128 bits
    for _ in range(3):  # as a preview does
        found = shared.phone.get(shared.path)
        assert found.status_code == 200
        assert "Open it on this phone" in found.text
        assert "Tevin" not in found.text
        assert "set-cookie" not in found.headers
        assert shared.send("pm1").status_code == 403
    done = shared.tap()
    assert (done.status_code, done.headers["location"]) == (303, shared.path)
    cookie = done.headers["set-cookie"]
    assert {"HttpOnly", "SameSite=Strict", f"Path={shared.path}"} <= set(cookie.split("; "))
    page = shared.phone.get(shared.path)
    assert page.status_code == 200
    assert "connect-src 'self'" in page.text
    assert "frame-ancestors 'none'" in page.headers["content-security-policy"]
    assert shared.tap().status_code == 303  # the same phone again
    assert shared.phone.head(shared.path).status_code == 200


def test_a_second_phone_is_refused(opened: Shared) -> None:
    other = opened.new_phone()
    assert other.get(opened.path).status_code == 403
    assert opened.tap(other).status_code == 403
    assert opened.send(opened.message(), other).status_code == 403
    other.cookies.set("track-1", "x" * 43, path=opened.path)
    assert other.get(opened.path).status_code == 403
    assert opened.phone.get(opened.path).status_code == 200


def test_of_two_phones_that_tap_at_once_one_has_the_page(shared: Shared) -> None:
    with open_book(shared.desk.desk.book) as book:
        (door,) = still_open(book, 0)
        assert claim(book, door.id, "now") is not None
        assert claim(book, door.id, "now") is None


def test_what_a_phone_sends_waits_once(opened: Shared) -> None:
    text = opened.message(Said(("3.4", "2.9")), Said(("pain",)))
    for _ in range(3):
        assert opened.send(text).json() == {"here": 2}
    with open_book(opened.desk.desk.book) as book:
        assert [w.words for w in waiting(book)] == ["3.4 2.9", "pain"]
        assert attempts(book) == []


@pytest.mark.parametrize("kind", ["other page", "typed", "damaged", "no text", "empty"])
def test_what_is_not_its_own_is_refused_with_a_sentence(opened: Shared, kind: str) -> None:
    text: str | bytes = {
        "other page": written(f"{new_key()}-{new_key(6)}", DAY, "each", [Said(("3.4", "2.9"))]),
        "typed": "imka hop-step-sand 2.61 4.80", "damaged": opened.message()[:-4], "empty": "",
    }.get(kind, "")  # fmt: skip
    found = opened.send(b"\xff\xfe\xff" if kind == "no text" else text)  # type: ignore[arg-type]
    if kind == "empty":
        assert found.json() == {"here": 0}
    else:
        assert (found.status_code, found.text.count("\n")) == (400, 1)
    with open_book(opened.desk.desk.book) as book:
        assert waiting(book, every=True) == []


def test_after_four_hours_and_after_the_coachs_tap_it_is_closed(opened: Shared) -> None:
    text = opened.message()
    opened.later = OPEN_FOR - 5
    assert opened.phone.get(opened.path).status_code == 200
    opened.later = OPEN_FOR + 1
    for _ in range(2):
        assert opened.phone.get(opened.path).status_code == 410
        assert opened.send(text).status_code == 410
        assert opened.tap(opened.new_phone()).status_code == 410
        opened.later = 0.0
        number = next(iter(opened.desk.desk.hotspot.seen))
        assert opened.desk.post("/share/end", {"page": str(number)}).status_code == 303
    assert opened.desk.post("/share/end", {"page": "99"}).status_code == 400


def test_the_clock_set_back_does_not_open_an_ended_page(opened: Shared) -> None:
    number = next(iter(opened.desk.desk.hotspot.seen))
    opened.desk.post("/share/end", {"page": str(number)})
    opened.later = 3600.0
    assert opened.phone.get(opened.path).status_code == 410


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 421),
        ({"host": "10.1.2.3"}, 421),
        ({"host": f"127.0.0.1:{AT[-5:]}"}, 421),
        ({"host": ""}, 421),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://10.1.2.3"}, 403),
        ({"origin": HOME}, 200),
        ({}, 200),
    ],
)
def test_who_asks_from_elsewhere_is_refused(
    opened: Shared, headers: dict[str, str], status: int
) -> None:
    assert opened.phone.get(opened.path, headers=headers).status_code == status


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"origin": None}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"content-type": "application/json"}, 415),
        ({"content-type": "multipart/form-data; boundary=x"}, 415),
        ({"content-type": None}, 415),
        ({"content-length": "70000"}, 413),
        ({"content-length": "-1"}, 413),
    ],
)
def test_what_is_sent_in_any_other_way_is_refused(
    opened: Shared, change: dict[str, str | None], status: int
) -> None:
    headers = {k: v for k, v in {**TEXT, **change}.items() if v is not None}
    text = opened.message()
    assert opened.phone.post(opened.path, content=text, headers=headers).status_code == status
    with open_book(opened.desk.desk.book) as book:
        assert waiting(book, every=True) == []


def test_a_body_without_end_is_cut_off(opened: Shared) -> None:
    def endless() -> Iterator[bytes]:
        for _ in range(MOST_BODY):
            yield b"x" * 100

    assert opened.phone.post(opened.path, content=endless(), headers=TEXT).status_code == 413


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS"])
def test_other_methods_are_refused(opened: Shared, method: str) -> None:
    assert opened.phone.request(method, opened.path).status_code == 405


def test_two_hosts_are_refused(opened: Shared) -> None:
    twice = [("host", AT), ("host", "evil.example")]
    assert opened.phone.get(opened.path, headers=twice).status_code == 400


def test_every_other_address_is_nowhere(opened: Shared) -> None:
    secret = opened.path.removeprefix("/t/")
    desks = {getattr(route, "path", "") for route in routes(opened.desk.desk)}
    assert {"/", "/club", "/from-phone", "/share", "/end"} <= desks
    tricks = (
        "/t", "/t/", f"/t/{secret[:-1]}", f"/t/{secret}x", f"/t/{secret}/", f"/t//{secret}",
        f"/t/{secret}/../../", f"/%74/{secret}", f"/t/%2e%2e/{secret}",
        f"/T/{secret}", f"/t/{secret}%00", f"/t/{secret}?x=1", f"/t/{'A' * LETTERS}", "/t/\u00e9",
        "//", "/..", "/enter", f"/enter?key={opened.desk.key.key}",
    )  # fmt: skip
    for path in (*desks, *tricks):
        if path == f"/t/{secret}":
            continue
        assert opened.phone.get(path).status_code in (404, 421), path
        assert opened.phone.post(path, content="a=1", headers=FORM).status_code in (404, 421), path
    assert opened.phone.get(f"{opened.path}?{'x' * MOST_ADDRESS}").status_code == 404
    assert opened.phone.get(f"{opened.path}?{'x' * (MOST_ADDRESS + 1)}").status_code == 414


def test_the_desks_own_cookie_opens_nothing_there_and_a_phones_nothing_here(opened: Shared) -> None:
    fresh = opened.new_phone()
    for name, value in opened.desk.client.cookies.items():
        fresh.cookies.set(name, value)
    assert fresh.get("/").status_code == 404
    assert fresh.get(opened.path).status_code == 403
    opened.desk.client.cookies.clear()
    for name, value in opened.phone.cookies.items():
        opened.desk.client.cookies.set(name, value)
    assert opened.desk.get("/").status_code == 403
    assert opened.desk.get(opened.path).status_code == 403


def test_no_websocket(opened: Shared) -> None:
    with pytest.raises(Exception) as told, opened.phone.websocket_connect(opened.path):  # noqa: PT011
        pass
    assert getattr(told.value, "code", 0) == 1008


def test_the_coach_sees_who_has_a_page(shared: Shared) -> None:
    page = shared.desk.get("/share/state").json()["doors"]
    assert "Scan it, then tap Open" in page
    assert "<svg" in page
    assert f"{shared.path}<" in page
    shared.tap()
    shared.send(shared.message())
    page = shared.desk.get("/share/state").json()["doors"]
    assert "connected from 10.1.2.9; 1 run here." in page
    assert "<svg" not in page
    assert shared.path not in page


def test_a_desk_started_again_knows_the_phones_it_had(opened: Shared) -> None:
    text = opened.message()
    opened.desk.desk.hotspot.seen.clear()
    opened.desk.desk.hotspot.codes.clear()
    opened.app = Track(opened.desk.desk, AT)
    assert "not heard since this desk was opened" in opened.desk.get("/share/state").json()["doors"]
    assert opened.send(text).json() == {"here": 1}


def test_the_book_keeps_no_secret_and_an_erased_athletes_page_is_closed(
    opened: Shared, tmp_path: Path
) -> None:
    secret = opened.path.removeprefix("/t/").encode()
    (cookie,) = opened.phone.cookies.jar
    assert opened.send(opened.message()).status_code == 200
    kept = every_byte(tmp_path)
    assert secret not in kept
    assert cookie.value is not None
    assert cookie.value.encode() not in kept
    with open_book(opened.desk.desk.book) as book:
        erase(book, find_member(book, "Tevin"))
        assert still_open(book, 0) == []
    assert opened.phone.get(opened.path).status_code == 404


def test_the_same_is_offered_for_everybody_else(shared: Shared) -> None:
    shared.desk.desk.hotspot.host = AT
    page = shared.desk.set_out("Tevin", "hop-step-sand", "/share", strides="5").text
    found = {name: href.replace("&amp;", "&") for href, name in
             re.findall(r'class="tile" href="([^"]+)"><bdi>(\w+)</bdi>', page)}  # fmt: skip
    assert set(found) == set(shared.desk.numbers) - {"Tevin"}
    other = shared.desk.get(found["Runa"]).text
    assert "Runa" in other
    assert 'name="strides" value="5"' in other


def test_a_page_is_made_once_where_the_form_is_sent_twice(shared: Shared) -> None:
    before = len(shared.desk.desk.hotspot.codes)
    for _ in range(2):
        shared.desk.post("/share", {"a": str(shared.desk.numbers["Imka"]), "d": "hop-step-sand",
                                    "once": "abc"})  # fmt: skip
    assert len(shared.desk.desk.hotspot.codes) == before + 1


def test_the_page_is_as_it_was_set_out(shared: Shared) -> None:
    path = shared.made("Imka", strides="4", zero="pit", tape="ft")
    phone = shared.new_phone()
    shared.tap(phone, path)
    page = phone.get(path).text
    assert "4 strides" in page
    assert "near edge of the pit" in page
    assert 'value="ft" checked' in page


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("", "must be one address"), ("0.0.0.0", "not all of them"), ("8.8.8.8", "from the internet"),
        ("localhost", "must be one address"), ("::1", "must be one address"),
        ("255.255.255.255", "not all of them"), ("224.0.0.1", "not all of them"),
    ],
)  # fmt: skip
def test_an_address_that_is_none_or_open_to_all_is_refused(
    shared: Shared, text: str, rule: str
) -> None:
    with pytest.raises(BadInput, match=rule):
        read_address(text)
    found = shared.desk.post("/share/open", {"address": text})
    assert found.status_code == 400
    assert rule in found.text
    assert shared.desk.desk.hotspot.host == ""


def test_a_port_that_another_program_has_is_told(shared: Shared) -> None:
    desk = shared.desk
    try:
        desk.post("/share/open", {"address": "127.0.0.2"})
        port = int(desk.desk.hotspot.host.rpartition(":")[2])
        desk.post("/share/close")
        with socket.create_server(("127.0.0.2", port)):
            found = desk.post("/share/open", {"address": "127.0.0.2"})
        assert found.status_code == 400
        assert "is in use; is it open in another desk?" in found.text
    finally:
        desk.desk.hotspot.close()


def test_what_the_book_says_is_not_told_to_phones(opened: Shared) -> None:
    text = opened.message()
    opened.desk.desk.book.rename(opened.desk.desk.book.with_suffix(".away"))
    found = opened.send(text)
    assert (found.status_code, found.text) == (503, BUSY)


def test_addresses_offered_are_this_machines_own() -> None:
    for address, name in addresses():
        with pytest.raises(
            BadInput, match=re.escape(f"it has {address} ({name})" if name else address)
        ):
            read_address("mine")
        break
    assert all(not address.startswith("127.") for address, _ in addresses())


def test_the_listener_opens_at_one_address_and_its_port_stays_the_books(shared: Shared) -> None:
    desk, hosts = shared.desk, []
    try:
        for _ in range(2):
            assert desk.post("/share/open", {"address": "127.0.0.2"}).status_code == 303
            hosts.append(desk.desk.hotspot.host)
            assert desk.post("/share/close").status_code == 303
        assert hosts[0] == hosts[1]
        assert desk.post("/share/open", {"address": "192.0.2.77"}).status_code == 400
    finally:
        desk.desk.hotspot.close()
