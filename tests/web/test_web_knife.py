"""The knife page: start, weigh onto tiles, take back, close or say why not, open again."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from monday import hanging, open_monday, pounds

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.shop import NewDelivery, NewPart, NewPiece, NewStyle
from collop.shop.demo_rail import demo_table
from collop.web.knife_reading import read_weights
from collop.web.knife_view import published_plan, rows_of, segments, tiles

PARTS = [(row["part"], row["lb"]) for row in demo_table("break_b41f.csv")]
LB = WeightUnit.LB


@pytest.fixture
def shop(tmp_path_factory, tmp_path):
    opened = open_monday(tmp_path_factory, tmp_path)
    yield opened
    opened.close()


@pytest.fixture
def begun(shop):
    """Return the forequarter on the block, nothing weighed yet."""
    return shop.cutting.start_break("B-41F", "fore", by="marek", key="start")


def part_id(shop, number, name):
    """Return the id of a part, which its tile sends."""
    parts = shop.cutting.break_(number).style.parts
    return next(part.id for part in parts if part.name == name)


def touch(client, shop, number, name, text, **more):
    """Touch a tile with a figure on the scale."""
    fields = {"part": part_id(shop, number, name), "weight": text, "unit": "lb", "by": "marek",
              "key": f"{number}-{name}-{text}"}  # fmt: skip
    return client.post(f"/knife/{number}", data=fields | more)


def press(client, number, do, **more):
    """Press a button that is no tile."""
    return client.post(f"/knife/{number}", data={"do": do, "by": "marek", "key": do} | more)


def weigh_all(client, shop, number, parts=PARTS):
    """Touch every tile with the weights of the break sheet."""
    for name, text in parts:
        assert touch(client, shop, number, name, text).status_code == 303


def tile_texts(html, words):
    """Return the words of each tile in order."""
    found = re.findall(r'<button[^>]*class="tile [^>]*>.*?</button>', html, re.DOTALL)
    return [words(one).strip() for one in found]


def test_the_knife_begins_with_the_rail_and_what_is_under_it(client, shop, words):
    """Nine pieces to choose; once begun, the break stands on top and hangs no more."""
    text = client.get("/knife").text
    assert text.count('class="choice"') == 9
    assert "Under the knife" not in text
    number = shop.cutting.start_break("B-41F", "fore", by="marek", key="s").number
    text = client.get("/knife").text
    assert text.count('class="choice"') == 8
    assert f'href="/knife/{number}"' in text
    assert "166.70 lb of 166.70 lb left" in words(text)


def test_starting_offers_only_the_styles_that_cut_the_piece(client, read_page):
    """The forequarter has one style, chosen already; the lamb's is not offered."""
    page = client.get("/knife?tag=B-41F").text
    chosen = [facts for _, facts, _ in read_page(page).fields if facts.get("name") == "style"]
    assert [facts["value"] for facts in chosen] == ["fore"]
    assert "checked" in chosen[0]
    assert "It hung last at 166.70 lb" in page


def test_a_start_weighs_the_piece_once_more_and_goes_to_the_block(client, shop):
    """0.2 lb dried since the morning: the break starts at what the scale says now."""
    answer = client.post("/knife", data={"tag": "B-41F", "style": "fore", "weight": "166.5",
                                         "unit": "lb", "by": "marek", "key": "go"})  # fmt: skip
    assert answer.status_code == 303
    assert re.fullmatch(r"/knife/[0-9]+\?by=marek", answer.headers["location"])
    assert shop.cutting.open_breaks()[0].start == pounds("166.5")
    assert hanging(shop, "B-41F") is None
    assert shop.check() == []


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"tag": "B-99"}, "tag", "that one does not hang"),
        ({"style": ""}, "style", "Style:"),
        ({"style": "lamb"}, "style", "Style:"),
        ({"weight": "heavy"}, "weight", "Weight now: write the weight"),
        ({"weight": "190"}, "weight", "meat gains nothing on the rail"),
        ({"by": ""}, "by", "Who: choose who does this."),
    ],
)
def test_a_start_that_cannot_be_is_refused_in_place(client, shop, read_page, changed, field, said):
    """422, the sentence at its field, the piece still hangs."""
    fields = {"tag": "B-41F", "style": "fore", "weight": "", "unit": "lb", "by": "marek",
              "key": "go"}  # fmt: skip
    answer = client.post("/knife", data=fields | changed)
    assert answer.status_code == 422
    assert said in answer.text
    assert f"f-{field}" in read_page(answer.text).ids
    assert hanging(shop, "B-41F").weight_now == pounds("166.7")


def test_a_piece_that_does_not_hang_leads_back_to_the_choice(client, words):
    """A stale link says so and shows the rail."""
    answer = client.get("/knife?tag=B-99")
    assert "B-99 does not hang; choose from the rail." in words(answer.text)
    assert answer.text.count('class="choice"') == 9


def test_tiles_stand_in_the_order_of_the_style_with_what_is_expected(client, begun, words):
    """Nine tiles, the loss is none; each says its share of the start and where it goes."""
    shown = tile_texts(client.get(f"/knife/{begun.number}").text, words)
    assert [one.split(" not yet")[0] for one in shown] == [name for name, _ in PARTS]
    assert shown[0] == "Brisket not yet about 14.00 lb case C10"
    assert shown[5].endswith("about 40.01 lb waits on the block")
    assert shown[6].endswith("about 38.67 lb trim bin")


def test_touching_a_tile_weighs_the_part_and_the_left_over_falls(client, shop, begun, words):
    """303 back to the block; tile, left over, bar and last weighing show it; who stays."""
    answer = touch(client, shop, begun.number, "Brisket", "14.0", by="kofi")
    assert answer.headers["location"] == f"/knife/{begun.number}?by=kofi&done=weigh"
    page = client.get(answer.headers["location"])
    assert tile_texts(page.text, words)[0] == "Brisket 14.00 lb about 14.00 lb case C10"
    text = words(page.text)
    assert "Brisket 14.00 lb weighed; 152.70 lb left" in text
    assert "Kofi weighs" in text
    assert re.search(r'value="kofi" checked', page.text)
    assert shop.cutting.break_(begun.number).left == pounds("152.7")


def test_two_weighings_of_one_part_add_up_on_its_tile(client, shop, begun, words):
    """Trim comes in two tubs."""
    touch(client, shop, begun.number, "Trim", "20")
    touch(client, shop, begun.number, "Trim", "18.6")
    shown = tile_texts(client.get(f"/knife/{begun.number}").text, words)
    assert shown[6].startswith("Trim 38.60 lb in 2")


def test_the_same_touch_twice_is_one_weighing(client, shop, begun):
    """Water on the glass, or a slow connection: the key decides."""
    for _ in range(2):
        assert touch(client, shop, begun.number, "Brisket", "14.0").status_code == 303
    assert len(shop.cutting.break_(begun.number).parts) == 1


def test_another_tile_with_the_same_key_is_refused(client, shop, begun):
    """Two fingers on two tiles: the second weighs nothing."""
    touch(client, shop, begun.number, "Brisket", "14.0", key="one")
    answer = touch(client, shop, begun.number, "Short ribs", "14.0", key="one")
    assert answer.status_code == 422
    assert len(shop.cutting.break_(begun.number).parts) == 1


def test_more_than_is_left_asks_about_the_pan(client, shop, begun, words):
    """The service's sentence beside the scale, what was typed kept, nothing weighed."""
    answer = touch(client, shop, begun.number, "Brisket", "172.7")
    assert answer.status_code == 422
    assert "That is 6.00 lb too much: 166.70 lb of B-41F is left. Pan not tared?" in words(
        answer.text
    )
    assert 'value="172.7"' in answer.text
    assert answer.text.index('id="e-weight"') < answer.text.index('class="tiles"')
    assert shop.cutting.break_(begun.number).parts == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Brisket: enter what the scale says"),
        ("heavy", "Brisket: write the weight like"),
        ("0", "Brisket weighs nothing"),
        ("-3", "Brisket: write the weight like"),
        ("+".join(["1"] * 13), "Brisket: write at most 12 weights"),
    ],
)
def test_a_figure_that_is_no_weight_is_refused_beside_the_scale(client, shop, begun, text, said):
    """422 and the part's own name in the sentence."""
    answer = touch(client, shop, begun.number, "Brisket", text)
    assert answer.status_code == 422
    assert said in answer.text
    assert shop.cutting.break_(begun.number).left == pounds("166.7")


def test_enter_alone_asks_for_the_tile(client, shop, begun):
    """The scale's Enter weighs no part by itself."""
    answer = press(client, begun.number, "look", weight="14")
    assert answer.status_code == 422
    assert "Touch the tile" in answer.text
    assert 'value="14"' in answer.text


@pytest.mark.parametrize("part", ["0", "999999", "x", "9" * 30, ""])
def test_a_part_of_another_style_is_no_tile(client, shop, begun, part):
    """Never a write, never a broken page."""
    fields = {"part": part, "weight": "1", "by": "marek", "key": "k"}
    assert client.post(f"/knife/{begun.number}", data=fields).status_code in {404, 422}
    assert shop.cutting.break_(begun.number).parts == ()


def test_nobody_weighs_nothing(client, shop, begun):
    """Without a person it is refused, and the choice is open."""
    answer = touch(client, shop, begun.number, "Brisket", "14", by="")
    assert answer.status_code == 422
    assert re.search(r'class="knife-who" open', answer.text)
    assert shop.cutting.break_(begun.number).parts == ()


def test_taking_back_adds_a_line_and_the_weight_is_on_the_block_again(client, shop, begun, words):
    """The weighing stays, struck through; case and block are as before."""
    touch(client, shop, begun.number, "Brisket", "14.0")
    seq = shop.cutting.break_(begun.number).parts[0].seq
    fields = {"back": seq, "by": "marek", "key": "b"}
    answer = client.post(f"/knife/{begun.number}", data=fields)
    assert answer.headers["location"].endswith("done=back")
    page = client.get(answer.headers["location"]).text
    assert "Taken back; 166.70 lb left" in words(page)
    assert "<s>Brisket</s> taken back" in page
    assert "Take back" not in page
    assert shop.check() == []


def test_a_weighing_of_another_break_cannot_be_taken_back_here(client, shop, begun):
    """404, and the other break keeps its part."""
    other = shop.cutting.start_break("L-207", "lamb", by="kofi", key="l").number
    touch(client, shop, other, "Trim", "2")
    seq = shop.cutting.break_(other).parts[0].seq
    fields = {"back": seq, "by": "marek", "key": "b"}
    assert client.post(f"/knife/{begun.number}", data=fields).status_code == 404
    assert len(shop.cutting.break_(other).parts) == 1


def test_the_whole_forequarter_closes_to_its_start_weight(client, shop, begun, words):
    """Nine parts and 1.80 lb loss are 166.70 lb; the main action shows only then."""
    assert 'class="knife-close not-yet"' in client.get(f"/knife/{begun.number}").text
    weigh_all(client, shop, begun.number)
    page = client.get(f"/knife/{begun.number}")
    assert 'class="knife-close main-action"' in page.text
    assert press(client, begun.number, "close").status_code == 303
    text = words(client.get(f"/knife/{begun.number}").text)
    for said in ("B-41F is closed", "start 166.70 lb", "weighed 164.90 lb",
                 "loss at the block 1.80 lb", "Bone bone 27.40 lb 16.4 16.4 0.0",
                 "Loss at the block loss 1.80 lb 1.1 1.1 0.0"):  # fmt: skip
        assert said in text
    assert shop.check() == []


def test_too_early_a_close_asks_which_of_three_was_forgotten(client, shop, begun, words):
    """Bone is not weighed: it is asked for; a reason closes anyway and is kept."""
    weigh_all(client, shop, begun.number, PARTS[:-1])
    answer = press(client, begun.number, "close")
    assert answer.status_code == 422
    asked = re.search(r"<ol>(.*?)</ol>", answer.text, re.DOTALL)[1]
    assert 1 <= asked.count("<li>") <= 3
    assert "Not weighed yet: Bone, usually 27.34 lb." in words(asked)
    assert shop.cutting.break_(begun.number).is_open
    answer = press(client, begun.number, "anyway", why="")
    assert answer.status_code == 422
    assert 'id="e-why"' in answer.text
    assert shop.cutting.break_(begun.number).is_open
    answer = press(client, begun.number, "anyway", why="bones went to the stock pot", key="c2")
    assert answer.status_code == 303
    text = words(client.get(f"/knife/{begun.number}").text)
    assert "Closed with a reason: bones went to the stock pot" in text


def test_enter_beside_the_reason_closes_with_it(client, shop, begun):
    """The hidden button of Enter is understood from where the words stand."""
    weigh_all(client, shop, begun.number, PARTS[:-1])
    answer = press(client, begun.number, "look", why="bones went to the stock pot")
    assert answer.status_code == 303
    assert not shop.cutting.break_(begun.number).is_open


def test_closing_before_anything_is_weighed_says_what_to_do(client, begun, words):
    """409: put the first part on the scale."""
    answer = press(client, begun.number, "close")
    assert answer.status_code == 409
    assert "put the first part on the scale" in words(answer.text)


def test_a_closed_break_opens_again_with_a_reason_only(client, shop, begun, words):
    """Without one it is refused beside its field; with one the loss is back on the block."""
    weigh_all(client, shop, begun.number)
    press(client, begun.number, "close")
    answer = press(client, begun.number, "reopen", why="")
    assert answer.status_code == 422
    assert 'id="e-why"' in answer.text
    answer = press(client, begun.number, "reopen", why="fat bin forgotten", key="r2")
    assert answer.headers["location"].endswith("done=reopen")
    assert "Open again; 1.80 lb left" in words(client.get(answer.headers["location"]).text)
    assert shop.check() == []


def test_a_closed_break_takes_no_part(client, shop, begun, words):
    """A page left open on another device: said, nothing written."""
    weigh_all(client, shop, begun.number)
    press(client, begun.number, "close")
    answer = touch(client, shop, begun.number, "Trim", "1")
    assert answer.status_code == 409
    assert "B-41F is closed; reopen it first. Nothing was changed." in words(answer.text)


def test_the_closed_sheet_leads_to_the_flow_and_the_cutting_test(client, shop, begun, read_page):
    """Where it went, cutting test, the next break."""
    weigh_all(client, shop, begun.number)
    press(client, begun.number, "close")
    links = read_page(client.get(f"/knife/{begun.number}").text).links
    assert "/flow?lot=B-41F" in links
    assert f"/yields/test?break={begun.number}" in links


def test_case_and_trim_rise_by_what_was_weighed(client, shop, begun):
    """Each case line of the style by its part; 38.6 lb more trim on hand."""
    before = {line.id: line.on_hand for line in shop.case()}
    weigh_all(client, shop, begun.number)
    after = {line.id: line.on_hand for line in shop.case()}
    risen = {id_: after[id_] - before[id_] for id_ in after if after[id_] != before[id_]}
    assert risen == {"C10": pounds("14"), "C15": pounds("10"), "C09": pounds("12"),
                     "C07": pounds("7"), "C08": pounds("4")}  # fmt: skip
    trim = [line.weight for line in shop.cutting.stock() if line.place == "trim"]
    assert pounds("38.6") in trim


def test_a_part_sold_by_the_piece_wants_each_weight(client, shop, words):
    """Two birds in one field are two pieces of one lot."""
    by_piece = next(line for line in shop.case() if line.piece_lb is not None)
    crate = NewPiece("K-1", "crate", "whole chicken", pounds("18"))
    new = NewDelivery("K-1", "chicken", "Brackenhythe", [crate], pounds("18"),
                      papers=("inspection mark",), not_measured_because="test")  # fmt: skip
    shop.cutting.receive(new, by="ines", key="door")
    parts = [
        NewPart("Ends", "cut", "case", Fraction(1, 2), by_piece.id, 5),
        NewPart("Trim", "trim", "trim", Fraction(49, 100)),
        NewPart("Loss", "loss", "drip", Fraction(1, 100)),
    ]
    style = NewStyle("twin", "chicken", "whole chicken", "Two ends", parts)
    shop.cutting.add_style(style, by="ines", key="style")
    number = shop.cutting.start_break("K-1", "twin", by="kofi", key="go").number
    assert "each piece" in tile_texts(client.get(f"/knife/{number}").text, words)[0]
    assert touch(client, shop, number, "Ends", "4.3 + 4.7").status_code == 303
    pieces = next(line.piece_lb for line in shop.case() if line.id == by_piece.id)
    assert sorted(set(pieces) - set(by_piece.piece_lb)) == [pounds("4.3"), pounds("4.7")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4.1", ["4.1"]),
        ("4.1 + 4.2", ["4.1", "4.2"]),
        ("4.1+4.2+3", ["4.1", "4.2", "3"]),
        ("4.1 4.2", ["4.1", "4.2"]),
        ("9.94 lb", ["9.94"]),
        ("4.1 lb 4.2 lb", ["4.1", "4.2"]),
        ("2 lb 12 oz", ["2.75"]),
        ("2 lb 12 oz 3 lb 4 oz", ["2.75", "3.25"]),
        ("2 lb 8 oz + 3", ["2.5", "3"]),
        ("4 1/2", ["4.5"]),
        ("2¾ lb", ["2.75"]),
    ],
)
def test_weights_are_read_one_or_several_at_a_time(text, expected):
    """A plus, a space or a unit that comes again begins a new piece."""
    assert read_weights(text, "Ends", LB) == tuple(pounds(one) for one in expected)


@pytest.mark.parametrize("text", ["", "+", "4.1 +", "four", "4.1 lb heavy", "4.1 4.2 lb", "1e3"])
def test_what_is_no_weight_is_refused(text):
    """One sentence with the part's name."""
    with pytest.raises(BadValue, match=r"^Ends: "):
        read_weights(text, "Ends", LB)


@given(st.lists(st.integers(1, 99_999), min_size=1, max_size=12))
def test_any_weights_come_back_from_their_text(hundredths):
    """Written with a plus between, every figure of the scale is read as it was."""
    weights = tuple(Weight.of(str(one / 100), LB) for one in hundredths)
    text = " + ".join(str(weight.decimal(LB)) for weight in weights)
    assert read_weights(text, "Ends", LB) == weights


def test_kilograms_are_read_and_shown_on_a_kilogram_device(client, shop, begun, words):
    """6.35 kg brisket, and every figure of the page in kilograms."""
    client.cookies.set("collop_unit", "kg")
    page = client.get(f"/knife/{begun.number}").text
    assert "On the scale, kg" in page
    assert "about 6.352 kg" in tile_texts(page, words)[0]
    touch(client, shop, begun.number, "Brisket", "6.35", unit="kg")
    assert shop.cutting.break_(begun.number).parts[0].weight == Weight.of("6.35", WeightUnit.KG)


def test_the_bar_fills_by_kind_and_never_over_the_start(client, shop, begun):
    """Stretches follow one another; with all weighed they end where the usual loss begins."""
    weigh_all(client, shop, begun.number)
    drawn = segments(shop.cutting.break_(begun.number))
    assert [one.kind for one in drawn] == ["cut", "trim", "fat", "bone"]
    for before, after in pairwise(drawn):
        assert after.start_pct == before.start_pct + before.width_pct
    assert 98 < drawn[-1].start_pct + drawn[-1].width_pct <= 100


def test_expected_tiles_and_the_closed_rows_cover_the_whole_piece(shop, begun):
    """What is expected of the tiles and the loss adds up to the start, to a rounding."""
    expected = sum(tile.expected.count for tile in tiles(begun, shop.case()))
    rows = rows_of(begun)
    loss = begun.start.count - expected
    assert abs(loss - round(begun.start.count * 0.011)) <= len(rows)
    assert sum(row.expected_pct for row in rows) == 100


def test_the_tables_offer_a_plan_for_what_they_know_only():
    """A forequarter has parts that sum to one; what nobody published has none."""
    plan = published_plan("beef", "beef forequarter")
    assert sum(part.fraction for part in plan) == 1
    assert published_plan("pig", "half pig")
    assert published_plan("yak", "yak saddle") == ()
    assert published_plan("beef", None) == ()


def test_every_state_names_its_fields_and_holds_nothing_inline(client, shop, begun, read_page):
    """Choice, start, block, fault, asked, closed: labels for all, no inline script or style."""
    weigh_all(client, shop, begun.number, PARTS[:3])
    states = [
        client.get("/knife"), client.get("/knife?tag=B-42"), client.get(f"/knife/{begun.number}"),
        touch(client, shop, begun.number, "Fat", "900"), press(client, begun.number, "close"),
        press(client, begun.number, "anyway", why="test of the page", key="c3"),
        client.get(f"/knife/{begun.number}"),
    ]  # fmt: skip
    for answer in states:
        page = read_page(answer.text)
        assert page.unlabelled() == []
        assert page.inline == []


def test_a_break_that_is_not_there_is_a_plain_page(client):
    """404 and the room's sentence; also for a number no database holds."""
    for number in (999, 10**30):
        answer = client.get(f"/knife/{number}")
        assert answer.status_code == 404
        assert "There is no break" in answer.text


_NAMES = st.sampled_from(["part", "weight", "unit", "by", "key", "do", "back", "why"])


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fields=st.dictionaries(_NAMES, st.text(max_size=20)))
def test_whatever_is_sent_to_the_block_is_read_or_refused(client, shop, begun, fields):
    """No text in any field breaks the page or the ledger."""
    assert client.post(f"/knife/{begun.number}", data={"by": "marek"} | fields).status_code < 500
    assert shop.check() == []


def test_a_wrong_tile_is_asked_about_once(client, shop, begun, words):
    """26.4 lb on the blade steaks: asked; touched again with the same weight it is meant."""
    answer = touch(client, shop, begun.number, "Blade steaks", "26.4")
    assert answer.status_code == 422
    assert "right tile?" in words(answer.text)
    sure = re.search(r'name="sure" value="([^"]+)"', answer.text)[1]
    part = next(one.id for one in begun.style.parts if one.name == "Blade steaks")
    data = {
        "key": "again",
        "unit": "lb",
        "by": "marek",
        "part": part,
        "weight": "26.4",
        "sure": sure,
    }
    assert client.post(f"/knife/{begun.number}", data=data).status_code == 303
    assert shop.cutting.break_(begun.number).weighed == pounds("26.4")


def test_a_full_bar_without_its_bone_is_asked_about(client, shop, begun, words):
    """The bone went onto the trim: close asks; a reason closes."""
    weigh_all(client, shop, begun.number, PARTS[:-1])
    assert touch(client, shop, begun.number, "Trim", "27.4").status_code == 303
    answer = press(client, begun.number, "close")
    assert answer.status_code == 422
    text = words(answer.text)
    assert "The bar is full. Is a part on the wrong tile?" in text
    assert "Bone, usually 27.34 lb" in text
    assert press(client, begun.number, "anyway", why="sold as soup set").status_code == 303
    assert not shop.cutting.break_(begun.number).is_open


def test_a_wrong_start_goes_back_on_the_rail(client, shop, begun, words):
    """Nothing weighed yet: one touch, and it hangs again."""
    assert "Back on the rail" in words(client.get(f"/knife/{begun.number}").text)
    answer = press(client, begun.number, "put back")
    assert answer.headers["location"] == "/rail"
    assert any(piece.tag == begun.tag for piece in shop.rail())


def test_a_start_that_is_sent_twice_leads_to_the_same_break(client, shop, begun):
    """The second touch finds the piece on the block."""
    data = {"key": "x", "tag": begun.tag, "style": "fore", "by": "marek"}
    answer = client.post("/knife", data=data)
    assert answer.headers["location"].startswith(f"/knife/{begun.number}")


def test_closed_breaks_are_found_on_the_knife_page(client, shop, begun, words):
    """The newest first, each leading to its sheet."""
    weigh_all(client, shop, begun.number, PARTS)
    press(client, begun.number, "close")
    text = client.get("/knife").text
    assert "Closed lately" in words(text)
    assert f'href="/knife/{begun.number}"' in text


def test_two_numbers_on_one_tile_are_no_sum(client, shop, begun, words):
    """12 5 may be 12.5: it is asked; 12 + 5 is a sum."""
    assert "like 4.1 + 4.2" in words(touch(client, shop, begun.number, "Trim", "12 5").text)
    assert touch(client, shop, begun.number, "Trim", "12 + 5").status_code == 303
