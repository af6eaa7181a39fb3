"""The takings of a day on screen and as CSV: the same sums, to the cent."""

from __future__ import annotations

import csv
import io

from collop.measures import Weight, WeightUnit
from collop.shop import NewPayment, NewSale


def sell(shop, cut, pounds, way, key, name="Counter"):
    sales = [NewSale(cut, Weight.of(pounds, WeightUnit.LB))]
    paid = None if way is None else NewPayment(way)
    return shop.selling.sell(sales, paid, by="dot", key=key, name=name).booking_id


def test_a_day_without_a_slip_says_so(client, words):
    """Nothing is made up."""
    text = words(client.get("/takings").text)
    assert "No slip on this day." in text
    assert "Cash to be in the drawer beside the float 0.00" in text


def test_the_day_tells_slips_ways_and_who_has_not_paid(client, shop, words):
    """Sums of the slips, money by way, unpaid slips with a link, accounts by name."""
    sell(shop, "C11", "1", "cash", "a")
    sell(shop, "C11", "2", "card", "b")
    open_ = sell(shop, "C13", "1", None, "c")
    sell(shop, "C04", "0.5", "account", "d", name="The Lock Inn")
    page = client.get("/takings")
    text = words(page.text)
    assert "Lines of 4 slips 49.10" in text
    assert "cash 7.80 0.00" in text
    assert "put on account 9.30 0.00" in text
    assert f'href="/sell/{open_}"' in page.text
    assert "Not noted as paid" in text
    assert "The Lock Inn 9.30 in all" in text


def test_another_day_is_chosen_and_a_wrong_one_is_named(client, shop, words):
    """The day is in the address; what is no day is a fault beside the field."""
    sell(shop, "C11", "1", "cash", "a")
    assert "No slip on this day" in words(client.get("/takings?day=2026-06-08").text)
    assert "Lines of 1 slip 7.80" in words(client.get("/takings?day=2026-06-09").text)
    bad = client.get("/takings?day=yesterday")
    assert (bad.status_code, 'href="#f-day"' in bad.text) == (422, True)
    for day in ("0001-01-01", "9999-12-31"):
        assert client.get(f"/takings?day={day}").status_code == 200


def test_a_deposit_given_back_and_never_noted_is_one_line(client, shop, words):
    """H1: the page says what the drawer is short by and leads to where it is noted."""
    shop.release("H1", by="dot", key="off", why="the wedding is off")
    shop.money.note("H1", "given back", "card", by="dot", key="back")
    page = client.get("/takings").text
    assert "100.00 given back of a deposit that was not noted: note it, or what came in" in words(
        page
    )
    assert 'href="/sell/H1"' in page
    shop.money.note("H1", "deposit", "card", by="dot", key="d")
    assert "not noted: note it" not in words(client.get("/takings").text)


def test_the_csv_has_the_sums_of_the_page(client, shop):
    """One row for each slip and way; the columns add up."""
    sell(shop, "C11", "1", "cash", "a")
    sell(shop, "C11", "2", "card", "b")
    answer = client.get("/takings.csv?day=2026-06-09")
    assert answer.headers["content-disposition"].endswith('"takings-2026-06-09.csv"')
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    assert [row["total"] for row in rows if row["kind"] == "slip"] == ["7.80", "15.60"]
    assert {row["id"]: row["came_in"] for row in rows if row["kind"] == "way"} == {
        "cash": "7.80", "card": "15.60", "other": "0.00", "account": "0.00",
    }  # fmt: skip
    assert client.get("/takings.csv?day=x").status_code in {409, 422}
