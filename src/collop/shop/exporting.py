"""Tables for other programs: CSV that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

__all__ = ["FORMULA_STARTS", "csv_text", "guarded", "unguarded"]

#: A cell that begins with one of these is worked out by spreadsheets, whoever wrote it
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def guarded(text: str) -> str:
    """Return text as a cell that no spreadsheet works out.

    Examples
    --------
    >>> guarded("=1+1"), guarded("lamb")
    ("'=1+1", 'lamb')
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _cell(value: object, *, comes_back: bool) -> str:
    text = "" if value is None else str(value)
    # where it is read again, text that has an apostrophe of its own needs a second one
    bare = text.lstrip("'") if comes_back else text
    return f"'{text}" if bare.startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """Return a cell without the apostrophe it was guarded with.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if text[:1] == "'" and text.lstrip("'").startswith(FORMULA_STARTS) else text


def csv_text(
    header: Sequence[str], rows: Iterable[Sequence[object]], *, comes_back: bool = False
) -> str:
    """Return a table as CSV (RFC 4180), its cells guarded against being read as formulas.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : iterable of sequence
        Cells; None is an empty one. A cell that begins with ``= + - @`` or a tab gets an
        apostrophe before it, as OWASP advises (CSV injection; from memory, not checked).
    comes_back : bool
        Whether the table is read in again by `unguarded`, cell for cell.

    Examples
    --------
    >>> csv_text(["name"], [["=1+1"], ["lamb"]]).splitlines()
    ['name', "'=1+1", 'lamb']
    """
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow(header)
    write.writerows([_cell(value, comes_back=comes_back) for value in row] for row in rows)
    return out.getvalue()
