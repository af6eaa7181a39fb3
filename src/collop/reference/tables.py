"""Reading CSV tables of published figures by a declared schema.

Every cell is checked before any figure is used: header, kind, range, choice, order of low and
high, keys that must not repeat, and that the source of each row is known. The first fault stops
the reading with the file, the row (the header is row 1) and the column.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from importlib.resources import files
from importlib.resources.abc import Traversable

from collop.errors import ReferenceTableError
from collop.reference.figures import CellValue, Kind, Span, figures_of, read_cell
from collop.reference.sources import Source, Status

__all__ = ["Cells", "Column", "Table", "package_tables", "read_sources", "read_table"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name : str
        As in the header.
    kind : Kind
        What its cells hold.
    required : bool
        Whether an empty cell is a fault.
    low, high : Decimal or int or None
        Range of a number, both ends allowed.
    choices : tuple of str
        The only texts allowed, if any.
    """

    name: str
    kind: Kind = Kind.TEXT
    required: bool = False
    low: Decimal | int | None = None
    high: Decimal | int | None = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """Schema of one file.

    Parameters
    ----------
    path : str
        ``folder/name.csv``; the folder also holds the sources.
    columns : tuple of Column
        Without the closing ``source_id, status, note``, unless `cited` is false.
    key : str
        Column whose texts must not repeat; empty if none.
    low_high : tuple of str
        Two columns of which the first must not be larger; empty if none.
    low_high_not : frozenset of str
        First cells of the rows where those two are no low and high.
    cited : bool
        Whether each row ends with source, status and note.
    """

    path: str
    columns: tuple[Column, ...]
    key: str = ""
    low_high: tuple[str, ...] = ()
    low_high_not: frozenset[str] = frozenset()
    cited: bool = True

    @property
    def all_columns(self) -> tuple[Column, ...]:
        """Return the columns with the closing three."""
        return self.columns + _CLOSING if self.cited else self.columns


_CLOSING = (
    Column("source_id", required=True),
    Column("status", required=True, choices=tuple(Status)),
    Column("note"),
)
_SOURCES = ("source_id", "title", "publisher", "year", "locator", "url", "note")


@dataclass(frozen=True, slots=True)
class Cells:
    """The checked cells of one row.

    Parameters
    ----------
    values : mapping
        By column name; an empty number is None.
    source : Source or None
        The publication, for a cited table.
    """

    values: Mapping[str, CellValue] = field(repr=False)
    source: Source | None = None

    def text(self, name: str) -> str:
        """Return a text, empty if the cell is."""
        value = self.values[name]
        assert isinstance(value, str)
        return value

    def listed(self, name: str) -> tuple[str, ...]:
        """Return the entries of a cell that are parted by semicolons."""
        value = self.values[name]
        assert isinstance(value, tuple)
        return value

    def decimal(self, name: str) -> Decimal:
        """Return a required number."""
        value = self.values[name]
        assert isinstance(value, Decimal)
        return value

    def decimal_or_none(self, name: str) -> Decimal | None:
        """Return a number, None if the cell is empty."""
        value = self.values[name]
        assert value is None or isinstance(value, Decimal)
        return value

    def whole(self, name: str) -> int:
        """Return a required whole number."""
        value = self.values[name]
        assert isinstance(value, int)
        return value

    def whole_or_none(self, name: str) -> int | None:
        """Return a whole number, None if the cell is empty."""
        value = self.values[name]
        assert value is None or isinstance(value, int)
        return value

    def span_or_none(self, name: str) -> Span | None:
        """Return a figure or range, None if the cell is empty."""
        value = self.values[name]
        assert value is None or isinstance(value, Span)
        return value

    def origin(self) -> Source:
        """Return the publication of a cited row."""
        assert self.source is not None
        return self.source

    def status(self) -> Status:
        """Return how the figure was obtained."""
        return Status(self.text("status"))


def package_tables() -> Traversable:
    """Return the folder of the tables that come with the package."""
    return files("collop.reference") / "tables"


def _fault(path: str, row: int, column: str, problem: str) -> ReferenceTableError:
    return ReferenceTableError(
        f"{path}, row {row}, column {column}: {problem}; correct the table.",
        where=f"{path}:{row}:{column}",
    )


def _lines(path: str, root: Traversable) -> Iterator[tuple[int, list[str]]]:
    """Yield (row number, cells) of a file; an unreadable file is one fault."""
    try:
        text = root.joinpath(*path.split("/")).read_text(encoding="utf-8")
        yield from enumerate(csv.reader(io.StringIO(text), strict=True), start=1)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise ReferenceTableError(
            f"{path} cannot be read as a UTF-8 table ({error}); restore the file.", where=path
        ) from None


def _checked_rows(
    path: str, names: tuple[str, ...], root: Traversable
) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield (row number, cells by name) after checking the header and each row's length."""
    lines = _lines(path, root)
    _, header = next(lines, (1, []))
    for index, name in enumerate(names):
        found = header[index] if index < len(header) else "nothing"
        if found != name:
            raise _fault(path, 1, name, f"the header says {found!r}")
    if len(header) != len(names):
        raise _fault(path, 1, header[len(names)], "the column is not expected")
    for row, cells in lines:
        if len(cells) != len(names):
            at = names[min(len(cells), len(names) - 1)]
            raise _fault(path, row, at, f"{len(cells)} cells instead of {len(names)}")
        yield row, dict(zip(names, (cell.strip() for cell in cells), strict=True))


def read_sources(folder: str, root: Traversable | None = None) -> dict[str, Source]:
    """Read ``folder/sources.csv``.

    Parameters
    ----------
    folder : str
        Folder of tables, e.g. ``cooking``.
    root : Traversable, optional
        Where the folders are; the package's own by default.

    Returns
    -------
    dict
        Source by its id.

    Raises
    ------
    ReferenceTableError
        If the file is malformed or an id repeats.
    """
    path, root = f"{folder}/sources.csv", root or package_tables()
    _, header = next(_lines(path, root), (1, []))
    names = _SOURCES if len(header) == len(_SOURCES) else _SOURCES[:-1]
    found: dict[str, Source] = {}
    for row, cells in _checked_rows(path, names, root):
        source_id = cells["source_id"]
        if not source_id or source_id in found:
            raise _fault(path, row, "source_id", f"{source_id!r} is empty or given twice")
        if not cells["title"]:
            raise _fault(path, row, "title", "it is empty")
        found[source_id] = Source(*(cells[name] for name in _SOURCES[:-1]))
    return found


def read_table(table: Table, root: Traversable | None = None) -> tuple[Cells, ...]:
    """Read and check a whole table.

    Parameters
    ----------
    table : Table
        Schema, with the path.
    root : Traversable, optional
        Where the folders are; the package's own by default.

    Returns
    -------
    tuple of Cells
        One for each row, in the order of the file.

    Raises
    ------
    ReferenceTableError
        At the first fault, naming file, row and column.
    """
    root = root or package_tables()
    sources = read_sources(table.path.partition("/")[0], root) if table.cited else {}
    names = tuple(column.name for column in table.all_columns)
    found: list[Cells] = []
    keys: set[str] = set()
    for row, raw in _checked_rows(table.path, names, root):
        values = {column.name: _value(table, row, column, raw) for column in table.all_columns}
        if table.cited and raw["source_id"] not in sources:
            problem = f"{raw['source_id']!r} is not in the sources"
            raise _fault(table.path, row, "source_id", problem)
        _check_order(table, row, values)
        if table.key and raw[table.key] in keys:
            raise _fault(table.path, row, table.key, f"{raw[table.key]!r} is given twice")
        keys.add(raw.get(table.key, ""))
        found.append(Cells(values, sources.get(raw.get("source_id", ""))))
    return tuple(found)


def _check_order(table: Table, row: int, values: Mapping[str, CellValue]) -> None:
    if not table.low_high or values[table.columns[0].name] in table.low_high_not:
        return
    low, high = (values[name] for name in table.low_high)
    if isinstance(low, Decimal) and isinstance(high, Decimal) and low > high:
        raise _fault(table.path, row, table.low_high[1], f"{high} is less than {low}")


def _value(table: Table, row: int, column: Column, raw: Mapping[str, str]) -> CellValue:
    """Return the checked value of one cell."""
    cell = raw[column.name]
    if not cell and column.required:
        raise _fault(table.path, row, column.name, "it is empty")
    if column.choices and cell not in column.choices:
        problem = f"{cell!r} is none of {', '.join(column.choices)}"
        raise _fault(table.path, row, column.name, problem)
    try:
        value = read_cell(cell, column.kind)
    except ValueError:
        raise _fault(table.path, row, column.name, f"{cell!r} is no figure") from None
    for figure in figures_of(value):
        if (column.low is not None and figure < column.low) or (
            column.high is not None and figure > column.high
        ):
            problem = f"{cell} is outside {column.low} to {column.high}"
            raise _fault(table.path, row, column.name, problem)
    return value
