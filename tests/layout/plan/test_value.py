"""Plans written as JSON and read back, and everything else refused."""

from __future__ import annotations

import copy
import dataclasses
import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout.plan.drill import catalogue
from layout.plan.stored import from_json, to_json
from layout.plan.value import PLAN_VERSION, Clearing, Plan
from layout.words.faults import BadInput
from tests import strategies as own

EVERY = [(n, s) for n in own.CLUB for s in catalogue()]
PLAN = own.plan("imka", "two-hops-step-over", "track")
TABLE: dict[str, Any] = json.loads(to_json(PLAN))


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_round_trip_of_the_club(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    text = to_json(plan)
    again = from_json(text)
    assert again == plan
    assert to_json(again) == text


@given(own.athlete_tables(), own.drill_names, own.arcs)
def test_round_trip_of_any_plan(table: dict[str, Any], slug: str, arc: str) -> None:
    try:
        plan = own.plan(table, slug, own.pit_or_track(slug), arc=arc)
    except BadInput:
        assume(False)
        return
    assert from_json(to_json(plan)) == plan


@given(st.floats(0, 15), st.floats(-6, 6))
def test_every_float_is_whole(x: float, y: float) -> None:
    contacts = (dataclasses.replace(PLAN.contacts[0], vx_in=x, y=y), *PLAN.contacts[1:])
    plan = dataclasses.replace(PLAN, contacts=contacts)
    assert from_json(to_json(plan)) == plan


@given(st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=80))
def test_every_printable_text_is_whole(text: str) -> None:
    plan = dataclasses.replace(PLAN, title=text, who=dataclasses.replace(PLAN.who, name=text))
    assert from_json(to_json(plan)) == plan
    assert to_json(plan).encode("utf-8")


def test_the_version_is_written_first_and_plainly() -> None:
    assert next(iter(TABLE)) == "version"
    assert TABLE["version"] == PLAN_VERSION == PLAN.version
    assert set(TABLE) == {f.name for f in dataclasses.fields(Plan)}
    assert to_json(PLAN).endswith("}\n")


def test_no_number_json_does_not_know() -> None:
    def refuse(word: str) -> float:
        raise AssertionError(word)

    for name, slug in EVERY:
        json.loads(to_json(own.plan(name, slug, own.pit_or_track(slug))), parse_constant=refuse)


# --- earlier and edited ones ----------------------------------------------------------------------


@pytest.mark.parametrize("version", [1, PLAN_VERSION - 1, PLAN_VERSION + 1, None, "3"])
def test_a_plan_of_another_version_is_refused_in_one_plain_line(version: Any) -> None:
    with pytest.raises(BadInput, match=r"version: .*plan it again") as refused:
        from_json(json.dumps({**json.loads(to_json(PLAN)), "version": version}))
    assert len(refused.value.faults) == 1


FOUND = Clearing(0.1, 0.08, "left foot", 1.0, 3.0, 0.25, 0.15, 0.4, None, ((2.9, 0.3), (3.1, 0.26)))


def with_clearing(**changed: Any) -> str:
    hurdle = dataclasses.replace(PLAN.hurdles[0], x=3.0, height=0.15, clearing=FOUND)
    plan = dataclasses.replace(PLAN, hurdles=(hurdle,))
    assert from_json(to_json(plan)) == plan
    table = json.loads(to_json(plan))
    for key, value in changed.items():
        inner = table["hurdles"][0]
        (inner if key in inner else inner["clearing"])[key] = value
    return json.dumps(table)


@pytest.mark.parametrize(
    "changed",
    [{"height": 0.30}, {"x": 3.4}, {"gap": 0.2}, {"z": 0.6}, {"under": [[9.0, 0.3]]},
     {"under": [[3.0, 80.0]]}, {"under": [[3.0, 0.3]] * 500}],
)  # fmt: skip
def test_a_clearance_of_another_hurdle_is_refused(changed: dict[str, Any]) -> None:
    """A higher hurdle typed into the file does not keep the lower one's clearance."""
    with pytest.raises(BadInput, match=r"hurdles\[0\]\.clearing"):
        from_json(with_clearing(**changed))


# --- what is not a plan ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "{", "[]", "{}", "null", "1", '"plan"', "nan", "\x00", '{"version": 1}', '{"version": true}',
        '{"version": 2}', '{"version": "1"}', '{"version": NaN}', '{"version": [1]}', "[" * 100_000,
        '{"version":' * 5000, '{"version": 1, "x": ' + "1" * 5000 + "}", "[" + "9" * 5000 + "]",
        to_json(PLAN)[:-3],
        to_json(PLAN) + "}", "\ufeff" + "{}",
    ],
    ids=range(23),
)  # fmt: skip
def test_what_is_not_a_plan_is_refused(text: str) -> None:
    with pytest.raises(BadInput) as error:
        from_json(text)
    assert all(line.isprintable() for line in str(error.value).splitlines())


@given(st.text(max_size=200))
def test_any_text_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        from_json(text)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(values)
def test_any_json_is_refused(value: Any) -> None:
    with pytest.raises(BadInput):
        from_json(json.dumps(value))


def _places(table: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = (
        table.items()
        if isinstance(table, dict)
        else enumerate(table)
        if isinstance(table, list)
        else ()
    )
    found = [path] if path else []
    for key, value in inner:
        found += _places(value, (*path, key))
    return found


PLACES = _places(TABLE)


def _change(path: tuple[Any, ...], act: Callable[[Any, Any], None]) -> str:
    table = copy.deepcopy(TABLE)
    at: Any = table
    for key in path[:-1]:
        at = at[key]
    act(at, path[-1])
    return json.dumps(table)


@given(st.sampled_from(PLACES), values)
def test_any_value_anywhere_is_read_or_refused(path: tuple[Any, ...], value: Any) -> None:
    def put(at: Any, key: Any) -> None:
        at[key] = value

    text = _change(path, put)
    found = own.attempt(lambda: from_json(text))
    if isinstance(found, BadInput):
        assert len(str(found)) < 500
    else:
        assert from_json(to_json(found)) == found


@given(st.sampled_from([p for p in PLACES if isinstance(p[-1], str)]))
def test_a_missing_or_unknown_field_is_named(path: tuple[Any, ...]) -> None:
    def drop(at: Any, key: Any) -> None:
        del at[key]

    def add(at: Any, key: Any) -> None:
        at[f"{key}_more"] = 1

    with pytest.raises(BadInput, match=r"version|is missing") as error:
        from_json(_change(path, drop))
    if path != ("version",):
        assert path[-1] in str(error.value)
    with pytest.raises(BadInput, match=f"is not known, got '{path[-1]}_more'"):
        from_json(_change(path, add))


@pytest.mark.parametrize(
    "number", ["NaN", "Infinity", "-Infinity", "1e999", "true", '"1"', "null", "[1]"]
)
def test_numbers_that_are_none_are_refused(number: str) -> None:
    text = to_json(PLAN).replace(f'"total": {PLAN.total!r}', f'"total": {number}')
    assert text != to_json(PLAN)
    with pytest.raises(BadInput, match=r"plan\.total: must be float"):
        from_json(text)


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('"number": 0', '"number": false'),
        ('"number": 0', '"number": 0.0'),
        ('"forecast": true', '"forecast": 1'),
        ('"sets": 3', '"sets": true'),
        ('"foot": "right"', '"foot": null'),
        ('"strides": 4', '"strides": "4"'),
    ],
)
def test_a_value_of_another_kind_is_refused(was: str, now: str) -> None:
    text = to_json(PLAN)
    assert was in text
    with pytest.raises(BadInput, match=r"plan\.[a-z.\[\]0-9]+: must be (int|bool|str)"):
        from_json(text.replace(was, now, 1))


def _no_contacts(table: dict[str, Any]) -> None:
    table["contacts"] = []


def _a_flight_less(table: dict[str, Any]) -> None:
    table["flights"].pop()


def _a_paw(table: dict[str, Any]) -> None:
    table["contacts"][0]["foot"] = "paw"


def _a_leap(table: dict[str, Any]) -> None:
    table["flights"][0]["phase"] = "leap"


def _no_stature(table: dict[str, Any]) -> None:
    table["who"]["stature"] = 0.0


def _an_escape(table: dict[str, Any]) -> None:
    table["who"]["name"] = "Runa\x1b[2J"


def _a_far_hurdle(table: dict[str, Any]) -> None:
    table["hurdles"][0]["flight"] = 99


@pytest.mark.parametrize(
    "act",
    [_no_contacts, _a_flight_less, _a_paw, _a_leap, _no_stature, _an_escape, _a_far_hurdle],
)
def test_a_plan_that_does_not_hang_together_is_refused(
    act: Callable[[dict[str, Any]], None],
) -> None:
    """Edited by hand or by another program: drawn or read aloud it would be wrong, or crash."""
    table = copy.deepcopy(TABLE)
    act(table)
    with pytest.raises(BadInput):
        from_json(json.dumps(table))


def test_none_stays_none_and_only_where_it_may() -> None:
    plan = own.plan("imka", "standing-triple-jump")
    again = from_json(to_json(plan))
    assert again.contacts[0].time is None
    assert again.contacts[0].vx_in is None
    assert again.approach.marks == ()
    assert not any(
        isinstance(v, float) and math.isnan(v) for c in again.contacts for v in vars(c).values()
    )


# --- edited by hand -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        (("contacts", 1, "arrive"), "x", r"contacts\[1\]"),
        (("contacts", 1, "arrive"), "jump", r"contacts\[1\]"),
        (("contacts", 0, "vy"), 6.0, r"contacts\[0\]\.vy"),
        (("flights", 0, "vy"), 6.0, r"flights\[0\]\.vy"),
        (("flights", 0, "vy"), 3.1, r"flights\[0\]\.(end_z|vy_end|apex_z|vy)"),
        (("flights", 1, "time"), 0.9, r"flights\[1\]\.(end_x|end_z|vy_end)"),
        (("contacts", 1, "height"), 0.4, r"flights\[1\]\.start_z"),
        (("points",), ["W" * 500] * 12, "points"),
        (("points", 0), "W" * 500, r"points\[0\]"),
        (("cautions",), ["W"] * 21, "cautions"),
        (("title",), "W" * 200, "title"),
        (("date",), "yesterday", "date"),
        (("shares", 0), -0.2, "shares"),
        (("shares", 0), 0.5, r"shares\[0\]"),
        (("place", "lanes"), 0, r"place\.lanes"),
        (("ends",), "sand", "ends"),
        (("approach", "marks"), [[1, 2.0]] * 31, r"approach\.marks"),
    ],
)
def test_a_plan_edited_beyond_reason_is_refused_with_the_field(
    path: tuple[Any, ...], value: Any, field: str
) -> None:
    table = json.loads(to_json(PLAN))
    inside = table
    for key in path[:-1]:
        inside = inside[key]
    inside[path[-1]] = value
    with pytest.raises(BadInput, match=field):
        from_json(json.dumps(table))
