"""From spread to slip: held price, booking once, free weight, and undo within the hour."""

from __future__ import annotations

from datetime import timedelta

import pytest

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.web import booking

ASK = "/ask?heads=34&money=310&day=2026-06-12&time=18:30"
WHO = {"name": "Rowing club", "phone": "07700 900 4471", "day": "2026-06-12", "time": "16:30",
       "by": "dot"}  # fmt: skip


def held(client, read_page, address=ASK):
    """Return the address of the booking page of a spread whose price is held."""
    form = read_page(client.get(address).text).form("/ask/quote")
    answer = client.post("/ask/quote", data=form)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def booked(client, read_page):
    """Return the address of the slip of a fresh booking."""
    place = held(client, read_page)
    form = read_page(client.get(place).text).form(place) | WHO
    return client.post(place, data=form).headers["location"].partition("?")[0]


def free_of(shop):
    """Return the free weight of each case line."""
    return {line.id: line.free for line in shop.case()}


def test_booking_takes_exactly_the_booked_weight_from_the_free(client, shop, read_page, words):
    """What hangs on the hook is gone from the case, to the last count."""
    before = free_of(shop)
    slip = booked(client, read_page)
    booking = shop.booking(slip.rpartition("/")[2])
    after = free_of(shop)
    taken = {line.case_id: line.weight for line in booking.lines}
    assert taken
    assert {case_id: before[case_id] - after[case_id] for case_id in taken} == taken
    assert booking.phone_end == "4471"
    text = words(client.get(slip + "?done=booked").text)
    assert "Booked. The weights have left the free stock." in text
    assert "Friday 12 June, 16:30" in text
    assert str(booking.total) in text


def test_sent_twice_is_booked_once(client, shop, read_page):
    """A double tap brings the same slip."""
    place = held(client, read_page)
    form = read_page(client.get(place).text).form(place) | WHO
    first, second = client.post(place, data=form), client.post(place, data=form)
    assert first.headers["location"] == second.headers["location"]
    assert len(shop.find("Rowing club")) == 1


@pytest.mark.parametrize(
    ("way", "told", "drawer"),
    [("cash", "Deposit paid 50.00", "50.00"), ("card", "Deposit paid 50.00", "0.00"),
     ("", "Deposit, not noted 50.00", "0.00")],
)  # fmt: skip
def test_how_a_deposit_was_paid_is_noted_with_the_booking(
    client, shop, read_page, words, way, told, drawer
):
    """In the same request, once; where nobody says how, no page calls it paid."""
    place = held(client, read_page)
    form = read_page(client.get(place).text).form(place)
    assert form["way"] == [""]  # what the form sends untouched
    form |= WHO | {"deposit": "50", "way": way}
    slip = {client.post(place, data=form).headers["location"] for _ in range(2)}.pop()
    name = slip.partition("?")[0].rpartition("/")[2]
    assert [one.way for one in shop.money.of(name).payments] == [way] * bool(way)
    assert told in words(client.get(slip).text)
    found = shop.money.takings()
    assert (str(found.deposits_taken), str(found.drawer)) == ("50.00" if way else "0.00", drawer)
    till = words(client.get(f"/sell/{name}").text)
    assert ("as booked not noted 50.00" in till) is (not way)
    assert ("Deposit paid, " + way in till) is bool(way)
    assert shop.check() == []


def test_the_day_of_the_meal_is_said_before_it_is_booked(client, read_page, words):
    """With the day told and without: an ask that named none is for today, and says so loudly."""
    told = words(client.get(held(client, read_page)).text)
    assert "Eaten Friday 12 June, 18:30" in told
    untold = client.get(held(client, read_page, "/ask?heads=8&money=90")).text
    assert "Eaten today, Tue 9 Jun" in words(untold)


def test_the_meal_is_carried_forward_to_the_collection(client, read_page):
    """What the ask said is not asked again: the day is filled in, inside opening hours."""
    place = held(client, read_page)
    form = read_page(client.get(place).text).form(place)
    assert form["day"] == ["2026-06-12"]
    assert form["time"] == ["16:30"]


def told_to_collect(client, read_page, monkeypatch, by, **change):
    """Return the booking page, its form and the slip of a spread to be collected by an hour."""
    plain = booking._asked  # the kernel of these tests knows no fire
    monkeypatch.setattr(booking, "_asked", lambda *told: {**plain(*told), "collect_by": by})
    place = held(client, read_page)
    shown = client.get(place).text
    form = read_page(shown).form(place)
    who = {name: WHO[name] for name in ("name", "phone", "by")}
    made = client.post(place, data=form | who | change)
    return shown, form, client.get(made.headers["location"]).text


@pytest.mark.parametrize(
    ("by", "day", "time"),
    [
        ("2026-06-12T14:10", "2026-06-12", "14:00"),
        ("2026-06-12T14:30", "2026-06-12", "14:30"),
        ("2026-06-12T07:20", "2026-06-11", "17:30"),
    ],
)
def test_the_collection_proposed_is_the_one_the_fire_asks_for(
    client, read_page, words, monkeypatch, by, day, time
):
    """The last half hour in opening hours before it, the day before if need be; told in words."""
    page, form, slip = told_to_collect(client, read_page, monkeypatch, by)
    assert (form["day"], form["time"]) == ([day], [time])
    assert "later, the fire cannot be ready for the meal" in words(page)
    assert "Collected then" not in words(slip)


def test_an_hour_that_is_past_is_not_proposed(client, read_page, words, monkeypatch):
    """Where it is too late for the fire, the usual two hours before the meal; the slip warns."""
    _, form, slip = told_to_collect(client, read_page, monkeypatch, "2026-06-08T09:00")
    assert (form["day"], form["time"]) == (["2026-06-12"], ["16:30"])
    assert "cannot be ready for the meal on that fire" in words(slip)


def test_collected_too_late_is_taken_but_the_slip_says_so(client, read_page, words, monkeypatch):
    """The customer may have a fire elsewhere: nothing is refused, one line warns."""
    by = "2026-06-12T14:10"
    *_, slip = told_to_collect(client, read_page, monkeypatch, by, time="16:30")
    assert "cannot be ready for the meal on that fire: collect by Fri 14:10" in words(slip)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": ""}, "Name: enter a name to put on the slip."),
        ({"phone": "12"}, "Phone end: enter the last four digits"),
        ({"by": ""}, "Taken by: choose who takes this booking."),
        ({"by": "nobody"}, "'nobody' is not known here"),
        ({"day": "2026-06-14"}, "the shop is shut on Sunday 14 June"),
        ({"day": "2026-06-01"}, "that day is past"),
        ({"time": "23:00"}, "the shop is open 08:00 to 18:00"),
        ({"deposit": "NaN"}, "Deposit: write an amount"),
        ({"deposit": "9999"}, "Deposit: enter"),
        ({"way": "card"}, "Deposit paid by: card is chosen and no sum"),
        ({"way": "account", "deposit": "5"}, "'account' is not known here"),
        ({"way": "card", "deposit": "NaN"}, "Deposit: write an amount"),
    ],
)
def test_a_faulty_booking_is_kept_as_typed_and_nothing_is_written(
    client, shop, read_page, words, change, sentence
):
    """422, the sentence twice, the name kept, and no booking."""
    place = held(client, read_page)
    before = free_of(shop)
    answer = client.post(place, data=WHO | change)
    assert answer.status_code == 422
    assert words(answer.text).count(sentence) == 2
    assert free_of(shop) == before
    assert ("name", change.get("name", "Rowing club")) in read_page(answer.text).forms[place]


def test_not_enough_free_says_what_is_free_and_offers_a_new_plan(client, shop, read_page, words):
    """Somebody else was quicker: one sentence, the free weight, and a way to plan again."""
    place = held(client, read_page)
    rival = held(client, read_page)
    rival_form = read_page(client.get(rival).text).form(rival) | WHO | {"name": "Rival"}
    assert client.post(rival, data=rival_form).status_code == 303
    answer = client.post(place, data=WHO)
    assert answer.status_code == 409
    assert "is free, and" in words(answer.text)
    assert any(link.startswith("/ask?heads=34") for link in read_page(answer.text).links)


def test_a_changed_case_is_shown_again_before_booking(client, read_page, words):
    """A spread that is no longer the one on the screen is not booked silently."""
    form = read_page(client.get(ASK).text).form("/ask/quote")
    answer = client.post("/ask/quote", data=form | {"seen": "another"})
    assert answer.status_code == 409
    assert "The case changed while this was on the screen" in words(answer.text)


def test_old_stock_needs_a_second_yes(client, clock, read_page, words):
    """After fifteen minutes the stock is read again and the button must be pressed again."""
    form = read_page(client.get(ASK).text).form("/ask/quote")
    clock.put(clock.now() + timedelta(minutes=16))
    answer = client.post("/ask/quote", data=form)
    assert answer.status_code == 409
    assert "say yes a second time" in words(answer.text)
    again = client.post("/ask/quote", data=read_page(answer.text).form("/ask/quote"))
    assert again.status_code == 303


def test_after_the_holding_time_the_new_price_must_be_accepted(
    client, shop, clock, read_page, words
):
    """A lapsed price is said in words, and booking at today's board is a button of its own."""
    place = held(client, read_page)
    line = shop.quote_by_id(place.rpartition("/")[2]).lines[0]
    shop.board_price(line.case_id, UnitPrice.of("19.90", WeightUnit.LB), by="ines", why="dearer",
                     key="board")  # fmt: skip
    clock.put(clock.now() + timedelta(hours=3))
    answer = client.post(place, data=WHO)
    assert answer.status_code == 409
    assert "ask whether the new price is accepted" in words(answer.text)
    assert "Book at today's board" in words(answer.text)
    taken = client.post(place, data=WHO | {"accept": "new-price", "key": "second"})
    assert taken.status_code == 303
    assert shop.find("Rowing club")[0].lines[0].unit_price.amount == UnitPrice.of(
        "19.90", WeightUnit.LB).amount  # fmt: skip


def test_undo_within_the_hour_gives_every_weight_back(client, shop, clock, read_page, words):
    """The button is there for one hour, and what was booked is free again exactly."""
    before = free_of(shop)
    slip = booked(client, read_page)
    assert "Undo" in words(client.get(slip).text)
    answer = client.post(f"{slip}/undo", data={"by": "dot", "key": "u"})
    assert answer.status_code == 303
    assert free_of(shop) == before
    clock.put(clock.now() + timedelta(minutes=61))
    assert "Undo" not in words(client.get(slip).text)


def test_release_names_its_act_and_frees_all(client, shop, read_page, words):
    """The button says whose and how much; afterwards the weight is free."""
    before = free_of(shop)
    slip = booked(client, read_page)
    total = sum((line.weight for line in shop.booking(slip[6:]).lines), Weight.zero())
    button = f"Release Rowing club: {total.text(WeightUnit.LB)} go back"
    assert button in words(client.get(slip).text)
    assert client.post(f"{slip}/release", data={"by": "dot", "key": "r"}).status_code == 303
    assert free_of(shop) == before


def test_nothing_is_done_without_a_name(client, shop, read_page, words):
    """Every act asks who does it."""
    slip = booked(client, read_page)
    for act in ("undo", "release", "state"):
        answer = client.post(f"{slip}/{act}", data={"key": act, "state": "cut"})
        assert answer.status_code == 422
        assert "Who: choose who does this." in words(answer.text)
    assert str(shop.booking(slip[6:]).state) == "booked"


def test_a_booking_walks_from_booked_to_packed(client, shop, read_page, words):
    """Each state offers the next one and no other."""
    slip = booked(client, read_page)
    for state, button in (("cut", "Mark cut"), ("packed", "Mark packed")):
        assert button in words(client.get(slip).text)
        form = {"by": "marek", "key": state, "state": state}
        assert client.post(f"{slip}/state", data=form).status_code == 303
    assert str(shop.booking(slip[6:]).state) == "packed"
    assert "Mark" not in words(client.get(slip).text)
    wrong = client.post(f"{slip}/state", data={"by": "marek", "key": "x", "state": "gone"})
    assert wrong.status_code == 422
