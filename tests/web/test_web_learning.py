"""The page of what was learned, and the question how an order ate."""

from __future__ import annotations

import pytest
from sqlalchemy import text as sql

from collop.measures import Weight, WeightUnit


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


def send(client, path, **fields):
    return client.post(path, data={"key": "k1", "by": "dot"} | fields)


@pytest.fixture
def told_rows(shop):
    """Return a function that reads the shop's tables."""

    def read(query):
        with shop._room.store.read() as conn:
            return [tuple(row) for row in conn.execute(sql(query))]

    return read


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
    assert '<option value="1">1: Lamb leg' in text
    assert send(client, "/learning/test/back", key="k2", number="1", by="ines").status_code == 303
    assert "taken back" in client.get("/learning").text
    assert shop.learning.tests()[0].is_taken_back is True


def test_who_takes_a_test_back_is_asked_for_and_written_down(client, shop, told_rows):
    """Marek's test is not taken back in Marek's name: nobody named, nothing is done."""
    shop.learning.test("C01", lb("13"), lb("9"), by="marek", key="t")
    answer = client.post("/learning/test/back", data={"key": "k2", "number": "1"})
    assert answer.status_code == 422
    assert 'href="#f-back_by"' in answer.text
    assert 'id="f-back_by"' in answer.text
    assert shop.learning.tests()[0].is_taken_back is False
    assert send(client, "/learning/test/back", key="k3", number="1", by="ines").status_code == 303
    assert told_rows("SELECT by_id FROM cutting_tests ORDER BY number") == [("marek",), ("ines",)]
    gone = send(client, "/learning/test/back", key="k4", number="1", by="ines")
    assert gone.status_code == 422
    assert "There is no cutting test 1 to take back" in gone.text


def test_a_test_that_cannot_be_keeps_what_was_typed(client, shop):
    """More after the knife than before is said beside the field."""
    answer = send(client, "/learning/test", case_id="C01", before="9", after="13", unit="lb")
    assert answer.status_code == 422
    assert 'href="#f-after"' in answer.text
    assert 'value="13"' in answer.text
    assert shop.learning.tests() == ()


def test_an_order_that_has_not_gone_is_not_asked_of(client):
    """Its slip has no question, and the page says why; told all the same, nothing is written."""
    assert "/hook/H2/ate" not in client.get("/hook/H2").text
    page = client.get("/hook/H2/ate").text
    assert "Only an order that went can be told; H2 is booked." in page
    assert '<form method="post" action="/hook/H2/ate"' not in page
    answer = send(client, "/hook/H2/ate", left="some", usual="18", child="0", big="16")
    assert answer.status_code == 409
    assert "only an order that went can be told" in answer.text


@pytest.mark.usefixtures("rowers_gone")
def test_the_slip_of_an_order_that_went_asks_how_it_ate(client):
    """One line leads from the slip to the question."""
    assert '<a href="/hook/H2/ate">How did it eat?</a>' in client.get("/hook/H2").text


def test_reckoning_leads_to_what_was_learned(client):
    """The links of the reckoning have it, and its page shows where it stands."""
    assert 'href="/learning"' in client.get("/reckoning").text
    assert 'href="/learning" aria-current="page"' in client.get("/learning").text


def test_children_and_big_eaters_of_the_ask_are_filled_in(client, shop, read_page):
    """Asked for 20 with 4 children and 6 big eaters, the question begins with 10, 4 and 6."""
    ask = "heads=20&child=4&big=6&money=400&day=2026-06-12&time=18:30"
    form = read_page(client.get(f"/ask?{ask}").text).form("/ask/quote")
    quote = client.post("/ask/quote", data=form).headers["location"]
    who = {"name": "Party", "phone": "4471", "day": "2026-06-12", "time": "16:00", "by": "dot"}
    form = read_page(client.get(quote).text).form(quote) | who
    answer = client.post(quote, data=form)
    assert answer.status_code == 303, answer.text
    booked = shop.booking(answer.headers["location"].rpartition("/")[2].partition("?")[0])
    assert (booked.ask["child"], booked.ask["big"]) == (4, 6)
    weights = {one.id: one.weight for one in booked.lines}
    shop.hand_over(booked.id, weights, by="dot", key="party gone")
    form = read_page(client.get(f"/hook/{booked.id}/ate").text).form(f"/hook/{booked.id}/ate")
    assert [form[name] for name in ("usual", "child", "big")] == [["10"], ["4"], ["6"]]
