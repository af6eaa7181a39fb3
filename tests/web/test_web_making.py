"""Mince lots and batches on the screen: one form a page, nothing filled in, gaps on top."""

from __future__ import annotations

import csv
import io
import re

import pytest

from collop.measures import Weight, WeightUnit
from collop.shop import MakingState

CODE = "26160-G1-01"
HERE = f"/daybook/mince/{CODE}"


def lb(text):
    return Weight.of(text, WeightUnit.LB)


@pytest.fixture
def grinder(client, shop):
    """Return the client of a shop whose grinder was cleaned down at 08:00."""
    shop.day.clean_down(by="marek", key="clean")
    return client


def send(client, address, **data):
    """Send a form with a key of its own."""
    send.number += 1
    return client.post(address, data={"key": f"w{send.number}", "by": "marek"} | data)


send.number = 0


def begin(client, **more):
    """Begin a lot of ten pounds of trim."""
    told = {"way": "own", "machine": "G1", "name": "Beef mince", "lot": "trim|B-41F.07",
            "weight": "10"}  # fmt: skip
    return send(client, "/daybook/mince/begin", **(told | more))


def done(answer):
    """Return what the redirect says was done."""
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("?done=")[2]


def test_a_lot_goes_from_begin_to_closed(grinder, shop, words):
    """Begun, boxed trim added, weighed out, lost, carry-over said, cleaned, told, closed."""
    assert done(begin(grinder)) == "begin"
    box = {"weight": "2", "what": "Chuck trim", "establishment": "M-1", "supplier_lot": "S-1"}
    assert done(send(grinder, f"{HERE}/box", **box)) == "box"
    assert done(send(grinder, f"{HERE}/own", lot="fat|B-41F.08", weight="1")) == "own"
    assert done(send(grinder, f"{HERE}/out", case_id="C11", weight="12")) == "out"
    assert done(send(grinder, f"{HERE}/left", weight="0.6")) == "left"
    lost = {"weight": "0.4", "place": "drip", "why": "left in the head"}
    assert done(send(grinder, f"{HERE}/lost", **lost)) == "lost"
    assert done(send(grinder, f"{HERE}/none")) == "none"
    text = words(grinder.get(HERE).text)
    assert f"production date of Chuck trim ({CODE}-S2)" in text
    seq = shop.making.record(CODE).materials[1].seq
    assert "Production date" in grinder.get(f"{HERE}/tell?part={seq}").text
    assert done(send(grinder, f"{HERE}/tell", part=str(seq), produced_on="2026-06-05")) == "tell"
    shop.day.clean_down("grinder", by="kofi", key="after")
    assert "Close the record" in words(grinder.get(HERE).text)
    assert done(send(grinder, f"{HERE}/close")) == "close"
    made = shop.making.record(CODE)
    assert (made.state, made.mass.left) == (MakingState.CLOSED, lb("0"))
    assert f"{CODE} Beef mince" in words(grinder.get("/daybook/mince").text)
    assert shop.check() == []


def test_no_field_of_a_form_is_filled_in(grinder, shop):
    """No value stands in any text or day field, and no radio or box is ticked."""
    begin(grinder)
    batch = {"way": "own", "name": "Links", "case_id": "C22", "lot": "trim|B-41F.07", "weight": "1"}
    send(grinder, "/daybook/batch/begin", **batch)
    acts = ("own", "box", "out", "left", "lost", "made", "close", "reopen")
    pages = ["/daybook/mince/begin", "/daybook/mince/begin?way=box", "/daybook/batch/begin"]
    pages += [f"{HERE}/{act}" for act in acts] + ["/daybook/batch/26160-B-01/ingredient"]
    for address in pages:
        text = grinder.get(address).text
        main = text.partition("<main")[2]
        for field in re.findall(r"<input[^>]*>", main):
            if 'type="hidden"' not in field:
                assert " checked" not in field, (address, field)
                if 'type="radio"' not in field and 'type="checkbox"' not in field:
                    assert 'value=""' in field, (address, field)
        assert " selected" not in main, address
    assert shop.check() == []


@pytest.mark.parametrize(("address", "data", "says"), [
    ("begin", {"way": "own"}, ("Lot: choose", "Weight: write", "Name: say", "Grinder: say",
                               "Who: choose")),
    ("begin", {"way": "box", "machine": "G1", "name": "x", "weight": "1", "by": "kofi"},
     ("Species",)),
    ("begin", {"way": "own", "machine": "G1", "name": "x", "weight": "99", "by": "kofi",
               "lot": "trim|B-41F.07"}, ("38.60 lb of B-41F.07 is free at trim",)),
    ("begin", {"way": "own", "machine": "grinder 1", "name": "x", "weight": "1", "by": "kofi",
               "lot": "trim|B-41F.07"}, ("such as G1",)),
    ("begin", {"way": "own", "machine": "G1", "name": "x", "weight": "1", "by": "kofi",
               "lot": "trim|B-41F.07", "done_time": "25:70"}, ("Time it was done",)),
])  # fmt: skip
def test_what_is_wrong_stands_beside_its_field(grinder, address, data, says, words):
    """Status 422 or 409, every message of the form, and nothing written."""
    answer = grinder.post(f"/daybook/mince/{address}", data={"key": "x"} | data)
    assert answer.status_code in {409, 422}
    for word in says:
        assert word in words(answer.text)
    assert f'"{HERE}"' not in grinder.get("/daybook/mince").text


def test_each_act_says_what_it_needs(grinder, words):
    """Empty forms are shown again with a sentence for each field that is needed."""
    begin(grinder)
    for act, says in {
        "own": "Lot: choose", "box": "Weight: write", "out": "Case line: choose",
        "lost": "Why: a word or two", "back": "Why: a word or two",
        "made": "Time it was made", "reopen": "Why: a word or two",
    }.items():  # fmt: skip
        answer = send(grinder, f"{HERE}/{act}", by="")
        assert answer.status_code == 422
        assert says in words(answer.text)
        assert "Who: choose" in words(answer.text)


def test_a_grinder_that_is_not_clean_leads_to_the_clean_down(grinder, words):
    """The refusal names what to do and links to where it is put down."""
    begin(grinder)
    answer = begin(grinder)
    assert answer.status_code == 409
    assert "without a clean-down between" in words(answer.text)
    assert 'href="/daybook/clean"' in answer.text


def test_an_allergen_nobody_declared_is_refused_beside_its_field(grinder, words):
    """Sesame does not go into C22; ticking an allergen and none of these is asked about."""
    first = {"way": "own", "name": "Links", "case_id": "C22", "lot": "trim|B-41F.07", "weight": "4"}
    assert done(send(grinder, "/daybook/batch/begin", **first)) == "begin"
    here = "/daybook/batch/26160-B-01"
    told = {"what": "Tahini", "establishment": "Mill", "supplier_lot": "T1", "weight": "0.2"}
    answer = send(grinder, f"{here}/ingredient", **told, contains="sesame")
    assert answer.status_code == 422
    assert "C22 does not declare sesame" in words(answer.text)
    answer = send(grinder, f"{here}/ingredient", **told, contains=["mustard", "none"])
    assert "not both" in words(answer.text)
    told = told | {"what": "Salt"}
    assert done(send(grinder, f"{here}/ingredient", **told, contains="none")) == "ingredient"
    assert "contains none of the allergens" in words(grinder.get(here).text)
    unknown = {"what": "Rusk", "establishment": "Mill", "supplier_lot": "R1", "weight": "0.1"}
    send(grinder, f"{here}/ingredient", **unknown)
    assert "allergens of Rusk" in words(grinder.get(here).text)


def test_a_line_is_taken_back_and_both_stay(grinder, shop, words):
    """A material and a weighing out, taken back with a reason; a stranger's line is not there."""
    begin(grinder)
    send(grinder, f"{HERE}/out", case_id="C11", weight="4")
    made = shop.making.record(CODE)
    back = {"line": str(made.events[0].seq), "why": "wrong line"}
    assert done(send(grinder, f"{HERE}/back", **back)) == "back"
    back = {"part": str(made.materials[0].seq), "why": "wrong bin"}
    assert done(send(grinder, f"{HERE}/back", **back)) == "back"
    text = words(grinder.get(HERE).text)
    assert "taken back" in text
    assert send(grinder, f"{HERE}/back", part="999", why="x").status_code == 404
    assert shop.making.record(CODE).mass.came_in == lb("0")


def test_a_late_entry_shows_both_times(grinder, clock, words):
    """Put in at 08:05, written at 09:00."""
    begin(grinder)
    clock.put(clock.now().replace(hour=9))
    send(grinder, f"{HERE}/own", lot="trim|B-41F.07", weight="1", done_time="08:05")
    assert "late entry: done Tue 9 Jun 08:05, written 09:00" in words(grinder.get(HERE).text)


def test_monday_s_record_prints_and_is_a_table(client, words):
    """The demo's closed lot: seven fields, its sources, the year it is kept; and as CSV."""
    text = words(client.get("/daybook/mince/26159-G1-01").text)
    assert "after: 2026-06-08 17:54" in text
    for word in ("TR001", "TR007", "B-40", "F-01 (made up)", "none, said", "8 June 2027"):
        assert word in text
    answer = client.get("/daybook/mince/26159-G1-01/csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert [row[0] for row in rows][:3] == ["field", "code", "name"]
    assert "mustard" in words(client.get("/daybook/batch/26159-B-01").text)


@pytest.mark.parametrize("address", [
    "/daybook/mince/nobody", "/daybook/mince/26159-G1-01/dance", "/daybook/batch/26159-G1-01/own",
    "/daybook/mince/%00", "/daybook/mince/26159-G1-01/tell/x",
])  # fmt: skip
def test_a_page_that_is_not_there_says_so(client, address):
    """404 and a page, never a traceback."""
    answer = client.get(address)
    assert answer.status_code == 404
    assert "<h1>" in answer.text


def test_a_batch_asked_for_as_mince_is_shown_where_it_is(client):
    """The address is put right."""
    answer = client.get("/daybook/mince/26159-B-01")
    assert (answer.status_code, answer.headers["location"]) == (303, "/daybook/batch/26159-B-01")


def test_every_field_has_a_label_and_nothing_is_inline(grinder, read_page):
    """Each input of every page is labelled; no style or script in the page."""
    begin(grinder)
    for address in ("/daybook/mince", "/daybook/mince/begin", "/daybook/batch/begin?way=box", HERE,
                    f"{HERE}/own", f"{HERE}/box", f"{HERE}/out", f"{HERE}/lost"):  # fmt: skip
        page = read_page(grinder.get(address).text)
        assert (page.inline, page.unlabelled()) == ([], []), address


def test_hostile_text_is_shown_as_text(grinder, words):
    """A name with markup is only a name."""
    evil = "<script>alert(1)</script>"
    begin(grinder, name=evil)
    text = grinder.get(HERE).text
    assert evil not in text
    assert evil in words(text)
    answer = begin(grinder, machine="G2", weight="1e-999999")
    assert answer.status_code == 422


def test_what_was_told_wrongly_is_put_right_by_a_further_line(grinder, shop, words):
    """A box told in full may be told anew, field by field; both lines stay, none is filled in."""
    begin(grinder)
    box = {"weight": "2", "what": "Chuck trim", "establishment": "M-1", "supplier_lot": "S-1",
           "produced_on": "2026-06-05"}  # fmt: skip
    send(grinder, f"{HERE}/box", **box)
    seq = shop.making.record(CODE).materials[1].seq
    assert f'href="{HERE}/tell?part={seq}">Correct</a>' in grinder.get(HERE).text
    asked = grinder.get(f"{HERE}/tell?part={seq}").text
    assert "Put right what was told" in words(asked)
    assert "M-1" not in asked
    assert send(grinder, f"{HERE}/tell", part=str(seq)).status_code == 422
    assert done(send(grinder, f"{HERE}/tell", part=str(seq), establishment="M-2")) == "tell"
    material = shop.making.record(CODE).materials[1]
    assert (material.establishments, material.lots) == (("M-2",), ("S-1",))
    assert "Told of Chuck trim: establishment M-2" in words(grinder.get(HERE).text)


def test_a_record_says_whose_it_is_and_when_it_was_looked_at(client, words):
    """An inspector's print: the shop, its place, the moment, and each line with its day."""
    text = words(client.get("/daybook/mince/26159-G1-01").text)
    assert "Tollebank Meats, Weir Lane, Oddwater Lock; grind record, as of Tue 9 Jun 2026" in text
    assert "Mon 8 Jun 14:12" in text


def test_ingredients_of_like_names_are_told_each_for_itself(grinder, shop):
    """Salt and Rock Salt, both without maker and lot: each has its own way to tell."""
    began = send(grinder, "/daybook/batch/begin", way="own", name="Links", case_id="C22",
                 lot="trim|B-41F.07", weight="2")  # fmt: skip
    here = began.headers["location"].partition("?")[0]
    for name in ("Salt", "Rock Salt"):
        assert done(send(grinder, f"{here}/ingredient", what=name)) == "ingredient"
    text = grinder.get(here).text
    for one in shop.making.record(here.rpartition("/")[2]).materials[1:]:
        assert f"maker of {one.what}; lot number of {one.what}" in text
        assert f"{here}/tell?part={one.seq}" in text


def test_an_ended_lot_with_weight_not_told_is_not_called_complete(grinder, shop, words):
    """Every field is told, a pound on the block is not: the list says so."""
    begin(grinder)
    send(grinder, f"{HERE}/out", case_id="C11", weight="9")
    send(grinder, f"{HERE}/none")
    shop.day.clean_down("grinder", by="kofi", key="after")
    assert "ENDED, WEIGHT NOT TOLD" in words(grinder.get("/daybook/mince").text)


def test_put_away_sends_mince_to_the_day_book(grinder, words):
    """Mince on the block is not moved by the way: the page says where it is weighed out."""
    begin(grinder)
    answer = send(grinder, "/put-away", lot=CODE, place="block", do="bin", why="old")
    assert answer.status_code == 409
    assert "weigh it out in the Day Book" in words(answer.text)
