"""One file of everything: a zip of tables as CSV with a manifest, the same bytes for the same shop.

The tables are raw: cells that a spreadsheet would take for a formula are left as they are, since
all must come back equal. Lists for people are guarded; see `collop.shop.csv_lists`.
"""

from __future__ import annotations

import csv
import io
import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.measures import minor_places
from collop.shop.exchange_columns import TABLES, codecs_of
from collop.shop.migrate import HEAD
from collop.shop.settings import load_settings

__all__ = ["FORMAT", "MANIFEST", "Opened", "export_zip", "fault", "nearest", "open_zip"]

FORMAT = "collop.export/1"
MANIFEST = "manifest.json"
#: The most a file of everything may come to, packed and unpacked, and how far it may be packed.
MOST_PACKED, MOST_UNPACKED, MOST_TIMES = 256 * 2**20, 512 * 2**20, 300
_SMALL = 4 * 2**20
_LONGEST_CELL = 16 * 2**20
# a file in a zip has a time of its own: always the first there is, so that bytes are equal
_NO_TIME = (1980, 1, 1, 0, 0, 0)


def fault(said: str, file: str, row: int | None = None, column: str | None = None) -> BadValue:
    """Return an error that names file, row and column.

    Examples
    --------
    >>> fault("'x' is no day", "bookings.csv", 3, "collect_at").message
    "bookings.csv, row 3, column collect_at: 'x' is no day. Nothing was imported."
    """
    place = [file]
    place += [] if row is None else [f"row {row}"]
    place += [] if column is None else [f"column {column}"]
    where = ":".join([file, *([] if row is None else [str(row)]),
                      *([] if column is None else [column])])  # fmt: skip
    return BadValue(f"{', '.join(place)}: {said}. Nothing was imported.", where=where)


def nearest(name: str, known: Sequence[str]) -> str:
    """Return in words which known name a name is near to; empty if none is."""
    found = get_close_matches(name.casefold(), list(known), n=1, cutoff=0.6)
    return f"; {found[0]} is the nearest that is known" if found else ""


def _rows_of(conn: Connection, name: str, currency: str) -> tuple[bytes, int]:
    table = TABLES[name]
    codecs = codecs_of(table, currency)
    out = io.StringIO(newline="")
    write = csv.writer(out)
    write.writerow([codec.name for codec in codecs])
    count = 0
    for row in conn.execute(select(table).order_by(*table.primary_key.columns)).mappings():
        plain = {column: row[column] for column in row}
        cells = ((codec, plain[codec.name]) for codec in codecs)
        write.writerow(["" if value is None else codec.write(value, plain)
                        for codec, value in cells])  # fmt: skip
        count += 1
    return out.getvalue().encode("utf-8"), count


def export_zip(conn: Connection) -> bytes:
    """Return everything the shop keeps, as a zip of tables and a manifest.

    Parameters
    ----------
    conn : Connection
        Reading connection; all is of one moment.

    Returns
    -------
    bytes
        The same for the same rows: tables by name, rows by their number, no time of writing.
    """
    chosen = load_settings(conn)
    tables = {name: _rows_of(conn, name, chosen.currency) for name in sorted(TABLES)}
    manifest = {
        "format": FORMAT, "form": HEAD, "shop": chosen.name, "currency": chosen.currency,
        "rows": {name: count for name, (_, count) in tables.items()},
    }  # fmt: skip
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        files = {MANIFEST: json.dumps(manifest, ensure_ascii=False, indent=1).encode()}
        files |= {f"{name}.csv": data for name, (data, _) in tables.items()}
        for name, data in files.items():
            info = zipfile.ZipInfo(name, _NO_TIME)
            info.compress_type, info.create_system, info.external_attr = zipfile.ZIP_DEFLATED, 3, 0
            packed.writestr(info, data, compresslevel=6)
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class Opened:
    """A file of everything, opened: the manifest, and each table's rows as text by its name."""

    manifest: Mapping[str, Any]
    texts: Mapping[str, str]

    @property
    def currency(self) -> str:
        """Return the currency of all its money."""
        return str(self.manifest["currency"])

    def rows(self, name: str) -> Iterator[tuple[int, list[str]]]:
        """Yield the rows of a table, the names of the columns first as row 1.

        Raises
        ------
        BadValue
            If a quote is not closed or a cell is too long.
        """
        csv.field_size_limit(MOST_UNPACKED)
        reader = csv.reader(io.StringIO(self.texts[name], newline=""), strict=True)
        number = 0
        try:
            for number, row in enumerate(reader, 1):
                long = next((at for at, cell in enumerate(row) if len(cell) > _LONGEST_CELL), None)
                if long is not None:
                    raise fault(f"cell {long + 1} has {len(row[long])} characters, and "
                                f"{_LONGEST_CELL} is the most; take a fresh export",
                                f"{name}.csv", number)  # fmt: skip
                yield number, row
        except csv.Error as error:
            raise fault(f"the row is no CSV ({error}); close the quote, or take a fresh export",
                        f"{name}.csv", number + 1) from None  # fmt: skip


def open_zip(data: bytes) -> Opened:
    """Open a file of everything, and look at all that can be wrong with it but its cells.

    Raises
    ------
    BadValue
        If it is no zip, cut short, damaged, too large, packed beyond belief, or encrypted; if a
        file is missing, unknown, there twice, has a path in its name, or is no UTF-8; if it is of
        another form than this version keeps.
    """
    if len(data) > MOST_PACKED:
        raise fault(f"it is over {MOST_PACKED // 2**20} MB; this is no export", "the zip")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            files = _unpacked(packed)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError,
            OverflowError, OSError, ValueError) as error:  # fmt: skip
        if isinstance(error, BadValue):
            raise
        raise fault("it is no zip file, or was cut short or damaged; take a fresh export",
                    "the zip") from None  # fmt: skip
    manifest = _manifest(files.pop(MANIFEST))
    _all_there(files)
    return Opened(manifest, {name.removesuffix(".csv"): _utf8(name, body)
                             for name, body in files.items()})  # fmt: skip


def _unpacked(packed: zipfile.ZipFile) -> dict[str, bytes]:
    infos = packed.infolist()
    known = [MANIFEST, *(f"{name}.csv" for name in TABLES)]
    seen: set[str] = set()
    for info in infos:
        name = info.filename
        told = repr(name[:60])
        if name not in known:
            if "/" in name or "\\" in name or name.startswith("."):
                raise fault(f"{told} is a path; files lie in the zip side by side", "the zip")
            raise fault(f"nobody knows the file {told}{nearest(name, known)}; take it out",
                        "the zip")  # fmt: skip
        if name in seen:
            raise fault(f"{told} is there twice; keep one of them", "the zip")
        seen.add(name)
        if info.flag_bits & 0x1:
            raise fault(f"{told} is encrypted; take a fresh export", "the zip")
        if info.file_size > _SMALL and info.file_size > MOST_TIMES * max(info.compress_size, 1):
            raise fault(f"{told} would grow {info.file_size // max(info.compress_size, 1)} times; "
                        "this is no export", "the zip")  # fmt: skip
    if sum(info.file_size for info in infos) > MOST_UNPACKED:
        raise fault(f"it would come to over {MOST_UNPACKED // 2**20} MB; this is no export",
                    "the zip")  # fmt: skip
    if MANIFEST not in seen:
        raise fault(f"{MANIFEST} is missing; take a fresh export", "the zip")
    return {info.filename: _body(packed, info) for info in infos}


def _body(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    with packed.open(info) as file:
        # what a file says of its own length need not be so
        body = file.read(info.file_size + 1)
    if len(body) != info.file_size:
        raise fault("it is longer than it says; take a fresh export", info.filename)
    return body


def _utf8(name: str, body: bytes) -> str:
    try:
        return body.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        row = body.count(b"\n", 0, error.start) + 1
        raise fault(f"byte {body[error.start]:#04x} is no UTF-8; save it as UTF-8", name,
                    row) from None  # fmt: skip


def _manifest(body: bytes) -> dict[str, Any]:
    try:
        found = json.loads(_utf8(MANIFEST, body))
    except (ValueError, RecursionError) as error:
        if isinstance(error, BadValue):
            raise
        raise fault("it is no JSON; take a fresh export", MANIFEST) from None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise fault(f"it is not of the format {FORMAT}; take a fresh export", MANIFEST)
    if found.get("form") != HEAD:
        raise fault(f"the tables have form {str(found.get('form'))[:20]}, and this version keeps "
                    f"{HEAD}; export from a shop brought to this form first", MANIFEST)  # fmt: skip
    try:
        minor_places(str(found.get("currency")))
    except BadValue as error:
        raise fault(error.message.rstrip("."), MANIFEST) from None
    rows = found.get("rows")
    if not isinstance(rows, dict) or set(rows) != set(TABLES):
        raise fault("it does not tell the rows of each table; take a fresh export", MANIFEST)
    return found


def _all_there(files: Mapping[str, bytes]) -> None:
    missing = sorted(f"{name}.csv" for name in TABLES if f"{name}.csv" not in files)
    if missing:
        raise fault(f"{', '.join(missing[:5])} {'is' if len(missing) == 1 else 'are'} missing; "
                    "take a fresh export", "the zip")  # fmt: skip
