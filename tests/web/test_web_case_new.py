"""A new line of the case."""

from __future__ import annotations

import pytest

GOOD = {"key": "k", "name": "Beef cheek", "species": "beef", "price": "12.50", "keeps_days": "4",
        "form": "fresh", "boneless": "95", "cook_as": "whole", "by_piece": "no",
        "contains": "mustard, celery", "casing": "", "by": "ines"}  # fmt: skip


def test_a_new_line_is_on_the_case_with_its_price(client, shop):
    """It is there with its contents, and nothing of it yet."""
    assert client.get("/case/new").status_code == 200
    answer = client.post("/case/new", data=GOOD)
    assert (answer.status_code, answer.headers["location"]) == (303, "/case")
    line = shop.case()[-1]
    assert (line.name, str(line.price.amount), line.contains) == (
        "Beef cheek", "12.50", ("mustard", "celery"),
    )  # fmt: skip
    assert not line.on_hand


def test_a_line_with_dishes_is_offered(client, shop):
    """Stock on it is suggested by a spread, with the middle score."""
    data = GOOD | {"style": ["plate", "stew"], "from": "160", "to": "120", "method": "braise"}
    assert client.post("/case/new", data=data).status_code == 303
    line = shop.case()[-1]
    assert (dict(line.styles), line.minutes, line.method) == (
        {"plate": 0.6, "stew": 0.6}, (120, 160), "braise",
    )  # fmt: skip
    shop.cutting.put_in_case("B-41F.06", "block", line.id, by="ines", key="put")
    assert any(one["id"] == line.id for one in shop.offers())


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": ""}, "write what the line is called"),
        ({"name": "Beef rump"}, "already"),
        ({"species": ""}, "Species"),
        ({"price": "0"}, "Price"),
        ({"keeps_days": "x"}, "Keeps"),
        ({"boneless": "101"}, "Boneless"),
        ({"form": "warm"}, "Form"),
        ({"cook_as": "raw"}, "Cooking rule"),
        ({"cook_as": ""}, "Cooking rule: choose one"),
        ({"species": "duck", "name": "Duck legs"}, "choose poultry"),
        ({"name": "Beef links"}, "choose ground"),
        ({"species": "pork", "name": "Ham", "cook_as": "none"}, "food without meat"),
        ({"from": "x"}, "Minutes"),
        ({"contains": "wheat, mustrd"}, "mustard"),
        ({"casing": "cat"}, "Casing"),
        ({"by": ""}, "choose who"),
    ],
)
def test_a_fault_stands_beside_its_field(client, shop, words, change, says):
    """What was typed stays, and no line is added."""
    before = len(shop.case())
    answer = client.post("/case/new", data=GOOD | change)
    assert answer.status_code == 422
    assert says in words(answer.text)
    assert len(shop.case()) == before


def test_no_cooking_rule_is_chosen_before_somebody_does(client, shop):
    """The form begins with none, and without the field nothing is added; the fault is beside it."""
    page = client.get("/case/new").text
    begin = page.index('id="f-cook_as"')
    assert "selected" in page[begin : page.index("</option>", begin)]
    assert '<option value="" selected>choose' in page[begin:]
    before = len(shop.case())
    answer = client.post("/case/new", data={k: v for k, v in GOOD.items() if k != "cook_as"})
    assert answer.status_code == 422
    assert 'href="#f-cook_as"' in answer.text
    assert len(shop.case()) == before
