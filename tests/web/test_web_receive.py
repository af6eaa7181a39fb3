"""Receiving: scale against invoice, limit and papers, one to four pieces, and what it leads to."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from monday import hanging, open_monday, pounds

LAMB = {
    "tag": "L-210", "species": "lamb", "farm": "Saltgrass Holding", "killed_on": "2026-06-06",
    "piece-1": "lamb carcass", "what-1": "whole", "weight-1": "51.2", "unit": "lb",
    "invoiced": "51.6", "is_hot": "cold", "price": "6.30", "price_per": "lb", "haulage": "4.50",
    "temperature": "38", "degrees": "F", "papers": ["inspection mark", "invoice"],
    "note": "", "by": "ines", "key": "l210", "do": "receive",
}  # fmt: skip


@pytest.fixture
def shop(tmp_path_factory, tmp_path):
    opened = open_monday(tmp_path_factory, tmp_path)
    yield opened
    opened.close()


def send(client, **changed):
    """Send the form of a lamb with some fields changed."""
    return client.post("/rail/receive", data=LAMB | changed)


def test_a_lamb_is_taken_in_and_hangs(shop, client, words):
    """The delivery says gap, days since kill and cost; the rail has one hook more."""
    answer = send(client)
    assert answer.status_code == 303
    page = client.get(answer.headers["location"])
    text = words(page.text)
    for said in ("51.20 lb", "51.60 lb", "0.40 lb less than billed", "(-0.8 %)",
                 "Days since kill 2", "Cost with haulage 329.58", "38 °F (3 °C)"):  # fmt: skip
        assert said in text
    piece = hanging(shop, "L-210")
    assert (piece.weight_in, piece.piece, piece.what) == (pounds("51.2"), "lamb carcass", "whole")
    assert str(piece.paid) == "329.58"
    assert client.get("/rail").text.count('class="hung"') == 10
    assert shop.check() == []


def test_the_gap_can_be_worked_out_before_anything_is_written(shop, client, words):
    """Scale against invoice, days, cost and missing papers; nothing hangs yet."""
    answer = send(client, do="check", papers=["inspection mark"])
    assert answer.status_code == 200
    text = words(answer.text)
    assert "Scale 51.20 lb, invoice 51.60 lb: 0.40 lb less than billed (-0.8 %)." in text
    assert "2 days since kill. Cost with haulage 329.58." in text
    assert "Papers missing: invoice." in text
    assert hanging(shop, "L-210") is None
    assert 'value="51.6"' in answer.text


def test_a_form_sent_twice_is_one_delivery(shop, client):
    """The same key takes the animal in once, and both lead to the same page."""
    assert send(client).headers["location"] == send(client).headers["location"]
    assert hanging(shop, "L-210").weight_now == pounds("51.2")


def test_quarters_hang_each_under_its_own_tag(shop, client):
    """Two pieces of one animal with its cost shared by weight."""
    answer = send(
        client, tag="B-43", species="beef", invoiced="327", price="4.15", key="b43",
        **{"piece-1": "beef forequarter", "tag-1": "B-43F", "weight-1": "174", "what-1": "",
           "piece-2": "beef hindquarter", "tag-2": "B-43H", "weight-2": "152", "what-2": ""},
    )  # fmt: skip
    assert answer.status_code == 303
    fore, hind = hanging(shop, "B-43F"), hanging(shop, "B-43H")
    assert (fore.what, hind.weight_in) == ("beef forequarter", pounds("152"))
    assert (
        fore.paid + hind.paid
        == shop.cutting.delivery(int(answer.headers["location"].rsplit("/", 1)[1])).cost
    )
    assert hanging(shop, "B-43") is None


def test_what_is_over_the_limit_is_refused_and_shown_the_second_way(shop, client, words):
    """46 degF: the sentence of the room and the tick; ticked, it is to be cooled in time."""
    answer = send(client, temperature="46")
    assert answer.status_code == 409
    text = words(answer.text)
    assert "L-210 is 46.0 °F (7.8 °C) and the limit at the door is 41.0 °F (5.0 °C)" in text
    assert "arrived warm as the law allows" in text
    assert "Nothing was written." in text
    assert hanging(shop, "L-210") is None
    answer = send(client, temperature="46", warm="yes", key="l210b")
    assert answer.status_code == 303
    text = words(client.get(answer.headers["location"]).text)
    assert "cool it to 41 °F (5 °C) or colder by Mon 10:00" in text


def test_the_tick_is_not_offered_to_what_is_cold(client):
    """Under the limit there is no second way to choose."""
    assert "arrived warm" not in client.get("/rail/receive").text
    assert "arrived warm" not in send(client, do="check").text


def test_meat_without_a_mark_is_not_taken_in(shop, client, words):
    """The room's sentence, and the form as it was."""
    answer = send(client, papers=["invoice"])
    assert answer.status_code == 409
    assert "inspection mark of L-210 is not ticked" in words(answer.text)
    assert hanging(shop, "L-210") is None


def test_a_missing_paper_is_said_on_the_delivery(client, words):
    """The mark came, the invoice did not."""
    answer = send(client, papers=["inspection mark"])
    text = words(client.get(answer.headers["location"]).text)
    assert "Papers missing: invoice." in text


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"tag": ""}, "tag", "Tag of the animal: enter it"),
        ({"species": ""}, "species", "is not known here"),
        ({"temperature": ""}, "temperature", "say below why it was not measured"),
        ({"farm": ""}, "farm", "Farm: enter it"),
        ({"killed_on": "2026-06-09"}, "killed_on", "that day lies ahead"),
        ({"killed_on": "June"}, "killed_on", "Killed on: choose a day"),
        ({"weight-1": ""}, "weight-1", "weight on the scale: enter what the scale says"),
        ({"weight-1": "heavy"}, "weight-1", "write the weight like"),
        ({"weight-1": "0"}, "weight-1", "weigh more than 0"),
        ({"piece-1": ""}, "piece-1", "choose what it is"),
        ({"piece-1": "wing"}, "piece-1", "is not known here"),
        ({"piece-1": "beef side"}, "piece-1", "beef side is beef, and the animal is lamb"),
        ({"piece-1": "other", "what-1": ""}, "what-1", "what it is: enter it"),
        ({"tag-1": "L-211"}, "tag-1", "its tag is L-210"),
        ({"tag-2": "L-211", "piece-2": "lamb carcass", "weight-2": "9"}, "tag-1", "tag: enter it"),
        ({"invoiced": ""}, "invoiced", "Weight on the invoice: enter"),
        ({"invoiced": "0"}, "invoiced", "must be more than 0"),
        ({"invoiced": "116"}, "invoiced", "weigh again, or check the unit"),
        ({"price": "much"}, "price", "Price: write an amount"),
        ({"price": "6.30", "price_per": "stone"}, "price", "Price per:"),
        ({"haulage": "-4"}, "haulage", "Haulage:"),
        ({"temperature": "cold"}, "temperature", "write the degrees"),
        ({"temperature": "145", "degrees": "C"}, "temperature", "is it 145 °C?"),
        ({"by": ""}, "by", "Who: choose who does this."),
        ({"by": "nobody"}, "by", "is not known here"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(shop, client, read_page, changed, field, said):
    """422, the sentence, a link to a field that is there; nothing is written."""
    answer = send(client, **changed)
    assert answer.status_code == 422
    assert said in answer.text
    assert f'href="#f-{field}"' in answer.text
    page = read_page(answer.text)
    assert {f"f-{field}", f"e-{field}"} <= page.ids
    assert hanging(shop, "L-210") is None
    assert shop.check() == []


def test_celsius_and_kilograms_are_read_by_the_form_s_own_labels(shop, client):
    """3.5 C and kilograms, also when the unit stands in the field itself."""
    answer = send(client, unit="kg", **{"weight-1": "23.2", "invoiced": "23.4"},
                  price="13.9", price_per="kg", temperature="3.5 C", degrees="F")  # fmt: skip
    delivery = shop.cutting.delivery(int(answer.headers["location"].rsplit("/", 1)[1]))
    assert (str(delivery.weighed.unit), delivery.weighed.text()) == ("kg", "23.20 kg")
    assert delivery.temperature.in_celsius() == 3.5
    assert str(delivery.cost) == "329.76"


def test_a_piece_in_one_s_own_words_is_cut_by_a_style_of_its_species(shop, client, words):
    """Other: half a lamb; the lamb's style is offered."""
    changed = {"piece-1": "other", "what-1": "half lamb"}
    assert send(client, **changed).status_code == 303
    assert hanging(shop, "L-210").piece == "half lamb"
    assert "Lamb for the case" in words(client.get("/knife?tag=L-210").text)


def test_a_temperature_that_was_not_taken_is_said_why(shop, client, words):
    """The reason stands on the delivery."""
    answer = send(client, temperature="", not_measured="probe broken")
    assert answer.status_code == 303
    assert "probe broken" in words(client.get(answer.headers["location"]).text)


def test_a_form_that_was_sent_already_is_told_and_gets_a_new_key(shop, client, read_page):
    """Back, another animal, the same form: not one act, and no dead end."""
    assert send(client, key="one").status_code == 303
    again = send(client, key="one", tag="L-211")
    assert again.status_code == 422
    assert "was sent already" in again.text
    assert 'value="one"' not in again.text


def test_without_a_style_a_starting_plan_is_shown_and_may_be_taken_over(client, words):
    """Nobody sent a duck before: parts, shares and where each figure comes from, and the way on."""
    send(client, **{"species": "duck", "piece-1": "whole duck"})
    text = words(client.get("/knife?tag=L-210").text)
    assert "No style of the shop cuts whole duck yet" in text
    assert "A starting plan from the tables" in text
    assert "Of 51.20 lb" in text
    assert "common practice, no published source" in text
    assert "Take a style over" in text
    client.post("/styles", data={"key": "s", "piece": "whole duck", "by": "ines"})
    assert "Whole duck, starting figures" in words(client.get("/knife?tag=L-210").text)


def test_the_form_names_every_field_and_holds_nothing_inline(client, read_page):
    """Labels for all, no inline script or style, empty and with faults."""
    for answer in (client.get("/rail/receive"), send(client, tag="", temperature="46")):
        page = read_page(answer.text)
        assert page.unlabelled() == []
        assert page.inline == []


def test_a_delivery_that_is_not_there_is_a_plain_page(client):
    """404 and the room's sentence; also for a number no database holds."""
    for number in (999, 10**30):
        answer = client.get(f"/rail/receive/{number}")
        assert answer.status_code == 404
        assert "There is no delivery" in answer.text


_TEXT = st.text(max_size=30)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fields=st.dictionaries(st.sampled_from([name for name in LAMB if name != "papers"]), _TEXT))
def test_whatever_is_typed_is_read_or_refused(client, fields):
    """No text in any field breaks the page: an answer below 500 each time."""
    assert client.post("/rail/receive", data=LAMB | fields).status_code < 500
