"""Everything out and back: equal to the byte, and every damage told by file, row and column."""

from __future__ import annotations

import csv
import io
import json
import struct
import zipfile
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import BigInteger, select

from collop.errors import BadValue, CollopError, StorageTrouble
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import (
    DEMO_START,
    NewBooking,
    NewLine,
    Settings,
    StillClock,
    create_shop,
    open_shop,
)
from collop.shop.exchange_columns import MONEY, TABLES, WARMTH, WEIGHTS, codecs_of, weight_text
from collop.shop.exchange_loading import import_zip
from collop.shop.migrate import HEAD
from ending import that_ends


@pytest.fixture(scope="module")
def packed(demo_file):
    with open_shop(f"sqlite:///{demo_file}", StillClock()) as shop:
        return shop.exchange.export()


def files_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def packed_of(files, *, level=zipfile.ZIP_DEFLATED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", level) as zipped:
        for name, body in files.items():
            zipped.writestr(name, body)
    return out.getvalue()


def changed(data, name, change):
    files = files_of(data)
    files[name] = change(files[name])
    return packed_of(files)


def cell(data, name, row, column, text):
    """Return the zip with one cell of a table changed; row 1 is that of the names."""

    def change(body):
        rows = list(csv.reader(io.StringIO(body.decode(), newline="")))
        rows[row - 1][rows[0].index(column)] = text
        out = io.StringIO(newline="")
        csv.writer(out).writerows(rows)
        return out.getvalue().encode()

    return changed(data, name, change)


def brought(data, tmp_path, name="new.db"):
    url = f"sqlite:///{tmp_path / name}"
    import_zip(data, url)
    return open_shop(url, StillClock())


def test_the_demo_goes_out_and_in_and_out_again_equal_to_the_byte(packed, tmp_path):
    """The new shop's ledger holds, and its export is the same file."""
    with brought(packed, tmp_path) as shop:
        assert shop.check() == []
        assert shop.exchange.export() == packed
        assert len(shop.case()) == 34


def test_the_file_tells_its_form_its_rows_and_plain_figures(packed):
    """The manifest counts each table; weights, money, warmth, times and days are named text."""
    files = files_of(packed)
    manifest = json.loads(files["manifest.json"])
    assert (manifest["format"], manifest["currency"]) == ("collop.export/1", "USD")
    for name in TABLES:
        rows = list(csv.DictReader(io.StringIO(files[f"{name}.csv"].decode(), newline="")))
        assert manifest["rows"][name] == len(rows)
    (line,) = [row for row in csv.DictReader(io.StringIO(files["booking_lines.csv"].decode()))
               if (row["booking_number"], row["position"]) == ("1", "1")]  # fmt: skip
    assert (line["weight"], line["line_total"]) == ("26 lb", "291.2 USD".replace(".2 ", ".20 "))
    checks = csv.DictReader(io.StringIO(files["day_checks.csv"].decode()))
    assert next(row["reading"] for row in checks if row["kind"] == "cold").endswith(" degF")


def test_a_shop_with_nothing_in_it_goes_out_and_in(tmp_path):
    """Settings and people alone are a shop."""
    url = f"sqlite:///{tmp_path / 'old.db'}"
    with create_shop(url, settings=Settings("Ours", currency="JPY", legal_unit=WeightUnit.KG),
                     clock=StillClock()) as shop:  # fmt: skip
        data = shop.exchange.export()
    with brought(data, tmp_path) as again:
        assert again.exchange.export() == data
        assert again.settings().currency == "JPY"


def test_every_count_is_known_as_a_weight_money_warmth_or_a_number():
    """A column of whole counts that nobody named would go out as a bare figure."""
    plain = {"audit.device_number", "audit.utc", "drills.milliseconds", "lots.delivery_number"}
    for table in TABLES.values():
        for column in table.columns:
            name = f"{table.name}.{column.name}"
            is_row = column.primary_key or column.foreign_keys
            if type(column.type) is BigInteger and not is_row:
                assert name in WEIGHTS | MONEY | WARMTH | plain, name
    known = {f"{table.name}.{column.name}" for table in TABLES.values() for column in table.columns}
    assert known >= WEIGHTS | MONEY | WARMTH


_LB = WeightUnit.LB
ACTS = st.lists(
    st.tuples(
        st.sampled_from(["book", "release", "price", "hand over", "cold", "note"]),
        st.sampled_from(["C02", "C03", "C11", "C13"]), st.integers(1, 90),
        st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=3, max_size=30),
    ),
    min_size=4, max_size=12,
)  # fmt: skip


@given(ACTS)
@settings(max_examples=3)
def test_any_history_comes_back_equal(demo_file, tmp_path_factory, acts):
    """Bookings, releases, prices, hand-overs and words in any order, with any letters."""
    import shutil

    folder = tmp_path_factory.mktemp("any")
    clock = StillClock()
    with open_shop(f"sqlite:///{shutil.copy(demo_file, folder / 'a.db')}", clock) as shop:
        for number, (what, case_id, amount, words) in enumerate(acts):
            clock.put(DEMO_START + timedelta(minutes=number + 1))
            done(shop, what, case_id, amount, words=words, key=str(number))
        data = shop.exchange.export()
    with brought(data, folder) as again:
        assert again.exchange.export() == data
        assert again.check() == []


def done(shop, what, case_id, amount, *, words, key):
    weight = Weight.of(f"{amount / 100:.2f}", _LB)
    try:
        if what == "book":
            shop.book(NewBooking(name=words, collect_at=DEMO_START + timedelta(hours=5), by="dot",
                      lines=(NewLine(case_id, weight),), note=words), key=key)  # fmt: skip
        elif what == "release":
            shop.release(f"H{amount % 11 + 1}", by="dot", key=key, why=words)
        elif what == "price":
            shop.board_price(case_id, UnitPrice.of(f"{amount / 7:.4f}", _LB), by="ines", why=words,
                             key=key)  # fmt: skip
        elif what == "hand over":
            booking = shop.booking("H4")
            shop.hand_over("H4", {line.id: line.weight for line in booking.lines}, by="dot",
                           key=key)  # fmt: skip
        else:
            shop.day.note(words, by="kofi", key=key)
    except CollopError:
        pass  # what the shop refuses is no part of its history


@given(st.integers(-(10**17), 10**17), st.sampled_from(["lb", "kg", "oz", "g", None]))
def test_a_weight_of_any_count_comes_back(count, unit):
    """Exact decimal text, in its own unit where that ends, else in kilograms."""
    table = TABLES["lots"]
    (codec,) = [one for one in codecs_of(table, "USD") if one.name == "weight_in"]
    assert codec.read(weight_text(count, unit)) == count


DAMAGE = {
    "missing file": (
        lambda data: packed_of({k: v for k, v in files_of(data).items() if k != "lots.csv"}),
        ["lots.csv", "missing"],
    ),
    "missing column": (
        lambda data: changed(data, "people.csv", lambda _: b"id,name\r\nines,Ines\r\n"),
        ["people.csv, row 1", "column role is missing"],
    ),
    "unknown column": (
        lambda data: changed(data, "people.csv", lambda body: body.replace(b"role", b"roles", 1)),
        ["people.csv, row 1", "'roles'", "role is the nearest"],
    ),
    "wrong number": (
        lambda data: cell(data, "booking_lines.csv", 3, "weight", "4,85 lb"),
        ["booking_lines.csv, row 3, column weight", "'4,85 lb' is no weight"],
    ),
    "wrong money": (
        lambda data: cell(data, "bookings.csv", 2, "deposit", "1.005 USD"),
        ["bookings.csv, row 2, column deposit", "more decimals"],
    ),
    "another currency": (
        lambda data: cell(data, "bookings.csv", 2, "deposit", "1.00 EUR"),
        ["bookings.csv, row 2, column deposit", "no amount of USD"],
    ),
    "broken reference": (
        lambda data: cell(data, "booking_lines.csv", 2, "case_id", "C99"),
        ["booking_lines.csv, row 2, column case_id", "'C99' is not in case_lines.csv"],
    ),
    "same id twice": (
        lambda data: cell(data, "people.csv", 3, "id", "dot"),
        ["people.csv, row 3, column id", "row 2 already"],
    ),
    "bad date": (
        lambda data: cell(data, "bookings.csv", 2, "collect_at", "2026-02-30T09:00:00"),
        ["bookings.csv, row 2, column collect_at", "is no time"],
    ),
    "foreign encoding": (
        lambda data: changed(data, "people.csv",
                             lambda body: body.replace(b"Ines", "Inés".encode("latin-1"), 1)),
        ["people.csv, row 3", "0xe9 is no UTF-8"],
    ),
    "huge cell": (
        lambda data: cell(data, "people.csv", 2, "role", "x" * 5000),
        ["people.csv, row 2, column role", "5000 characters, and 120 is the most"],
    ),
    "empty cell": (
        lambda data: cell(data, "bookings.csv", 2, "made_at", ""),
        ["bookings.csv, row 2, column made_at", "must be filled"],
    ),
    "rows lost": (
        lambda data: changed(data, "tares.csv", lambda body: body.partition(b"\r\n")[0] + b"\r\n"),
        ["tares.csv", "0 rows", "manifest"],
    ),
    "a row too short": (
        lambda data: changed(data, "people.csv", lambda body: body + b"kim,Kim\r\n"),
        ["people.csv, row 6", "2 cells"],
    ),
    "a quote left open": (
        lambda data: changed(data, "people.csv", lambda body: body + b'kim,"Kim,\r\n'),
        ["people.csv, row 6", "no CSV"],
    ),
    "a rule of a table": (
        lambda data: cell(data, "tares.csv", 2, "weight", "-1 lb"),
        ["tares.csv, row 2", "breaks a rule"],
    ),
    "a ledger that does not add up": (
        lambda data: cell(data, "ledger_entries.csv", 2, "delta", "1 lb"),
        ["ledger_entries.csv", "does not add up"],
    ),
    "a setting": (
        lambda data: cell(data, "settings.csv", 2, "value", '"x"'), ["settings.csv"],
    ),
    "truncated": (lambda data: data[: len(data) // 2], ["cut short"]),
    "flipped bytes": (
        lambda data: data[:2000] + bytes(255 - one for one in data[2000:2200]) + data[2200:],
        ["Nothing was imported"],
    ),
    "no zip": (lambda _: b"hello", ["no zip file"]),
    "nothing": (lambda _: b"", ["no zip file"]),
    "a path": (
        lambda data: packed_of(files_of(data) | {"../../etc/people.csv": b"x"}),
        ["is a path"],
    ),
    "an unknown file": (
        lambda data: packed_of(files_of(data) | {"peoples.csv": b"x"}),
        ["'peoples.csv'", "people.csv is the nearest"],
    ),
    "no manifest": (
        lambda data: packed_of({k: v for k, v in files_of(data).items() if k != "manifest.json"}),
        ["manifest.json is missing"],
    ),
    "another form": (
        lambda data: changed(data, "manifest.json",
                             lambda body: body.replace(f'"{HEAD}"'.encode(), b'"0002"')),
        ["manifest.json", "form 0002"],
    ),
    "a bomb": (
        lambda data: packed_of(files_of(data) | {"people.csv": b"id,name,role\r\n" + b" " * 2**26}),
        ["grow", "no export"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", DAMAGE)
def test_damage_is_told_by_its_place_and_no_shop_is_made(packed, tmp_path, kind):
    """One sentence with file, row and column; nothing is left on the disk."""
    change, said = DAMAGE[kind]
    data = change(packed)
    with that_ends(), pytest.raises(BadValue) as error:
        import_zip(data, f"sqlite:///{tmp_path / 'new.db'}")
    for part in said:
        assert part in error.value.message
    assert error.value.message.endswith("Nothing was imported.")
    assert list(tmp_path.iterdir()) == []


def test_a_zip_that_lies_about_its_length_is_refused(packed, tmp_path):
    """A file said to be short that unpacks to more is not read on."""
    data = bytearray(packed_of(files_of(packed), level=zipfile.ZIP_STORED))
    at = data.rindex(b"PK\x01\x02")
    data[at + 24 : at + 28] = struct.pack("<I", 3)
    with pytest.raises(BadValue, match="Nothing was imported"):
        import_zip(bytes(data), f"sqlite:///{tmp_path / 'new.db'}")


def test_an_import_never_writes_into_a_shop(packed, shop_file, tmp_path):
    """A file that is there is left as it is; what is no address and a missing folder are told."""
    before = shop_file.read_bytes()
    with pytest.raises(StorageTrouble, match="exists already"):
        import_zip(packed, f"sqlite:///{shop_file}")
    assert shop_file.read_bytes() == before
    with pytest.raises(StorageTrouble, match="no folder"):
        import_zip(packed, f"sqlite:///{tmp_path / 'none' / 'x.db'}")
    with pytest.raises(StorageTrouble, match="no database address"):
        import_zip(packed, "shop")


def test_cells_that_begin_a_formula_come_back_as_they_are(shop, tmp_path):
    """The raw tables are not guarded: a note of =1+1 is =1+1 again."""
    for words in ("=1+1", "-5 F", "@x y", "\\N a", 'a "quote", a comma'):
        shop.day.note(words, by="ines", key=words)
    data = shop.exchange.export()
    with brought(data, tmp_path) as again:
        assert again.exchange.export() == data
        with again._room.store.read() as conn:
            from collop.shop.day_tables import day_checks

            kept = str(conn.execute(select(day_checks.c.fields)).all())
    assert "=1+1" in kept
