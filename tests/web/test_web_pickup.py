"""The pick-up page, done-and-weighed, and the hand-over they lead to."""

from __future__ import annotations

from datetime import datetime

import pytest

from collop.measures import Weight, WeightUnit
from collop.shop import NO_PACKING
from freshly import fresh

THURSDAY = datetime(2026, 6, 11, 17, 0)  # noqa: DTZ001 -- shop-local
PAGE = "/hook/H8/pick-up"
LB = WeightUnit.LB


def lines(html):
    """Return the fields of a page's buttons; every line has its own."""
    return html.split('<li class="walk-line')


def weigh(client, weighed="4.15", **more):
    form = {"line": "H8-1", "weighed-H8-1": weighed, "reason-H8-1": "cut gave less", "by": "dot",
            "key": "k"} | more  # fmt: skip
    return client.post(f"{PAGE}/weigh", data=form)


def test_the_page_weighs_tells_and_offers(client, clock, words):
    """Short by 17 %, how six eat, each way with its total, the half cent and its rule."""
    clock.put(THURSDAY)
    assert "Short by" not in words(client.get(PAGE).text)
    assert weigh(client).headers["location"] == f"{PAGE}?done=weighed"
    text = words(client.get(PAGE).text)
    assert "Short by 17 %, 0.85 lb: cut gave less" in text
    assert (
        "Six still get 6.9 oz instead of 8.3: a little less than booked, still a full plate."
        in (text)
    )
    assert "36.935 is an exact half cent: half up gives 36.94" in text
    assert "Take 4.15 lb as it is. 36.94 to pay 16.94" in text
    assert "Top up with 0.90 lb of Beef shin on the bone. 42.88 to pay 22.88" in text
    assert "Swap all of it for 5.20 lb of Beef shin on the bone. 34.32" in text
    assert "lot B-41F.03" in text
    assert "Mark packed" in text


def test_money_of_what_is_not_weighed_yet_says_so(client, clock, words):
    """44.50 is what was booked, and no figure of the scale, until the line was weighed."""
    clock.put(THURSDAY)
    before = words(client.get(PAGE).text)
    assert "as booked 44.50" in before
    assert "total, as booked 44.50" in before
    weigh(client, "3.60")
    after = words(client.get(PAGE).text)
    assert "as booked 32.04" not in after
    assert "total 32.04" in after


def test_a_short_line_needs_its_reason_beside_it(client, words):
    """The fault names the reasons and points to them."""
    answer = weigh(client, **{"reason-H8-1": ""})
    assert answer.status_code == 422
    assert 'href="#f-reason-H8-1"' in answer.text
    assert "say why, one of cut gave less" in words(answer.text)
    assert 'value="4.15"' in answer.text


@pytest.mark.parametrize(
    ("form", "where"),
    [({"weighed-H8-1": ""}, "f-weighed-H8-1"), ({"weighed-H8-1": "soup"}, "f-weighed-H8-1"),
     ({"by": ""}, "f-by"), ({"weighed-H8-1": "99"}, "f-weighed-H8-1")],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_field(client, shop, form, where):
    """Nothing is written."""
    answer = weigh(client, **form)
    assert answer.status_code == 422
    assert f'href="#{where}"' in answer.text
    assert f'id="{where}"' in answer.text
    assert shop.booking("H8").lines[0].ready is None


def test_what_was_agreed_is_kept_with_who_and_the_total_seen(client, clock, shop, words):
    """A top-up becomes a line of its own; a total that is not the screen's any more is refused."""
    clock.put(THURSDAY)
    weigh(client)
    form = {"line": "H8-1", "way-H8-1": "top up", "agreed-H8-1": "she said yes", "by": "dot",
            "key": "c", "total-H8-1-top up": "42.88"}  # fmt: skip
    stale = client.post(f"{PAGE}/choose", data=form | {"total-H8-1-top up": "40.00", "key": "x"})
    assert stale.status_code == 409
    assert "Nothing was changed" in words(stale.text)
    assert client.post(f"{PAGE}/choose", data=form).status_code == 303
    booking = shop.booking("H8")
    assert [line.name for line in booking.lines] == ["Beef short ribs", "Beef shin on the bone"]
    assert "she said yes" in booking.events[-1].why
    text = words(client.get(PAGE).text)
    assert "total 42.88" in text


@pytest.mark.parametrize(
    ("change", "where"), [({"agreed-H8-1": ""}, "agreed-H8-1"), ({"way-H8-1": ""}, "way-H8-1")]
)
def test_a_choice_needs_its_words(client, change, where):
    """Without a way or what was agreed nothing is kept."""
    weigh(client)
    form = {"line": "H8-1", "way-H8-1": "take", "agreed-H8-1": "yes", "by": "dot", "key": "c"}
    answer = client.post(f"{PAGE}/choose", data=form | change)
    assert answer.status_code == 422
    assert f'href="#f-{where}"' in answer.text
    assert f'id="f-{where}"' in answer.text


def test_the_enter_key_weighs_all_that_was_filled_in(client, shop, read_page):
    """Sent by no line's button, the changed weights are kept; what was weighed stays as it is."""
    form = {"by": "dot", "key": "e", "weighed-H2-1": "5.0", "weighed-H2-2": "6.0"}
    assert client.post("/hook/H2/pick-up/weigh", data=form).status_code == 303
    again = {"by": "dot", "key": "f", "weighed-H2-1": "5.00", "weighed-H2-4": "8.2"}
    assert client.post("/hook/H2/pick-up/weigh", data=again).status_code == 303
    ready = [line.id for line in shop.booking("H2").lines if line.ready is not None]
    assert ready == ["H2-1", "H2-2", "H2-4"]
    weighed = [one for one in shop.booking("H2").events if one.what == "weighed"]
    assert len(weighed) == 3
    empty = client.post("/hook/H2/pick-up/weigh", data={"by": "dot", "key": "g"})
    assert 'href="#f-weighed-H2-1"' in empty.text


def test_the_enter_key_in_told_by_stops_the_lines(client, shop):
    """With nothing weighed and a call told, the call is kept."""
    form = {"allergen": "sesame", "told": "a mother", "by": "dot", "key": "s"}
    assert client.post("/hook/H2/pick-up/weigh", data=form).status_code == 303
    assert [line.id for line in shop.booking("H2").lines if line.off] == ["H2-5"]


def test_what_comes_instead_is_what_the_screen_offered(client, clock, shop):
    """The cut and the weight that were shown are kept, whatever is nearest by now."""
    clock.put(THURSDAY)
    weigh(client)
    assert 'name="instead-H8-1-top up" value="C15 0.90"' in client.get(PAGE).text
    form = {"line": "H8-1", "way-H8-1": "top up", "agreed-H8-1": "yes", "by": "dot", "key": "c",
            "instead-H8-1-top up": "C07 0.55"}  # fmt: skip
    assert client.post(f"{PAGE}/choose", data=form).status_code == 303
    assert [line.case_id for line in shop.booking("H8").lines] == ["C09", "C07"]


def test_a_hundredth_short_is_told_as_short(client, words):
    """Under half a per cent the weight alone is told, with its reason and ways."""
    weigh(client, "4.99")
    text = words(client.get(PAGE).text)
    assert "Short by 0.01 lb: cut gave less" in text
    assert "What the customer wants" in text


def test_fresh_stock_is_offered_and_taken_on_slip_and_pick_up(client, clock, shop, words):
    """Friday's mince stands in for Tuesday's at the same price; without who, nothing moves."""
    url = "/hook/H2/pick-up/renew"
    assert "Take fresh" not in client.get("/hook/H2").text
    assert "not enough that keeps longer" in words(client.get("/hook/H2/pick-up").text)
    assert client.post(url, data={"renew": "H2-1", "by": "dot", "key": "r"}).status_code == 409
    clock.put(datetime(2026, 6, 12, 9, 0))  # noqa: DTZ001
    fresh(shop, "5.0")
    for page in ("/hook/H2", "/hook/H2/pick-up"):
        assert "Take the fresh 5.00 lb at the same price" in words(client.get(page).text)
    assert client.post(url, data={"renew": "H2-1", "key": "r2"}).status_code == 422
    done = client.post(url, data={"renew": "H2-1", "by": "dot", "key": "r3"})
    assert done.headers["location"] == "/hook/H2/pick-up?done=renewed"
    assert shop.booking("H2").lines[0].lots == ("C11-fresh-12",)
    assert "taken from fresh" in words(client.get("/hook/H2").text)
    assert client.post(url, data={"renew": "soup", "by": "dot", "key": "r4"}).status_code == 409


def test_a_hand_over_that_is_refused_keeps_nothing_of_what_was_agreed(client, clock, shop):
    """One line past its day refuses all: the top-up of another is not added by itself."""
    clock.put(datetime(2026, 6, 12, 9, 0))  # noqa: DTZ001
    before = shop.booking("H2")
    form = {f"weighed-{line.id}": str(line.held.decimal(LB)) for line in before.lines}
    form |= {"weighed-H2-2": "5.0", "choice-H2-2": "top-up", "do": "hand-over", "by": "dot"}
    answer = client.post("/hook/H2/hand-over", data=form | {"key": "h"})
    assert answer.status_code == 409
    assert shop.booking("H2") == before


def test_the_per_cent_of_a_short_line_is_rounded_half_up_on_both_pages(client, words):
    """4.375 of 5.0 lb is 12.5 % short: 13 % at the pick-up and at the hand-over."""
    weigh(client, "4.375")
    assert "Short by 13 %" in words(client.get(PAGE).text)
    form = {"weighed-H8-1": "4.375", "do": "check"}
    assert "Short by 13 %" in words(client.post("/hook/H8/hand-over", data=form).text)


def test_bench_and_case_lead_to_done_and_weighed(client, read_page):
    """The panel of a booked line and the page of a case line point to their own form."""
    assert "/works?what=H8-1" in read_page(client.get("/bench?line=H8-1").text).links
    assert "/works?what=C01" in read_page(client.get("/case/C01/cook").text).links
    assert 'value="C01" selected' in client.get("/works?what=C01").text


def test_a_worked_pack_has_its_own_ticket(client, shop, words):
    """The boned legs are a pack of their own by name, lot, and the price that keeps the value."""
    shop.pickup.work("H1-1", Weight.of("13", LB), Weight.of("9.36", LB), words="boned and tied",
                     by="marek", key="w")  # fmt: skip
    text = words(client.get("/tickets/booking/H1").text)
    assert "Lamb leg, boned and tied H1-1, 9.36 lb of it" in text
    assert "at 15.56 / lb keeps its value" in text
    end = "H1-1.C35"
    form = {f"gross-{end}": "9.36", f"lot-{end}": "C01-0609.01", f"tare-{end}": NO_PACKING,
            "by": "marek", "key": "t"}  # fmt: skip
    answer = client.post("/tickets/booking/H1", data=form)
    assert answer.status_code == 303, words(answer.text)
    (kept,) = (one for one in shop.tickets.tickets_of(booking="H1") if one.case_id == "C35")
    assert (kept.name, kept.booking_line, kept.lot) == (
        "Lamb leg, boned and tied", "H1-1", "C01-0609.01",
    )  # fmt: skip
    assert (str(kept.price.amount), str(kept.total)) == ("15.56", "145.64")


def test_taking_back_without_who_or_what_is_told_at_its_field(client, shop):
    """The form of its own has faults of its own."""
    shop.pickup.work("H1-1", Weight.of("13", LB), Weight.of("9.36", LB), words="boned",
                     by="marek", key="w")  # fmt: skip
    answer = client.post("/works/take-back", data={"what": "H1-1", "number": "x", "key": "b"})
    assert answer.status_code == 422
    for name in ("number", "back-by"):
        assert f'href="#f-{name}"' in answer.text
        assert f'id="f-{name}"' in answer.text


def test_a_line_that_is_none_is_told(client, words):
    """A made-up line is a sentence, not a failure."""
    answer = weigh(client, line="H8-9", **{"weighed-H8-9": "1.0"})
    assert answer.status_code == 409
    assert "no booked line" in words(answer.text)


def test_the_form_of_the_page_carries_what_it_showed(client, read_page):
    """Sent as a browser would, the fields are those the page reads; every field has a label."""
    weigh(client)
    page = read_page(client.get(PAGE).text)
    assert page.unlabelled() == []
    assert page.inline == []
    (form,) = [
        sent for action, sent in page.forms.items() if ("line" in dict(sent) or action == "")
    ]
    names = {name for name, _ in form}
    assert {"key", "unit", "weighed-H8-1", "total-H8-1-take"} <= names


def test_sesame_is_stopped_from_the_page(client, shop, words):
    """Weight and money come off; the line is shown as off; never is anything called free of it."""
    form = {"allergen": "sesame", "told": "a mother, by telephone", "by": "dot", "key": "s"}
    assert client.post("/hook/H2/pick-up/stop", data=form).status_code == 303
    assert [line.id for line in shop.booking("H2").lines if line.off] == ["H2-5"]
    text = words(client.get("/hook/H2/pick-up?done=stopped").text)
    assert "Chicken thigh, soy-sesame off" in text
    assert "18.0 lb of boneless meat stays" in text
    assert "free from" not in text.lower()
    slip = words(client.get("/hook/H2").text)
    assert "sesame: 2.00 lb of Chicken thigh, soy-sesame off, 16.20" in slip
    bad = client.post("/hook/H2/pick-up/stop", data=form | {"told": "", "allergen": "", "key": "t"})
    assert bad.status_code == 422
    assert 'href="#f-allergen"' in bad.text
    assert 'href="#f-told"' in bad.text


def test_the_hand_over_begins_with_what_was_weighed(client, clock, shop, words):
    """4.15 is in the field, and handing over as shown charges it."""
    clock.put(THURSDAY)
    weigh(client)
    page = client.get("/hook/H8/hand-over").text
    assert 'value="4.15"' in page
    form = {"weighed-H8-1": "4.15", "do": "hand-over", "by": "dot", "key": "h"}
    assert client.post("/hook/H8/hand-over", data=form).status_code == 303
    assert str(shop.slip("H8").total) == "36.94"
    text = words(client.get("/hook/H8").text)
    assert "Beef short ribs: 36.935 is an exact half cent: half up gives 36.94." in text


def test_a_packed_booking_is_topped_up_at_hand_over(client, clock, shop):
    """What is agreed at the glass is added though the order is packed."""
    clock.put(THURSDAY)
    shop.change_state("H8", "packed", by="dot", key="p")
    form = {"weighed-H8-1": "4.15", "choice-H8-1": "top-up", "do": "hand-over", "by": "dot",
            "key": "h"}  # fmt: skip
    assert client.post("/hook/H8/hand-over", data=form).status_code == 303
    assert str(shop.slip("H8").total) == "42.88"


def test_work_is_kept_shown_and_taken_back(client, shop, words, read_page):
    """13.0 to 9.36 lb on the page: the line it became, the price it keeps, and back."""
    page = client.get("/works?what=H1-1")
    assert "H1-1, Lamb leg, bone in: 26.00 lb held" in words(page.text)
    assert read_page(page.text).unlabelled() == []
    form = {"what": "H1-1", "before": "13.0", "after": "9.36", "words": "boned and tied",
            "rest": "bone", "by": "marek", "key": "w"}  # fmt: skip
    assert client.post("/works", data=form).headers["location"] == "/works?done=work&what=H1-1"
    text = words(client.get("/works?what=H1-1").text)
    assert "Lamb leg, boned and tied of Lamb leg, bone in, boned and tied" in text
    assert "13.00 lb 9.36 lb 3.64 lb bone 15.56 /lb 15.56 /lb" in text
    slip = words(client.get("/hook/H1").text)
    assert "worked on: paid for as it was bought" in slip
    walk = words(client.get("/hook/H1/hand-over").text)
    assert "worked on: the parcel weighs 22.36 lb" in walk
    (done,) = shop.pickup.works()
    back = {"number": str(done.number), "what": "H1-1", "by": "marek", "key": "b"}
    assert client.post("/works/take-back", data=back).status_code == 303
    assert shop.pickup.works()[0].taken_back
    assert client.post("/works/take-back", data=back | {"key": "c"}).status_code == 409


@pytest.mark.parametrize(
    ("change", "where"),
    [({"what": ""}, "what"), ({"before": ""}, "before"), ({"after": "x"}, "after"),
     ({"after": "14"}, "after"), ({"words": ""}, "words"), ({"rest": "sea"}, "rest"),
     ({"by": ""}, "by"), ({"into": "C09"}, "into")],
)  # fmt: skip
def test_work_that_cannot_be_is_told_at_its_field(client, shop, change, where):
    """Each fault is in the summary and at its field."""
    form = {"what": "H1-1", "before": "13.0", "after": "9.36", "words": "boned", "rest": "bone",
            "by": "marek", "key": "w"} | change  # fmt: skip
    answer = client.post("/works", data=form)
    assert answer.status_code == 422
    assert f'href="#f-{where}"' in answer.text
    assert f'id="f-{where}"' in answer.text
    assert shop.pickup.works() == ()


def test_more_than_there_is_is_a_sentence(client, words):
    """What is not held cannot be worked on."""
    form = {"what": "H1-1", "before": "30", "after": "20", "words": "boned", "by": "marek",
            "key": "w"}  # fmt: skip
    answer = client.post("/works", data=form)
    assert answer.status_code == 409
    assert "26.00 lb of H1-1 is there to be worked on" in words(answer.text)


def test_every_page_tells_the_money_of_what_was_weighed_ahead(client, clock, words):
    """H8: 3.60 of 5.00 lb at 8.90 is 32.04, 12.04 to pay; 44.50 stands beside it as booked."""
    clock.put(THURSDAY)
    weigh(client, "3.60")
    slip = words(client.get("/hook/H8").text)
    assert "As booked 44.50" in slip
    assert "Total, weighed ahead 32.04" in slip
    assert "To pay 12.04" in slip
    sell = words(client.get("/sell/H8").text)
    assert "Beef short ribs 32.04 3.60 lb weighed ahead, 5.00 lb booked" in sell
    assert "As booked 44.50" in sell
    assert "To pay at hand-over 12.04" in sell
    assert "24.50" not in slip + sell
    pickup = words(client.get(PAGE).text)
    assert "as booked 44.50 total 32.04" in pickup
    assert "to pay 12.04" in pickup
    told = words(client.get("/hook/to-tell?day=2026-06-11").text)
    assert "32.04 so far, 20.00 paid down, 12.04 to pay." in told
    assert "28 % short: 3.60 lb instead of 5.00 lb." in told
    assert "weighed ahead 3.60 lb" in words(client.get("/tickets/booking/H8").text)


def test_what_was_topped_up_is_not_offered_again(client, clock, shop, words):
    """Neither the pick-up nor the hand-over tells a line as short that was topped up."""
    clock.put(THURSDAY)
    weigh(client, "3.60")
    shop.pickup.choose("H8-1", "top up", "rang him", by="dot", key="top")
    text = words(client.get(PAGE).text)
    assert "topped up with 1.45 lb of Beef shin on the bone" in text
    assert "Short by" not in text
    assert "Top up with" not in text
    form = {"weighed-H8-1": "3.60", "weighed-H8-2": "1.45", "do": "check", "key": "k"}
    text = words(client.post("/hook/H8/hand-over", data=form).text)
    assert "topped up with 1.45 lb of Beef shin on the bone" in text
    assert "the slip would come to" not in text


def test_what_is_not_all_there_leads_to_what_is_missing(client, shop, words):
    """Pick-up and hand-over say what is still to come, with a way there and none to hand over."""
    shop.bench.want("H8", "C07", Weight.of("1", LB), by="dot", key="want")
    for page in (PAGE, "/hook/H8/hand-over"):
        html = client.get(page).text
        assert "1.00 lb of Beef chuck eye steaks still to come" in words(html)
        assert 'href="/hook/to-tell">Set aside' in html
        assert 'value="hand-over"' not in html
        assert "to give back" not in words(html)
    form = {"weighed-H8-1": "5", "do": "hand-over", "by": "dot", "key": "k"}
    answer = client.post("/hook/H8/hand-over", data=form)
    assert answer.status_code == 409
    assert "still to come" in words(answer.text)
    assert shop.booking("H8").state.holds
    answer = client.post(f"{PAGE}/without", data={"by": "dot", "key": "k"})
    assert answer.headers["location"] == f"{PAGE}?done=without"
    assert "still to come" not in words(client.get(PAGE).text)
    assert client.post("/hook/H8/hand-over", data=form).status_code == 303
