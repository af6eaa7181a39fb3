"""The reckoning's pages: rows, the waterfall and its table, money on slips, and yield drift."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from collop.measures import Money, Weight, WeightUnit
from collop.shop import Bar, NewSale
from collop.web.reckoning_view import drawn_bars, drift_tables


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


def plain(text):
    """Return a page's words with a minus a test can read."""
    return text.replace("\N{MINUS SIGN}", "-")


@pytest.fixture
def sold(shop):
    """Return the demo with H8's short ribs handed over and some lamb sold at the glass."""
    shop.hand_over("H8", {"H8-1": lb("5.0")}, by="dot", key="h8")
    shop.selling.sell([NewSale("C02", lb("2.0"))], by="dot", key="lamb")
    return shop


def broken(shop, tag, hand, more):
    """Break a lamb to its style's shares; bone weighs some pounds more, the legs as much less."""
    found = shop.cutting.start_break(tag, "lamb", by=hand, key=f"{tag} start")
    parts = [part for part in found.style.parts if part.kind != "loss"]
    cut = max((part for part in parts if part.kind == "cut"), key=lambda part: part.share)
    for part in parts:
        extra = -more if part is cut else more if part.kind == "bone" else 0
        weight = Weight(int(found.start.count * part.share)) + lb(str(extra))
        shop.cutting.weigh_part(found.number, part.id, weight, by=hand, key=f"{tag} {part.id}")
    shop.cutting.close_break(found.number, by=hand, key=f"{tag} close")


def test_each_animal_has_a_row_with_its_result(client, sold, words, read_page):
    """B-41 sold 44.50 of what it cost; the row leads to its account, and Explain to its words."""
    html = client.get("/reckoning").text
    text = plain(words(html))
    assert (
        "B-41 beef, Upper Nimmock, Tue 26 May, hangs in part 1,440.98 13.10 lb 55.98 44.50" in text
    )
    assert "-1,396.48" in text
    page = read_page(html)
    assert "/reckoning/B-41?explain=yes" in page.links
    assert "/reckoning/L-207" in page.links
    rows = re.findall(r'class="reck-tag" href="([^"]+)"', html)
    assert [one for one in page.links if one.endswith("?explain=yes")] == [
        f"{one}?explain=yes" for one in rows
    ]
    assert page.unlabelled() == []
    assert page.inline == []


def test_the_sums_of_the_rows_are_those_of_the_shop(client, sold, words):
    """Cost, sold, left and result over all animals are the sums of what is told of each."""
    rows = sold.reckoning.animals()
    text = plain(words(client.get("/reckoning").text))
    for name, part in (("cost", "cost"), ("sold", "sold"), ("left, at the board", "left_board"),
                       ("if it sells so", "if_sold")):  # fmt: skip
        total = Money(sum(getattr(one, part).minor for one in rows)).decimal()
        assert f"{name} {total:,.2f}" in text


def test_only_those_since_a_day_are_shown_and_a_bad_day_is_told(client):
    """A later day leaves earlier animals out; what is no day is refused beside its field."""
    html = client.get("/reckoning?since=2026-06-04").text
    assert "/reckoning/P-59" in html
    assert "/reckoning/B-41" not in html
    none = client.get("/reckoning?since=2026-07-01").text
    assert "No animal came since then" in none
    for bad in ("soon", "1999-01-01", "2026-13-01"):
        answer = client.get(f"/reckoning?since={bad}")
        assert answer.status_code == 422
        assert 'id="e-since"' in answer.text
        assert "There is a problem" in answer.text


def test_the_waterfall_stands_in_the_picture_and_in_the_table(client, sold, words):
    """Each step is drawn once with its amount; the table gives where it then stands."""
    html = client.get("/reckoning/B-41").text
    found = sold.reckoning.animal("B-41")
    text = plain(words(html))
    assert html.count('class="fall-bar"') == len(found.bars)
    for bar in found.bars:
        shown = bar.end if bar.kind == "result" else bar.amount
        assert f"{bar.name} " in text
        assert text.count(f"{shown.decimal():,.2f}") >= 2
    assert "Explained" not in text
    explained = plain(words(client.get("/reckoning/B-41?explain=yes").text))
    for sentence in found.say:
        assert plain(sentence) in explained


def test_bars_lie_on_one_scale_from_the_lowest_point_to_the_highest():
    """From -100 to 50: nothing is at two thirds, and a step begins where the last one ended."""

    def bar(kind, start, end):
        return Bar("x", kind, Money(end - start), Money(start), Money(end))

    steps = (bar("cost", 0, -100), bar("sold", -100, 50), bar("result", 0, 50))
    cost, sold_, result = drawn_bars(steps)
    assert (cost.left, cost.width, cost.zero) == (
        Decimal("0.00"),
        Decimal("66.67"),
        Decimal("66.67"),
    )
    assert (sold_.left, sold_.width) == (Decimal("0.00"), Decimal("100.00"))
    assert (result.left, result.width) == (Decimal("66.67"), Decimal("33.33"))
    assert drawn_bars(()) == ()


def test_losses_and_what_is_not_sold_have_patterns_and_not_colour_alone(client, sold):
    """Air, bin and what is left are drawn with a pattern that the page defines and names."""
    sold.cutting.bin("B-41F.08", "fat", by="dot", why="old", weight=lb("2"), key="bin")
    html = client.get("/reckoning/B-41").text
    for kind in ("air", "bin", "left"):
        assert f'id="fall-{kind}"' in html
        assert f'fill="url(#fall-{kind})"' in html
    assert "lost to air (dots)" in html


def test_a_cut_leads_to_its_animal_and_nothing_else_does(client):
    """The lot of a ticket opens its animal's account; stock of no animal says so."""
    assert "Reckoning of B-41" in client.get("/reckoning/B-41F.03").text
    for lot in ("C01-0609", "nobody", "B-41/../x"):
        assert client.get(f"/reckoning/{lot}").status_code == 404


def test_money_on_slips_closes_to_the_cent(client, sold, clock, words):
    """Both sums stand there, each slip with whose it is; what comes back is told on its day."""
    text = plain(words(client.get("/reckoning/slips").text))
    slips = sold.reckoning.day(clock.now().date()).slips.decimal()
    assert f"money on slips {slips:,.2f} given back 0.00 told by animal {slips:,.2f}" in text
    assert "Closes to the cent" in text
    assert "B-41 44.50" in text
    clock.put(clock.now() + timedelta(days=1))
    sold.selling.take_back("H8-1", lb("1.0"), why="tough", by="dot", key="back")
    next_day = plain(words(client.get("/reckoning/slips").text))
    assert "given back 8.90 told by animal -8.90" in next_day
    week = plain(words(client.get("/reckoning/slips?week=2026-06-13").text))
    assert f"told by animal {slips - Decimal('8.90'):,.2f}" in week
    assert "came back" in week


@pytest.mark.parametrize("query", ["day=x", "week=x", "day=1990-01-01", "week=3000-01-01"])
def test_a_day_that_is_none_is_told_in_the_summary(client, query):
    """The field is named and nothing is shown."""
    answer = client.get(f"/reckoning/slips?{query}")
    assert answer.status_code == 422
    assert "There is a problem" in answer.text
    assert "Closes" not in answer.text


def test_a_day_without_a_slip_says_so(client):
    """Nothing sold is no fault."""
    assert "No slip was written then" in client.get("/reckoning/slips?day=2026-06-07").text


def test_drift_is_shown_with_its_span_and_told_as_chance(client, shop, words):
    """Three lambs by two hands: the span is drawn, and it is said that it may be chance."""
    empty = words(client.get("/reckoning/drift").text)
    assert "There is nothing to compare yet" in empty
    for tag, hand, more in (("L-207", "marek", 0), ("L-208", "marek", 0.4), ("L-209", "kofi", 2)):
        broken(shop, tag, hand, more)
    html = client.get("/reckoning/drift").text
    text = words(html)
    assert "No difference can be told from chance yet." in text
    assert "Lamb for the case, by hand" in text
    assert "may be chance" in text
    spans = re.findall(r'drift-span drift-chance" x="([\d.]+)%" y="30%" width="([\d.]+)%"', html)
    assert spans
    assert all(float(x) >= 0 and float(x) + float(width) <= 100.5 for x, width in spans)


def test_a_span_is_drawn_where_its_figures_are():
    """From -2 to 6 points with 6 the widest: the span goes from a third to the end."""
    one = {"style": "s", "factor": "hand", "group": "A", "part": None, "breaks": 2, "others": 2,
           "mean": 0.7, "others_mean": 0.68, "difference": 0.02, "low": -0.02, "high": 0.06,
           "verdict": "chance"}  # fmt: skip
    [table] = drift_tables({"compared": [one]})
    [row] = table.rows
    assert (row.from_, row.width, row.at, row.zero) == (
        Decimal("33.33"), Decimal("66.67"), Decimal("66.67"), Decimal("50.0"),
    )  # fmt: skip
    assert (row.difference, row.low, row.high) == ("+2.0", "-2.0", "+6.0")


def test_a_shop_without_animals_is_told_what_to_do(client, shop, clock):
    """A year later nothing came in the last sixty days: the page says what opens an account."""
    clock.put(clock.now() + timedelta(days=365))
    html = client.get("/reckoning").text
    assert "Receive one" in html
    assert "/rail/receive" in html


def test_the_receipt_and_the_closed_break_lead_to_the_animal(client, shop, read_page):
    """From its delivery and from its break it is one tap to what a lamb paid."""
    broken(shop, "L-207", "marek", 0)
    number = shop.reckoning.animal("L-207").row.delivery
    closed = shop.cutting.closed_breaks()[0].number
    for address in (f"/rail/receive/{number}", f"/knife/{closed}"):
        links = read_page(client.get(address).text).links
        assert "/reckoning/L-207" in links, address
    assert client.get("/reckoning/L-207").status_code == 200
