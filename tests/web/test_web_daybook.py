"""The Day Book's pages: tiles, the forms, corrections, places, print, table and paper sheet."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.measures import Temperature, Weight, WeightUnit
from collop.shop import NewDelivery, NewPiece

WEIGHT = Weight.of("50", WeightUnit.LB)

FORMS = ("/daybook/cold", "/daybook/clean", "/daybook/receive", "/daybook/scale", "/daybook/probe",
         "/daybook/places", "/daybook/line/D40/correct")  # fmt: skip
PAGES = ("/daybook", "/daybook?day=2026-05-22", "/daybook?day=2026-06-07", "/daybook?day=x",
         "/daybook/cooled", "/daybook/note", "/daybook/note?line=C3", "/daybook/print",
         "/daybook/print?from=2026-05-22&to=2026-05-26",
         "/daybook/print?from=x", "/daybook/paper", "/daybook/places?place=case",
         "/daybook/line/D99999/correct", "/daybook/line/x/correct", *FORMS)  # fmt: skip


@pytest.mark.parametrize("address", PAGES)
def test_every_page_has_labels_ids_once_and_nothing_inline(client, read_page, address):
    """As every page of the shop: named fields, no inline script, no outside address."""
    answer = client.get(address)
    assert answer.status_code in {200, 404, 422}
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))
    assert not re.search(r"(src|href|action)=\"(https?:)?//", answer.text)


@pytest.mark.parametrize("address", FORMS)
def test_nothing_is_filled_in_for_anybody(client, read_page, address):
    """Every field that is typed in is empty, and nobody is chosen."""
    page = read_page(client.get(address).text)
    for tag, facts, _ in page.fields:
        if tag == "input" and facts.get("type", "text") in {"text", "date"}:
            assert not facts.get("value"), facts["name"]
        if tag == "input" and facts.get("name") in {"by", "place", "what", "kind", "keeps"}:
            assert facts.get("type") == "hidden" or "checked" not in facts


def test_the_tiles_say_what_is_due_and_the_due_one_is_the_main_action(client, words):
    """Tuesday 08:00: the cold check is due; the clean-down at 09:54."""
    html = client.get("/daybook").text
    main = re.findall(r'class="day-tile[^"]*main-action" href="([^"]*)"', html)
    assert main == ["/daybook/cold"]
    said = words(html)
    assert "Cold check due 08:00 to read: Walk-in, Case, Freezer, Cutting room" in said
    assert "Clean-down next 09:54" in said
    for name in ("Receive", "Mince lot", "Trace"):
        assert name in said
    assert "Nothing written on this day." in said


def test_a_reading_is_written_and_told_with_its_limit(client, words):
    """Place, number, done; the who stays for the next one, the number never."""
    answer = client.post("/daybook/cold", data={"place": "case", "reading": "39", "by": "kofi",
                                                "degrees": "F", "key": "a"})  # fmt: skip
    assert answer.status_code == 303
    assert "collop_heat=F" in answer.headers["set-cookie"]
    html = client.get(answer.headers["location"]).text
    assert "Written: Case, 39 °F (3.9 °C)" in words(html)
    assert re.search(r'name="by"[^>]*value="kofi" checked', html)
    assert re.search(r'name="reading"[^>]*value=""', html)
    assert "limit 41 °F (5 °C) or below last 08:00: 39 °F (3.9 °C)" in words(html)


@pytest.mark.parametrize(("typed", "degrees", "said"), [
    ("39", "F", "39 °F (3.9 °C)"), ("3.9 C", "F", "39 °F (3.9 °C)"), ("4", "C", "39.2 °F (4 °C)"),
    ("39,5 f", "C", "39.5 °F (4.2 °C)"),
])  # fmt: skip
def test_a_reading_may_bring_its_own_unit(client, shop, typed, degrees, said):
    """Typed units go before the device's."""
    client.post("/daybook/cold", data={"place": "case", "reading": typed, "by": "kofi",
                                       "degrees": degrees, "key": "a"})  # fmt: skip
    assert [line.said for line in shop.day.page().lines if line.tile == "cold"] == [said]


@pytest.mark.parametrize(("typed", "degrees", "asks"), [
    ("4", "F", "is it 4 °F (-15.6 °C)? Write 4 F or 4 C"),
    ("39", "C", "is it 102.2 °F (39 °C)? Write 39 F or 39 C"),
    ("", "F", "write what the thermometer says"), ("cold", "F", "write the degrees like"),
    ("1e9", "F", "write the degrees like"), ("NaN", "F", "write the degrees like"),
])  # fmt: skip
def test_a_reading_that_cannot_be_is_asked_about_and_kept(client, shop, words, typed, degrees,
                                                         asks):  # fmt: skip
    """The message stands in the summary and beside the field; what was typed stays."""
    answer = client.post("/daybook/cold", data={"place": "case", "reading": typed, "by": "kofi",
                                                "degrees": degrees, "key": "a"})  # fmt: skip
    assert answer.status_code == 422
    assert words(answer.text).count(asks) == 2
    assert '<a href="#f-reading">' in answer.text
    assert f'value="{typed}"' in answer.text
    assert not [line for line in shop.day.page().lines if line.tile == "cold"]


def test_over_the_limit_shows_the_steps_and_asks_what_was_done(client, shop, words):
    """422 with the shop's steps; then it is written, and asked for again in half an hour."""
    sent = {"place": "case", "reading": "44", "by": "kofi", "degrees": "F", "key": "a"}
    answer = client.post("/daybook/cold", data=sent)
    assert answer.status_code == 422
    said = words(answer.text)
    assert "Case is at 44 °F (6.7 °C) and its limit is 41 °F (5 °C)" in said
    assert "Over the limit: what to do" in said
    assert "These steps are ours; write your own under Places. Your local code comes first." in said
    assert {"f-action", "f-told"} <= set(re.findall(r'id="([^"]*)"', answer.text))
    answer = client.post("/daybook/cold", data=sent | {"action": "moved", "told": "Ines"})
    assert answer.status_code == 303
    said = words(client.get("/daybook").text)
    assert "due 08:30 read Case again" in said
    assert "OVER" in said
    assert "Done: moved. Told: Ines." in said


def test_a_form_sent_twice_writes_one_line(client, shop):
    """The key of the form makes the second touch the first."""
    sent = {"place": "case", "reading": "39", "by": "kofi", "degrees": "F", "key": "same"}
    places = [client.post("/daybook/cold", data=sent).headers["location"] for _ in range(2)]
    assert places[0] == places[1]
    assert len([line for line in shop.day.page().lines if line.tile == "cold"]) == 1


def test_a_late_entry_shows_both_times(client, clock, words):
    """Read at 08:02, written at 09:10 from a sheet."""
    clock.put(clock.now() + timedelta(hours=1, minutes=10))
    sent = {"place": "case", "reading": "39", "by": "kofi", "key": "a", "done_time": "08:02"}
    client.post("/daybook/cold", data=sent | {"paper": "260609-0700 line 2"})
    said = words(client.get("/daybook").text)
    assert "late entry: done 08:02, written 09:10" in said
    assert "from paper: 260609-0700 line 2" in said


@pytest.mark.parametrize(("changed", "field"), [
    ({"done_time": "25:00"}, "done_time"), ({"done_time": "11:00"}, "done_time"),
    ({"done_time": "08:00", "done_day": "yesterday"}, "done_day"),
    ({"done_time": "08:00", "done_day": "2026-01-01"}, "done_time"),
    ({"by": "ghost"}, "by"), ({"by": ""}, "by"), ({"place": "attic"}, "place"),
    ({"place": ""}, "place"),
])  # fmt: skip
def test_each_fault_links_to_its_field(client, changed, field):
    """First message of each field, with a link that finds it."""
    sent = {"place": "case", "reading": "39", "by": "kofi", "degrees": "F", "key": "a"} | changed
    answer = client.post("/daybook/cold", data=sent)
    assert answer.status_code == 422
    assert f'<a href="#f-{field}">' in answer.text
    assert f'id="f-{field}"' in answer.text


def test_a_clean_down_is_put_down_with_what_and_who(client, shop, words):
    """The grinder, with its sanitiser; then the room, and it may be taken back."""
    answer = client.post("/daybook/clean", data={"what": "grinder", "words": "quat 200 mg/L",
                                                 "by": "kofi", "key": "a"})  # fmt: skip
    assert "Put down: grinder." in words(client.get(answer.headers["location"]).text)
    client.post("/daybook/clean", data={"what": "cutting room", "room": "48", "by": "kofi",
                                        "key": "b"})  # fmt: skip
    html = client.get("/daybook/clean").text
    assert "Take back Tue 9 Jun 08:00" in words(html)
    assert client.post("/daybook/clean/back", data={"key": "n"}).status_code == 422
    client.post("/daybook/clean/back", data={"by": "ines", "key": "c"})
    assert "the last Mon 8 Jun 17:54" in words(client.get("/daybook").text)
    assert client.post("/daybook/clean", data={"by": "kofi", "key": "d"}).status_code == 422
    other = {"what": "other", "other": "tray rack", "by": "kofi", "key": "e"}
    answer = client.post("/daybook/clean", data=other)
    assert "Put down." in words(client.get(answer.headers["location"]).text)
    assert "Tray rack" in [line.name for line in shop.day.page().lines]


def test_a_box_without_its_mark_is_not_taken_in(client, words):
    """422 asks what was done; then the line says so."""
    sent = {"what": "trim", "supplier": "Ours", "is_meat": "yes", "keeps": "chilled",
            "establishment": "F-01", "temperature": "38", "by": "kofi", "key": "a"}  # fmt: skip
    answer = client.post("/daybook/receive", data=sent)
    assert answer.status_code == 422
    assert "trim is not taken in, for it bears no inspection mark (SF005)" in words(answer.text)
    answer = client.post("/daybook/receive", data=sent | {"action": "sent back", "told": "Ines"})
    assert answer.status_code == 303
    assert "NOT TAKEN IN" in client.get("/daybook").text
    answer = client.post("/daybook/receive", data=sent | {"mark": "yes", "key": "b"})
    assert "with its mark; taken in" in words(client.get(answer.headers["location"]).text)
    assert client.post("/daybook/receive", data={"by": "kofi", "key": "c"}).status_code == 422


def test_scale_and_thermometer_are_checked(client, words):
    """Within the tolerance written, beyond it asked about."""
    scale = {"name": "counter", "division": "0.01", "test": "10", "reading": "10.02", "by": "ines",
             "key": "a"}  # fmt: skip
    answer = client.post("/daybook/scale", data=scale)
    assert "10.02 lb of a test weight of 10.00 lb" in words(
        client.get(answer.headers["location"]).text)  # fmt: skip
    answer = client.post("/daybook/scale", data=scale | {"reading": "10.03", "key": "b"})
    assert answer.status_code == 422
    assert "more than 0.02 lb out" in words(answer.text)
    probe = {"name": "probe 1", "reading": "33", "by": "ines", "key": "c"}
    assert client.post("/daybook/probe", data=probe).status_code == 303
    answer = client.post("/daybook/probe", data=probe | {"reading": "35", "key": "d"})
    assert answer.status_code == 422
    assert "from memory, not checked" in answer.text


def test_a_line_is_corrected_by_a_further_one_and_both_are_shown(client, shop, words):
    """The first is struck and named; a second correction goes to the new one."""
    client.post("/daybook/cold", data={"place": "case", "reading": "28", "by": "kofi", "key": "a"})
    line = next(one for one in shop.day.page().lines if one.tile == "cold")
    address = f"/daybook/line/{line.id}/correct"
    sent = {"do": "correct", "reading": "38", "by": "kofi", "key": "b"}
    assert client.post(address, data=sent).status_code == 422
    answer = client.post(address, data=sent | {"why": "28 was typed for 38"})
    assert answer.headers["location"] == "/daybook?day=2026-06-09"
    html = client.get("/daybook").text
    assert "<s>28 °F (-2.2 °C)</s>" in html
    assert f"in the place of {line.id}" in words(html)
    assert "It was corrected already" in words(client.get(address).text)
    assert client.post(address, data=sent | {"why": "x", "key": "c"}).status_code == 409
    back = {"do": "back", "why": "it was the walk-in", "by": "kofi", "key": "d"}
    newest = next(one for one in shop.day.page().lines if one.corrects)
    assert client.post(f"/daybook/line/{newest.id}/correct", data=back).status_code == 303
    assert "taken back: never so" in client.get("/daybook").text


def test_limits_hours_and_steps_are_changed_with_a_reason(client, shop, words):
    """A laxer limit is refused with its source; each change is a note in the book."""
    sent = {"do": "place", "place": "case", "name": "Case", "limit": "44 F", "why": "x",
            "by": "ines", "key": "a"}  # fmt: skip
    answer = client.post("/daybook/places", data=sent)
    assert answer.status_code == 422
    assert "is laxer than 41 °F (5 °C)" in words(answer.text)
    assert client.post("/daybook/places", data=sent | {"limit": "40"}).status_code == 303
    hours = {"do": "rounds", "rounds": "07:30 12.30, 17:00", "why": "earlier", "by": "ines",
             "key": "b"}  # fmt: skip
    assert client.post("/daybook/places", data=hours).status_code == 303
    steps = {"do": "steps", "steps": "Call Ines\r\n\r\nMove it\r\n", "why": "ours", "by": "ines",
             "key": "c"}  # fmt: skip
    assert client.post("/daybook/places", data=steps).status_code == 303
    said = words(client.get("/daybook").text)
    assert "Case: limit 40 °F (4.4 °C)" in said
    assert "Cold checks at 07:30, 12:30, 17:00 from tomorrow" in said
    assert shop.day.steps() == (("Call Ines", "Move it"), True)
    retire = {"do": "retire", "place": "case", "name": "Case", "why": "sold", "by": "ines",
              "key": "d"}  # fmt: skip
    assert client.post("/daybook/places", data=retire).status_code == 303
    assert "case" not in {place.id for place in shop.day.places()}


def test_the_print_has_its_gaps_on_top_and_every_line(client, shop, words):
    """Gaps before any tile; all lines of 90 days."""
    html = client.get("/daybook/print").text
    said = words(html)
    today = shop.now().date()
    book = shop.day.inspector(today - timedelta(days=89), today)
    tile = f"Cold check {len(book.lines['cold'])} lines"
    assert said.index("Gaps: 2") < said.index("Times over a limit: 1") < said.index(tile)
    for lines in book.lines.values():
        for line in lines:
            assert f'<th scope="row">{line.id}</th>' in html
    assert "Freezer" in said[said.index("Gaps") : said.index("Times over")]


def test_the_table_is_utf8_and_holds_every_line_and_gap(client, shop):
    """With its mark for spreadsheets; a wrong day is told on the page instead."""
    answer = client.get("/daybook/export.csv?from=2026-05-19&to=2026-06-09")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert "daybook-2026-05-19-2026-06-09.csv" in answer.headers["content-disposition"]
    assert answer.content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(answer.text.removeprefix("\ufeff"))))
    assert [row["name"] for row in rows if row["line"] == "GAP"] == ["Freezer", "Cutting room"]
    assert any("°F" in row["said"] for row in rows)
    wrong = client.get("/daybook/export.csv?from=2026-01-01&to=2026-06-09")
    assert wrong.status_code == 422
    assert "at most 90 days" in wrong.text


def test_the_paper_sheet_is_numbered_and_empty(client, words):
    """Numbered lines, limits in sight, no value."""
    said = words(client.get("/daybook/paper").text)
    assert "Day Book, sheet 260609-0800" in said
    assert "Walk-in 40 °F (4.4 °C) or below" in said
    assert "Entered later, each line keeps the time that is written here" in said


def test_an_unknown_line_is_not_found(client):
    """404 in the shop's words."""
    for line in ("D99999", "x", "C1", "D" + "9" * 60):
        assert client.get(f"/daybook/line/{line}/correct").status_code == 404


_PATHS = ["cold", "clean", "receive", "scale", "probe", "places", "line/D40/correct"]


@settings(max_examples=40, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(st.sampled_from(_PATHS),
       st.dictionaries(st.sampled_from([
           "place", "reading", "degrees", "by", "key", "action", "told", "why", "paper", "do",
           "done_time", "done_day", "what", "other", "words", "room", "supplier", "is_meat",
           "keeps", "establishment", "lot", "weight", "temperature", "name", "test", "division",
           "kind", "limit", "rounds", "steps", "unit",
       ]), st.sampled_from(["", "39", "case", "kofi", "yes", "chilled", "\x00", "\u202e",
                            "9" * 300, "1e-999999", "NaN", "-", "<b>", "correct", "back", "other",
                            "08:00", "2026-06-09", "steps", "rounds", "retire"])))  # fmt: skip
def test_forms_filled_with_anything_never_break(client, path, sent):
    """Written, asked about or refused, never a trace."""
    answer = client.post(f"/daybook/{path}", data=sent)
    assert answer.status_code in {303, 404, 409, 422}
    assert "Traceback" not in answer.text
    assert "<b></b>" not in answer.text


@pytest.mark.parametrize("address", FORMS)
def test_an_address_fills_no_reading_in(client, read_page, address):
    """A bookmark with readings, places and words in it shows the empty form."""
    joint = "&" if "?" in address else "?"
    typed = "&".join(f"{name}=38" for name in ("reading", "room", "test", "temperature", "action",
                                               "told", "what", "supplier", "limit", "done_time",
                                               "paper", "words", "name", "why"))  # fmt: skip
    page = read_page(client.get(f"{address}{joint}{typed}&tag=x&keeps=dry&is_meat=yes").text)
    for tag, facts, _ in page.fields:
        if tag == "input" and facts.get("type", "text") in {"text", "date"}:
            assert not facts.get("value"), facts["name"]
        if tag == "input" and facts.get("name") in {"what", "keeps", "is_meat", "tag"}:
            assert "checked" not in facts


def test_only_a_cold_place_is_read_again_in_half_an_hour(client, words):
    """A scale that is out and a box sent back are no places that warm up."""
    sent = {"name": "Counter", "division": "0.01", "test": "10", "reading": "10.09",
            "action": "put aside", "told": "Ines", "by": "kofi", "key": "s"}  # fmt: skip
    answer = client.post("/daybook/scale", data=sent)
    said = words(client.get(answer.headers["location"]).text)
    assert "Written: Counter, 10.09 lb" in said
    assert "half an hour" not in said.split("Correct it")[0]
    cold = {"place": "case", "reading": "44", "action": "moved", "told": "Ines", "by": "kofi",
            "degrees": "F", "key": "c"}  # fmt: skip
    answer = client.post("/daybook/cold", data=cold)
    said = words(client.get(answer.headers["location"]).text)
    assert "Tue 9 Jun 08:00, Kofi. Read it again within half an hour." in said


@pytest.mark.parametrize("address", [
    "/daybook?day=0001-01-01", "/daybook/print?from=0001-01-01&to=0001-01-02",
    "/daybook/print?to=0001-01-05", "/daybook/export.csv?to=0001-01-01",
])  # fmt: skip
def test_a_day_before_any_book_is_asked_about(client, words, address):
    """The first day there is in a calendar is a fault of the form, no broken page."""
    answer = client.get(address)
    assert answer.status_code == 422
    assert "the book holds no day before 1970-01-01" in words(answer.text)


def test_what_was_not_chosen_is_asked_for_in_plain_words(client, words):
    """An empty form of a box and of a place names what to choose, and shows no empty quotes."""
    said = words(client.post("/daybook/receive", data={"by": "kofi", "key": "a"}).text)
    assert "It keeps: choose one." in said
    assert "Is it meat: choose one." in said
    said += words(client.post("/daybook/places", data={"by": "kofi", "key": "b"}).text)
    assert "It is: choose one." in said
    assert "''" not in said


def test_the_print_names_the_shop_and_the_columns_in_the_head_of_every_table(client, words):
    """A table repeats its head on each page it runs over: shop, days, what it is, columns."""
    html = client.get("/daybook/print").text
    heads = re.findall(r"<thead>(.*?)</thead>", html, re.DOTALL)
    assert len(heads) == html.count("<table") > 5
    for head in heads:
        assert "Tollebank Meats (demo week)" in head or "Tollebank Meats, Weir Lane" in head
        assert "12 March 2026 to 9 June 2026" in head
        assert head.count('scope="col"') >= 4
    css = client.get("/static/figures.css").text
    assert "@page daybook" in css
    assert "counter(pages)" in css


def test_an_animal_that_came_warm_is_asked_for_until_it_is_cold(client, shop, clock, words):
    """From the tile to the form; too warm after its hour asks what was done; then it is quiet."""
    shop.cutting.receive(
        NewDelivery(tag="L-301", species="lamb", farm="Hill", invoiced=WEIGHT, killed_on=None,
                    pieces=[NewPiece("L-301", "whole", "lamb carcass", WEIGHT)],
                    temperature=Temperature.fahrenheit(50), arrived_warm_as_law_allows=True,
                    papers=("inspection mark", "invoice")),
        by="ines", key="in",
    )  # fmt: skip
    assert "due 12:00 write when L-301 is cold; it came warm" in words(client.get("/daybook").text)
    said = words(client.get("/daybook/receive").text)
    assert "Came warm, cold by: L-301 Tue 9 Jun 12:00." in said
    assert 'href="/daybook/cooled"' in client.get("/daybook/receive").text
    sent = {"tag": "L-301", "reading": "46", "by": "kofi", "degrees": "F", "key": "a"}
    answer = client.post("/daybook/cooled", data=sent)
    said = words(client.get(answer.headers["location"]).text)
    assert "46 °F (7.8 °C); to be cold by Tue 9 Jun 12:00, still warm" in said
    clock.put(clock.now() + timedelta(hours=5))
    answer = client.post("/daybook/cooled", data=sent | {"key": "b"})
    assert answer.status_code == 422
    assert 'id="f-action"' in answer.text
    told = {"action": "moved beside the fan", "told": "Ines"}
    assert client.post("/daybook/cooled", data=sent | told | {"key": "c"}).status_code == 303
    line = next(one for one in shop.day.page().lines if one.is_over and one.is_cooling)
    page = client.get(f"/daybook/line/{line.id}/correct").text
    assert 'name="reading"' in page
    fixed = {"do": "correct", "reading": "40", "why": "46 for 40", "by": "kofi", "degrees": "F"}
    answer = client.post(f"/daybook/line/{line.id}/correct", data=fixed | {"key": "d"})
    assert answer.status_code == 303
    assert "Nothing that came warm this week" in words(client.get("/daybook/cooled").text)
    assert client.post("/daybook/cooled", data=sent | {"tag": "", "key": "e"}).status_code == 422
    answer = client.post("/daybook/cooled", data=sent | {"tag": "<b>", "key": "f"})
    assert answer.status_code == 422
    assert "No animal" in words(answer.text)


def test_a_correction_says_when_it_was_written(client, clock, words):
    """Ten minutes are no late entry; an inspector still sees both times of a correction."""
    client.post("/daybook/cold", data={"place": "case", "reading": "28", "by": "kofi",
                                       "degrees": "F", "key": "a"})  # fmt: skip
    clock.put(clock.now() + timedelta(minutes=10))
    sent = {"do": "correct", "reading": "38", "why": "28 for 38", "by": "kofi", "degrees": "F"}
    client.post("/daybook/line/D196/correct", data=sent | {"key": "b"})
    for address in ("/daybook", "/daybook/print"):
        said = words(client.get(address).text)
        assert "in the place of D196, written Tue 9 Jun 08:10" in said


@pytest.mark.parametrize(("address", "first"), [
    ("/daybook/line/D40/correct", "correct"), ("/daybook/places?place=case", "place"),
])  # fmt: skip
def test_the_enter_key_corrects_or_writes_and_takes_nothing_away(client, address, first):
    """A browser presses the first button of a form: it is never the one that takes back."""
    html = client.get(address).text
    form = next(one for one in re.findall(r"<form.*?</form>", html, re.DOTALL)
                if 'class="day-form' in one)  # fmt: skip
    assert re.findall(r'<button type="submit" name="do" value="(\w+)"', form)[0] == first


def test_new_hours_are_those_of_tomorrow_on_the_screen_and_on_the_sheet(client, words):
    """The sheet that is printed today is for today's rounds."""
    sent = {"do": "rounds", "rounds": "07:00 12:00 16:00", "why": "we open earlier", "by": "ines"}
    assert client.post("/daybook/places", data=sent | {"key": "a"}).status_code == 303
    said = words(client.get("/daybook/places").text)
    assert "Today 08:00, 13:00, 17:30; from tomorrow 07:00, 12:00, 16:00." in said
    sheet = words(client.get("/daybook/paper").text)
    assert "08:00: time" in sheet
    assert "07:00: time" not in sheet


@pytest.mark.parametrize(("path", "sent", "step"), [
    ("receive", {"what": "Trim", "supplier": "Packer", "is_meat": "yes", "keeps": "chilled",
                 "establishment": "M-1", "temperature": "48", "mark": "yes"}, "Send it back"),
    ("scale", {"name": "C", "division": "0.01", "test": "10", "reading": "10.09"}, "price nothing"),
    ("probe", {"name": "P", "reading": "36"}, "Set it right as its maker says"),
    ("line/D73/correct", {"do": "correct", "reading": "36", "why": "x"}, "Set it right"),
])  # fmt: skip
def test_the_steps_are_those_of_the_thing_that_is_over(client, shop, words, path, sent, step):
    """A box, a scale and a thermometer are no fridge whose door is shut; also with own steps."""
    assert shop.day.line("D73").tile == "probe"
    shop.day.set_steps(["Shut the fridge."], why="ours", by="ines", key="s")
    answer = client.post(f"/daybook/{path}", data=sent | {"by": "kofi", "degrees": "F", "key": "a"})
    assert answer.status_code == 422
    said = words(answer.text)
    assert step in said
    assert "These steps are ours." in said
    assert "Shut the" not in said


def test_a_clean_down_gets_a_word_that_names_it(client, shop, words):
    """What has no figure to correct gets a further line; the first one stays as it was."""
    html = client.get("/daybook?day=2026-06-08").text
    line = re.search(r'href="/daybook/note\?line=(C\d+)"', html)[1]
    form = client.get(f"/daybook/note?line={line}").text
    assert f'value="{line}"' in form
    fields = {"line": line, "text": "the slicer too, ten minutes later", "by": "ines", "key": "n"}
    for _ in range(2):
        assert client.post("/daybook/note", data=fields, follow_redirects=False).status_code == 303
    notes = [one for one in shop.day.page().lines if one.tile == "note"]
    assert [one.said for one in notes] == [f"on {line}: the slicer too, ten minutes later"]
    assert f"on {line}: the slicer too" in words(client.get("/daybook").text)
    assert f"on {line}: the slicer too" in words(client.get("/daybook/print").text)


@pytest.mark.parametrize(
    ("change", "field"),
    [({"text": ""}, "text"), ({"text": "x" * 401}, "text"), ({"line": "C999"}, "line"),
     ({"line": "<b>"}, "line"), ({"by": ""}, "by")],
)  # fmt: skip
def test_a_word_with_a_fault_is_not_written(client, shop, change, field):
    """Nothing said, too much, or a line that is not there: the field is named."""
    fields = {"line": "", "text": "a word", "by": "ines"} | change
    answer = client.post("/daybook/note", data=fields)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert [one for one in shop.day.page().lines if one.tile == "note"] == []
