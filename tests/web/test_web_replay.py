"""What if: the form keeps what is chosen, both ways stand side by side, faults are told."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.shop import NewSale


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


@pytest.fixture
def traded(shop, clock):
    """Return the demo on Wednesday: on Tuesday a lamb was broken and some of it sold."""
    made = shop.cutting.start_break("L-207", "lamb", by="marek", key="start")
    for part in made.style.parts:
        if part.kind != "loss":
            weight = Weight(int(made.start.count * part.share))
            shop.cutting.weigh_part(made.number, part.id, weight, by="marek", key=f"p{part.id}")
    shop.cutting.close_break(made.number, by="marek", key="close")
    shop.selling.sell([NewSale("C02", lb("2.5")), NewSale("C04", lb("1.5"))], by="dot", key="sold")
    clock.put(clock.now() + timedelta(days=1))
    return shop


def picked(html, field):
    """Return the value that is chosen in a list."""
    inner = re.search(rf'name="{field}".*?</select>', html, re.DOTALL).group(0)
    found = re.search(r'<option value="([^"]*)" selected', inner)
    return found.group(1) if found else ""


def at_of(html, tag):
    """Return the number of a piece on the form."""
    return re.search(rf'name="tag-(\d+)" value="{tag}"', html).group(1)


def test_the_last_day_is_shown_as_it_was(client, traded, words, read_page):
    """By itself the page shows Tuesday, the lamb that was cut, and no difference."""
    html = client.get("/replay").text
    text = words(html)
    assert "This is the plan as it was." in text
    assert "Lamb for the case Tue 9 Jun" in text
    # 2.5 x 8.40 + 1.5 x 18.60
    assert "Sold at the glass 48.90 48.90 48.90" in text
    assert "Where the difference comes from" not in text
    page = read_page(html)
    assert page.unlabelled() == []
    assert page.inline == []
    assert {"/bench/plan", "/reckoning"} <= set(page.links)


def test_another_style_is_worked_out_and_stays_chosen(client, traded, words):
    """Shoulder and breast to mince: the sums of the shop's own answer, and the choice is kept."""
    html = client.get("/replay").text
    at = at_of(html, "L-207")
    chosen = {f"tag-{at}": "L-207", f"style-{at}": "lamb-boned"}
    told = client.get("/replay", params={"day": "2026-06-09", "days": "1", **chosen})
    assert told.status_code == 200
    assert picked(told.text, f"style-{at}") == "lamb-boned"
    plan = traded.replaying.what_if(
        None, [{"tag": "L-207", "style": "lamb-boned", "day": 0}]
    )  # fmt: skip
    text = words(told.text)
    for one in (plan["actual"], plan["seen"], plan["estimated"]):
        assert f"{Decimal(one['contribution']):,.2f}" in text
    more = Decimal(plan["more"]["seen"])
    assert f"{abs(more)} {'more' if more > 0 else 'less'}" in text
    assert "Where the difference comes from" in text
    assert "Back to what it was" in text


def test_a_piece_that_is_not_cut(client, traded, words):
    """Not cut: its labour and its cuts are gone, what it cost stands."""
    at = at_of(client.get("/replay").text, "L-207")
    told = client.get("/replay", params={f"tag-{at}": "L-207", f"style-{at}": "-"})
    assert told.status_code == 200
    assert picked(told.text, f"style-{at}") == "-"
    assert "Minutes at the block 35 0 0" in words(told.text)


def test_choices_of_other_days_do_not_stick(client, traded):
    """If the pieces of a form are not those of the day, what was chosen for them is left out."""
    told = client.get("/replay", params={"tag-0": "NONE", "style-0": "lamb-boned"})
    assert told.status_code == 200
    assert "This is the plan as it was." in told.text


@pytest.mark.parametrize(
    ("fields", "words_told", "field"),
    [
        ({"day": "yesterday"}, "choose a day, written like", "day"),
        ({"day": "2026-07-01"}, "that is over, or today", "day"),
        ({"days": "9"}, "enter 7 or fewer", "days"),
        ({"day": "2026-06-10", "days": "2"}, "is not there yet", "day"),
        ({"style-0": "none such"}, "choose one of the styles", "style-0"),
        ({"day-0": "77"}, "did not hang that day", "day-0"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(client, traded, fields, words_told, field):
    """A bad day, number or choice gives 422, a summary that leads to the field, no traceback."""
    html = client.get("/replay").text
    tag = re.search(r'name="tag-0" value="([^"]+)"', html).group(1)
    told = client.get("/replay", params={"tag-0": tag, **fields})
    assert told.status_code == 422
    assert words_told in told.text
    assert f'href="#f-{field}"' in told.text
    assert f'id="f-{field}"' in told.text


def test_a_day_without_trade_is_empty_and_well(client, shop):
    """On the demo's first morning nothing was sold yet; the page says what it was."""
    told = client.get("/replay")
    assert told.status_code == 200
    assert "This is the plan as it was." in told.text


def test_plan_and_reckoning_lead_here(client, traded):
    """The two pages a butcher comes from have a link."""
    for path in ("/bench/plan", "/reckoning"):
        assert 'href="/replay"' in client.get(path).text, path
