"""From a phone: what waits is seen, taken in, changed or left out, each once; nothing enters by itself."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.message import Said, found_in, new_key, written
from layout.book.rows import Attempt, attempts
from layout.book.store import open_book
from layout.book.waits import waiting
from layout.rules.cautions import PAIN
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_pages import said

TODAY = datetime.date.today()
LATER = str(TODAY + datetime.timedelta(days=1))


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def key_of(desk: Asked, who: str = "Tevin", **more: str) -> str:
    """The key in the phone page that the desk gives away."""
    found = desk.set_out(who, "hop-step-sand", "/phone.html", **more)
    assert found.status_code == 200
    return re.findall(r"key&quot;: &quot;([a-z2-7]{16})&quot;", found.text)[0]


def sent(desk: Asked, *runs: Said, day: str = str(TODAY), zero: str = "each") -> str:
    return written(f"{key_of(desk)}-{new_key(6)}", day, zero, runs)


def paste(desk: Asked, text: str) -> str:
    return said(desk.post("/from-phone", {"text": text}).text)


def kept(desk: Asked) -> list[Attempt]:
    with open_book(desk.desk.book) as book:
        return attempts(book)


def ids(desk: Asked) -> list[int]:
    with open_book(desk.desk.book) as book:
        return [w.id for w in waiting(book)]


def test_a_page_given_away_has_its_own_key_and_names_nobody_in_it(desk: Asked) -> None:
    key = key_of(desk)
    assert key_of(desk) == key
    assert key_of(desk, strides="5") != key
    assert key_of(desk, "Runa") != key


def test_what_is_pasted_waits_on_today_and_is_taken_in_with_its_plan(desk: Asked) -> None:
    text = sent(desk, Said(("3.40", "2.98")), Said(("3.30", "2.88", "loud")))
    page = paste(desk, text)
    assert "2 new runs." in page
    assert "3.40 m / 2.98 m total 6.38 m" in page
    assert "planned" in page
    assert kept(desk) == []
    assert "2 runs wait" in said(desk.get("/").text)
    assert "2 runs here already." in paste(desk, text)
    both = ",".join(map(str, ids(desk)))
    assert desk.post("/from-phone/take", {"run": both}).status_code == 303
    assert desk.post("/from-phone/take", {"run": both}).status_code == 303
    one, two = kept(desk)
    assert (one.lengths, two.note) == ((3.4, 2.98), "loud landing")
    assert one.plan is not None
    assert one.plan == two.plan
    assert "nothing waits" in said(desk.get("/").text)


def test_lines_that_cannot_be_read_stay_in_the_box(desk: Asked) -> None:
    found = desk.post("/from-phone", {"text": "tevin hop-step-sand 3.40 6.38\r\nhello coach\r\n"})
    assert found.status_code == 400
    assert ">hello coach</textarea>" in found.text
    assert "line 2: line: a name, a drill and readings needed" in said(found.text)
    assert len(ids(desk)) == 1
    assert desk.post("/from-phone", {"text": " "}).status_code == 400


def test_one_is_left_out_and_taken_in_after_all(desk: Asked) -> None:
    paste(desk, sent(desk, Said(("3.40", "2.98"))))
    (number,) = ids(desk)
    assert desk.post("/from-phone/leave", {"run": str(number)}).status_code == 303
    page = said(desk.get("/from-phone").text)
    assert "Nothing waits." in page
    assert "Left out: 1" in page
    desk.post("/from-phone/take", {"run": str(number)})
    assert len(kept(desk)) == 1


def test_what_cannot_be_is_changed_with_each_fault_beside_its_field(desk: Asked) -> None:
    paste(desk, sent(desk, Said(("34.0", "2.98", "foul"))))
    (number,) = ids(desk)
    page = desk.get("/from-phone").text
    assert "Not possible as it is: hop" in said(page)
    assert 'action="/from-phone/take"' not in page
    assert desk.post("/from-phone/take", {"run": str(number)}).status_code == 400
    form = desk.get(f"/from-phone/change?run={number}").text
    assert re.search(r'name="r0" value="34\.0"', form)
    assert re.search(r'name="went" value="foul" checked', form)
    wrong = {"run": str(number), "r0": "34", "r1": "2.98", "wind": "strong", "day": "never"}
    found = desk.post("/from-phone/change", wrong)
    assert found.status_code == 400
    assert kept(desk) == []
    right = {
        "run": str(number), "r0": "3.40", "r1": "", "from": "each", "went": "pain", "sound": "quiet",
        "note": "left knee", "wind": "+0.4", "day": str(TODAY),
    }  # fmt: skip
    for field in ("r0", "wind", "day"):
        found = desk.post("/from-phone/change", {**right, field: wrong[field]})
        assert f'id="e-{field}"' in found.text, field
    assert desk.post("/from-phone/change", right).status_code == 303
    assert desk.post("/from-phone/change", right).status_code == 303
    (one,) = kept(desk)
    assert (one.lengths, one.note, one.wind) == ((3.4, None), "pain; quiet landing; left knee", 0.4)
    assert (
        desk.post("/from-phone/change", {**right, "odd": "1"}).status_code == 303
    )  # taken in by now
    assert desk.get(f"/from-phone/change?run={number}").status_code == 400


def test_a_phone_whose_clock_is_ahead_is_taken_in_as_of_the_day_it_came(desk: Asked) -> None:
    paste(desk, sent(desk, Said(("3.40", "2.98")), Said(("3.30", "2.98")), day=LATER))
    page = desk.get("/from-phone").text
    assert "is taken in as of that day" in said(page)
    assert page.count(f'name="day" value="{TODAY}"') == 3  # each of the two, and all of them
    desk.post("/from-phone/take", {"run": ",".join(map(str, ids(desk))), "day": str(TODAY)})
    assert [a.day for a in kept(desk)] == [str(TODAY)] * 2


def test_pain_is_told_wherever_the_athlete_is_looked_at(desk: Asked) -> None:
    paste(desk, sent(desk, Said(("3.40", "2.98", "pain"))))
    assert PAIN in said(desk.get("/from-phone").text)
    assert PAIN in said(desk.get(f"/?a={desk.numbers['Tevin']}").text)
    assert PAIN not in said(desk.get(f"/?a={desk.numbers['Runa']}").text)


def test_struck_out_on_the_phone_before_and_after_it_was_taken_in(desk: Asked) -> None:
    text = sent(desk, Said(("3.40", "2.98")), Said(("3.30", "2.98"), True))
    paste(desk, text)
    first, second = ids(desk)
    assert "Struck out on the phone." in said(desk.get("/from-phone").text)
    desk.post("/from-phone/take", {"run": str(first)})
    message = next(f.message for f in found_in(text) if f.message)
    paste(desk, written(message.phone, message.day, "each", [Said(("3.40", "2.98"), True)]))
    assert "strike it out in the book too?" in said(desk.get("/from-phone").text)
    assert desk.post("/from-phone/strike", {"run": str(second)}).status_code == 400
    assert desk.post("/from-phone/strike", {"run": str(first)}).status_code == 303
    assert kept(desk) == []
    assert ids(desk) == [second]


@pytest.mark.parametrize("run", ["", "0", "x", "99", "1,", "9" * 30])
def test_a_run_that_is_not_there_is_refused(desk: Asked, run: str) -> None:
    for word in ("take", "leave", "strike", "change"):
        assert desk.post(f"/from-phone/{word}", {"run": run}).status_code == 400


def test_markup_in_what_is_pasted_stays_text(desk: Asked) -> None:
    found = desk.post("/from-phone", {"text": "</textarea><script>alert(1)</script>\" ' &"})
    assert "<script>alert" not in found.text
