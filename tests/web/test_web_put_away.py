"""Put away: what waits goes to the case or out, and counts are written."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit


def at(shop, place):
    return sum(one.weight.count for one in shop.cutting.stock() if one.place == place)


def pounds(text):
    return Weight.of(text, WeightUnit.LB).count


def form(**more):
    return {"key": "k", "lot": "B-41F.07", "place": "trim", "by": "marek"} | more


def test_what_waits_is_shown_place_by_place(client, words):
    """Monday's trim, bone, fat and the freezer order's meat wait outside the case."""
    text = words(client.get("/put-away").text)
    for word in ("On the block 40.00 lb Chuck and rib", "38.60 lb Trim", "27.40 lb Bone"):
        assert word in text
    assert "Put away, bin, count" in words(client.get("/case").text)


def test_trim_is_put_in_the_case(client, shop, words):
    """Ten of 38.6 lb become mince."""
    answer = client.post("/put-away", data=form(do="case", case_id="C11", weight="10"))
    assert (answer.status_code, answer.headers["location"]) == (303, "/put-away?done=case")
    assert at(shop, "trim") == pounds("28.6")
    assert "It is in the case" in words(client.get("/put-away?done=case").text)


def test_all_of_a_lot_is_binned_with_a_reason(client, shop):
    """An empty weight means all of it."""
    data = form(do="bin", lot="B-41F.09", place="bone", why="collected")
    assert client.post("/put-away", data=data).status_code == 303
    assert at(shop, "bone") == 0


def test_a_lot_and_a_case_line_are_counted(client, shop):
    """The gap is written down: less is drip."""
    assert client.post("/put-away", data=form(do="count", weight="38.4")).status_code == 303
    assert at(shop, "trim") == pounds("38.4")
    data = {"key": "c", "case_id": "C13", "counted": "10.9", "by": "dot"}
    assert client.post("/put-away/count", data=data).status_code == 303
    (line,) = [one for one in shop.case() if one.id == "C13"]
    assert line.on_hand.count == pounds("10.9")


@pytest.mark.parametrize(
    ("path", "more", "says"),
    [
        ("", {"do": "case", "weight": "1"}, "choose where it goes"),
        ("", {"do": "case", "weight": "1", "case_id": "C02"}, "is beef, and Lamb shoulder"),
        ("", {"do": "case", "weight": "99", "case_id": "C11"}, "38.60 lb of B-41F.07 is free"),
        ("", {"do": "bin", "weight": "1"}, "say why it is binned"),
        ("", {"do": "count"}, "put it on the scale"),
        ("", {"do": "count", "weight": "abc"}, "write the weight like"),
        ("", {"do": "count", "weight": "99"}, "count again"),
        ("", {"do": "bin", "place": "rail", "lot": "B-42", "why": "x"}, "is not known here"),
        ("", {"do": "fly", "weight": "1"}, "is not known here"),
        ("", {"do": "count", "weight": "1", "by": ""}, "choose who does this"),
        ("/count", {"case_id": "C13", "counted": ""}, "put all of the line on the scale"),
        ("/count", {"case_id": "C13", "counted": "3", "sure": "3"}, "is promised"),
        ("/count", {"case_id": "C13", "counted": "3"}, "count again"),
        ("/count", {"case_id": "C99", "counted": "3"}, "There is no case line"),
        ("/count", {"case_id": "C13", "counted": "3", "by": ""}, "choose who does this"),
    ],
)
def test_a_fault_is_told_and_nothing_moves(client, shop, words, path, more, says):
    """What was typed stays, the sentence stands beside the field, and the ledger is as it was."""
    before = shop.cutting.stock()
    answer = client.post(f"/put-away{path}", data=form(**more))
    assert answer.status_code == 422
    assert says in words(answer.text)
    assert shop.cutting.stock() == before


def test_a_piece_under_the_knife_does_not_wait(client, shop, words):
    """It is weighed part by part on the Knife page."""
    shop.cutting.start_break("L-207", "lamb", by="marek", key="s")
    assert "L-207" not in words(client.get("/put-away").text)


def test_a_lot_that_is_not_there_is_told(client, words):
    """A lot that is gone meanwhile is no page of its own."""
    answer = client.post("/put-away", data=form(do="count", weight="1", lot="X"))
    assert answer.status_code == 409
    assert "There is no lot" in words(answer.text)


def test_a_count_far_off_is_sent_again_if_it_is_right(client, shop):
    """The form comes back with a field that says so."""
    data = form(do="count", weight="8")
    assert 'name="sure" value="8"' in client.post("/put-away", data=data).text
    assert client.post("/put-away", data=data | {"key": "l", "sure": "8"}).status_code == 303
    assert at(shop, "trim") == pounds("8")


def test_case_stock_past_its_day_is_binned_here(client, shop, clock, words):
    """Mince of Tuesday on Friday: no longer free, shown as past, and binned."""
    clock.put(clock.now().replace(day=12))
    (mince,) = [line for line in shop.case() if line.id == "C06"]
    assert (mince.free.count, mince.past.count) == (0, pounds("8"))
    assert "8.00 lb past its day" in words(client.get("/case").text)
    assert "In the case, past its day" in words(client.get("/put-away").text)
    data = form(do="bin", lot="C06-0609", place="case", why="past its day")
    assert client.post("/put-away", data=data).status_code == 303
    assert not next(line for line in shop.case() if line.id == "C06").past


def test_the_form_keeps_the_unit_it_was_shown_in(client, shop):
    """The device changed to kilograms meanwhile: 10 is still 10 lb."""
    client.cookies.set("collop_unit", "kg")
    answer = client.post("/put-away", data=form(do="case", case_id="C11", weight="10", unit="lb"))
    assert answer.status_code == 303
    assert at(shop, "trim") == pounds("28.6")
