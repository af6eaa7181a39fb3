"""Loading tables: the first fault is named by file, row and column."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.errors import ReferenceTableError
from collop.reference import Column, Kind, Span, Status, Table, read_sources, read_table

SOURCES = "source_id,title,publisher,year,locator,url\nS1,A title,A publisher,1998,p. 4,none\n"
HEADER = "name,amount,low,high,n,span,list,source_id,status,note\n"
TABLE = Table(
    "room/figures.csv",
    (
        Column("name", required=True, choices=("leg", "rib", "neck")),
        Column("amount", kind=Kind.DECIMAL, required=True, low=0, high=10),
        Column("low", kind=Kind.DECIMAL),
        Column("high", kind=Kind.DECIMAL),
        Column("n", kind=Kind.WHOLE, low=1),
        Column("span", kind=Kind.SPAN, high=90),
        Column("list", kind=Kind.LIST),
    ),
    key="name",
    low_high=("low", "high"),
    low_high_not=frozenset({"neck"}),
)


@pytest.fixture
def room(tmp_path):
    """Return a function that writes a table and its sources, and reads the table."""

    def write(rows, *, header=HEADER, sources=SOURCES):
        """Write both files and read the table."""
        folder = tmp_path / "room"
        folder.mkdir(exist_ok=True)
        (folder / "sources.csv").write_text(sources, encoding="utf-8")
        (folder / "figures.csv").write_text(header + rows, encoding="utf-8")
        return read_table(TABLE, tmp_path)

    return write


def test_a_good_table_reads_as_exact_figures(room):
    """Figures are decimals and whole numbers, never binary; the source is resolved."""
    leg, rib = room("leg,0.10,1,2,3,23-25,a; b,S1,seen,\nrib,10,,,,6+,,S1,memory,as told\n")
    assert leg.decimal("amount") == Decimal("0.10")
    assert leg.whole("n") == 3
    assert leg.span_or_none("span") == Span(Decimal(23), Decimal(25))
    assert leg.listed("list") == ("a", "b")
    assert leg.origin().text() == "A publisher, A title, 1998, p. 4"
    assert rib.decimal_or_none("low") is None
    assert rib.whole_or_none("n") is None
    assert rib.span_or_none("span") == Span(Decimal(6), None)
    assert rib.listed("list") == ()
    assert (rib.status(), rib.text("note")) == (Status.MEMORY, "as told")


@pytest.mark.parametrize(
    ("row", "column", "problem"),
    [
        (",1,,,,,,S1,seen,", "name", "it is empty"),
        ("ham,1,,,,,,S1,seen,", "name", "'ham' is none of leg, rib, neck"),
        ("leg,,,,,,,S1,seen,", "amount", "it is empty"),
        ("leg,ten,,,,,,S1,seen,", "amount", "'ten' is no figure"),
        ("leg,1e1,,,,,,S1,seen,", "amount", "'1e1' is no figure"),
        ("leg,NaN,,,,,,S1,seen,", "amount", "'NaN' is no figure"),
        ("leg,\uff11,,,,,,S1,seen,", "amount", "'\uff11' is no figure"),
        ("leg,10.01,,,,,,S1,seen,", "amount", "10.01 is outside 0 to 10"),
        ("leg,-1,,,,,,S1,seen,", "amount", "-1 is outside 0 to 10"),
        ("leg,1,3,2,,,,S1,seen,", "high", "2 is less than 3"),
        ("leg,1,,,1.5,,,S1,seen,", "n", "'1.5' is no figure"),
        ("leg,1,,,0,,,S1,seen,", "n", "0 is outside 1 to None"),
        ("leg,1,,,,25-23,,S1,seen,", "span", "'25-23' is no figure"),
        ("leg,1,,,,6-91,,S1,seen,", "span", "6-91 is outside None to 90"),
        ("leg,1,,,,,,S2,seen,", "source_id", "'S2' is not in the sources"),
        ("leg,1,,,,,,,seen,", "source_id", "it is empty"),
        ("leg,1,,,,,,S1,guessed,", "status", "'guessed' is none of seen, memory, computed"),
        ("leg,1,,,,,,S1,seen", "note", "9 cells instead of 10"),
        ("leg,1,,,,,,S1,seen,,x", "note", "11 cells instead of 10"),
    ],
)
def test_each_fault_is_named_by_file_row_and_column(room, row, column, problem):
    """A faulty cell is found wherever it stands; the header is row 1."""
    with pytest.raises(ReferenceTableError) as caught:
        room(f"rib,1,,,,,,S1,seen,\n{row}\n")
    said = f"room/figures.csv, row 3, column {column}: {problem}; correct the table."
    assert caught.value.message == said
    assert caught.value.where == f"room/figures.csv:3:{column}"


def test_a_row_that_is_no_low_and_high_may_be_excepted(room):
    """A table names the rows where two figures are a pair and not a range."""
    assert room("neck,1,8.4,2.4,,,,S1,seen,\n")[0].decimal_or_none("low") == Decimal("8.4")


def test_a_key_given_twice_is_a_fault(room):
    """The second row with one key is named."""
    with pytest.raises(ReferenceTableError, match="row 3, column name: 'leg' is given twice"):
        room("leg,1,,,,,,S1,seen,\nleg,2,,,,,,S1,seen,\n")


@pytest.mark.parametrize(
    ("header", "message"),
    [
        (HEADER.replace("amount", "amuont"), "column amount: the header says 'amuont'"),
        (HEADER.replace(",note", ""), "column note: the header says 'nothing'"),
        (HEADER.replace("note", "note,more"), "column more: the column is not expected"),
        ("", "column name: the header says 'nothing'"),
    ],
)
def test_a_wrong_header_is_a_fault(room, header, message):
    """The header is checked cell by cell before any row."""
    with pytest.raises(ReferenceTableError, match=f"figures.csv, row 1, {message}"):
        room("", header=header)


@pytest.mark.parametrize(
    ("sources", "message"),
    [
        (SOURCES + "S1,Again,,,,\n", "row 3, column source_id: 'S1' is empty or given twice"),
        (SOURCES + ",No id,,,,\n", "row 3, column source_id: '' is empty or given twice"),
        (SOURCES + "S2,,,,,\n", "row 3, column title: it is empty"),
        (SOURCES.replace("title", "name"), "row 1, column title: the header says 'name'"),
    ],
)
def test_faulty_sources_are_named(room, sources, message):
    """The list of sources is checked like a table."""
    with pytest.raises(ReferenceTableError, match=rf"room/sources\.csv, {message}"):
        room("leg,1,,,,,,S1,seen,\n", sources=sources)


def test_a_missing_file_is_one_sentence(tmp_path):
    """What cannot be opened is told with its name."""
    with pytest.raises(ReferenceTableError, match=r"room/sources\.csv cannot be read as a UTF-8"):
        read_sources("room", tmp_path)


@pytest.mark.parametrize("content", [b"name,am\xffount\n", HEADER.encode() + b'leg,"1\n'])
def test_a_file_that_is_no_table_is_one_sentence(tmp_path, room, content):
    """Bytes that are no UTF-8 and quotes that do not close are told with the file's name."""
    room("leg,1,,,,,,S1,seen,\n")
    (tmp_path / "room" / "figures.csv").write_bytes(content)
    with pytest.raises(ReferenceTableError, match=r"room/figures\.csv cannot be read as a UTF-8"):
        read_table(TABLE, tmp_path)
