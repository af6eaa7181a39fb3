"""The Day Book's pages: tiles, the forms, corrections, places, print, table and paper sheet."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

FORMS = ("/daybook/cold", "/daybook/clean", "/daybook/receive", "/daybook/scale", "/daybook/probe",
         "/daybook/places", "/daybook/line/D40/correct")  # fmt: skip
PAGES = ("/daybook", "/daybook?day=2026-05-22", "/daybook?day=2026-06-07", "/daybook?day=x",
         "/daybook/print", "/daybook/print?from=2026-05-22&to=2026-05-26", "/daybook/print?from=x",
         "/daybook/paper", "/daybook/places?place=case", "/daybook/line/D99999/correct",
         "/daybook/line/x/correct", *FORMS)  # fmt: skip


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
    assert "Take back 08:00" in words(html)
    client.post("/daybook/clean/back", data={"by": "kofi", "key": "c"})
    assert "the last Mon 08 Jun 17:54" in words(client.get("/daybook").text)
    assert client.post("/daybook/clean", data={"by": "kofi", "key": "d"}).status_code == 422
    other = {"what": "other", "other": "tray rack", "by": "kofi", "key": "e"}
    assert client.post("/daybook/clean", data=other).status_code == 303
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
