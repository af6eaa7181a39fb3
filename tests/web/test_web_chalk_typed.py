"""What is typed on the Chalk page and means something else than a new price of now."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from collop.measures import UnitPrice, WeightUnit
from collop.shop import NewPrice
from collop.web.rendering import UNIT_COOKIE

B41F = "/chalk/B-41F"
TOMORROW = {"from_day": "tomorrow", "from_time": "08:00"}
WHO = {"by": "kofi", "key": "k", "do": "put"}


@pytest.fixture
def tomorrow(shop):
    """Tomorrow at 08:00 by the shop's clock."""
    return shop.now().replace(hour=8, minute=0, second=0, microsecond=0) + timedelta(days=1)


def plan(shop, tomorrow, case_id, amount):
    """Plan a price of one line for tomorrow."""
    shop.chalk.put([NewPrice(case_id, UnitPrice.of(amount, WeightUnit.LB))], by="ines",
                   why="dearer", key=f"{case_id}{amount}", from_at=tomorrow)  # fmt: skip


def present(shop, case_id):
    """Return the price of a line as the page shows it."""
    line = next(one for one in shop.chalk.board() if one.case_id == case_id)
    return f"{line.price.amount:.2f}"


def test_the_price_of_now_from_tomorrow_takes_a_plan_back(client, shop, tomorrow, clock, words):
    """Nothing else typed: the board stays tomorrow as it is; both entries are kept."""
    plan(shop, tomorrow, "C15", "5.00")
    now = present(shop, "C15")
    answer = client.post(B41F, data={"price-C15": now, "was-C15": now, **TOMORROW, **WHO})
    assert answer.status_code == 303
    assert shop.chalk.planned() == ()
    assert [str(one.price.amount) for one in shop.chalk.history("C15")][-2] == "5.00"
    last = shop.chalk.history("C15")[-1]
    assert (last.by, last.why) == ("kofi", "taken back")
    assert "Taken back from Wed 08:00, Kofi" in words(client.get(answer.headers["location"]).text)
    clock.put(tomorrow + timedelta(hours=1))
    assert present(shop, "C15") == now


def test_before_the_plan_s_time_the_price_of_now_is_no_change(client, shop, tomorrow, words):
    """Later today, or at once, it stands already."""
    plan(shop, tomorrow, "C15", "5.00")
    for when in ({}, {"from_day": "today", "from_time": "18:00"}):
        answer = client.post(B41F, data={"price-C15": present(shop, "C15"), **when, **WHO})
        assert answer.status_code == 422
        assert "nothing is changed yet" in words(answer.text)
    assert len(shop.chalk.planned()) == 1


def test_of_several_plans_none_is_guessed(client, shop, tomorrow, words):
    """It is refused in one sentence that says where each is taken back."""
    plan(shop, tomorrow, "C15", "5.00")
    plan(shop, tomorrow, "C09", "9.00")
    answer = client.post(B41F, data={**TOMORROW, **WHO})
    assert answer.status_code == 422
    text = words(answer.text)
    assert "nothing is changed, and 2 prices are planned" in text
    assert "open the line of each and take its plan back there" in text
    assert len(shop.chalk.planned()) == 2


def test_a_change_of_another_line_leaves_a_plan_alone(client, shop, tomorrow):
    """Only what is typed goes up; a planned price is no part of it."""
    plan(shop, tomorrow, "C15", "5.00")
    sent = {"price-C09": "9.00", "price-C15": present(shop, "C15"), **TOMORROW, **WHO}
    assert client.post(B41F, data=sent).status_code == 303
    assert {one.case_id for one in shop.chalk.planned()} == {"C09", "C15"}


@pytest.mark.parametrize("margin", ["abc", ".", "3 5 x", "NaN", "1e2", "-", "35.5.5", "9" * 40])
def test_a_margin_that_is_no_figure_is_asked_for_as_a_per_cent(client, words, margin):
    """The example is one of a margin, not of money."""
    answer = client.post(B41F, data={"margin": margin})
    assert answer.status_code == 422
    assert "Target margin, per cent: write a figure such as 35." in words(answer.text)
    assert "48.50" not in words(answer.text)


@pytest.mark.parametrize(("margin", "shown"), [("35,5", "35.5"), (".5", "0.5"), ("40 %", "40")])
def test_a_margin_is_read_as_people_write_it(client, words, margin, shown):
    """Decimal comma, no leading nought, a sign after it."""
    answer = client.post(B41F, data={"margin": margin})
    assert answer.status_code == 200
    assert f"for {shown} %" in words(answer.text)


@pytest.mark.parametrize("shown", ["lb", "kg"])
def test_prices_stand_in_the_unit_they_are_put_up_in(client, shop, clock, tomorrow, words, shown):
    """A device that shows kilograms changes the weights; every price stays by the pound."""
    plan(shop, tomorrow, "C15", "5.00")
    clock.put(clock.now() + timedelta(minutes=1))
    shop.chalk.put([NewPrice("C09", UnitPrice.of("9.40", WeightUnit.LB))], by="ines", why="",
                   key="now")  # fmt: skip
    client.cookies.set(UNIT_COOKIE, shown)
    text = words(client.get(f"{B41F}?done=put").text)
    assert "On the board prices per lb" in text
    assert "Planned: 5.00 /lb from Wed 08:00" in text
    assert "Beef short ribs 8.90 /lb 9.40 /lb" in text
    assert re.search(rf" Short ribs [0-9.]+ {shown} none ", text)
    for address in ("/chalk", B41F, "/chalk/line/C09?done=put"):
        assert "/kg" not in words(client.get(address).text)


@pytest.mark.parametrize("line", ["C15", "C09"])
def test_the_cost_beside_a_new_price_is_to_the_cent_and_names_its_unit(client, shop, words, line):
    """It is what the guard holds a price against, rounded for the eye."""
    cost = shop.chalk.case_costs()[line].shown_per(WeightUnit.LB)
    assert f"Cost {cost:.2f} a lb." in words(client.get(f"/chalk/line/{line}").text)


def test_what_has_no_line_is_told_no_pull(client, words):
    """It has no price to move, so no sentence begins with it; it has a field to try one."""
    page = client.get(B41F).text
    pulls = words(page[page.index('id="pulls-title"') :].partition("</section>")[0])
    assert "Beef brisket down 0.50" in pulls
    assert "cut to list" not in pulls
    assert "Chuck and rib, cut to list" in words(page)
