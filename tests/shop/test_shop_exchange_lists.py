"""Lists kept in a spreadsheet: out and in changes nothing, a trial leaves no trace."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, CollopError, NotFound, WrongState
from collop.measures import UnitPrice, WeightUnit
from collop.shop import DEMO_START
from collop.shop.csv_reading import MOST_ROWS, decimal_in, read_list
from collop.shop.exporting import csv_text, unguarded
from ending import that_ends


def bring(shop, name, text, **more):
    data = text if isinstance(text, bytes) else text.encode()
    return shop.exchange.list_in(name, data, by="ines", key=more.pop("key", "one"), **more)


def price_of(shop, case_id):
    return next(line.price for line in shop.case() if line.id == case_id)


def edited(shop, name, change):
    """Return a list of the shop with its rows changed by a function of each."""
    rows = list(csv.DictReader(io.StringIO(shop.exchange.list_out(name), newline="")))
    out = io.StringIO(newline="")
    write = csv.DictWriter(out, rows[0])
    write.writeheader()
    write.writerows(change(row) or row for row in rows)
    return out.getvalue()


@pytest.mark.parametrize("name", ["case", "board", "bookings", "standing", "people"])
def test_a_list_out_and_in_changes_nothing(shop, name):
    """Every list of the demo, tried and read in, says so."""
    text = shop.exchange.list_out(name)
    before = shop.exchange.export()
    assert bring(shop, name, text).say.startswith("Nothing changes; ")
    assert shop.exchange.export() == before
    done = bring(shop, name, text, write=True)
    assert done.is_written
    assert done.changes == ()
    assert shop.exchange.list_out(name) == text


def test_new_lines_and_prices_are_told_first_and_then_written_in_one_act(shop):
    """Two lines new, one price changes, nothing else: the trial leaves no trace."""
    text = (
        "name,species,price,keeps_days,cook_as,contains,styles\n"
        "Lamb leg steaks,lamb,14.20,3,whole,,plate 0.8\n"
        '"Pork links, apple",pork,8.60,2,ground,wheat,\n'
        "Beef rump,,16.90,,,,\n"
    )
    before = shop.exchange.export()
    tried = bring(shop, "case", text)
    assert tried.say == "2 new lines, 1 price change, nothing else."
    assert shop.exchange.export() == before
    done = bring(shop, "case", text, write=True, seen=tried.digest)
    assert done.changes == tried.changes
    lines = {line.name: line for line in shop.chalk.board()}
    assert lines["Lamb leg steaks"].price == UnitPrice.of("14.20", WeightUnit.LB)
    assert str(lines["Beef rump"].per_lb) == "16.90"
    again = bring(shop, "case", text, write=True, seen=tried.digest)
    assert again.was_written_before
    assert "read in before" in again.say


def test_a_price_far_off_needs_a_reason_and_the_row_is_named(shop):
    """A jump is asked about with row and column; with a reason it is put up, the reason kept."""

    def change(row):
        if row["id"] == "C11":
            row["price"] = "17.80"

    text = edited(shop, "board", change)
    with pytest.raises(BadValue, match="needs a reason") as error:
        bring(shop, "board", text)
    assert error.value.message.startswith("list board, row 12, column price: ")
    bring(shop, "board", text, why="supplier doubled", write=True)
    assert shop.board_changes("C11")[-1].why == "supplier doubled"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name,prise\nBeef rump,1\n", "'prise'; price is the nearest"),
        ("name,price\nBeef rump,abc\n", "row 2, column price: 'abc' is no number"),
        ("name,price\nBeef rump,0\n", "row 2, column price"),
        ("name,price\nBeef rump,NaN\n", "'NaN' is no number"),
        ("name,price\nBeef rump,1e-999999\n", "is no number"),
        ("name,price\nBeef rump,-4\n", "is no number"),
        ("name,price\nBeef rump,99999999999999\n", "is no number"),
        ('name,price\nBeef rump,"1,234"\n', "may be 1234 or 1.234"),
        ("name,price,species\nBeef rump,16.40,lamb\n", "column species: the line C13 says 'beef'"),
        ("id,price\nC99,1\n", "there is no line 'C99'"),
        ("name,price\nNothing known,1\n", "column species: the cell is empty"),
        ("name,price\nBeef rump,16\nbeef RUMP,17\n", "row 3, column name: it is in row 2 already"),
        ("name,price,name\nBeef rump,16,x\n", "twice"),
        ("name,price\nBeef, rump,16\n", "row 2: there are 3 cells"),
        ("name,price\nBeef rump,16.40,lb\n", "3 cells"),
        ('name,price\n"Beef rump,16\n', "close the quote"),
        ("name,price,currency\nBeef rump,16,EUR\n", "sells in USD"),
        ("name,price,per\nBeef rump,16,oz\n", "'oz' is no unit of a price"),
        ("", "the first row names the columns"),
        ("\n\n", "the first row names the columns"),
        ("name,price\nBeef rump," + "9" * 3000 + "\n", "3000 characters"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_by_row_and_column_and_nothing_is_written(shop, text, said):
    """Every fault in one sentence; the shop is as it was."""
    before = shop.exchange.export()
    with pytest.raises(CollopError) as error:
        bring(shop, "case", text, write=True, why="a reason")
    assert said in error.value.message
    assert "Nothing was imported." in error.value.message
    assert shop.exchange.export() == before


def test_a_fault_in_the_last_row_keeps_all_others_out(shop):
    """33 good rows before it are not written."""

    def change(row):
        row["price"] = "1x" if row["id"] == "C34" else f"{float(row['price']) + 0.05:.2f}"

    before = shop.exchange.export()
    with pytest.raises(BadValue, match="row 35, column price"):
        bring(shop, "board", edited(shop, "board", change), write=True)
    assert shop.exchange.export() == before


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffName;Price\r\nBeef rump;16,90\r\n;\r\n",
        "NAME\tPRICE\r\nBeef rump\t16,90\r\n\t\r\n\t\r\n",
        "sep=;\r\nname;price\r\nBeef rump;16.90\r\n",
        'name,price\r\nBeef rump,"16,90"\r\n,,,\r\n',
        "name , Price \nBeef rump , 16.90 \n",
        'name,price,method\n"Beef rump",16.90\n',
    ],
)
def test_what_spreadsheets_do_to_a_list_is_read(shop, text):
    """Marks, semicolons, tabs, CRLF, decimal commas, capitals, empty rows, missing last cells."""
    assert bring(shop, "case", text).say == "1 price change, nothing else."


def test_a_foreign_encoding_is_told_by_its_row(shop):
    """Latin-1 is not guessed at."""
    with pytest.raises(BadValue, match="row 2: byte 0xe9 is no UTF-8"):
        bring(shop, "people", "name\nRené\n".encode("latin-1"))
    with pytest.raises(BadValue, match=r"UTF-8|no text"):
        bring(shop, "people", "name\nAnn\n".encode("utf-16"))


def cells(text):
    return read_list(f"price\n{text}\n".encode(), ["price"], "a list")[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [("8.40", "8.40"), ('"8,40"', "8.40"), ('"1,234.50"', "1234.50"), ('"1.234,50"', "1234.50"),
     ('"1,234,567"', "1234567"), ("1234", "1234"), ('"0,125"', "0.125"), ("12.345", "12.345")],
)  # fmt: skip
def test_a_decimal_comma_is_read_where_it_can_mean_nothing_else(text, value):
    """Thousands and decimals are told apart by their signs."""
    assert str(decimal_in(cells(text), "price")) == value


def test_a_point_before_three_figures_is_not_guessed_at_in_a_list_with_semicolons():
    """Where a comma begins the decimals, 1.234 may be a thousand."""
    (row,) = read_list(b"name;price\nx;1.234\n", ["name", "price"], "a list")
    with pytest.raises(BadValue, match=r"may be 1234 or 1\.234"):
        decimal_in(row, "price")


def test_bookings_come_in_through_the_hook(shop):
    """Two orders with three lines, at the board; the second has a break of line in its note."""
    text = (
        "order,name,phone_end,collect_at,heads,cut,weight,unit,deposit,note\n"
        'a,River club,4471,2026-06-12 16:00,12,C02,3.00,lb,10.00,"two rows,\nof a note"\n'
        "a,,,,,C03,1.50,lb,,\n"
        "b,Mill Lane,,2026-06-12T17:30,,Beef rump,1.00,kg,,\n"
    )
    tried = bring(shop, "bookings", text)
    assert tried.say == "2 new bookings, nothing else."
    bring(shop, "bookings", text, write=True)
    (river,) = shop.find("River club")
    assert [line.case_id for line in river.lines] == ["C02", "C03"]
    assert str(river.total) == "32.85"
    assert river.note == "two rows,\nof a note"
    assert bring(shop, "bookings", shop.exchange.list_out("bookings")).changes == ()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("a,Ann,2026-06-14 16:00,C02,1", "column collect_at: The shop is shut"),
        ("a,Ann,2026-06-01 16:00,C02,1", "column collect_at"),
        ("a,Ann,tomorrow,C02,1", "column collect_at: 'tomorrow' is no day"),
        ("a,Ann,2026-06-12,C02,1", "no day with an hour"),
        ("a,Ann,2026-06-12 16:00,C02,900", "column weight"),
        ("a,Ann,2026-06-12 16:00,C02,0", "column weight"),
        ("a,Ann,2026-06-12 16:00,Moon beef,1", "column cut: there is no line 'Moon beef'"),
        ("a,,2026-06-12 16:00,C02,1", "column name: the cell is empty"),
        (",Ann,2026-06-12 16:00,C02,1", "column order: the cell is empty"),
        ("H4,Ann,2026-06-12 16:00,C02,1", "column order: H4 is on the hook with 5 lines"),
    ],
)
def test_a_booking_the_hook_refuses_is_told_by_its_row(shop, row, said):
    """A good order before it is not booked either."""
    text = f"order,name,collect_at,cut,weight\nz,Zoe,2026-06-12 16:00,C03,1\n{row}\n"
    before = shop.exchange.export()
    with pytest.raises(CollopError) as error:
        bring(shop, "bookings", text, write=True)
    assert said in error.value.message
    assert "row 3" in error.value.message
    assert shop.exchange.export() == before


def test_a_price_the_customer_saw_must_be_the_boards(shop):
    """A list that names another price than the board is asked about."""
    text = "order,name,collect_at,cut,weight,price\na,Ann,2026-06-12 16:00,C02,1,7.00\n"
    with pytest.raises(CollopError, match=r"row 2, column price: .*8\.40 a lb on the board"):
        bring(shop, "bookings", text)


def test_standing_orders_come_in_and_go_out(shop):
    """Two lines, Tuesday and Friday, with a cap and a stand-in; out and in changes nothing."""
    text = (
        "order,name,phone_end,days,hour,first_day,every_weeks,cut,weight,unit,cap,stand_in,"
        "on_account\n"
        "a,Mill kitchen,0177,Tue Fri,11:00,2026-06-12,2,C11,6.00,lb,4.00,C15,yes\n"
        "a,,,,,,,Beef rump,2.00,lb,,,\n"
    )
    before = [one.id for one in shop.standing.orders()]
    assert bring(shop, "standing", text).say == "1 new standing order, nothing else."
    bring(shop, "standing", text, write=True)
    (made,) = [one for one in shop.standing.orders() if one.id not in before]
    assert (made.terms.days, made.terms.every_weeks, made.terms.on_account) == ((1, 4), 2, True)
    assert [line.case_id for line in made.terms.lines] == ["C11", "C13"]
    assert made.terms.lines[0].stand_in == "C15"
    assert made.terms.lines[0].cap.text() == "4.00 lb"
    assert bring(shop, "standing", shop.exchange.list_out("standing")).changes == ()
    assert bring(shop, "standing", text, write=True, key="again").was_written_before


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("a,Mill,Moonday,11:00,2026-06-12,C11,1", "column days: 'Moonday' is no weekday"),
        ("a,Mill,Tue,25:00,2026-06-12,C11,1", "column hour"),
        ("a,Mill,Tue,23:00,2026-06-12,C11,1", "column hour: The shop is open"),
        ("a,Mill,Tue,11:00,12.6.2026,C11,1", "column first_day: '12.6.2026' is no day"),
        ("a,Mill,Tue,11:00,2020-06-12,C11,1", "column first_day"),
        ("a,Mill,Tue,11:00,2026-06-12,C99,1", "column cut"),
        ("a,Mill,Tue,11:00,2026-06-12,C11,0", "column weight"),
    ],
)
def test_a_standing_order_that_is_refused_is_told_by_its_row(shop, row, said):
    """Row and column, and nothing is written."""
    before = shop.exchange.export()
    with pytest.raises(CollopError) as error:
        bring(shop, "standing", f"order,name,days,hour,first_day,cut,weight\n{row}\n", write=True)
    assert "row 2" in error.value.message
    assert said in error.value.message
    assert shop.exchange.export() == before


def test_people_are_added_and_keep_their_names(shop):
    """A new one comes in, a role changes; a name that is somebody's stays as it is."""
    done = bring(shop, "people", "name,role\nKim,counter\nKofi,bench\n", write=True)
    assert done.say == "1 new person, 1 role change, nothing else."
    assert {person.name: person.role for person in shop.people()}["Kofi"] == "bench"
    with pytest.raises(BadValue, match="names stay"):
        bring(shop, "people", "id,name\nkofi,Kofi B.\n", key="two")


def test_a_list_tried_is_not_read_in_once_the_shop_has_changed(shop, clock):
    """What was seen must be what is written."""
    text = "id,price\nC11,7.90\n"
    tried = bring(shop, "board", text)
    clock.put(DEMO_START.replace(hour=9))
    shop.board_price("C11", UnitPrice.of("8.10", WeightUnit.LB), by="dot", why="rise", key="up")
    with pytest.raises(WrongState, match="try it again"):
        bring(shop, "board", text, write=True, seen=tried.digest)
    assert price_of(shop, "C11") == UnitPrice.of("8.10", WeightUnit.LB)


def test_a_list_that_is_told_and_one_that_is_none(shop):
    """Sales go out alone; nobody knows a list of gold."""
    assert shop.exchange.list_out("sales").startswith("day,cut,")
    with pytest.raises(BadValue, match="cannot be read in"):
        bring(shop, "sales", "day\n2026-06-01\n")
    with pytest.raises(NotFound, match="no list 'gold'"):
        shop.exchange.list_out("gold")
    with pytest.raises(NotFound, match="no list 'gold'"):
        bring(shop, "gold", "x\n1\n")


def test_too_many_rows_and_too_large_a_list_are_told(shop):
    """Ten thousand rows and a few megabytes are refused."""
    with that_ends(), pytest.raises(BadValue, match=f"over {MOST_ROWS} rows"):
        bring(shop, "people", "name\n" + "Ann\n" * 10_000)
    with that_ends(), pytest.raises(BadValue, match="over 2 MB"):
        bring(shop, "people", "name\n" + "x" * (3 * 2**20))


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"),
                        max_size=40), min_size=1, max_size=5))  # fmt: skip
def test_any_guarded_cell_comes_back(texts):
    """What is guarded against formulas is the same text again, and never begins as one."""
    text_out = csv_text(["a"] * len(texts), [texts], comes_back=True)
    rows = list(csv.reader(io.StringIO(text_out, newline="")))
    for cell, text in zip(rows[1], texts, strict=True):
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
        assert unguarded(cell) == text


@given(st.binary(max_size=400))
def test_any_bytes_are_a_list_or_one_sentence(data):
    """Whatever is sent, there is no other error."""
    try:
        read_list(data, ["name", "price"], "a list")
    except BadValue as error:
        assert error.message.endswith("Nothing was imported.")
