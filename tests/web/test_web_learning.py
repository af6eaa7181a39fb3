"""The page of what was learned, and the question how an order ate."""

from __future__ import annotations

import pytest


def send(client, path, **fields):
    return client.post(path, data={"key": "k1", "by": "dot"} | fields)


@pytest.fixture
def rowers_gone(shop):
    weights = {one.id: one.weight for one in shop.booking("H2").lines}
    shop.hand_over("H2", weights, by="dot", key="gone")


def test_the_empty_page_says_where_to_begin(client):
    """Without orders, tests or sales each part says what it goes by."""
    text = client.get("/learning").text
    assert "portions are those of the tables" in text
    assert "the order's page has the question" in text
    assert "No day with sales at the glass yet" in text


@pytest.mark.usefixtures("rowers_gone")
def test_an_order_that_went_waits_to_be_told_and_then_stands_in_the_table(client, shop):
    """The rowers are on the list; told, they leave it and their row shows 10 %."""
    assert '<a href="/hook/H2/ate">' in client.get("/learning").text
    form = client.get("/hook/H2/ate").text
    assert "How did it eat?" in form
    answer = send(client, "/hook/H2/ate", left="some", usual="18", child="0", big="16")
    assert (answer.status_code, answer.headers["location"]) == (303, "/learning?done=ate")
    text = client.get("/learning").text
    assert '<a href="/hook/H2/ate">' not in text
    assert "<td>10 %</td>" in text
    assert len(shop.learning.told()) == 1


@pytest.mark.usefixtures("rowers_gone")
def test_what_is_missing_is_named_beside_its_field_and_nothing_is_kept(client, shop):
    """No word on the food, nobody named, heads that are none."""
    answer = client.post("/hook/H2/ate", data={"key": "k", "usual": "many"})
    assert answer.status_code == 422
    for name in ("left", "by", "usual"):
        assert f'href="#f-{name}"' in answer.text
    assert shop.learning.told() == ()


def test_a_cutting_test_is_written_and_taken_back(client, shop):
    """13 lb to 9: the share moves and the list offers to take the test back."""
    answer = send(client, "/learning/test", case_id="C01", before="13", after="9", unit="lb")
    assert answer.status_code == 303
    assert "69" not in str(shop.learning.boneless("C01").written)
    text = client.get("/learning?done=test").text
    assert "The cutting test is written down." in text
    assert "Take test 1 back" in text
    assert send(client, "/learning/test/1/back", key="k2").status_code == 303
    assert "taken back" in client.get("/learning").text


def test_a_test_that_cannot_be_keeps_what_was_typed(client, shop):
    """More after the knife than before is said beside the field."""
    answer = send(client, "/learning/test", case_id="C01", before="9", after="13", unit="lb")
    assert answer.status_code == 422
    assert 'href="#f-after"' in answer.text
    assert 'value="13"' in answer.text
    assert shop.learning.tests() == ()
