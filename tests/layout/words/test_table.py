"""One way to read a coach's tables: the same whoever asks."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.words.faults import BadInput, Fault
from layout.words.table import column_name, named_rows, read_table, separator, split_table

KNOWN = ("name", "stature", "note")


def named(text: str, short: bool = True) -> tuple[list[dict[str, str]], list[str]]:
    faults: list[Fault] = []
    _, rows = named_rows(text, KNOWN, ("name", "stature"), "t.csv", faults, short)
    return [dict(r.cells) for r in rows], [str(f) for f in faults]


def whole(text: str) -> list[tuple[int, tuple[str, ...]]]:
    titles, rows = split_table(text)
    return [(r.line, r.cells) for r in (titles, *rows)]


# --- remarks --------------------------------------------------------------------------------------

ABOVE = [
    "# our squad\n#two\n", "  # indented, with; signs\n", '"# saved by a spreadsheet";;\n',
    "sep=;\n# after it\n", "# before it\nSEP=;\n",
]  # fmt: skip


@pytest.mark.parametrize("above", ABOVE)
def test_a_line_with_a_sharp_above_the_titles_is_a_remark(above: str) -> None:
    text = above + "name;stature\nAda;1,70\n"
    line = above.count("\n") + 1
    rows, faults = named(text)
    assert [r["name"] for r in rows] == ["Ada"]
    assert not faults
    assert whole(text) == [(line, ("name", "stature")), (line + 1, ("Ada", "1,70"))]


def test_below_the_titles_every_line_is_a_row() -> None:
    text = "name;stature\n# 7;1,70\n#\n"
    assert [r["name"] for r in named(text)[0]] == ["# 7", "#"]
    assert [c for _, c in whole(text)[1:]] == [("# 7", "1,70"), ("#", "")]
    rows, faults = named(text, short=False)
    assert len(rows) == 1
    assert faults == ["t.csv:3: cells: 2 cells needed, one a column, got '1: #'"]


@pytest.mark.parametrize("titles", ["#;hop;step", "# ;hop;step", '"#";hop;step', "#,hop,step"])
def test_a_title_that_is_the_sign_alone_numbers_the_rows(titles: str) -> None:
    ((_, found), (_, row)) = whole(titles + "\n" + separator(titles).join("123") + "\n")
    assert found == ("#", "hop", "step")
    assert row == ("1", "2", "3")


# --- separators, blank lines, quotes --------------------------------------------------------------


@pytest.mark.parametrize(
    ("titles", "sign"),
    [("a;b", ";"), ("a\tb", "\t"), ("a,b", ","), ("a", ","), ("a, cm;b", ";"), ('"a;b",c', ","),
     ('"a\tb";c', ";")],
)  # fmt: skip
def test_separator(titles: str, sign: str) -> None:
    assert separator(titles) == sign


def test_a_told_separator_wins() -> None:
    assert whole("sep=,\na;b,c\n") == [(2, ("a;b", "c"))]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_blank_lines_and_empty_cells_keep_the_count_of_lines(ending: str) -> None:
    text = ending.join(["", ";;", "name;stature", "", '"";""', " ; ", "Ada;1.7;;", ""])
    assert named(text) == ([{"name": "Ada", "stature": "1.7", "note": ""}], [])
    assert whole(text) == [(3, ("name", "stature")), (7, ("Ada", "1.7"))]


def test_a_cell_may_run_over_lines_where_the_whole_is_read() -> None:
    assert whole('# x\na,b\n1,"two\nlines"\n3,4\n') == [
        (2, ("a", "b")), (3, ("1", "two lines")), (5, ("3", "4"))
    ]  # fmt: skip


def test_faults_of_titles() -> None:
    assert named("nam;name;name;zz\n")[1] == [
        "t.csv:1: column 1: is not a known column; did you mean name?, got 'nam'",
        "t.csv:1: column 3: is there twice, got 'name'",
        "t.csv:1: column 4: is not a known column; known: name, stature, note, got 'zz'",
        "t.csv:1: column stature: is missing",
    ]


@pytest.mark.parametrize("text", ["", "\n", "# only a remark\n", "sep=;\n"])
def test_no_titles(text: str) -> None:
    assert named(text)[1] == ["t.csv: titles: a line of titles needed, with at least name, stature"]
    with pytest.raises(BadInput, match="a first line with names"):
        split_table(text)


def test_titles_as_people_write_them() -> None:
    assert [column_name(t) for t in (" NAME ", "Training-years")] == ["name", "training_years"]


def test_a_file_that_is_no_text_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes(b"name\nJ\xc3\xbcrgen\n\xff\x81\n")
    with pytest.raises(BadInput, match=r"t\.csv:3: file: must be text in UTF-8"):
        read_table(path)


# --- both ways alike ------------------------------------------------------------------------------

CELL = st.text(st.characters(exclude_categories=["Cs", "Cc", "Z"], exclude_characters='"#;,'),
               min_size=1, max_size=5)  # fmt: skip


@given(rows=st.lists(st.tuples(CELL, CELL, CELL), max_size=4), sign=st.sampled_from(";,\t"),
       above=st.sampled_from(["", "# r\n", "\n", "sep={}\n"]))  # fmt: skip
def test_both_readers_see_the_same(rows: list[tuple[str, str, str]], sign: str, above: str) -> None:
    text = above.format(sign) + "\n".join(sign.join(r) for r in (KNOWN, *rows))
    made, faults = named(text)
    assert not faults
    assert [tuple(r.values()) for r in made] == [c for _, c in whole(text)[1:]] == rows


def test_a_cell_too_long_is_said_to_be_that() -> None:
    text = "name;stature\n" + "a" * 200_000 + ";1\nAda;1.7\n"
    rows, faults = named(text)
    assert [r["name"] for r in rows] == ["Ada"]
    assert len(faults) == 1
    assert "t.csv:2: cells: cells of at most 131072 characters allowed" in faults[0]
    with pytest.raises(BadInput, match="cells of at most 131072 characters"):
        split_table(text)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such file here")
def test_a_file_without_an_end_is_refused() -> None:
    with pytest.raises(BadInput, match="must be a regular file, not a device"):
        read_table(Path("/dev/zero"))
