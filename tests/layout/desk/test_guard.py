"""Who may ask the desk: each way of asking that is refused, and the one that is not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from layout.desk.guard import FILM, HEADERS, MOST_ADDRESS, MOST_BODY, MOST_FILES_BODY
from layout.desk.routes import routes
from tests.layout.desk.desks import HOST, OWN, PORT, Asked, asked


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path, enter=False) as made:
        yield made


@pytest.fixture
def known(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def test_the_key_opens_once_and_only_the_right_one(desk: Asked) -> None:
    key = desk.key.key
    assert len(key) >= 43  # 256 bits
    for wrong in ("/enter", "/enter?key=", f"/enter?key={key[:-1]}", "/enter?key=%ff"):
        assert desk.get(wrong).status_code == 403
    found = desk.get(f"/enter?key={key}")
    assert found.status_code == 303
    assert found.headers["location"] == "/"
    cookie = found.headers["set-cookie"]
    assert cookie.startswith(f"desk-{PORT}=")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert key not in cookie
    assert desk.get("/").status_code == 200
    desk.client.cookies.clear()
    assert desk.get(f"/enter?key={key}").status_code == 403
    assert desk.get("/").status_code == 403


def test_a_renewed_key_opens_once_more_and_the_old_one_does_not(desk: Asked) -> None:
    old = desk.key.key
    address = desk.key.renew()
    assert desk.get(f"/enter?key={old}").status_code == 403
    assert desk.get(address.removeprefix(HOST)).status_code == 303
    desk.client.cookies.clear()
    assert desk.get(address.removeprefix(HOST)).status_code == 403


def test_a_page_loaded_ahead_does_not_use_the_key_up(desk: Asked) -> None:
    for ahead in ({"sec-purpose": "prefetch;prerender"}, {"purpose": "prefetch"}):
        assert desk.get(f"/enter?key={desk.key.key}", headers=ahead).status_code == 403
    assert desk.get(f"/enter?key={desk.key.key}").status_code == 303


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 421),
        ({"host": f"localhost:{PORT}"}, 421),
        ({"host": "127.0.0.1"}, 421),
        ({"host": ""}, 421),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": f"http://127.0.0.1:{PORT + 1}"}, 403),
        ({"sec-fetch-site": "same-origin"}, 200),
        ({"sec-fetch-site": "none"}, 200),
        ({"cookie": f"desk-{PORT}=wrong"}, 403),
        ({"cookie": "desk-50124=x; =;;\x01"}, 403),
    ],
)
def test_who_asks_from_elsewhere_is_refused(
    known: Asked, headers: dict[str, str], status: int
) -> None:
    if "cookie" in headers:
        known.client.cookies.clear()
    assert known.get("/", headers=headers).status_code == status


def test_two_hosts_are_refused(known: Asked) -> None:
    twice = [("host", f"127.0.0.1:{PORT}"), ("host", "evil.example")]
    assert known.client.get("/", headers=twice).status_code == 400  # type: ignore[arg-type]


@pytest.mark.parametrize("origin", [None, "null", "http://evil.example", "http://127.0.0.1:1"])
def test_a_form_from_elsewhere_is_refused(known: Asked, origin: str | None) -> None:
    headers = {} if origin is None else {"origin": origin}
    assert known.client.post("/stop", data={}, headers=headers).status_code == 403
    assert known.post("/stop").status_code == 200


def test_only_fields_of_a_form_are_taken(known: Asked) -> None:
    for kind in ("text/plain", "multipart/form-data; boundary=x", "application/json"):
        found = known.client.post("/stop", content=b"a=1", headers={**OWN, "content-type": kind})
        assert found.status_code == 415


def test_what_is_sent_is_bounded_however_it_is_told(known: Asked) -> None:
    kind = {**OWN, "content-type": "application/x-www-form-urlencoded"}
    large = b"a=" + b"x" * MOST_BODY
    assert known.client.post("/stop", content=large, headers=kind).status_code == 413
    parts = (b"x" * 1000 for _ in range(MOST_BODY // 1000 + 1))  # no length is told beforehand
    assert known.client.post("/stop", content=parts, headers=kind).status_code == 413
    assert known.client.post("/stop", content=b"a=1", headers=kind).status_code == 200
    # Files of the coach's own machine go to one address, up to a bound of its own.
    assert known.client.post("/club/in", content=large, headers=kind).status_code == 400
    for path in ("/club/in/", "/club/athlete", "/club/erase"):
        assert known.client.post(path, content=large, headers=kind).status_code == 413
    huge = b"text=" + b"x" * MOST_FILES_BODY
    assert known.client.post("/club/in", content=huge, headers=kind).status_code == 413
    parts = (b"x" * 100_000 for _ in range(MOST_FILES_BODY // 100_000 + 1))
    assert known.client.post("/club/in", content=parts, headers=kind).status_code == 413
    for other in ("multipart/form-data; boundary=x", "text/plain", "application/json", ""):
        headers = {**OWN, "content-type": other}
        assert known.client.post("/club/in", content=b"a=1", headers=headers).status_code == 415
    assert known.get(f"/?x={'y' * MOST_ADDRESS}").status_code == 414
    assert known.client.put("/", headers=OWN).status_code == 405


def test_another_machine_is_refused(known: Asked) -> None:
    app = known.client.app
    cookies = dict(known.client.cookies)
    for client in (("192.168.1.7", 4000), ("10.0.0.1", 1)):
        far = TestClient(app, base_url=HOST, client=client, cookies=cookies)
        assert far.get("/").status_code == 403


def test_there_are_no_websockets(known: Asked) -> None:
    with pytest.raises(WebSocketDisconnect), known.client.websocket_connect("/"):
        pass


def test_every_address_wants_the_cookie(desk: Asked) -> None:
    for route in routes(desk.desk):
        assert route.methods
        address = route.path.replace("{kind}", "svg")
        for method in route.methods:
            # The one address that takes a file wants it told as such.
            kind = "octet-stream" if address == FILM else "x-www-form-urlencoded"
            headers = {**OWN, "content-type": f"application/{kind}"}
            headers |= {"content-length": "0"} if method == "POST" else {}
            found = desk.client.request(method, address, headers=headers)
            assert found.status_code == 403, address
    assert desk.get("/nothing").status_code == 403


def test_every_answer_says_what_a_page_may_do(desk: Asked) -> None:
    refused = desk.get("/")
    desk.get(f"/enter?key={desk.key.key}")
    answers: list[Any] = [refused, desk.get("/"), desk.get("/desk.css"), desk.get("/nothing")]
    answers += [desk.get("/", headers={"host": "evil.example"}), desk.post("/stop")]
    for found in answers:
        for name, value in HEADERS.items():
            assert found.headers[name] == value
    policy = HEADERS["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy


@pytest.mark.parametrize(
    "path", ["/../pyproject.toml", "/%2e%2e/desk.css", "/desk.css/", "/static/x"]
)
def test_no_path_leads_to_a_file(known: Asked, path: str) -> None:
    assert known.get(path).status_code in (404, 307)
    assert "requires-python" not in known.get(path).text


def test_the_desk_listens_on_this_machine_alone() -> None:
    from layout.desk.serve import listening

    with listening() as one, listening() as two:
        assert one.getsockname()[0] == "127.0.0.1"
        assert one.getsockname()[1] != two.getsockname()[1]


def test_pages_hold_no_script_or_style_of_their_own(known: Asked) -> None:
    for page in ("/", f"/?a={known.numbers['Runa']}"):
        text = known.get(page).text
        assert "style=" not in text
        assert "onclick" not in text
        assert "<style" not in text
        assert text.count("<script") == 1
