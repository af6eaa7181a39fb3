"""The Fire Sheet on the customer's page and at the counter: shown, put right, readdressed."""

from __future__ import annotations

import dataclasses
import json
import re
from copy import deepcopy
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

import jsonschema
import pypdfium2
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from collop.errors import WrongState
from collop.fire.around_after import NUMBER_RULES
from collop.fire.fire_schema import SCHEMAS
from collop.fire.heat import heat
from collop.fire.lethality_plan import lethality
from collop.shop.fire_model import FIRE_KINDS, FireFacts, Thickness
from collop.web import create_app
from collop.web.fire_form import Dish, FactsForm, read_facts
from collop.web.forms import Fields

ROOM = "/hook/H2/fire"
PLAN = json.loads(Path(__file__).with_name("fire_sheet_plan.json").read_text(encoding="utf-8"))
PRIVATE = {
    "x-robots-tag": "noindex, nofollow, noarchive",
    "referrer-policy": "no-referrer",
    "cache-control": "private, no-store",
}


@pytest.fixture
def token(shop):
    return shop.fire.sheet("H2").token


def sketched(sheet, **changes):
    """Return a sheet with the hand-written plan in the place of its own."""
    plan = deepcopy(PLAN) | changes
    jsonschema.validate(plan, SCHEMAS["fire.plan"])
    return dataclasses.replace(sheet, plan=plan)


@pytest.fixture
def stands_for(shop, monkeypatch):
    """Return a setter of the sheet that every address opens, told in the asked units as it is."""

    def set_it(sheet):
        monkeypatch.setattr(shop.fire, "by_token", lambda _token: sheet)
        monkeypatch.setattr(
            shop.fire,
            "in_units",
            lambda found, unit, weight: dataclasses.replace(
                found, plan=found.plan | {"unit": unit, "weight_unit": weight}
            ),
        )

    return set_it


def form_of(client, read_page, address=ROOM):
    page = read_page(client.get(address).text)
    sent = page.form(address)
    # what the page reader leaves out: the choices
    html = client.get(address).text
    for name, body in re.findall(
        r"<select id=\"f-[^\"]+\" name=\"([^\"]+)\"[^>]*>(.*?)</select>", html, re.DOTALL
    ):
        chosen = re.search(r"value=\"([^\"]*)\" selected", body)
        sent[name] = [chosen[1] if chosen else ""]
    return sent | {"by": ["dot"]}


# the customer's page


def test_the_customer_s_page_shows_this_booking_and_nothing_else(client, shop, token, words):
    """Times, minimums, don't-eats and cautions; no price, no phone, no other booking, no staff."""
    answer = client.get(f"/fire/{token}")
    assert answer.status_code == 200
    told = words(answer.text)
    plan = shop.fire.sheet("H2").plan
    for item in plan["items"]:
        assert item["name"] in told
        assert f"{item['minimum']['core_f']} °F ({item['minimum']['core_c']} °C)" in told
        assert item["loads"][0]["off"][11:] in told
    for one in [*plan["cautions"], *(one["what"] for one in plan["assumptions"])]:
        assert one in told
    assert "no sesame" in told
    booking = shop.booking("H2")
    hidden = [str(booking.total), booking.phone_end, "$", "Hook", "Case", "H2"]
    hidden += [str(line.line_total) for line in booking.lines]
    for one in filter(None, hidden):
        assert not re.search(rf"\b{re.escape(one)}\b", told), one
    assert "<nav" not in answer.text
    assert "<script" not in answer.text
    others = {one.name for one in shop.bookings(shop.now().date(), shop.now().date())}
    assert not any(name in told for name in others - {booking.name})


@pytest.mark.parametrize("part", ["", "/sheet.pdf", "/picture.svg", "/nothing"])
def test_what_lies_behind_the_address_is_indexed_and_kept_by_nobody(client, token, part):
    """No index, no referrer, no shared cache: on the page and its files, and on a wrong address."""
    for address in (f"/fire/{token}{part}", f"/fire/wrong{part}"):
        headers = client.get(address).headers
        assert {name: headers[name] for name in PRIVATE} == PRIVATE


def test_an_unknown_a_withdrawn_and_a_senseless_address_get_the_same_answer(client, shop, token):
    """404 in words, to the letter the same, whichever it is."""
    shop.fire.renew("H2", by="dot", key="lost")
    unknown = token[:-1] + ("A" if token[-1] != "A" else "B")
    answers = [
        client.get(f"/fire/{one}")
        for one in (token, unknown, "x", "%00", "a" * 3000, "..%2f..", "٣٤")
    ]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.text for answer in answers}) == 1
    assert "There is no sheet at this address." in answers[0].text
    assert client.get(f"/fire/{shop.fire.sheet('H2').token}").status_code == 200


def test_a_booking_that_is_off_has_no_page(client, shop, token, words):
    """Released: the address opens nothing; the counter is told why."""
    shop.release("H2", by="dot", key="off", why="rained off")
    assert client.get(f"/fire/{token}").status_code == 404
    told = words(client.get(ROOM).text)
    assert "H2 is off" in told
    html = client.get(ROOM).text
    assert f'action="{ROOM}"' not in html
    assert "fire-renew" not in html


def test_degrees_are_switched_and_kept_on_the_device(client, token, words):
    """°C is told first once chosen, also the next time, and on paper; stored facts stay."""
    before = words(client.get(f"/fire/{token}").text)
    assert "165 °F (74 °C)" in before
    chosen = client.get(f"/fire/{token}?heat=C&weight=kg")
    assert "74 °C (165 °F)" in words(chosen.text)
    assert "kg" in words(chosen.text)
    again = client.get(f"/fire/{token}")
    assert "74 °C (165 °F)" in words(again.text)
    assert re.search(r'name="heat" value="C" checked', again.text)
    assert "set-cookie" not in client.get(f"/fire/{token}?heat=K").headers


def test_celsius_and_kilograms_are_first_in_every_sentence(client, token, words):
    """Steps, cautions, thickness and what was taken as given: the other scale only in brackets."""
    told = words(client.get(f"/fire/{token}?heat=C&weight=kg").text)
    told = told.partition("Take care")[0].partition("Show")[2] + told.partition("Take care")[2]
    assert told.count("°C") > 8
    for unit in ("°F", "in(?= thick)", "sq in", "lb"):
        bare = re.findall(rf"[^ (]*\d {unit}\b", re.sub(r"\([^)]*\)", "", told))
        assert not bare, bare
    told = words(client.get(f"/fire/{token}?heat=F&weight=lb").text)
    assert not re.search(r"\d °C\b", re.sub(r"\([^)]*\)", "", told))


def test_a_sheet_told_in_other_units_has_the_same_clock(shop):
    """Degrees and weights in other units move no time and keep the address and the facts."""
    sheet = shop.fire.sheet("H2")
    other = shop.fire.in_units(sheet, "C", "kg")
    assert shop.fire.in_units(sheet, "F", "lb") is sheet
    assert other.token == sheet.token
    assert [item["loads"] for item in other.plan["items"]] == [
        item["loads"] for item in sheet.plan["items"]
    ]
    both = [{one["ask"] for one in found.plan["assumptions"]} for found in (sheet, other)]
    assert both[0] == both[1]


def test_a_meal_without_food_is_named_nowhere(client, shop, stands_for, words):
    """Two meals, the second with nothing on it: neither its hour nor how sure it is."""
    serve = [*PLAN["serve"], {"id": "late", "at": "2026-06-12T20:00", "ready_chance": None}]
    stands_for(sketched(shop.fire.sheet("H2"), serve=serve))
    told = words(client.get("/fire/x").text)
    assert "20:00" not in told
    assert "How sure: all ready at 18:30 in 94 of 100 fires." in told
    assert "Less sure" not in told


def test_rounds_and_a_poor_chance_have_their_own_words(client, shop, stands_for, words):
    """Rounds are not all ready at once; under the chance that was asked for, what would help."""
    plan = deepcopy(PLAN)
    plan["items"][2]["loads"][0] |= {"eat": "2026-06-12T19:05", "eat_min": 35}
    plan["serve"][0]["ready_chance"] = 0.74
    stands_for(sketched(shop.fire.sheet("H2"), answer="rounds", **{
        key: plan[key] for key in ("items", "serve")}))  # fmt: skip
    told = words(client.get("/fire/x").text)
    assert "How sure: each round at its time, in 74 of 100 fires." in told
    assert "all ready" not in told
    assert "Less sure than we like (aim: 90 of 100): a bigger fire, or one dish less" in told


def test_what_can_hurt_is_the_first_of_what_is_taken_as_given(shop):
    """Air over 90 °F, then the ride; thickness is the shop's word unless this customer told."""
    facts = dataclasses.replace(shop.fire.facts("H2"), ride_min=None)
    shop.fire.change("H2", facts, by="dot", key="untold")
    given = [one["what"] for one in shop.fire.sheet("H2").plan["assumptions"]]
    assert given[0].startswith("The air stays at or under 90 °F")
    assert given[1].startswith("The ride home")
    thick = [one for one in given if " thick, " in one]
    assert thick
    assert all(one.endswith(("as the shop cuts it.", "as it usually is.")) for one in thick)
    dish = next(item["id"] for item in shop.fire.problem("H2")["items"] if item["body"])
    told = dataclasses.replace(facts, thickness={dish: Thickness(Decimal(44), measured=True)})
    shop.fire.change("H2", told, by="dot", key="thick")
    given = [one["what"] for one in shop.fire.sheet("H2").plan["assumptions"]]
    assert sum(one.endswith("(44 mm) thick, measured.") for one in given) == 1


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_paper_s_code_leads_to_the_page(client, token, paper):
    """One page of the asked size, whose code holds the address of this very page."""
    answer = client.get(f"/fire/{token}/sheet.pdf?paper={paper}")
    assert answer.headers["content-type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    assert len(document) == 1
    height = {"letter": 792, "a4": 842}[paper]
    assert document[0].get_height() == pytest.approx(height, abs=1)
    codes = zxingcpp.read_barcodes(document[0].render(scale=2).to_pil())
    assert [code.text for code in codes] == [f"http://testserver/fire/{token}"]


def test_the_picture_comes_in_two_widths(client, token):
    """An SVG for a screen and one for a telephone, without inline style."""
    widths = set()
    for narrow in ("", "?narrow=1"):
        answer = client.get(f"/fire/{token}/picture.svg{narrow}")
        assert answer.headers["content-type"] == "image/svg+xml"
        assert "style=" not in answer.text
        widths.add(re.search(r"<svg width=\"(\d+)\"", answer.text)[1])
    assert widths == {"340", "640"}


def test_a_fire_that_cannot_be_and_rounds_are_said_in_words(client, shop, stands_for, words):
    """A no with what would work; a later round; minimums stay."""
    sheet = shop.fire.sheet("H2")
    rounds = sketched(sheet, answer="rounds")
    items = [deepcopy(item) | {"loads": []} for item in PLAN["items"]]
    no = sketched(
        sheet, answer="no", items=items, steps=[], load=[], coals=[],
        why_no=[{"limit": "area", "item": None, "say": "The grill holds 123 sq in."}],
        nearest_yes=[{"change": "waves", "to": 2, "say": "Two rounds would work."}],
    )  # fmt: skip
    for plan, said in ((rounds, "later round"), (no, "The grill holds 123 sq in.")):
        stands_for(plan)
        told = words(client.get("/fire/x").text)
        assert said in told
        assert "165 °F (74 °C)" in told
    assert "Two rounds would work." in told
    assert client.get("/fire/x/picture.svg").status_code == 404
    assert client.get("/fire/x/sheet.pdf").status_code == 200


def test_a_core_wanted_above_the_minimum_is_told_after_it_in_both_scales(
    client, shop, stands_for, words
):
    """A lamb shoulder wanted at 190 °F: minimum, then the best; °C first when it is chosen."""
    sheet = sketched(shop.fire.sheet("H2"))
    stands_for(sheet)
    told = words(client.get("/fire/x?heat=F").text)
    assert "145 °F (63 °C), best 190 °F (88 °C)" in told
    assert told.count("best") == 1
    assert "63 °C (145 °F), best 88 °C (190 °F)" in words(client.get("/fire/x?heat=C").text)
    nothing = [deepcopy(item) | {"loads": []} for item in PLAN["items"]]
    stands_for(sketched(sheet, items=nothing, answer="no"))
    assert "145 °F (63 °C), best 190 °F (88 °C)" in words(client.get("/fire/x?heat=F").text)


def test_the_rule_of_the_number_ends_the_cautions_and_stands_once(client, shop, token, words):
    """The plan has it first; the page and the paper each say it once, at the end."""
    cautions = shop.fire.sheet("H2").plan["cautions"]
    assert cautions[0] == NUMBER_RULES
    told = words(client.get(f"/fire/{token}").text)
    assert told.count(NUMBER_RULES) == 1
    assert told.index(NUMBER_RULES) > told.index(cautions[-1])
    paper = pypdfium2.PdfDocument(client.get(f"/fire/{token}/sheet.pdf").content)
    printed = " ".join(paper[0].get_textpage().get_text_range().split())
    assert printed.count(NUMBER_RULES) == 1


def test_one_guest_eats_and_several_eat(client, shop, monkeypatch, words):
    """The line of who does not eat what agrees with its number."""
    guests = [{"what": "sesame", "count": 1, "plate": "own"},
              {"what": "pork", "count": 7, "plate": "own"}]  # fmt: skip
    sheet = sketched(shop.fire.sheet("H2"), dont_eats=guests)
    monkeypatch.setattr(shop.fire, "by_token", lambda _token: sheet)
    told = words(client.get("/fire/x").text)
    assert "1 eats no sesame:" in told
    assert "7 eat no pork:" in told


def test_a_booking_without_food_for_the_fire_has_no_page(client, shop, monkeypatch):
    """What the shop refuses to plan is no page for the customer, and no fault of the server."""

    def refuse(_token):
        raise WrongState("H3 holds nothing that goes on a fire; book its food first.")

    monkeypatch.setattr(shop.fire, "by_token", refuse)
    assert client.get("/fire/x").status_code == 404
    assert "holds nothing that goes on a fire" in client.get("/hook/H3/fire").text


# at the counter


def test_the_slip_leads_to_the_fire_sheet(client, shop, token, read_page):
    """From the slip to the sheet, its paper and the customer's page."""
    assert ROOM in read_page(client.get("/hook/H2").text).links
    links = read_page(client.get(ROOM).text).links
    assert f"/fire/{token}" in links
    assert any(link.startswith(f"/fire/{token}/sheet.pdf") for link in links)
    assert "The code on the paper leads to" in client.get(ROOM).text


def test_the_code_leads_to_where_customers_reach_the_shop(shop, token, words):
    """Told to the server, it stands on page and paper; a code to this machine alone is said."""
    for site, counter, is_here in (
        ("https://shop.example", "http://localhost", False),
        ("", "http://192.0.2.7:8000", False),
        ("", "http://localhost:8000", True),
        ("", "http://127.0.0.1", True),
        ("", "http://[::1]:8000", True),
    ):
        client = TestClient(create_app(shop, site=site), base_url=counter)
        page = words(client.get(ROOM).text)
        leads = f"{site or counter}/fire/{token}"
        assert f"The code on the paper leads to {leads}" in page
        assert ("only this machine opens that" in page) is is_here
        paper = pypdfium2.PdfDocument(client.get(f"/fire/{token}/sheet.pdf").content)
        (code,) = zxingcpp.read_barcodes(paper[0].render(scale=2).to_pil())
        assert code.text == leads


@pytest.mark.parametrize("address", [ROOM, "/hook/H3/fire", "/fire-sums", "/fire-sums/heat",
                                     "/fire-sums/lethality"])  # fmt: skip
def test_pages_of_the_fire_carry_the_policy_and_nothing_inline(client, read_page, address):
    """No inline script or style, every field named, every id once."""
    answer = client.get(address)
    assert answer.status_code == 200
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))


def test_a_fire_that_is_sent_back_unchanged_stays_as_it_was(client, shop, read_page):
    """The form shows the facts: what it sends back untouched is what was known."""
    before = shop.fire.facts("H2")
    answer = client.post(ROOM, data=form_of(client, read_page))
    assert answer.status_code == 303
    assert shop.fire.facts("H2") == before


def test_a_smaller_grill_changes_the_customer_s_sheet_at_once(client, shop, token, read_page):
    """Area, coals, lid, oven, people, ride, weather, degrees, meals and thickness are put right."""
    form = form_of(client, read_page)
    form |= {
        "kind": ["own"], "area_sq_in": ["900"], "usable_pct": ["75"], "coals_min": ["120"],
        "covered": ["yes"], "oven": ["no"], "hands": ["2"], "ride_min": ["25"], "air_f": ["95"],
        "unit": ["C"], "s1_time": ["19:00"], "s2_day": ["2026-06-12"], "s2_time": ["20:15"],
    }  # fmt: skip
    thick = next(name for name in form if name.startswith("t_"))
    form[thick] = ["1 3/4 in"]
    form[thick.replace("t_", "m_")] = ["yes"]
    answer = client.post(ROOM, data=form)
    assert answer.headers["location"] == f"{ROOM}?done=changed"
    facts = shop.fire.facts("H2")
    assert (facts.kind, facts.area_sq_in, facts.usable_pct) == ("own", Decimal(900), 75)
    assert (facts.coals_min, facts.covered, facts.oven, facts.hands) == (120, True, False, 2)
    assert (facts.ride_min, facts.air_f, facts.unit) == (25, 95, "C")
    assert [f"{at:%H:%M}" for at in facts.serve] == ["19:00", "20:15"]
    # 1.75 in at 25.4 mm an inch exactly is 44.45 mm (NIST Handbook 44, appendix C)
    assert facts.thickness[thick[2:]] == Thickness(Decimal("44.5"), measured=True)
    html = client.get(f"/fire/{token}").text
    assert "19:00" in html
    assert "675 sq in" in html
    assert "74 °C (165 °F)" in html


def test_the_same_key_puts_a_fire_right_once(client, shop, read_page):
    """Sent twice, written once; the same key for something else is refused in words."""
    form = form_of(client, read_page) | {"coals_min": ["100"]}
    assert client.post(ROOM, data=form).status_code == 303
    assert client.post(ROOM, data=form).status_code == 303
    other = client.post(ROOM, data=form | {"coals_min": ["90"]})
    assert other.status_code in {409, 422}
    assert shop.fire.facts("H2").coals_min == 100


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"by": [""]}, "by", "choose who does this"),
        ({"area_sq_in": ["lots"]}, "area_sq_in", "write an amount"),
        ({"coals_min": ["2 h"]}, "coals_min", "write a whole number"),
        ({"usable_pct": ["5"]}, "usable_pct", "too few"),
        ({"kind": ["volcano"]}, "kind", "is not known here"),
        ({"covered": ["maybe"]}, "covered", "is not known here"),
        ({"s1_time": ["25:61"]}, "s1_time", "write the time"),
        ({"s1_day": [""]}, "s1_time", "both the day and the time"),
        ({"s1_day": ["2026-06-01"]}, "s1_time", "Eat at"),
        ({"s1_day": ["12 June"]}, "s1_time", "choose a day"),
    ],
)
def test_what_cannot_be_is_said_above_and_beside_its_field(
    client, shop, read_page, change, field, said
):
    """422 with the summary and the message at the field; what was typed stays; nothing written."""
    before = shop.fire.facts("H2")
    answer = client.post(ROOM, data=form_of(client, read_page) | change)
    assert answer.status_code == 422
    assert "There is a problem" in answer.text
    assert f'href="#f-{field}"' in answer.text
    assert f'id="e-{field}"' in answer.text
    assert said in answer.text
    assert shop.fire.facts("H2") == before


@pytest.mark.parametrize("text", ["thick", "1/0 in", "0", "900", "-4", "1e9", "NaN"])
def test_a_thickness_that_cannot_be_read_names_its_line(client, read_page, text):
    """The sentence says which line, and how to write it."""
    form = form_of(client, read_page)
    thick = next(name for name in form if name.startswith("t_"))
    answer = client.post(ROOM, data=form | {thick: [text]})
    assert answer.status_code == 422
    assert f'href="#f-{thick}"' in answer.text
    assert "Thickness of" in answer.text


def test_looking_at_a_sheet_makes_no_address(client, shop, words, read_page):
    """The sheet and its picture are shown; paper and customer's page wait for the address."""
    before = shop.bench.version()
    html = client.get(ROOM).text
    assert "This sheet has no address yet" in words(html)
    assert "fire-steps" in html
    assert not any("/fire/" in link for link in read_page(html).links if link != ROOM)
    assert "sheet.pdf" not in html
    picture = re.search(r'src="([^"]+picture\.svg[^"]*)"', html)[1].replace("&amp;", "&")
    assert client.get(picture).headers["content-type"] == "image/svg+xml"
    assert shop.fire.look("H2").token is None
    assert shop.bench.version() == before


def test_the_address_is_made_by_a_button_and_once(client, shop, words):
    """With a name; sent again, or by another key, it stays."""
    address = f"{ROOM}/address"
    assert f'action="{address}"' in client.get(ROOM).text
    assert client.post(address, data={"key": "k"}).status_code == 422
    assert shop.fire.look("H2").token is None
    for key in ("k", "k", "other"):
        answer = client.post(address, data={"key": key, "by": "dot"})
        assert answer.headers["location"] == f"{ROOM}?done=made"
        token = shop.fire.look("H2").token
        assert client.get(f"/fire/{token}").status_code == 200
    html = client.get(answer.headers["location"]).text
    assert "The sheet has its address." in words(html)
    assert f"/fire/{token}/sheet.pdf" in html
    assert f'action="{ROOM}/renew"' in html
    assert client.post("/hook/H3/fire/address", data={"by": "dot"}).status_code == 409


def test_a_thickness_without_its_unit_is_said_beside_its_field(client, shop, read_page):
    """2 where inches were meant is 2 mm, and no piece is so thin."""
    form = form_of(client, read_page)
    thick = [name for name in form if name.startswith("t_")][-1]
    before = shop.fire.facts("H2")
    answer = client.post(ROOM, data=form | {thick: ["2"]})
    assert answer.status_code == 422
    assert f'id="e-{thick}"' in answer.text
    assert re.search(r"Thickness of [^:]+: 2 mm is no thickness of [^;]+; write the unit, such as",
                     answer.text)  # fmt: skip
    assert shop.fire.facts("H2") == before


def test_a_new_address_voids_the_old_one(client, shop, token, read_page):
    """The old paper opens nothing; the counter is told to print again; without a name it is not."""
    address = f"{ROOM}/renew"
    assert client.post(address, data={"key": "k"}).status_code == 422
    assert shop.fire.sheet("H2").token == token
    answer = client.post(address, data={"key": "k", "by": "dot"})
    assert answer.headers["location"] == f"{ROOM}?done=renewed"
    fresh = shop.fire.sheet("H2").token
    assert fresh != token
    assert client.get(f"/fire/{token}").status_code == 404
    assert client.get(f"/fire/{fresh}").status_code == 200
    client.post(address, data={"key": "k", "by": "dot"})
    assert shop.fire.sheet("H2").token == fresh


@pytest.mark.parametrize("address", [ROOM, f"{ROOM}/renew", f"{ROOM}/address"])
def test_another_site_cannot_change_a_fire(client, shop, token, address):
    """Refused before anything is read, and never by a plain link."""
    data = {"key": "k", "by": "dot", "coals_min": "10"}
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}):
        assert client.post(address, data=data, headers=headers).status_code == 403
    assert shop.fire.sheet("H2").token == token
    assert client.get(f"{ROOM}/renew").status_code in {404, 405}


# the form itself


FACTS = st.builds(
    FireFacts,
    kind=st.sampled_from([None, *FIRE_KINDS]),
    area_sq_in=st.one_of(
        st.none(), st.decimals(Decimal("0.01"), 20000, places=2, allow_nan=False)
    ),
    usable_pct=st.one_of(st.none(), st.integers(30, 100)),
    coals_min=st.one_of(st.none(), st.integers(10, 1440)),
    covered=st.sampled_from([None, True, False]),
    oven=st.sampled_from([None, True, False]),
    pots=st.one_of(st.none(), st.integers(0, 20)),
    serve=st.sets(
        st.integers(0, 2000).map(lambda n: datetime(2026, 6, 12, 9) + timedelta(minutes=n)),  # noqa: DTZ001 -- shop time
        max_size=4,
    ).map(lambda times: tuple(sorted(times))),
    ride_min=st.one_of(st.none(), st.integers(0, 1440)),
    unit=st.sampled_from([None, "F", "C"]),
    hands=st.one_of(st.none(), st.integers(1, 10)),
    air_f=st.one_of(st.none(), st.integers(-60, 130)),
    thickness=st.dictionaries(
        st.sampled_from(["C1", "C2"]),
        st.builds(Thickness, st.decimals(2, 400, places=1, allow_nan=False), st.booleans()),
    ),
)  # fmt: skip
DISHES = [Dish("C1", "Chicken", 44.0, measured=False, serve="main"),
          Dish("C2", "Steak", 25.0, measured=True, serve="main")]  # fmt: skip
NAMES = ["kind", "area_sq_in", "usable_pct", "coals_min", "covered", "oven", "pots", "ride_min",
         "unit", "hands", "air_f", "t_C1", "m_C1", "t_C2", "m_C2", "at_C1", "at_C2"]  # fmt: skip
NAMES += [f"s{number}_{part}" for number in range(1, 5) for part in ("day", "time")]


@settings(max_examples=100)
@given(facts=FACTS)
def test_the_form_sends_back_the_facts_it_shows(facts):
    """Facts to fields to facts is the same, without a fault."""
    shown = FactsForm(facts, DISHES)
    fields = Fields((name, shown.one(name)) for name in NAMES)
    form = FactsForm(facts, DISHES, fields)
    assert read_facts(form) == facts
    assert form.faults.messages == {}


TEXT = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["", "0", "-1", "NaN", "1e400", "18:30", "2026-06-12", "9999-12-31", "yes", "C",
                     "own", "45 mm", "1 3/4 in", "٣٤", "½", "\x00", "1" * 60]),
)  # fmt: skip


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(form=st.dictionaries(st.sampled_from(NAMES), TEXT, max_size=6), key=st.uuids())
def test_no_form_whatever_breaks_the_fire(client, form, key):
    """Anything typed anywhere is answered below 500."""
    answer = client.post(ROOM, data=form | {"by": "dot", "key": str(key)})
    assert answer.status_code in {303, 409, 422}


# sums of the fire


def test_the_sheet_of_heat_tells_what_the_kernel_tells(client, words):
    """A piece of 30 mm from 41 °F in an oven of 350 °F to 145 °F: the kernel's minutes and rise."""
    answer = client.get("/fire-sums/heat?thick=30&shape=slab&scale=F&start=41&medium_kind=20"
                        "&medium=350&until=145&rest=10&at=5+10")  # fmt: skip
    plan = heat({
        "schema": "collop.heat/1", "shape": "slab", "half_thickness_m": 0.015,
        "alpha_m2_s": 1.3e-7, "k_w_mk": 0.48, "h_w_m2k": 20, "start_c": 5,
        "medium_c": 176.6667, "until_core_c": 62.7778, "at_min": [5, 10],
        "rest": {"air_c": 21, "minutes": 10},
    })  # fmt: skip
    told = words(answer.text)
    assert answer.status_code == 200
    assert f"core there after {plan['minutes_to_core']:.0f} min" in told
    assert f"{plan['rest']['rise_c'] * 1.8:.1f} °F" in told
    assert f"{plan['core_c'][1] * 1.8 + 32:.1f} °F" in told


def test_the_sheet_of_lethality_tells_the_minimum_first(client, words):
    """A core held short of the published minimum is not met, whatever the table counts."""
    history = "0 40\n30 135\n120 136"
    asked = {"scale": "F", "history": history, "table": "fsis-appendix-a-beef"}
    answer = client.get("/fire-sums/lethality", params=asked)
    plan = lethality({
        "schema": "collop.lethality/1", "table": "fsis-appendix-a-beef", "treatment": "whole",
        "history": [{"min": 0, "core_c": round(8 / 1.8, 4)},
                    {"min": 30, "core_c": round(103 / 1.8, 4)},
                    {"min": 120, "core_c": round(104 / 1.8, 4)}]})  # fmt: skip
    told = words(answer.text)
    assert not plan["published_minimum"]["met"]
    assert "The published minimum is not met" in told
    assert plan["log_reduction"] == 12
    assert f"12 or more (it is counted no further); {plan['target']} is asked for" in told
    assert "Nothing is counted under 130 °F (54.4 °C)." in told


@pytest.mark.parametrize(
    ("table", "treatment", "rule_f"),
    [("fsis-appendix-a-beef", "whole", 145), ("fsis-appendix-a-beef", "ground", 160),
     ("fsis-appendix-a-chicken", "whole", 165)],
)  # fmt: skip
def test_a_core_typed_at_the_minimum_meets_it_and_one_under_it_does_not(
    client, words, table, treatment, rule_f
):
    """USDA FSIS, 145, 160 and 165 °F: what is typed is compared as it is typed, not rounded."""
    for more, is_met in ((-0.1, False), (-0.0001, False), (0, True), (0.0001, True)):
        core = f"{rule_f + more:.4f}"
        told = words(client.get("/fire-sums/lethality", params={
            "scale": "F", "table": table, "treatment": treatment, "fat": "5",
            "history": f"0 40\n30 {core}\n34 {core}"}).text)  # fmt: skip
        assert ("The published minimum is not met" in told) is not is_met, core


@pytest.mark.parametrize(
    ("until", "is_under"), [("144.9", True), ("144.999", True), ("145", False)]
)
def test_a_core_wanted_at_the_minimum_is_not_called_under_it(client, words, until, is_under):
    """145 °F typed is the least itself; what is less reads as less."""
    told = words(client.get("/fire-sums/heat?thick=30&shape=slab&scale=F&start=41&medium_kind=20"
                            f"&medium=350&until={until}").text)  # fmt: skip
    assert ("is under every published minimum" in told) is is_under
    assert (f"{until} °F (62.7" in told) is is_under


def test_chicken_says_which_column_its_fat_takes(client, words):
    """Fat typed, or none: the column that counts is named; beef does not ask."""
    asked = {"scale": "C", "history": "0 4\n30 62\n40 62", "table": "fsis-appendix-a-chicken"}
    given = words(client.get("/fire-sums/lethality", params=asked | {"fat": "5"}).text)
    assert "Fat of 5 % counts by the column of 12 % fat, the slower one." in given
    none = words(client.get("/fire-sums/lethality", params=asked).text)
    assert "No fat was given: the column of 12 % fat counts, the slower one." in none
    assert "not known" not in given + none
    assert re.search(r"Nothing is counted under [\d.]+ °C \(\d+ °F\)", none)


def test_a_core_under_every_minimum_is_said_in_whole_figures_of_both_scales(client, words):
    """120 °F: no long decimals, and the field's own hint gives the published minimums."""
    told = words(client.get("/fire-sums/heat?thick=30&shape=slab&scale=F&start=41&medium_kind=20"
                            "&medium=350&until=120").text)  # fmt: skip
    assert "120 °F (48.9 °C) is under every published minimum" in told
    assert "whole cuts 145 °F (63 °C) and 3 min rest, mince and links 160 °F" in told
    assert "Never below" not in told


@pytest.mark.parametrize(
    ("address", "field"),
    [
        ("/fire-sums/heat?thick=", "thick"),
        ("/fire-sums/heat?thick=NaN&start=40&medium=350&until=145", "thick"),
        ("/fire-sums/heat?thick=30&start=cold&medium=350&until=145", "start"),
        ("/fire-sums/heat?thick=30&start=40&medium=350&until=145&at=x", "at"),
        ("/fire-sums/heat?thick=0.1&start=40&medium=350&until=145", "thick"),
        ("/fire-sums/heat?thick=30&start=40&medium=9999&until=145", "medium"),
        ("/fire-sums/lethality?history=", "history"),
        ("/fire-sums/lethality?history=0+40%0Ax+y", "history"),
        ("/fire-sums/lethality?history=5+40%0A1+50", "history"),
        ("/fire-sums/lethality?history=0+40%0A1+50&log=99", "log"),
    ],
)
def test_a_sum_that_cannot_be_is_said_beside_its_field(client, address, field):
    """422, summary and field, no trace."""
    answer = client.get(address)
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert "Traceback" not in answer.text
