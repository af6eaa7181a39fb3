"""The sheet of net weights on the screen. Packages are invented."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import parse_qsl, urlencode

import pytest

from collop.rules.netweight import netweight

HERE = "/net-weight"
EXAMPLE = Path(__file__).parents[2] / "docs/examples/netweight.json"


def typed(problem):
    """Return the query of a problem as somebody would type it."""
    fields = {
        "name": problem["name"], "lot": problem["lot_size"], "unit": problem["unit"],
        "category": "A", "product": "other", "tare": problem["tare"],
        "division": problem["division"], "capacity": problem["capacity"],
    }  # fmt: skip
    for row, one in enumerate(problem["packages"], 1):
        fields |= {f"p{row}_{key}": value for key, value in one.items()}
    return f"{HERE}?{urlencode(fields)}"


@pytest.fixture
def example():
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def test_the_empty_sheet_can_be_read(client, read_page, words):
    """Fields are labelled, nothing is inline, nothing is judged."""
    answer = client.get(HERE)
    page, text = read_page(answer.text), words(answer.text)
    assert answer.status_code == 200
    assert (page.inline, page.unlabelled()) == ([], [])
    assert {"f-lot", "f-p1_gross", "f-p12_tare"} <= page.ids
    assert "The lot" in text
    assert "passes" not in text


def test_the_lot_size_says_how_many_to_draw(client, words, read_page):
    """Before anything is weighed the sheet tells how many packages to draw, a row each."""
    answer = client.get(f"{HERE}?lot=300&category=A")
    assert "Draw 24 of them" in words(answer.text)
    assert "f-p24_gross" in read_page(answer.text).ids
    assert "Draw 3 of them" in words(client.get(f"{HERE}?lot=3").text)


def test_the_documented_lot_is_judged_as_documented(client, words, example):
    """The page tells the plan of the worked example: sentence, packages, rules with their mark."""
    plan = netweight(example)
    text = words(client.get(typed(example)).text)
    assert plan["say"] in text
    assert "T41 1.000 0.995 -0.005 0.044 short" in text
    assert "12 of 12 to be drawn from 40, random weights" in text
    assert text.count("from memory, not checked") >= 8
    for rule in plan["rules"]:
        assert f"{rule['id']}, {rule['text']}" in text


def test_a_package_beyond_its_allowance_stands_out(client, words, example):
    """The lot fails and the row says which."""
    example["packages"][3]["gross"] = "0.98"
    text = words(client.get(typed(example)).text)
    assert "The lot fails on one package: package T44 is 0.05 lb short" in text
    assert "T44 1.000 0.950 -0.050 0.044 BEYOND" in text


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"lot": ""}, "count them and enter how many"),
        ({"lot": "0"}, "Packages in the lot"),
        ({"p1_gross": ""}, "Package 1, gross: weigh it"),
        ({"p1_label": "0"}, "Package 1, labelled net"),
        ({"p1_gross": "heavy"}, "Package 1, gross"),
        ({"p1_gross": "1.026"}, "no reading of a scale"),
        ({"p1_gross": "0.01"}, "over the gross weight"),
        ({"tare": ""}, "tare is missing"),
        ({"division": "0.03"}, "1, 2 or 5"),
        ({"category": "C"}, "Packed"),
        ({"unit": "stone"}, "Unit"),
        ({"p13_gross": "1.00", "p13_label": "1.00"}, "12 of a lot"),
        ({"name": "<script>x</script>", "lot": "x"}, "Packages in the lot"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(client, words, example, change, word):
    """One sentence, status 422, no verdict, nothing of the input as markup."""
    address = typed(example)
    base, _, query = address.partition("?")
    fields = dict(parse_qsl(query)) | change
    answer = client.get(f"{base}?{urlencode(fields)}")
    text = words(answer.text)
    assert answer.status_code == 422
    assert word in text
    assert "The lot passes" not in text
    assert "<script>x" not in answer.text


def test_metric_lots_are_read_in_their_unit(client, words):
    """Grams with the gram column: 113 g, allowed 7.2 g short, step 1 g at the most."""
    fields = {"lot": "1", "unit": "g", "label": "113", "tare": "4", "p1_gross": "115"}
    text = words(client.get(f"{HERE}?{urlencode(fields)}").text)
    assert "its one package is 2 g short, where 7.2 g short is allowed" in text
    assert "largest step of the scale 1 g" in text
