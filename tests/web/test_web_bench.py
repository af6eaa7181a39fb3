"""The bench page and its paper: lines of work, done and weighed, changed, clean-down."""

from __future__ import annotations

import doctest
import re
from datetime import date, datetime, time, timedelta
from html import unescape

import fake_kernel
import pytest
from starlette.testclient import TestClient

from collop.measures import Weight, WeightUnit
from collop.shop import KeptPlan, NewBooking, NewLine, Settings, StillClock, create_shop
from collop.shop.model import State
from collop.web import bench_view, create_app

PLAN = {
    "unit": "lb", "days": [f"2026-06-{day:02}" for day in range(9, 16)], "bins": [], "short": [],
    "makes": [{"cut": "C19", "name": "Pork links", "day": 0, "weight": "20.0", "from": [],
               "fat": 0.25, "minutes": "30"}],
    "breaks": [{"tag": "L-207", "of": None, "day": 0, "style": "s",
                "style_name": "Lamb for the case", "say": "Now.",
                "covers": [{"cut": "C04", "name": "Lamb loin chops", "booking": "H7",
                            "first_day": 0, "last_day": 1}]}],
}  # fmt: skip


def lb(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def post(client, path, **fields):
    """Send one form of the page."""
    return client.post(f"/bench/{path}", data={"key": f"{path}-{fields}"[:60]} | fields)


def done(client, line="H8-1", weight="5.15", **more):
    """Weigh a line as the form does."""
    fields = {"line": line, "weight": weight, "unit": "lb", "by": "marek"}
    return post(client, "done", **(fields | more))


def block(html, line_id):
    """Return the part of the page that shows one line."""
    return next(part for part in html.split('<li class="work') if f"line={line_id}" in part)


def seen(client):
    """Mark the list as it stands as seen."""
    digest = re.search(r'name="digest" value="([0-9a-f]+)"', client.get("/bench").text)[1]
    return post(client, "seen", digest=digest)


def test_the_list_shows_what_how_much_for_whom_and_by_when(client, words):
    """H8's short ribs: number, weight, booking with name, hour; the brisket of H4 stands first."""
    answer = client.get("/bench")
    assert answer.status_code == 200
    text = words(block(answer.text, "H8-1"))
    for said in ("Beef short ribs", "5.00 lb", "for H8 Household supper, short ribs",
                 "Thu 17:30", "Done + weigh"):  # fmt: skip
        assert said in text
    first = answer.text.split('<li class="work')[1]
    assert first.startswith(" is-first")
    assert "Beef brisket" in words(first)
    assert answer.text.count(" is-first") == 1


def test_the_main_action_is_the_first_line(client, read_page):
    """Bottom right, one only: done and weigh line 1."""
    html = client.get("/bench").text
    assert html.count("main-action") == 2  # class and id of the same link
    assert 'href="/bench?line=H4-2#panel">Done + weigh 1</a>' in html


def test_weighing_a_line_takes_it_off_and_says_what_it_weighed(shop, client, words):
    """Form, weight, back on the list with a word; the booking is cut."""
    form = client.get("/bench?line=H8-1&by=marek").text
    assert "data-scale" in form
    assert "Beef short ribs, 5.00 lb, for H8" in words(form)
    answer = done(client)
    assert (answer.status_code, answer.headers["location"]) == (303, "/bench?by=marek&done=done")
    html = client.get("/bench?by=marek&done=done").text
    assert "line=H8-1" not in html.split('id="bench-finished"')[0]
    assert "5.15 lb of 5.00 lb, 08:00, Marek" in words(html)
    assert shop.booking("H8").state is State.CUT


def test_undo_is_there_for_an_hour_then_correct(shop, client, clock, words):
    """Bottom left; later the line can be corrected, and both weights are shown."""
    done(client)
    html = client.get("/bench").text
    assert 'id="undo-last"' in html
    number = re.search(r"Undo ([0-9]+)<", html)[1]
    assert post(client, "undo", line="H8-1", by="marek").status_code == 303
    assert "line=H8-1" in client.get("/bench").text
    done(client, key="again")
    clock.put(clock.now() + timedelta(hours=2))
    html = client.get("/bench").text
    assert 'id="undo-last"' not in html
    assert f"Correct line {number}" in words(html)
    assert "Correct" in words(client.get("/bench?line=H8-1").text)
    done(client, weight="4.9", key="third")
    assert "4.90 lb 5.15 lb corrected of 5.00 lb" in words(client.get("/bench").text)
    late = post(client, "undo", line="H4-1", by="marek")
    assert late.status_code == 409
    assert "nothing to undo" in late.text


@pytest.mark.parametrize(
    ("fields", "said", "where"),
    [
        ({"weight": ""}, "Weight: enter what the scale says", "weight"),
        ({"weight": "heavy"}, "Weight: write the weight like 4.15", "weight"),
        ({"weight": "0"}, "Beef short ribs weighs nothing", "weight"),
        ({"weight": "50"}, "5.00 lb is wanted and the scale says 50.00 lb", "weight"),
        ({"by": ""}, "Who: choose who does this.", "by"),
        ({"by": "ghost"}, "is not known here", "by"),
        ({"written": "25:00"}, "Time: write the time from 00:00", "written"),
        ({"written": "9:30"}, "09:30 is still to come", "written"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_is_done(
    client, read_page, fields, said, where
):
    """422, summary and field, what was typed kept, the line still on the list."""
    answer = done(client, **fields)
    assert answer.status_code == 422
    assert said in answer.text.replace("&#39;", "'")
    page = read_page(answer.text)
    assert {f"f-{where}", f"e-{where}"} <= page.ids
    assert 'href="#f-' + where in answer.text
    kept = [facts.get("value") for _, facts, _ in page.fields if facts.get("id") == "f-weight"]
    assert kept == [fields.get("weight", "5.15")]
    assert "line=H8-1" in client.get("/bench").text


def test_a_weight_far_off_goes_through_when_it_is_sent_again(client):
    """The form comes back with what was asked about; sent as it is, it is right."""
    answer = done(client, weight="3.0")
    assert 'name="sure" value="3.0"' in answer.text
    assert done(client, weight="3.0", sure="3.0", key="2").status_code == 303


def test_kilograms_are_read_and_shown_where_the_device_says_so(client, words):
    """2.3 kg for 5 lb; the list says 2.268 kg."""
    client.cookies.set("collop_unit", "kg")
    assert "2.268 kg" in words(block(client.get("/bench").text, "H8-1"))
    assert done(client, weight="2.3", unit="kg").status_code == 303
    assert "2.300 kg of 2.268 kg" in words(client.get("/bench").text)


def test_what_was_written_on_paper_keeps_its_time(client, words):
    """07:40 on the paper, entered at 08:00."""
    assert done(client, written="7:40").status_code == 303
    assert "07:40 on paper, entered 08:00, Marek" in words(client.get("/bench").text)


def test_allergens_and_casing_stand_above_the_line_in_a_double_frame(client, clock, words):
    """The word comes before the number; plain lines have no frame."""
    clock.put(datetime.combine(date(2026, 6, 12), time(8)))
    html = client.get("/bench").text
    thigh = block(html, "H2-5")
    assert thigh.startswith(" is-framed") or " is-framed" in thigh[:60]
    text = words(thigh)
    assert text.index("ALLERGEN soy, sesame, wheat") < text.index("Chicken thigh, soy-sesame")
    assert "sesame allergy: this holds sesame, ask before it is cut" in text
    assert "SHEEP CASING" in words(block(html, "H2-3"))
    assert "is-framed" not in block(html, "H2-2")[:60]
    assert "sesame allergy: clean first" in words(block(html, "H2-2"))


def test_the_note_of_a_booking_is_said_once(client):
    """On the first of its lines."""
    assert client.get("/bench").text.count("H4 note: standing order") == 1


def test_a_change_is_marked_with_bar_old_value_and_word_until_seen(shop, client, clock, words):
    """20 lb become 21.5; the Seen button is there as long as there is news."""
    clock.put(datetime.combine(date(2026, 6, 11), time(8)))
    assert seen(client).status_code == 303
    assert 'id="mark-seen"' not in client.get("/bench").text
    shop.bench.want("H6", "C19", lb("21.5"), by="dot", key="w", note="to make Thursday")
    line = block(client.get("/bench").text, "H6%2BC19")
    assert "is-changed" in line[:80]
    assert "CHANGED" in words(line)
    assert "<s>20.00 lb</s>" in line
    assert "21.50 lb" in line
    seen(client)
    assert "CHANGED" not in client.get("/bench").text


def test_a_new_line_is_marked_new(shop, client, words):
    """Only if the list was seen before."""
    assert "NEW" not in client.get("/bench").text
    seen(client)
    new = NewBooking(name="Tea", collect_at=datetime.combine(date(2026, 6, 9), time(9)), by="dot",
                     lines=(NewLine("C15", lb("2")),))  # fmt: skip
    made = shop.book(new, key="b")
    assert "NEW Beef shin on the bone" in words(block(client.get("/bench").text, f"{made.id}-1"))


def test_seen_of_an_old_list_is_refused_in_words(shop, client, words):
    """409 with the list as it is now; the change is still marked as such."""
    html = client.get("/bench").text
    digest = re.search(r'name="digest" value="([0-9a-f]+)"', html)[1]
    shop.release("H8", by="dot", key="r", why="they rang off")
    answer = post(client, "seen", digest=digest)
    assert answer.status_code == 409
    assert "The list changed while it was looked at" in words(answer.text)


def test_a_cancelled_line_stays_crossed_with_the_word_off(shop, client, words):
    """Until it is touched."""
    seen(client)
    shop.release("H8", by="dot", key="r", why="they rang off")
    html = client.get("/bench").text
    off = next(part for part in html.split('<li class="work') if "is-off" in part[:80])
    assert "OFF Beef short ribs" in words(off)
    assert "<s>Beef short ribs</s>" in off
    assert "Done + weigh" not in words(off.split("</li>")[0])
    assert post(client, "off", line="H8-1").status_code == 303
    assert "short ribs" not in words(client.get("/bench").text.split("bench-next")[0])
    assert client.get("/bench?line=H8-1").text.count("not on the list any more") == 1


def test_the_clean_down_is_due_late_and_put_down_with_a_name(client, clock, words):
    """Monday's is due at 09:54, then at midnight (50 F, 16 h), then LATE in word and shape."""
    assert "clean-down due 09:54" in words(client.get("/bench").text)
    form = words(client.get("/bench?do=clean").text)
    assert "at most 16 hours" in form
    assert "Minnesota Rules 4626.0845" in form
    assert "Your local code comes first." in form
    assert post(client, "clean").status_code == 422
    assert post(client, "clean", by="kofi").headers["location"] == "/bench?by=kofi&done=clean"
    assert "clean-down due Wed 00:00" in words(client.get("/bench").text)
    clock.put(clock.now() + timedelta(hours=16, minutes=1))
    html = client.get("/bench").text
    assert 'bench-clean is-late">clean-down due 00:00 <strong class="late-word">LATE' in html


def test_a_clean_down_by_mistake_is_taken_back(client, clock, words):
    """The button is there for an hour."""
    post(client, "clean", by="kofi")
    assert "Take back 08:00" in words(client.get("/bench?do=clean").text)
    assert post(client, "clean/back", by="kofi").status_code == 303
    assert "clean-down due 09:54" in words(client.get("/bench").text)
    refused = post(client, "clean/back", by="kofi", key="z")
    assert refused.status_code == 409
    assert "over an hour old and stays on record" in refused.text
    assert post(client, "clean/back", by="nobody").status_code == 422


def test_breaks_of_the_plan_stand_below_with_what_they_cover(shop, client, monkeypatch, words):
    """The tag, what for, and the way to the knife; makes of the plan are lines."""
    kept = KeptPlan(1, shop.now(), PLAN, {}, (), is_current=True)
    monkeypatch.setattr(shop.bench, "latest", lambda: kept)
    html = client.get("/bench").text
    below = words(html.split('id="bench-next"')[1])
    assert "L-207 lamb: whole, 50.50 lb, 7 days on the rail" in below
    assert "covers Lamb loin chops H7" in below
    assert re.search(r'href="/knife\?tag=L-207&amp;style=[\w-]+">Start L-207', html)
    assert "cutting plan of Tue 08:00" in below
    make = words(block(html, "make%20C19%202026-06-09"))
    assert "make for the case today" in make
    assert "25 % fat" in make
    assert "L-208" not in below


def planned(shop, monkeypatch, **more):
    """Let the shop have a kept plan."""
    kept = KeptPlan(1, shop.now(), PLAN | more, {}, (), is_current=True)
    monkeypatch.setattr(shop.bench, "latest", lambda: kept)


RECIPE = {
    "bins": [{"id": "pork-trim", "name": "Pork trim"}],
    "makes": [PLAN["makes"][0] | {"from": [{"bin": "pork-trim", "weight": "18.4"}]}],
    "grinds": [{"cut": "C15", "name": "Beef shin", "bin": "pork-trim", "day": 0, "weight": "8.0",
                "gives": "7.6"}],
    "short": [{"booking": "H4", "cut": "C14", "weight": "2.2"}],
}  # fmt: skip


def test_grinds_are_lines_on_wall_and_paper(shop, client, monkeypatch, words):
    """Shin to trim, 8 lb, for the bin it goes into, before the links are made."""
    planned(shop, monkeypatch, **RECIPE)
    html = client.get("/bench").text
    text = words(block(html, "grind%20C15%20pork-trim%202026-06-09"))
    assert "Beef shin on the bone to trim" in text
    assert "8.00 lb" in text
    assert "grind for Pork trim today" in text
    assert html.index("line=grind") < html.index("line=make")
    assert "Beef shin on the bone to trim gives 7.60 lb" in words(client.get("/bench/paper").text)


def test_a_recipe_and_what_is_short_are_in_the_device_s_unit(shop, client, monkeypatch, words):
    """On a device in kilograms no line of the bench, and none of the paper, says pounds."""
    planned(shop, monkeypatch, **RECIPE)
    assert "18.40 lb Pork trim; 25 % fat" in words(client.get("/bench").text)
    client.cookies.set("collop_unit", "kg")
    for path in ("/bench", "/bench/paper"):
        html = client.get(path).text.split("<main")[1]
        # the note of a booking is what somebody wrote
        text = words(re.sub(r'<p class="work-how work-note">.*?</p>|<i>.*?</i>', "", html))
        assert "8.346 kg Pork trim; 25 % fat" in text
        assert "gives 3.447 kg" in text
        assert re.search(r"SHORT 0\.998 kg", text)
        assert not re.search(r"\d lb", text), path


def test_words_of_a_person_keep_their_weight(shop, client, words):
    """A note is what was written, in whatever unit."""
    shop.bench.want("H7", "C15", lb("1"), by="dot", key="w", note="in 2.00 lb pieces")
    client.cookies.set("collop_unit", "kg")
    assert "in 2.00 lb pieces" in words(client.get("/bench").text)


def test_done_of_a_make_is_a_note_and_leads_to_put_away(shop, client, monkeypatch, words):
    """The list moves no stock, and says so before and after."""
    planned(shop, monkeypatch, **RECIPE)
    line = "make C19 2026-06-09"
    form = client.get(f"/bench?line={line}").text
    assert "Done here is a note: stock is booked at Put away" in words(form)
    before = {one.id: one.free for one in shop.case()}
    answer = done(client, line=line, weight="20")
    assert answer.headers["location"] == "/bench?by=marek&done=noted"
    html = client.get(answer.headers["location"]).text
    assert "Noted. This list moves no stock yet: trim and mince are booked at Put away." in html
    assert '<a href="/put-away">Put away</a>' in html
    assert {one.id: one.free for one in shop.case()} == before
    assert "Done here is a note" not in client.get("/bench?line=H8-1").text


def test_more_than_is_there_is_asked_about_once(shop, client, monkeypatch, words):
    """The want of H4 is short as a whole; sent again as it is, it goes."""
    planned(shop, monkeypatch, **RECIPE)
    form = words(client.get("/bench?line=H4%2BC14").text)
    assert "SHORT 2.20 lb by the plan, so 0.00 lb is there" in form
    answer = done(client, line="H4+C14", weight="2.2")
    assert answer.status_code == 422
    assert (
        "the plan says 2.20 lb of this is not there; weigh what there is, or tell the counter."
        in words(answer.text)
    )
    assert 'name="sure" value="2.2"' in answer.text
    again = done(client, line="H4+C14", weight="2.2", sure="2.2", key="2")
    assert again.status_code == 303


def test_start_leads_to_the_knife_with_the_plans_style(shop, client, monkeypatch, words):
    """It is chosen there and marked; without a plan nothing is."""
    style = shop.cutting.styles_for("L-207")[-1]
    made = PLAN["breaks"][0] | {"style": style.id, "style_name": style.name}
    planned(shop, monkeypatch, breaks=[made])
    link = re.search(r'href="([^"]*)">Start L-207', client.get("/bench").text)[1]
    assert link == f"/knife?tag=L-207&amp;style={style.id}"
    html = client.get(unescape(link)).text
    chips = [part for part in html.split('<label class="chip">') if 'name="style"' in part]
    marked = [part for part in chips if "by the plan" in part]
    assert len(marked) == 1
    assert f'value="{style.id}" checked' in marked[0]
    monkeypatch.setattr(shop.bench, "latest", lambda: None)
    assert "by the plan" not in client.get("/knife?tag=L-207").text


def test_links_carry_who_stands_there(client, read_page):
    """An address has one ampersand between its parts, not its name."""
    links = read_page(client.get("/bench?by=marek").text).links
    assert "/bench?do=clean&by=marek#panel" in links
    assert "/bench?line=H8-1&by=marek#panel" in links
    assert not any("&amp;" in one for one in links if one)


@pytest.mark.parametrize(("short", "leads"), [("/plan", "/bench/plan"), ("/farm-call", "/farm")])
def test_plan_and_farm_call_are_found_by_their_names(client, read_page, short, leads):
    """The short address leads there, and the bench has a link."""
    answer = client.get(short)
    assert (answer.status_code, answer.headers["location"]) == (303, leads)
    assert leads in read_page(client.get("/bench").text).links
    assert leads in read_page(client.get("/rail").text).links


def test_the_bar_marks_the_rail_while_the_farm_call_is_looked_at(client):
    """The farm call fills the rail, so that is where one stands."""
    assert 'href="/rail" aria-current="page"' in client.get("/farm").text


def test_a_piece_under_the_knife_is_gone_on_with(shop, client):
    """The button leads to its break."""
    begun = shop.cutting.start_break("L-208", shop.cutting.styles_for("L-208")[0].id, by="marek",
                                     key="k")  # fmt: skip
    assert f'href="/knife/{begun.number}">Go on with L-208' in client.get("/bench").text


def test_an_empty_list_says_where_the_case_is_thin(client, clock, words):
    """In July nothing is booked."""
    clock.put(datetime.combine(date(2026, 7, 14), time(8)))
    text = words(client.get("/bench").text)
    assert "Nothing booked. Case is thin on:" in text
    assert "Done + weigh" not in text


def test_a_shop_of_nothing_has_a_list_and_a_paper(tmp_path, words):
    """No line, no break, a case that lacks nothing; the paper has empty lines to write on."""
    empty = create_shop(f"sqlite:///{tmp_path}/e.db", settings=Settings("Ours"), clock=StillClock())
    app = create_app(empty, answer=fake_kernel.answer, is_open_without_password=True)
    with TestClient(app) as client:
        assert "The case is well filled." in words(client.get("/bench").text)
        assert "No break is planned." in words(client.get("/bench").text)
        assert "Nothing booked." in words(client.get("/bench/paper").text)
    empty.close()


def test_the_paper_has_boxes_and_says_when_it_was_printed(client, clock, words):
    """One table of lines with three boxes each, breaks below, the clean-down with rules to fill."""
    clock.put(datetime.combine(date(2026, 6, 12), time(8, 5)))
    post(client, "clean", by="kofi")
    html = client.get("/bench/paper").text
    text = words(html)
    assert "printed at 08:05" in text
    assert "Bench, Friday 12 June 2026" in text
    lines = re.split(r'class="paper-line(?!s)', html)[1:]
    assert len(lines) == len(client.get("/bench").text.split('<li class="work')[1:])
    assert all(part.split("</tbody>")[0].count('class="paper-box"') == 3 for part in lines)
    framed = next(part for part in lines if "soy-sesame" in part)
    assert framed.startswith(" is-framed")
    assert framed.index("ALLERGEN") < framed.index("soy-sesame")
    assert "Clean-down due Sat 00:05" in text
    assert "Break next" in text


def test_the_paper_leaves_out_what_is_off(shop, client, words):
    """Nobody should cut a crossed line from paper."""
    seen(client)
    shop.release("H8", by="dot", key="r", why="they rang off")
    assert "short ribs" not in words(client.get("/bench/paper").text)


def test_what_the_script_renews_is_there_only_while_nobody_weighs(client):
    """Four live parts on the list; none beside an open form."""
    assert client.get("/bench").text.count("data-live") == 5
    assert "data-live" not in client.get("/bench?line=H8-1").text.replace("data-scale-live", "")
    assert "data-live" not in client.get("/bench?do=clean").text


def test_the_page_is_the_same_while_nothing_happens(client):
    """Two looks in one moment give the same parts, so that nothing is redrawn under a hand."""
    assert client.get("/bench").text == client.get("/bench").text


def test_looking_writes_nothing(shop, client):
    """Neither page nor paper nor form leaves a mark."""
    count = "SELECT count(*) FROM clean_downs"
    with shop._room.store.read() as conn:
        before = conn.exec_driver_sql(count).scalar()
    for path in ("/bench", "/bench/paper", "/bench?line=H8-1", "/bench?do=clean"):
        client.get(path)
    with shop._room.store.read() as conn:
        assert conn.exec_driver_sql("SELECT count(*) FROM bench_marks").scalar() == 0
        assert conn.exec_driver_sql(count).scalar() == before


@pytest.mark.parametrize("path", ["done", "undo", "off"])
@pytest.mark.parametrize("line", ["", "H99-1", "x" * 3000, "make C19 2026-02-31", "H8-1'--"])
def test_any_line_id_is_answered_with_a_sentence(client, path, line):
    """404, never a fault."""
    answer = post(client, path, line=line, weight="1", unit="lb", by="marek", key="k")
    assert answer.status_code == 404
    assert "not on the list any more" in answer.text


def test_fields_have_names_and_nothing_is_inline(client, read_page):
    """Labels for all fields; no inline script, handler or style."""
    for path in ("/bench", "/bench?line=H8-1", "/bench?do=clean", "/bench/paper"):
        page = read_page(client.get(path).text)
        assert page.unlabelled() == []
        assert page.inline == []


def test_the_staff_bar_leads_to_the_bench(client, read_page):
    """From every screen."""
    assert "/bench" in read_page(client.get("/case").text).links
    assert 'href="/bench" aria-current="page"' in client.get("/bench").text


def test_the_examples_hold():
    """What the docstrings say of hours is so."""
    result = doctest.testmod(bench_view)
    assert (result.attempted > 0, result.failed) == (True, 0)
