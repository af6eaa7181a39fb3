"""Reading a list that somebody kept in a spreadsheet: named columns, and every cell by its place.

Taken as they come: a byte-order mark, semicolons or tabs instead of commas, a ``sep=`` line, CRLF,
names in capitals, empty rows, missing cells at the end of a row, line breaks in quotes, and the
apostrophe that guards a cell. A decimal comma is read where it can mean nothing else.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from collop.errors import BadValue
from collop.shop.exchange_zip import fault, nearest
from collop.shop.exporting import unguarded

__all__ = ["MOST_BYTES", "MOST_ROWS", "ListRow", "decimal_in", "moment_in", "read_list", "whole_in"]

#: The most a list may be.
MOST_BYTES, MOST_ROWS = 2 * 2**20, 5_000
_LONGEST_CELL = 2_000
_SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row of a list: its number as a spreadsheet counts, and its cells by column.

    `has_commas` tells that cells are not parted by commas, as where a comma begins the decimals.
    """

    file: str
    number: int
    cells: Mapping[str, str]
    has_commas: bool = False

    def get(self, column: str) -> str:
        """Return a cell without spaces at its ends; empty if there is no such column."""
        return self.cells.get(column, "").strip()

    def fault(self, column: str, said: str) -> BadValue:
        """Return an error that names this row and a column."""
        return fault(said.rstrip("."), self.file, self.number, column)

    def needs(self, column: str) -> str:
        """Return a cell that must be filled."""
        text = self.get(column)
        if not text:
            raise self.fault(column, "the cell is empty and must be filled")
        return text


def _text(data: bytes, file: str) -> str:
    if len(data) > MOST_BYTES:
        raise fault(f"it is over {MOST_BYTES // 2**20} MB; send it in parts", file)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise fault(f"byte {data[error.start]:#04x} is no UTF-8; save it as CSV UTF-8", file,
                    row) from None  # fmt: skip
    if "\0" in text:
        raise fault("it holds bytes that are no text; save it as CSV UTF-8", file)
    return text


def _separator(text: str) -> tuple[str, str, int]:
    """Return what parts the cells, the text from the names on, and how many rows came before."""
    first, _, rest = text.partition("\n")
    told = re.fullmatch(r"sep=([,;\t])\s*", first.strip("\r"), re.IGNORECASE)
    if told:
        return told[1], rest, 1
    plain = re.sub(r'"[^"]*"', "", first)
    return max(_SEPARATORS, key=plain.count), text, 0


def read_list(data: bytes, known: Sequence[str], file: str) -> tuple[ListRow, ...]:
    """Return the rows of a list that are not empty.

    Parameters
    ----------
    data : bytes
        CSV in UTF-8.
    known : sequence of str
        Names of the columns, in small letters.
    file : str
        What the list is called in messages.

    Raises
    ------
    BadValue
        If it is too large, no UTF-8 or no CSV; if a column is unknown (the nearest is named), there
        twice, or has no name; if a row has too many cells or a cell is too long.
    """
    separator, text, before = _separator(_text(data, file))
    csv.field_size_limit(MOST_BYTES)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[ListRow] = []
    names: list[str] = []
    number = before
    try:
        for number, cells in enumerate(reader, before + 1):
            if not any(cell.strip() for cell in cells):
                continue
            if not names:
                names = _names(cells, known, file, number)
                continue
            rows.append(ListRow(file, number, _cells(names, cells, file, number),
                                separator != ","))  # fmt: skip
            if len(rows) > MOST_ROWS:
                raise fault(f"there are over {MOST_ROWS} rows; send them in parts", file, number)
    except csv.Error as error:
        raise fault(f"the row is no CSV ({error}); close the quote", file, number + 1) from None
    if not names:
        raise fault("it is empty; the first row names the columns", file)
    return tuple(rows)


def _names(cells: Sequence[str], known: Sequence[str], file: str, row: int) -> list[str]:
    names = [re.sub(r"[\s-]+", "_", cell.strip().casefold()) for cell in cells]
    while names and not names[-1]:
        names.pop()
    for name in names:
        if name not in known:
            told = repr(name[:40]) if name else "without a name"
            raise fault(f"nobody knows the column {told}{nearest(name, known)}; known are "
                        f"{', '.join(known)}", file, row)  # fmt: skip
        if names.count(name) > 1:
            raise fault("the column is there twice; keep one of them", file, row, name)
    return names


def _cells(names: Sequence[str], cells: Sequence[str], file: str, row: int) -> dict[str, str]:
    if any(cell.strip() for cell in cells[len(names) :]):
        raise fault(f"there are {len(cells)} cells, and {len(names)} columns have a name; put text "
                    "with a comma in quotes", file, row)  # fmt: skip
    for name, cell in zip(names, cells, strict=False):
        if len(cell) > _LONGEST_CELL:
            raise fault(f"the cell has {len(cell)} characters, and {_LONGEST_CELL} is the most",
                        file, row, name)  # fmt: skip
    return {name: unguarded(cell) for name, cell in zip(names, cells, strict=False)}


def decimal_in(row: ListRow, column: str) -> Decimal:
    """Return a decimal of zero or more.

    Both ``1,234.50`` and ``1.234,50`` are read, and ``8,40``; ``1,234`` may mean two things and is
    refused.

    Raises
    ------
    BadValue
        If the cell is empty or no such number.
    """
    text = row.needs(column).replace("\N{NO-BREAK SPACE}", "").replace(" ", "")
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(,[0-9]{3}){2,}", text):
        text = text.replace(",", "")
    elif re.fullmatch(r"[0-9]{1,3}(\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(\.[0-9]{3}){2,}", text):
        text = text.replace(".", "").replace(",", ".")
    elif re.fullmatch(r"[1-9][0-9]{0,2}[,.][0-9]{3}", text) and ("," in text or row.has_commas):
        whole, cents = re.split("[,.]", text)
        raise row.fault(column, f"{text} may be {whole}{cents} or {whole}.{cents}; write two "
                                "decimals, or no sign between thousands")  # fmt: skip
    elif re.fullmatch(r"[0-9]{1,9},[0-9]{1,6}", text):
        text = text.replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,6})?", text):
        raise row.fault(column, f"{text[:40]!r} is no number; write it like 8.40")
    return Decimal(text)


def whole_in(row: ListRow, column: str, low: int, high: int) -> int:
    """Return a whole number from `low` to `high`, or raise `BadValue`."""
    text = row.needs(column)
    if not re.fullmatch(r"[0-9]{1,9}", text) or not low <= int(text) <= high:
        raise row.fault(column, f"{text[:40]!r} is no whole number from {low} to {high}")
    return int(text)


def moment_in(row: ListRow, column: str) -> datetime:
    """Return a day with its hour, shop-local, or raise `BadValue`."""
    text = row.needs(column)
    try:
        found = datetime.fromisoformat(text.replace(" ", "T", 1))
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None or not re.search(r"[T ]\d", text):
        raise row.fault(column, f"{text[:40]!r} is no day with an hour; write it like "
                                "2026-06-12 16:00")  # fmt: skip
    return found
