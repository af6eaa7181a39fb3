"""Tax and cash on the slip and at hand-over; the settings of the till. Rates are invented."""

from __future__ import annotations

import re

import pytest
from test_web_case_and_hook import weigh

from collop.measures import Money
from collop.rules.taxing_reading import keep_classes, read_classes
from collop.shop.ticket_model import LabelFacts
from collop.shop.till_choices import classes_text, read_classes_text

HERE = "/chalk/choices"
WHO = {"by": "ines", "why": "told by the office", "key": "k", "do": "save"}


def save(client, read_page, **typed):
    form = read_page(client.get(HERE).text).form(HERE)
    return client.post(HERE, data=form | WHO | typed)


@pytest.fixture
def taxed(shop):
    """Return the shop with one class, on short ribs, and cash to five cents."""
    facts = LabelFacts(product_class="raw whole", contains=(), tax_class="prepared")
    shop.tickets.set_facts("C09", facts, by="dot", key="facts")
    shop.change_settings(
        {"tax_classes": [{"name": "prepared", "percent": "8.25"}], "cash_rounding": "nearest-5"},
        by="ines", why="office", key="till",
    )  # fmt: skip
    return shop


def test_the_till_is_set_on_the_page(client, shop, read_page, words):
    """Classes are typed in words, the two rules chosen; the change is told and kept."""
    typed = {
        "tax_classes": "prepared 8.25 until 2026-06-30; prepared 8,5 % from 2026-07-01; goods 6",
        "tax_per": "item", "cash_rounding": "nearest-5",
    }  # fmt: skip
    answer = save(client, read_page, **typed)
    assert answer.headers["location"] == f"{HERE}?done=saved"
    chosen = shop.settings()
    assert (chosen.tax_per, chosen.cash_rounding) == ("item", "nearest-5")
    told = classes_text(keep_classes(chosen.tax_classes))
    assert told == ("goods 6 %; prepared 8.25 % until 2026-06-30; prepared 8.5 % from 2026-07-01")
    page = client.get(HERE).text
    assert f'value="{told}"' in page
    text = words(page)
    assert "Cash is paid to the cent to the nearest 5 cents" in text
    assert "on each line" in text
    # sent again untouched it is no change
    assert "Nothing is changed yet" in words(save(client, read_page, key="k2").text)


def test_the_till_can_be_emptied_and_undone(client, shop, read_page):
    """Emptying the classes takes them away; Undo puts them back."""
    save(client, read_page, tax_classes="prepared 8.25")
    save(client, read_page, tax_classes="", key="k2")
    assert shop.settings().tax_classes == ()
    form = read_page(client.get(HERE).text).form(HERE)
    client.post(HERE, data=form | {"by": "ines", "key": "k3", "do": "undo"})
    assert [one.name for one in shop.settings().tax_classes] == ["prepared"]


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ({"tax_classes": "prepared"}, "write a name and its percent"),
        ({"tax_classes": "8.25"}, "write a name and its percent"),
        ({"tax_classes": "prepared 101"}, "from 0 to 100"),
        ({"tax_classes": "a 1; a 2"}, "same day"),
        ({"tax_classes": "a 1 from July"}, "a day written like"),
        ({"tax_classes": "<b>x</b>: 4"}, "without ; : , or %"),
        ({"tax_per": "week"}, "choose one of"),
        ({"cash_rounding": "up-5"}, "choose one of"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field(client, shop, read_page, words, typed, word):
    """One sentence, in the summary and at the field; nothing changes."""
    before = shop.settings()
    answer = save(client, read_page, **typed)
    assert answer.status_code == 422
    assert word in words(answer.text)
    (name,) = typed
    assert f'href="#f-{name}"' in answer.text
    assert "<b>x" not in answer.text
    assert shop.settings() == before


def test_classes_are_typed_as_they_are_told():
    """Text to classes to text: the same."""
    text = "a 0 %; hot food 8.125 % from 2026-01-01 until 2026-06-30"
    assert classes_text(keep_classes(read_classes(read_classes_text(text)))) == text


def test_the_walk_and_the_slip_show_tax_and_cash(client, taxed, words):
    """Total with tax, less the deposit, and beside it in cash; the same before and after."""
    booking = next(one for one in taxed.find("short ribs") if one.deposit.minor)
    before = words(client.get(f"/hook/{booking.id}").text)
    assert "Tax, prepared 8.25 % on 44.50 3.67" in before
    assert "Total as booked, with tax 48.17" in before
    assert "To pay 28.17" in before
    assert "In cash rounding -0.02 28.15" in before
    form = weigh(booking, C09="5.10") | {"do": "check", "unit": "lb"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    line = booking.lines[0].unit_price.line(booking.lines[0].weight)
    assert line == Money.of("44.50")
    # 5.10 lb x 8.90 = 45.39, tax 3.744675 -> 3.74
    assert "lines 45.39" in text
    assert "tax, prepared 8.25 % 3.74" in text
    assert "total with tax 49.13" in text
    assert "to pay 29.13" in text
    assert "in cash 29.15 rounding +0.02" in text
    worked = re.search(r'name="worked" value="([^"]*)"', client.post(
        f"/hook/{booking.id}/hand-over", data=form).text)[1]  # fmt: skip
    done = client.post(
        f"/hook/{booking.id}/hand-over",
        data=form | {"do": "hand-over", "by": "dot", "key": "go", "worked": worked},
    )
    assert done.status_code == 303
    slip = words(client.get(f"/hook/{booking.id}").text)
    for told in ("Lines 45.39", "Tax, prepared 8.25 % on 45.39 3.74",
                 "Total handed over, with tax 49.13", "Due at hand-over 29.13",
                 "In cash rounding +0.02 29.15"):  # fmt: skip
        assert told in slip


def test_without_tax_the_slip_is_as_it_was(client, shop, words):
    """No class, no rule: no tax line and no cash line."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    text = words(client.get(f"/hook/{booking.id}").text)
    assert "Total as booked 44.50" in text
    assert "Tax," not in text
    assert "In cash" not in text


def test_a_short_line_offers_totals_with_tax(client, taxed, words):
    """Each way out of a short line shows what the slip would come to with its tax."""
    booking = next(one for one in taxed.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09="4.00") | {"do": "check", "unit": "lb"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    # 4.00 lb x 8.90 = 35.60, tax 2.937
    assert "take as it is 38.54" in text
    assert "total with tax 38.54" in text


def test_a_rate_that_changes_under_the_hands_is_shown_first(client, taxed, words):
    """A total that was worked out with another rate is not charged unseen."""
    booking = next(one for one in taxed.find("short ribs") if one.deposit.minor)
    address = f"/hook/{booking.id}/hand-over"
    form = weigh(booking, C09="5.00") | {"do": "check", "unit": "lb"}
    worked = re.search(r'name="worked" value="([^"]*)"', client.post(address, data=form).text)[1]
    taxed.change_settings(
        {"tax_classes": [{"name": "prepared", "percent": "10"}]}, by="ines", why="new", key="new"
    )
    form |= {"do": "hand-over", "by": "dot", "key": "go", "worked": worked}
    answer = client.post(address, data=form)
    assert answer.status_code == 409
    assert "tax, prepared 10 % 4.45" in words(answer.text)
    assert taxed.booking(booking.id).state == "booked"


def test_a_class_without_a_rate_is_told_at_the_walk(client, taxed, words):
    """A rate that has ended draws a sentence before anything is charged."""
    taxed.change_settings({"tax_classes": []}, by="ines", why="gone", key="none")
    booking = next(one for one in taxed.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09="5.00") | {"do": "check", "unit": "lb"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    assert "No rate of prepared holds" in text
    assert "prepared, no rate" in text
