"""Bar codes as whole modules, so that drawing only multiplies by whole printer dots.

References
----------
.. [1] Widths of modules and patterns: the zint library makes them; every kind is read back in the
   tests by another maker's reader.
.. [2] Quiet zones: UPC-A 9 modules, EAN-13 11 left and 7 right (the larger is kept on both sides),
   GS1-128 10, DataBar Expanded none (1 is kept), DataMatrix 1, QR 4: GS1 General Specifications
   5.2, from memory, not checked.
.. [3] GS1-128 holds at most 48 data characters, DataBar Expanded 74 digits or 41 letters: rules
   BC132 and BC133, from memory, not checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from collop.errors import BadValue
from collop.ticket.digits import full, shown, verify, whole_digits
from collop.ticket.elements_checking import checked
from collop.ticket.elements_reading import bracketed, pairs_of, transmitted

__all__ = ["GS1_KINDS", "KINDS", "Modules", "check_room", "columns_for", "symbol_of"]

#: Every kind of bar code that can be made.
KINDS = (
    "upc-a", "ean-13", "databar-expanded-stacked", "gs1-128", "gs1-datamatrix", "datamatrix",
    "gs1-qr", "qr",
)  # fmt: skip
#: Those that hold an element string.
GS1_KINDS = ("databar-expanded-stacked", "gs1-128", "gs1-datamatrix", "gs1-qr")
_MATRIX = ("gs1-datamatrix", "datamatrix", "gs1-qr", "qr")
_QUIET = {
    "upc-a": (9, 0), "ean-13": (11, 0), "databar-expanded-stacked": (1, 1), "gs1-128": (10, 0),
    "gs1-datamatrix": (1, 1), "datamatrix": (1, 1), "gs1-qr": (4, 4), "qr": (4, 4),
}  # fmt: skip
# level M of a QR code mends 15 of 100 lost; a wet ticket needs it
_QR_LEVEL_M = 2
_UTF_8 = 26
_MOST_GS1_128 = 48
_MOST_COLUMNS = 10
_USUAL_COLUMNS = 2
# a row of DataBar Expanded: two guards of 2 modules, and 49 modules a column
_GUARDS, _COLUMN = 4, 49
_LONGEST = 1200


@dataclass(frozen=True, slots=True)
class Modules:
    """A bar code as whole modules.

    To draw it taller, add the same number of modules to the height of each bar that is not part of
    a matrix or a stack.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    data : str
        What is encoded: digits, ``(01)...(10)...`` for the GS1 kinds, or plain text.
    width, height : int
        Modules, without quiet zone; the height of a linear code is nominal.
    bars : tuple of (x, y, width, height)
        Dark rectangles, in modules.
    quiet : tuple of (int, int)
        Quiet zone left and right, and above and below, in modules.
    text : str
        Line for people under it; empty for a matrix.
    is_matrix : bool
        Whether it is a matrix.
    """

    kind: str
    data: str
    width: int
    height: int
    bars: tuple[tuple[int, int, int, int], ...]
    quiet: tuple[int, int]
    text: str
    is_matrix: bool


def columns_for(width: int) -> int:
    """Return the most columns of a stacked DataBar that fit `width` modules with its quiet zone.

    Raises
    ------
    BadValue
        If not even one fits.

    Examples
    --------
    >>> columns_for(104)
    2
    """
    room = width - 2 * _QUIET["databar-expanded-stacked"][0] - _GUARDS
    if room < _COLUMN:
        raise BadValue(
            f"A stacked DataBar needs 55 modules, there are {width}; use a wider ticket."
        )
    return min(room // _COLUMN, _MOST_COLUMNS)


def symbol_of(kind: str, data: str, *, columns: int | None = None) -> Modules:
    """Return a bar code as modules.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    data : str
        12 digits for ``upc-a``, 13 for ``ean-13``; an element string, in brackets or as
        transmitted, for the GS1 kinds; any text for ``datamatrix`` and ``qr``.
    columns : int, optional
        Columns of ``databar-expanded-stacked``, 1 to 10; 2 if left out.

    Raises
    ------
    BadValue
        If the kind is unknown, or the data are wrong or too long for it.

    Examples
    --------
    >>> symbol_of("upc-a", "200101804990").width
    95
    """
    if kind not in KINDS:
        raise BadValue(f"{shown(kind)} is no kind of bar code; use one of {', '.join(KINDS)}.")
    if columns is not None and (isinstance(columns, bool) or not 1 <= columns <= _MOST_COLUMNS):
        raise BadValue(f"A stacked DataBar has 1 to {_MOST_COLUMNS} columns, not {columns}.")
    if not isinstance(data, str) or not data:
        raise BadValue("There is nothing to encode; give digits or text.")
    if len(data) > _LONGEST:
        raise BadValue(f"{len(data)} characters do not fit a bar code on a ticket; shorten them.")
    if kind in GS1_KINDS:
        said, given = _element_string(kind, data)
        text = "" if kind in _MATRIX else said
    elif kind in _MATRIX:
        said, given, text = data, _plain(data), ""
    else:
        said = _retail(kind, data)
        given, text = said[:-1], _spaced(kind, said)
    made = _made(kind, given, columns or _USUAL_COLUMNS)
    return Modules(
        kind=kind, data=said, width=made.width, height=_height(made), bars=_bars(made),
        quiet=_QUIET[kind], text=text, is_matrix=kind in _MATRIX,
    )  # fmt: skip


def _retail(kind: str, data: str) -> str:
    """Return the digits of a UPC-A or EAN-13 that has its right check digit."""
    length, name = (12, "UPC-A") if kind == "upc-a" else (13, "EAN-13")
    if len(data) == length - 1 and data.isascii() and data.isdigit():
        if length == 13 and data == full(data[:-1]):
            raise BadValue(f"{data} is a UPC-A; as an EAN-13 it is 0{data}.")
        raise BadValue(f"The {name} has {length} digits; with its check digit it is {full(data)}.")
    return verify(whole_digits(data, length, length, f"The {name}"), f"The {name}")


def _spaced(kind: str, digits: str) -> str:
    """Return the digits as they stand under the bars."""
    if kind == "upc-a":
        return f"{digits[0]} {digits[1:6]} {digits[6:11]} {digits[11]}"
    return f"{digits[0]} {digits[1:7]} {digits[7:]}"


def check_room(kind: str, sent: str) -> None:
    """Refuse an element string that is too long for its kind: rules BC132, BC133, from memory.

    Parameters
    ----------
    kind : str
        One of `KINDS`. How much a DataBar holds hangs on its letters, so one is made and thrown
        away; the matrix codes hold more than any ticket says.
    sent : str
        As a scanner sends it, separators counted.

    Raises
    ------
    BadValue
        If it is too long, with the alternative.
    """
    if kind == "gs1-128" and len(sent) > _MOST_GS1_128:
        raise BadValue(
            f"A GS1-128 holds {_MOST_GS1_128} characters, these are {len(sent)}; use "
            "gs1-datamatrix or leave something out."
        )
    if kind == "databar-expanded-stacked":
        pairs = pairs_of(sent)
        if not _has_room(_in_square(pairs)):
            raise BadValue(
                f"A DataBar Expanded has no room for {bracketed(pairs)}; use gs1-datamatrix, a "
                "shorter lot, or leave something out."
            )


@lru_cache(maxsize=64)  # one ticket is tried with several columns
def _has_room(given: str) -> bool:
    try:
        _made("databar-expanded-stacked", given, _USUAL_COLUMNS)
    except BadValue:
        return False
    return True


def _in_square(pairs: list[tuple[str, str]]) -> str:
    """Return the form the library reads; square brackets are in no value, round ones may be."""
    return "".join(f"[{ai}]{value}" for ai, value in pairs)


def _element_string(kind: str, data: str) -> tuple[str, str]:
    """Return the bracketed form, and the one the library reads."""
    pairs = pairs_of(data)
    checked(pairs)
    check_room(kind, transmitted(pairs))
    return bracketed(pairs), _in_square(pairs)


def _plain(data: str) -> str:
    """Return text that holds no control character."""
    if not data.isprintable():
        raise BadValue(
            "The text of a code must hold no control characters or line ends; remove them."
        )
    return data


def _made(kind: str, given: str, columns: int) -> Any:  # noqa: ANN401 -- the library is untyped
    """Return the library's symbol with its rectangles."""
    import zint  # noqa: PLC0415 -- loaded where a code is made, so that help stays quick

    sort = zint.Symbology
    made = zint.Symbol()
    made.symbology = {
        "upc-a": sort.UPCA, "ean-13": sort.EANX, "databar-expanded-stacked": sort.DBAR_EXPSTK,
        "gs1-128": sort.GS1_128, "gs1-datamatrix": sort.DATAMATRIX, "datamatrix": sort.DATAMATRIX,
        "gs1-qr": sort.QRCODE, "qr": sort.QRCODE,
    }[kind]  # fmt: skip
    made.show_text = False
    if kind in GS1_KINDS:
        # our own checks were stricter; its words would only go to the terminal
        made.input_mode = zint.InputMode.GS1 | zint.InputMode.GS1NOCHECK
    elif not given.isascii():
        made.eci = _UTF_8
    if kind in ("gs1-qr", "qr"):
        made.option_1 = _QR_LEVEL_M
    elif kind in ("gs1-datamatrix", "datamatrix"):
        made.option_3 = zint.DataMatrixOptions.SQUARE
    elif kind == "databar-expanded-stacked":
        made.option_2 = columns
    try:
        made.encode(given)
        made.buffer_vector()
    except RuntimeError:
        raise BadValue(f"{shown(given)} does not fit a {kind} code; shorten it.") from None
    return made


def _whole(value: float) -> int:
    """Return a length of the library, half modules, in whole modules."""
    assert value % 2 == 0, value
    return int(value) // 2


def _height(made: Any) -> int:  # noqa: ANN401 -- the library is untyped
    return max(y + height for _, y, _, height in _bars(made))


def _bars(made: Any) -> tuple[tuple[int, int, int, int], ...]:  # noqa: ANN401 -- as above
    """Return the dark rectangles, the first at the left edge."""
    found = [
        (_whole(one.x), _whole(one.y), _whole(one.width), _whole(one.height))
        for one in made.vector.rectangles
    ]
    left = _left(made, min(x for x, *_ in found))
    return tuple((x - left, y, width, height) for x, y, width, height in found)


def _left(made: Any, first: int) -> int:  # noqa: ANN401 -- as above
    """Return how far the symbol stands from the left: the library adds a zone to some."""
    spare = _whole(made.vector.width) - int(made.width)
    return first if spare else 0
