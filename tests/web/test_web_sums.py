"""The pricing sheets: what was typed becomes a problem, the plan a table, a fault a sentence."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from html import unescape
from pathlib import Path

import pytest

from collop.chalk import (
    allocate,
    chalk,
    clearing,
    demand,
    markdown,
    published_prior,
    putout,
    whole,
)
from collop.measures import Weight, WeightUnit
from collop.web.forms import Fields
from collop.web.sums_equation import _usual
from collop.web.sums_sheet import SUMS, SumSheet, fitting, percent, plain, priced
from web.blend_sheet import BLEND

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
LAMBS = {"name": "Two lambs", "cost": "565", "method": "net_realisable", "bya": "less_cost",
         "went": "101", "loss": "1.4", "tol": "0.2",
         "p1_name": "leg", "p1_weight": "27.4", "p1_price": "9.80",
         "p2_name": "rack and loin", "p2_weight": "19.6", "p2_price": "16.90", "p2_own": "14",
         "p3_name": "shoulder", "p3_weight": "26.2", "p3_price": "7.60", "p3_fweight": "21.8",
         "p3_fprice": "10.90", "p3_fcost": "11.50",
         "p4_name": "mince", "p4_weight": "12.8", "p4_price": "8.40", "p4_own": "9.60",
         "b1_name": "bones", "b1_weight": "13.5", "b1_price": "1.20", "b1_own": "2"}  # fmt: skip
BOARD = {"name": "a side", "bought": "1060", "haulage": "20", "minutes": "95", "hourly": "24",
         "other": "5", "margin": "35", "start": "166.7", "loss": "3.1", "tol": "1", "step": "0.05",
         "pull": "-0.40", "c1_name": "steaks", "c1_weight": "40", "c1_shrink": "4",
         "c1_rel": "2.1", "c1_price": "16.90", "c1_cap": "30", "c1_sold": "12",
         "c2_name": "roasts", "c2_weight": "50", "c2_shrink": "4", "c2_rel": "1.3",
         "c2_price": "11.20", "c2_floor": "8", "c2_extra": "0.10",
         "c3_name": "mince", "c3_weight": "53.6", "c3_shrink": "3", "c3_rel": "1",
         "c3_price": "7.80", "c3_fixed": "7.80",
         "b1_name": "bone", "b1_weight": "20", "b1_value": "0.25"}  # fmt: skip
SHOULDER = {"name": "bone-in shoulder", "weight": "9.4", "price": "3.60", "days": "2",
            "minutes": "14", "hourly": "24", "packaging": "0.06", "risk": "0.10",
            "wlabour": "0.05", "wshrink": "1",
            "c1_name": "Blade steak", "c1_share": "53", "c1_price": "5.90", "c1_shrink": "4",
            "c1_free": "3.1", "c1_pace": "2.5",
            "c2_name": "Mince", "c2_share": "30", "c2_price": "4.80", "c2_shrink": "6",
            "c2_free": "8", "c2_pace": "6",
            "c3_name": "Soup bone", "c3_share": "6", "c3_price": "1.50"}  # fmt: skip
STRIPLOIN = {"name": "Striploin steaks", "stock": "14.6", "price": "15.90", "usual": "4",
             "elasticity": "1.9", "periods": "2", "first": "100", "floor": "7", "cap": "15.90",
             "aim": "most", "salvage": "0", "cv": "0", "ends": "0.49 0.90",
             "convert_to": "mince", "convert_price": "7.80", "convert_yield": "95",
             "convert_labour": "0.60", "convert_takes": "3",
             "freeze_price": "11.90", "freeze_yield": "98", "freeze_cost": "0.30",
             "freeze_chance": "50", "freeze_takes": "6"}  # fmt: skip
SATURDAY = {"name": "Ribeye steak", "price": "20", "cost": "11", "salvage": "5.20",
            "kind": "normal", "mean": "14", "sd": "4", "every": "0.5"}  # fmt: skip
HOGS = {"name": "two hogs", "animals": "2", "factor": "1.25",
        "s1_name": "pork loin", "s1_weight": "67.6",
        "s2_name": "pork shoulder butt", "s2_weight": "29.4",
        "c1_id": "chops", "c1_name": "Loin chop", "c1_price": "4.46", "c1_sells": "40",
        "c1_e": "2.2", "c1_hand": "1", "c2_id": "roast", "c2_price": "4.56", "c2_sells": "14",
        "c2_e": "1.8", "c2_floor": "2", "c3_id": "links", "c3_price": "3.50", "c3_sells": "14",
        "c3_e": "3", "c3_making": "0.60", "c3_cap": "5",
        "a1_name": "loin to chops", "a1_from": "pork loin", "a1_gives": "chops 0.94",
        "a1_labour": "0.20", "a2_name": "loin to roast", "a2_from": "Pork Loin",
        "a2_gives": "roast 53 %; links 0.05", "a2_labour": "0.45",
        "a3_name": "shoulder to trim", "a3_from": "pork shoulder butt",
        "a3_gives": "links .94", "a3_labour": "0.15"}  # fmt: skip
ROAST = {"name": "shoulder roast", "species": "pork", "cut": "", "enough": "8", "prior": "",
         "prior_sd": "", "source": "", "status": "memory",
         "sales": "7.80 30.2 w18\n7.80 33 w19\n6.90 41.5 w20\n6.90 36.1 w21\n8.40 24.8 w22\n"
                  "8.40 27.4 w23\n5.90 52 w24 ran out\n5.90 50.6 w25\n7.80 0 w26\n"
                  "7.20 34.9 w27"}  # fmt: skip
AT = "/chalk/sums/"
FILLED = {AT + "share-cost": LAMBS, AT + "equation": BOARD, AT + "whole": SHOULDER,
          AT + "mark-down": STRIPLOIN, AT + "put-out": SATURDAY, AT + "clearing": HOGS,
          AT + "demand": ROAST, AT + "blend": BLEND}  # fmt: skip


def one_of_each(address):
    """Return the fields of a filled sheet, one of each column of its tables."""
    columns = {re.sub("[0-9]+_", "_", name): name for name in reversed(FILLED[address])}
    return [*columns.values(), "tag", "line", "from"]


def kept(html):
    """Return what stands in the fields of the sheet."""
    sheet = html[html.index('<form class="sheet"') :]
    typed = dict(re.findall(r'name="([a-z0-9_]+)" type="text" value="([^"]*)"', sheet))
    for name, body in re.findall(r'<select id="f-([a-z_]+)".*?>(.*?)</select>', sheet, re.DOTALL):
        found = re.search(r'value="([^"]*)" selected', body) or re.search(r'value="(.*?)"', body)
        typed[name] = found[1]
    typed |= dict(re.findall(r'name="([a-z0-9_]+)" value="([^"]*)"', sheet))
    typed |= dict(re.findall(r'<textarea id="f-([a-z_]+)".*?>(.*?)</textarea>', sheet, re.DOTALL))
    return {name: unescape(text) for name, text in typed.items()}


def rows(html, words, label):
    """Return the rows of one worked table as words."""
    body = html[html.index(f'aria-label="{label}"') :]
    body = body[: body.index("</table>")]
    return [words(row).partition(">")[2].strip() for row in body.split("<tr")[2:]]


def worked(html, words):
    """Return the words of the answer."""
    body = html[html.index('<section class="worked"') :]
    return words(body[: body.index('<form class="sheet"')])


def example(name):
    """Return the worked problem of the handbook, without the keys that only name it."""
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))


# ------------------------------------------------------------------------------- all sheets


def test_the_index_leads_to_every_sheet(client):
    """Each address answers with its own page, and every page leads to the others."""
    html = client.get("/chalk/sums").text
    assert {address for address, *_ in SUMS} == set(FILLED)
    for address, name, _ in SUMS:
        assert f'href="{address}"' in html
        page = client.get(address)
        assert page.status_code == 200, address
        assert f"<h1>{name}" in page.text.replace("\n", "")
        for other, *_ in SUMS:
            assert other == address or f'href="{other}"' in page.text


@pytest.mark.parametrize("address", FILLED)
def test_an_empty_sheet_has_labels_and_no_fault(client, read_page, address):
    """Nothing asked, nothing wrong; every field is named; no inline script or style."""
    page = read_page(client.get(address).text)
    assert "problem" not in page.ids
    assert page.unlabelled() == []
    assert page.inline == []


@pytest.mark.parametrize("address", FILLED)
def test_a_worked_sheet_keeps_what_was_typed_and_tells_its_assumptions(client, words, address):
    """The texts stand in their fields as they were written, beside the result."""
    answer = client.get(address, params=FILLED[address])
    assert answer.status_code == 200
    assert kept(answer.text).items() >= FILLED[address].items()
    assert "Taken as given" in worked(answer.text, words)


@pytest.mark.parametrize(
    ("page", "wrong", "sentence"),
    [
        ("share-cost", {"cost": ""}, "Joint cost: write an amount"),
        ("share-cost", {"cost": "1.005"}, "Joint cost: write at most 2 decimals."),
        ("share-cost", {"p1_price": ""}, "Product 1, price: write an amount"),
        ("share-cost", {"p2_weight": ""}, "Product 2, weight: weigh it"),
        ("share-cost", {"p1_name": ""}, "Product 1, name: name the part of this line"),
        ("share-cost", {"p2_own": "400"}, "Product 2"),
        ("share-cost", {"went": "90"}, "Weight before cutting"),
        ("share-cost", {"went": ""}, "Weight before cutting is missing; known loss needs to"),
        ("share-cost", {"method": "luck"}, "Shared by: 'luck' is not known here"),
        ("equation", {"bought": ""}, "Bought for: write an amount"),
        ("equation", {"hourly": ""}, "Pay an hour is missing beside minutes of labour"),
        ("equation", {"margin": "99"}, "Margin: enter 95 or less."),
        ("equation", {"c1_rel": "", "c1_price": ""}, "Cut 1, relative of 'steaks' is missing"),
        ("equation", {"c2_name": "steaks"}, "Cut 2, name 'steaks' is given twice"),
        ("equation", {"c1_floor": "31"}, "Cut 1, floor is above the cap of steaks"),
        ("equation", {"start": "190"}, "Weight before cutting does not close."),
        ("equation", {"ends": "0.99"}, "Endings: a step is given too"),
        ("equation", {"step": "", "ends": "0.99 1.50"}, "is 1.50; an ending is under 1"),
        ("equation", {"pull": "down"}, "Pull each price by: write an amount"),
        ("equation", {"pull": "-0"}, "Pull each price by: enter more than 0"),
        ("equation", {"b1_value": "9999"}, "By-products are worth as much as the whole cost"),
        ("whole", {"weight": "0"}, "Weight of the piece is zero"),
        ("whole", {"c1_share": ""}, "Cut 1, share: give its weight in percent"),
        ("whole", {"c1_share": "99"}, "The cuts have shares that sum to"),
        ("whole", {"minutes": ""}, "Minutes of cutting is missing"),
        ("whole", {"labour": "0.3"}, "Labour of cutting is given beside minutes"),
        ("whole", {"c2_name": "Blade steak"}, "is 'Blade steak' a second time"),
        ("mark-down", {"elasticity": ""}, "Elasticity: write an amount"),
        ("mark-down", {"periods": "-1"}, "Periods left: -1 is too few"),
        ("mark-down", {"floor": "20"}, "Lowest price is 20, above the highest price"),
        ("mark-down", {"convert_price": ""}, "Ground, sells at: write an amount"),
        ("mark-down", {"freeze_chance": "101"}, "Frozen, chance that it sells: enter 100 or"),
        ("put-out", {"cost": "20"}, "Sells at is 20.00, not more than the cost of 20.00"),
        ("put-out", {"salvage": "12"}, "What is left is worth is 12.00, not less than"),
        ("put-out", {"sd": ""}, "Spread (standard deviation) is missing; normal demand"),
        ("put-out", {"kind": "poisson"}, "Spread (standard deviation) is not used by poisson"),
        ("put-out", {"seen": "3 x 4"}, "Sold on past days: write an amount"),
        ("put-out", {"every": "0"}, "In steps of"),
        ("clearing", {"c1_e": "0"}, "Cut 1, elasticity"),
        ("clearing", {"a1_from": "ham"}, "Way 1, from is 'ham', which is no supply"),
        ("clearing", {"a1_gives": ""}, "Way 1, gives is empty; name at least one cut."),
        ("clearing", {"a1_gives": "ham 0.9"}, "Way 1, gives: 'ham' is none of the cuts"),
        ("clearing", {"a1_gives": "chops"}, "Way 1, gives: write a cut and its share"),
        ("clearing", {"a1_gives": "chops most"}, "Way 1, gives: write an amount"),
        ("clearing", {"s2_name": "pork loin"}, "Supply 2, name is 'pork loin' once more"),
        ("clearing", {"c3_floor": "6"}, "Cut 3, floor is 6, over the cap of 5"),
        ("demand", {"sales": "7.80"}, "Sales, line 1: write the price and what was sold"),
        ("demand", {"sales": "7.80 30\n\n7.80 much"}, "Sales, line 3: 'much' is not a weight"),
        ("demand", {"sales": "dear 30"}, "Sales, line 1, price: write an amount"),
        ("demand", {"sales": "7 3\n" * 900}, "Sales: the list is too long"),
        ("demand", {"prior": "1.5"}, "Give or take: enter it with the believed elasticity"),
        ("demand", {"enough": "2"}, "Weeks that are enough: 2 is too few"),
    ],
)
def test_a_fault_names_its_label_and_loses_nothing(client, words, page, wrong, sentence):
    """422; the summary links to a field that is there; no key of the problem is shown."""
    typed = FILLED[AT + page] | wrong
    answer = client.get(AT + page, params=typed)
    assert answer.status_code == 422
    said = words(answer.text)
    assert sentence in said
    assert "$." not in said
    summary = answer.text[answer.text.index('id="problem"') : answer.text.index("</section>")]
    targets = re.findall(r'href="#(f-[a-z0-9_]+)"', summary)
    assert targets
    for target in targets:
        assert f'id="{target}"' in answer.text
    assert '<section class="worked"' not in answer.text
    shown = kept(answer.text)
    refused_choices = {"method", "kind"} & set(wrong)
    for name, text in typed.items():
        if name not in refused_choices:
            assert shown[name] == text.strip()[:2000], name


@pytest.mark.parametrize("address", FILLED)
def test_text_from_the_address_cannot_break_out_of_a_sheet(client, address):
    """A tag in any field stays text."""
    bad = '"></textarea><script>alert(1)</script>'
    for name in one_of_each(address):
        answer = client.get(address, params=FILLED[address] | {name: bad})
        assert answer.status_code in {200, 422}
        assert "<script>alert" not in answer.text


@pytest.mark.parametrize("address", FILLED)
@pytest.mark.parametrize(
    "text", ["-1", "1e9", "9" * 60, "NaN", "\x00", "½", "0", "1/0", "$.", "x" * 4000, "0.0000001",
             "100000", "%", ";", "-"]
)  # fmt: skip
def test_no_text_in_any_field_breaks_a_sheet(client, address, text):
    """Each field in turn is filled with something odd: 200 or 422, never a failure."""
    for name in one_of_each(address):
        answer = client.get(address, params=FILLED[address] | {name: text})
        assert answer.status_code in {200, 422}, name
        assert "Traceback" not in answer.text


@pytest.mark.parametrize("address", FILLED)
def test_garbage_in_all_fields_at_once_is_told_field_by_field(client, address):
    """One page with all its sentences."""
    for text in ("", "x", "0", "9" * 12):
        answer = client.get(address, params=dict.fromkeys(FILLED[address], text))
        assert answer.status_code in {200, 422}


# ----------------------------------------------------------- each sheet against its own kernel


def test_a_joint_cost_shows_what_the_kernel_shares_out(client, words):
    """Every amount of the handbook's worked problem, the by-product, and what to work on."""
    plan = allocate(example("allocate"))
    html = client.get(AT + "share-cost", params=LAMBS).text
    shown = rows(html, words, "Shared cost, worked out")
    for row, one in zip(shown, plan["products"], strict=False):
        assert row.startswith(f"{one['name']} {one['quantity']}")
        for key in ("allocated", "cost_per_unit", "full_cost_per_unit", "profit"):
            assert one[key] in row
    said = worked(html, words)
    assert f"shared out {plan['sum']}" in said
    assert plan["products"][2]["further"]["say"] in said
    assert "The weights close, with 0.1 lb unaccounted for." in said


def test_the_physical_measure_needs_no_price(client, words):
    """Sales are then not known, and the page says so."""
    typed = {"cost": "100", "method": "physical", "p1_name": "a", "p1_weight": "3",
             "p2_name": "b", "p2_weight": "1"}  # fmt: skip
    shown = rows(client.get(AT + "share-cost", params=typed).text, words, "Shared cost, worked out")
    assert shown[0].startswith("a 3 75.00 % 75.00")
    assert "not known" in shown[0]


def board_problem():
    """Return the problem that the filled sheet of the board stands for."""
    return {
        "schema": "collop.chalk/1", "name": "a side", "margin": 0.35,
        "cost": {"bought": "1060", "haulage": "20", "labour_minutes": "95",
                 "labour_per_hour": "24", "other": "5"},
        "cuts": [
            {"name": "steaks", "weight": "40", "shrink": 0.04, "relative": 2.1, "price": "16.90",
             "cap": "30", "sold": "12"},
            {"name": "roasts", "weight": "50", "shrink": 0.04, "relative": 1.3, "price": "11.20",
             "floor": "8", "extra_cost_per_unit": "0.10"},
            {"name": "mince", "weight": "53.6", "shrink": 0.03, "relative": 1.0, "price": "7.80",
             "fixed": "7.80"},
        ],
        "credits": [{"name": "bone", "weight": "20", "value_per_unit": "0.25"}],
        "start_weight": "166.7", "loss_weight": "3.1", "tolerance": "1",
        "endings": {"step": "0.05"},
        "pulls": [{"id": name, "by": "-0.40"} for name in ("steaks", "roasts", "mince")],
    }  # fmt: skip


def test_the_board_shows_every_price_and_every_pull(client, words):
    """Needed sales, prices on their endings, what is missing now, and each pull in words."""
    plan = chalk(board_problem())
    html = client.get(AT + "equation", params=BOARD).text
    said = worked(html, words)
    assert f"sales needed {plan['needed']}" in said
    assert f"short by {plan['present']['short_by']}" in said
    assert f"Sold so far for {plan['earned']}" in said
    shown = rows(html, words, "Board, worked out")
    for row, cut in zip(shown, plan["cuts"], strict=False):
        assert row.startswith(cut["name"])
        assert f" {cut['price']} {cut['change']} {cut['revenue']}" in row
    assert "stays" in shown[2]
    for pull in plan["pulls"]:
        assert pull["say"] in said


def test_caps_that_do_not_let_it_be_reached_are_told(client, words):
    """Short by how much, loudly."""
    plan = chalk(board_problem() | {"cuts": [
        cut | {"cap": "5"} if cut["name"] != "mince" else cut for cut in (
            board_problem()["cuts"][0], board_problem()["cuts"][1] | {"floor": None},
            board_problem()["cuts"][2])]})  # fmt: skip
    typed = BOARD | {"c1_cap": "5", "c2_cap": "5", "c2_floor": ""}
    said = worked(client.get(AT + "equation", params=typed).text, words)
    assert not plan["reached"]
    assert f"Short by {plan['short_by']}" in said


def test_an_empty_margin_is_the_shops_and_a_pull_may_go_up(client, words):
    """The target of the settings; each sentence of a rise reads as one."""
    problem = board_problem() | {"pulls": [
        {"id": name, "by": "+0.50"} for name in ("steaks", "roasts", "mince")]}  # fmt: skip
    said = worked(client.get(AT + "equation", params=BOARD | {"margin": "", "pull": "+0.50"}).text,
                  words)  # fmt: skip
    for pull in chalk(problem)["pulls"]:
        assert pull["say"] in said


def test_a_whole_piece_shows_break_even_terms_and_what_the_case_lacks(client, words):
    """The handbook's shoulder: 3.78 a lb, which way earns more, and what runs short."""
    plan = whole(example("whole"))
    html = client.get(AT + "whole", params=SHOULDER).text
    said = worked(html, words)
    assert plan["say"] in said
    assert f"Sell it whole above {Decimal(plan['break_even']):.2f} a lb" in said
    shown = rows(html, words, "Whole or cut, worked out")
    for row, one in zip(shown, plan["terms"], strict=False):
        assert row.startswith(one["name"])
        assert row.endswith(f"{one['per_unit']} {one['value']}")
    for one in plan["takes"][:2]:
        assert f"short by {one['short_weight']} lb" in said
    assert "Blade steak at 5.5545, Mince at 4.1767." in said


def test_a_mark_down_shows_the_price_every_period_and_the_rest(client, words):
    """The handbook's striploin: money, the steps, what is ground, and leaving it alone."""
    plan = markdown(example("markdown"))
    html = client.get(AT + "mark-down", params=STRIPLOIN).text
    said = worked(html, words)
    assert plan["say"] in said
    assert f"price now {plan['price_now']}" in said
    assert f"Leaving the price at 15.90 brings {plan['as_is']['value']}." in said
    shown = rows(html, words, "Mark-down, worked out")
    assert len(shown) == len(plan["steps"]) + len(plan["rest"])
    assert shown[-1] == "convert to mince 2.7 18.37"
    for row, step in zip(shown, plan["steps"], strict=False):
        brings = Decimal(step["price"]) * Decimal(step["sells"])
        assert row.endswith(f" {brings.quantize(Decimal('0.01'), ROUND_HALF_UP)}")


def test_past_its_date_there_is_the_bin_and_nothing_else(client, words):
    """No price, no grinding, no freezing, whatever is typed for them."""
    html = client.get(AT + "mark-down", params=STRIPLOIN | {"periods": "0"}).text
    said = worked(html, words)
    assert "price now none" in said
    assert rows(html, words, "Mark-down, worked out") == ["bin 14.6 0.00"]


def test_how_much_to_put_out_shows_the_plan(client, words):
    """The handbook's Saturday, and each of its figures."""
    plan = putout(example("putout"))
    said = worked(client.get(AT + "put-out", params=SATURDAY).text, words)
    assert f"put out {plan['put_out']} lb" in said
    for key in ("say", "underage", "overage", "quantity", "expected_sold", "expected_profit"):
        assert plan[key] in said


@pytest.mark.parametrize(
    ("typed", "demand", "unit"),
    [
        ({"kind": "uniform", "low": "8", "high": "15"},
         {"kind": "uniform", "low": "8", "high": "15"}, "lb"),
        ({"kind": "poisson", "mean": "6", "every": "1"}, {"kind": "poisson", "mean": "6"}, "piece"),
        ({"kind": "counts", "seen": "3, 5; 4.5  0"},
         {"kind": "counts", "seen": ["3", "5", "4.5", "0"]}, "lb"),
    ],
)  # fmt: skip
def test_demand_may_be_told_four_ways(client, words, typed, demand, unit):
    """Low and high, whole pieces, and past days as they were."""
    base = {"price": "20", "cost": "11", "salvage": "5.20"}
    problem = base | {"schema": "collop.putout/1", "demand": demand, "unit": unit}
    plan = putout(problem | ({"step": typed["every"]} if "every" in typed else {}))
    said = worked(client.get(AT + "put-out", params=base | typed).text, words)
    assert plan["say"] in said


def test_clearing_shows_prices_worths_and_ways(client, words):
    """Cuts named by short name or name, shares as fractions or percent, supply in any case."""
    plan = clearing({
        "schema": "collop.clearing/1", "animals": 2, "cap_factor": 1.25,
        "supply": [{"name": "pork loin", "weight": "67.6"},
                   {"name": "pork shoulder butt", "weight": "29.4"}],
        "cuts": [
            {"id": "chops", "name": "Loin chop", "price": "4.46", "quantity": "40",
             "elasticity": 2.2, "on_hand": "1"},
            {"id": "roast", "price": "4.56", "quantity": "14", "elasticity": 1.8, "floor": "2"},
            {"id": "links", "price": "3.50", "quantity": "14", "elasticity": 3.0,
             "making_cost": "0.60", "cap": "5"},
        ],
        "activities": [
            {"name": "loin to chops", "from": "pork loin", "gives": {"chops": 0.94},
             "labour_per_unit": "0.20"},
            {"name": "loin to roast", "from": "pork loin", "gives": {"roast": 0.53, "links": 0.05},
             "labour_per_unit": "0.45"},
            {"name": "shoulder to trim", "from": "pork shoulder butt", "gives": {"links": 0.94},
             "labour_per_unit": "0.15"},
        ],
    })  # fmt: skip
    html = client.get(AT + "clearing", params=HOGS).text
    said = worked(html, words)
    assert plan["contribution"] in said
    assert f"one more animal brings {plan['one_more']}" in said
    for row, cut in zip(rows(html, words, "Clearing prices, worked out"), plan["cuts"],
                        strict=True):  # fmt: skip
        assert row.endswith(f"{cut['price']} {cut['quantity']} {cut['unsold']} {cut['worth']}")
    for row, one in zip(rows(html, words, "Supply, worked out"), plan["supply"], strict=True):
        assert row == f"{one['name']} {one['used']} {one['left']} {one['worth']}"
    for one in plan["activities"]:
        assert (f"{one['name']}: {one['weight']} lb" in said) == (Decimal(one["weight"]) > 0)


def test_demand_of_typed_weeks_is_that_of_the_kernel(client, words):
    """The handbook's weeks: the week that ran out and the one without a sale are told."""
    plan = demand(example("demand"))
    said = worked(client.get(AT + "demand", params=ROAST).text, words)
    assert plan["say"] in said
    assert f"at {plan['price']} {plan['quantity']} lb a week" in said
    assert "1 week left out because the case ran empty" in said
    assert "1 week without a sale left out" in said


def test_a_published_figure_from_memory_is_marked_and_so_is_an_own_belief(client, words):
    """Every row from memory has the mark; an own belief has it unless it was read."""
    printed = published_prior("pork")["rows"]
    html = client.get(AT + "demand", params=ROAST).text
    marks = html.count("from memory, not checked</span>")
    assert marks == sum(row["status"] == "memory" for row in printed) > 0
    own = ROAST | {"prior": "1.6", "prior_sd": "0.6", "source": "the trade"}
    remembered = client.get(AT + "demand", params=own).text
    assert remembered.count("from memory, not checked</span>") == 1
    assert "Source: the trade" in words(remembered)
    read = client.get(AT + "demand", params=own | {"status": "seen"}).text
    assert "from memory, not checked</span>" not in read


# ------------------------------------------------------------------------ filled from the shop


@pytest.mark.parametrize("page", ["equation", "share-cost", "whole"])
def test_every_piece_of_the_shop_fills_its_sheets(client, shop, words, page):
    """What hangs and what was broken; filled means worked out, and sending it again is the same."""
    for animal in shop.chalk.animals():
        answer = client.get(AT + page, params={"tag": animal.tag})
        assert answer.status_code == 200, animal.tag
        assert f"Filled from {animal.tag}" in words(answer.text)
        again = client.get(AT + page, params=kept(answer.text))
        assert worked(again.text, words) == worked(answer.text, words)


def test_a_filled_board_is_that_of_the_chalk_page(client, shop, words):
    """Needed sales and every price as the shop's own plan has them; its own guesses are told."""
    plan = shop.chalk.plan("B-41F")
    html = client.get(AT + "equation?tag=B-41F").text
    assert f"sales needed {plan['needed']}" in worked(html, words)
    for row, cut in zip(rows(html, words, "Board, worked out"), plan["cuts"], strict=False):
        assert f" {cut['price']} " in row
    assert "a starting figure of ours" in words(html)


def test_what_has_no_line_on_the_board_is_named_in_no_pull(client, words):
    """Neither moved nor asked to answer, also when the filled sheet is sent; renamed, it is."""
    cut = "Chuck and rib, cut to list"
    first = client.get(AT + "equation?tag=B-41F").text
    sheet = kept(first)
    (off,) = (name for name, text in sheet.items() if name.endswith("_off") and text == cut)
    for html in (first, client.get(AT + "equation", params=sheet).text,
                 client.get(AT + "equation", params=sheet | {"pull": "-0.40"}).text):  # fmt: skip
        pulls = words(html[html.index("If one price moves") : html.index("All answers")])
        assert " Beef brisket down 0." in pulls
        assert cut not in pulls
        assert f"{cut} has no line on the board" in words(html)
    renamed = sheet | {off.replace("_off", "_name"): "Chuck roll"}
    html = client.get(AT + "equation", params=renamed).text
    assert "Chuck roll down 0.50" in words(html)
    assert "has no line on the board" not in words(html)


@pytest.mark.parametrize(("currency", "usual"), [("USD", "-0.50"), ("JPY", "-1")])
def test_the_usual_pull_is_one_the_currency_can_pay(currency, usual):
    """Half a unit of money; where there are no smaller coins, one of it."""
    assert _usual(currency) == usual


def test_a_filled_whole_piece_is_that_of_the_shop(client, shop, words):
    """The same break-even; the price of the whole waits to be entered."""
    plan = shop.chalk.whole("P-118")
    html = client.get(AT + "whole?tag=P-118").text
    assert f"above {Decimal(plan['break_even']):.2f} a lb" in worked(html, words)
    assert kept(html)["price"] == ""
    with_price = client.get(AT + "whole", params=kept(html) | {"price": "7"}).text
    assert "whole earns" in worked(with_price, words)


def test_a_move_of_the_day_fills_the_mark_down(client, shop, words):
    """The move's own plan; figures of ours carry their mark; edited, it is worked out anew."""
    for move in shop.chalk.moves(most=100):
        html = client.get(AT + "mark-down", params={"line": move.case_id}).text
        said = worked(html, words)
        assert move.plan["say"] in said
        assert "common practice, no published source" in words(html)
        again = client.get(AT + "mark-down", params=kept(html)).text
        assert worked(again, words) == said


def test_a_line_fills_what_to_put_out(client, shop, words):
    """The shop's own problem of that line; a cost nobody knows is told."""
    plan = shop.chalk.put_out("C11")
    html = client.get(AT + "put-out?line=C11").text
    assert plan["say"] in worked(html, words)
    assert "C11" not in shop.chalk.case_costs()
    assert "What it cost is not known" in words(html)


def test_past_days_that_are_too_many_for_the_field_are_cut_from_the_old_end(
    client, shop, words, monkeypatch
):
    """The newest stay, whole, and the page says how many."""
    problem = shop.chalk.put_out_problem("C11")
    seen = [f"{10 + day}.125" for day in range(400)]
    demand = {"kind": "counts", "seen": seen}
    monkeypatch.setattr(shop.chalk, "put_out_problem", lambda _line: problem | {"demand": demand})
    html = client.get(AT + "put-out?line=C11").text
    listed = kept(html)["seen"].split()
    assert 200 < len(listed) < 400
    assert listed == seen[-len(listed) :]
    assert f"The last {len(listed)} days of 400." in words(html)


def test_what_hangs_fills_the_clearing_sheet(client, shop, words):
    """Every supply, cut and way of the shop's problem, and the same contribution."""
    plan = shop.chalk.clearing()
    html = client.get(AT + "clearing?from=shop").text
    assert plan["contribution"] in worked(html, words)
    shown = rows(html, words, "Clearing prices, worked out")
    assert len(shown) == len(plan["cuts"])
    for one in plan["activities"]:
        assert f"{one['name']}: {one['weight']} lb" in worked(html, words)


def test_sales_of_a_line_fill_the_demand_sheet(client, shop, words, monkeypatch):
    """Whole weeks only: what sold since Monday is left out."""
    html = client.get(AT + "demand?line=C11").text
    assert shop.chalk.demand("C11")["say"] in worked(html, words)
    assert kept(html)["species"] == "beef"
    week = type("Week", (), {})
    found = []
    for day, pounds in ((25, 30), (1, 26), (8, 9)):
        one = week()
        one.monday = shop.now().date().replace(month=5 if day == 25 else 6, day=day)
        one.price, one.weight = Decimal("7.80"), _pounds(pounds)
        found.append(one)
    monkeypatch.setattr(shop.chalk, "sales", lambda _line: tuple(found))
    listed = kept(client.get(AT + "demand?line=C11").text)["sales"].splitlines()
    assert [line.split()[:2] for line in listed] == [["7.80", "30"], ["7.80", "26"]]


def _pounds(count):
    return Weight.of(count, WeightUnit.LB)


@pytest.mark.parametrize(
    ("address", "field"),
    [("equation?tag=zzz", "tag"), ("share-cost?tag=zzz", "tag"), ("whole?tag=zzz", "tag"),
     ("mark-down?line=zzz", "line"), ("put-out?line=zzz", "line"), ("demand?line=zzz", "line"),
     ("mark-down?line=C11", "line"), ("clearing?from=moon", "from")],
)  # fmt: skip
def test_what_the_shop_does_not_have_is_a_fault_beside_its_field(client, address, field):
    """422, with the sentence at the chooser, and nothing worked out."""
    answer = client.get(AT + address)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert f'id="f-{field}"' in answer.text
    assert '<section class="worked"' not in answer.text


def test_a_shop_that_sells_by_the_kilogram_has_its_sheets_in_kilograms(
    client, shop, words, monkeypatch
):
    """Legal unit and currency of the shop everywhere; pounds may still be typed as such."""
    chosen = replace(shop.settings(), legal_unit=WeightUnit.KG, currency="EUR")
    monkeypatch.setattr(shop, "settings", lambda: chosen)
    typed = {"cost": "100", "method": "physical", "p1_name": "a", "p1_weight": "10 lb",
             "p2_name": "b", "p2_weight": "4.5359"}  # fmt: skip
    html = client.get(AT + "share-cost", params=typed).text
    assert "Money in EUR, weights in kg" in worked(html, words)
    first = rows(html, words, "Shared cost, worked out")[0]
    assert first.startswith("a 4.5359 50.00 % 50.00 11.0232")
    for address in FILLED:
        said = words(client.get(address).text)
        assert " lb " not in said.partition("Other pricing sheets")[0].partition("08:00")[2]


def test_prices_per_pound_fill_the_sheets_of_a_shop_that_sells_by_the_kilogram(client, tmp_path):
    """7.80 a pound is 17.196056 a kilogram; a field takes four decimals, so four stand there."""
    with closing(sqlite3.connect(tmp_path / "shop.db")) as conn, conn:
        conn.execute("UPDATE settings SET value = '\"kg\"' WHERE name = 'legal_unit'")
    for address in ("share-cost?tag=B-41F", "equation?tag=B-41F", "whole?tag=B-41F",
                    "put-out?line=C11", "mark-down?line=C31", "clearing?from=shop"):  # fmt: skip
        answer = client.get(AT + address)
        assert answer.status_code == 200, address
        assert '<section class="worked"' in answer.text


def test_the_shop_s_shrink_is_told_only_where_it_is_used(client, words):
    """A joint cost goes over weights as cut, and says that the board's margin is less for it."""
    shared = words(client.get(AT + "share-cost?tag=B-41F").text)
    assert "Shrink from block to customer" not in shared
    assert "Weights are as cut: the board, which takes shrink off, has less margin." in shared
    assert "Shrink from block to customer" in words(client.get(AT + "equation?tag=B-41F").text)


def test_a_sheet_filled_from_the_shop_says_what_was_taken_for_granted(client, words):
    """What counts as trim in the clearing, and what is left of a line put out."""
    cleared = words(client.get(AT + "clearing?from=shop").text)
    assert "counted as trim, at 3.00 a lb: Strip and rib end" in cleared
    assert "No line goes under 50% of its usual price" in cleared
    out = words(client.get(AT + "put-out?line=C09").text)
    assert "What is left is sold on a later day" in out


# ------------------------------------------------------------------------------- small readers


def test_shares_and_numbers_stand_in_fields_as_people_write_them():
    """No trailing zeros, no exponent, empty for nothing."""
    assert plain("12.500") == "12.5"
    assert plain("100") == "100"
    assert plain(None) == percent(None) == priced(None) == ""
    assert [priced(text) for text in ("7.8", "10", "7.725", "4.4600")] == [
        "7.80", "10.00", "7.725", "4.46"]  # fmt: skip
    assert [priced(text) for text in ("17.196056", "0.00005", "19.99999")] == [
        "17.1961", "0.0001", "20.00"]  # fmt: skip
    assert percent(0.03) == "3"
    assert percent(0.08398320335932813) == "8.39832"


def test_a_list_of_amounts_takes_spaces_semicolons_and_decimal_commas():
    """A comma between digits is a decimal comma; one before a space parts two amounts."""
    sheet = SumSheet(Fields([("seen", "3,5 4; 0, 2.25,")]), "seen")
    assert sheet.amounts("seen", "Seen", "$.seen") == ["3.5", "4", "0", "2.25"]
    assert not sheet.faults


def test_a_piece_with_more_cuts_than_the_sheet_holds_is_refused():
    """A part of a board would tell something else than the whole."""
    assert fitting([1, 2], 2, "cuts") == [1, 2]
    with pytest.raises(ValueError, match="It has 3 cuts; this sheet holds 2"):
        fitting([1, 2, 3], 2, "cuts")
