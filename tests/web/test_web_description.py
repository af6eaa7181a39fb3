"""``/openapi.json`` tells what each address takes, to those who are in."""

from __future__ import annotations

import re

import door_shop
import pytest

from collop.web.describing import fields_of


@pytest.fixture
def told(client):
    return client.get("/openapi.json").json()


def operations(told):
    """Return every operation by method and path."""
    return {
        f"{method.upper()} {path}": operation
        for path, methods in told["paths"].items()
        for method, operation in methods.items()
    }


def test_the_kept_fields_are_of_the_routes_there_are(told):
    """A route that is added or goes away is noticed: run scripts/describe."""
    assert set(fields_of()) == set(operations(told))


def test_a_form_on_a_page_has_no_field_that_is_not_told(client):
    """The pages are the source; of the numbered fields of lines the first is told."""
    html = client.get("/sell").text
    form = re.search(r'<form[^>]*action="/sell"[^>]*>(.*?)</form>', html, re.DOTALL)[1]
    sent = {re.sub(r"\d+", "#", name) for name in re.findall(r'\bname="([^"]+)"', form)}
    assert len(sent) > 5
    assert sent <= {re.sub(r"\d+", "#", name) for name in fields_of()["POST /sell"]}


def test_fields_have_kinds_and_examples(told):
    """A day is told as a day, and what may be chosen as the page shows it."""
    found = operations(told)["POST /free-by/book"]["requestBody"]["content"]
    fields = found["application/x-www-form-urlencoded"]["schema"]["properties"]
    assert fields["day"]["format"] == "date"
    assert "C01" in fields["cut1"]["examples"]
    query = {one["name"] for one in operations(told)["GET /codes"]["parameters"]}
    assert {"code", "place", "kind", "number"} <= query


def test_a_stranger_to_a_locked_shop_is_not_told(shop):
    """It lists every door of the house; only those who are in may read it."""
    door_shop.lock(shop)
    stranger = door_shop.client_of(shop)
    answer = stranger.get("/openapi.json", headers={"Sec-Fetch-Mode": "cors"})
    assert answer.status_code == 401
    assert "paths" not in answer.text
    assert door_shop.signed_in(shop, "ines").get("/openapi.json").status_code == 200
