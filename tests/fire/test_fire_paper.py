"""The printed Fire Sheet, measured from the file itself: pages, sizes, boxes, code, what it holds.

What is asked of it (12 pt at least, clock times 16 pt, one page, don't-eats on top) is the shop's
own rule: common practice, no published source. The code is read back by an outside decoder.
"""

from __future__ import annotations

import ctypes
import hashlib
import itertools
import json
import re
from copy import deepcopy
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import zxingcpp

from collop.fire import fire
from collop.fire.fire_schema import SCHEMAS
from collop.fire.paper import ORDER, PAPERS, fire_pdf
from collop.fire.paper_blocks import Keep
from collop.fire.paper_steps import short_steps
from collop.fire.paper_text import BOLD, TEXT_PT, TIME_PT, one_line, wrap
from collop.fire.picture import fire_picture, picture_svg

ROOT = Path(__file__).parents[2]
PLAN = json.loads((ROOT / "tests/web/fire_sheet_plan.json").read_text(encoding="utf-8"))
ADDRESS = "https://counter.example/fire/Zq3_k-7TtLr0aVbC9dXe2FgHiJkLmNoP"
FONTS = ROOT / "src/collop/fonts"
TIME = re.compile(r"\b\d{1,2}:\d{2}\b")
NAMES = (
    "Épaule d'agneau à l'os",
    "Küchlein, gewürzt",
    "Ćevapčići",
    "Kjøttpølse på spyd",
    "Λουκάνικα",
    "A cut whose name goes on and on for longer than any line of the sheet could ever be wide",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenschnitzelchen" * 2,
    "Ribs",
    "Bird 18:30",
)


def moved(at, minutes):
    return f"{datetime.fromisoformat(at) + timedelta(minutes=minutes):%Y-%m-%dT%H:%M}"


def plan_of(count, *, names=NAMES):
    """Return the sketched plan with so many things on the fire, each a little later."""
    plan = deepcopy(PLAN)
    base = plan["items"]
    plan["items"], plan["steps"] = [], []
    for number in range(count):
        item = deepcopy(base[number % len(base)])
        item |= {"id": f"X{number}", "name": names[number % len(names)]}
        item["cautions"] = [f"Mind number {number}."]
        later = -7 * (number // len(base))
        for load in item["loads"]:
            for key in ("off", "early", "late", "ready"):
                load[key] = moved(load[key], later)
            for key in ("start_min", "off_min", "ready_min"):
                load[key] += later
            for stage in load["stages"]:
                stage |= {
                    "start": moved(stage["start"], later),
                    "end": moved(stage["end"], later),
                    "start_min": stage["start_min"] + later,
                    "end_min": stage["end_min"] + later,
                }
                plan["steps"] += [step_of(item, stage, "start", "raw")]
            plan["steps"].append(step_of(item, load["stages"][-1], "end", "cooked"))
        plan["items"].append(item)
    plan["steps"].sort(key=lambda step: step["at"])
    jsonschema.validate(plan, SCHEMAS["fire.plan"])
    return plan


def step_of(item, stage, end, tool):
    return {"at": stage[end], "at_min": stage[f"{end}_min"], "what": f"{item['name']}: {end}",
            "item": item["id"], "zone": stage["zone"], "tool": tool}  # fmt: skip


def sheet_of(paper="letter"):
    return {"address": ADDRESS, "short": ADDRESS.partition("://")[2], "paper": paper}


@cache
def _printed(plan, paper):
    return fire_pdf(json.loads(plan), sheet_of(paper))


def opened(plan, paper="letter"):
    return pypdfium2.PdfDocument(_printed(json.dumps(plan), paper))


def texts_of(page):
    """Return (text, size, box) of each text object, as the reader of the file finds them."""
    words = page.get_textpage()
    found = []
    for part in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT]):
        size = ctypes.c_float()
        assert pdfium.FPDFTextObj_GetFontSize(part.raw, size)
        length = pdfium.FPDFTextObj_GetText(part.raw, words.raw, None, 0)
        buffer = ctypes.create_string_buffer(length)
        pdfium.FPDFTextObj_GetText(
            part.raw, words.raw, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), length
        )
        text = buffer.raw.decode("utf-16-le").rstrip("\x00").strip()
        scale = part.get_matrix().get()[0]
        found.append((text, size.value * scale, part.get_bounds()))
    assert found
    return found


def all_text(document):
    return " ".join(
        re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in document
    ).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", range(1, 10))
def test_the_sheet_is_one_page_of_legible_words_for_one_to_nine_things(count, paper):
    """One page; no word under 12 pt, no clock time under 16 pt; accents and long names too."""
    document = opened(plan_of(count), paper)
    assert len(document) == 1
    page = document[0]
    assert page.get_size() == pytest.approx(PAPERS[paper], abs=0.5)
    for text, size, _ in texts_of(page):
        assert size >= TEXT_PT - 1e-3, text
        if TIME.search(text):
            assert size >= TIME_PT - 1e-3, text


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [1, 4, 9])
def test_no_word_leaves_the_page_or_stands_on_another(count, paper):
    """Every text lies inside the margins, and no two boxes share ground."""
    page = opened(plan_of(count), paper)[0]
    width, height = page.get_size()
    texts = texts_of(page)
    for text, _, (left, bottom, right, top) in texts:
        assert left >= 20, text
        assert right <= width - 20, text
        assert bottom >= 20, text
        assert top <= height - 20, text
    for (one, _, a), (other, _, b) in itertools.combinations(texts, 2):
        across = min(a[2], b[2]) - max(a[0], b[0])
        down = min(a[3], b[3]) - max(a[1], b[1])
        assert across <= 0.5 or down <= 0.5, (one, other)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [1, 9])
def test_the_code_is_read_back_by_a_decoder(count, paper):
    """A raster of the page holds one QR code of level M with the whole address."""
    image = opened(plan_of(count), paper)[0].render(scale=2).to_pil()
    codes = zxingcpp.read_barcodes(image)
    assert [code.text for code in codes] == [ADDRESS]
    assert codes[0].ec_level == "M"


def test_the_modules_of_the_code_are_whole_points():
    """Each black run of the code is a whole number of modules of two points."""
    page = opened(PLAN)[0]
    boxes = [part.get_bounds() for part in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH])]
    runs = [box for box in boxes if abs(box[3] - box[1] - 2) < 0.01 and box[0] > 450]
    assert len(runs) > 200
    for left, _, right, _ in runs:
        modules = (right - left) / 2
        assert modules == pytest.approx(round(modules), abs=0.01)


@pytest.mark.parametrize("count", [1, 4, 9, 20, 60])
def test_cautions_minimums_don_t_eats_and_times_are_never_left_out(count):
    """Whatever is left out, these stand on it; past what one page holds, a second page follows."""
    names = [f"Thing{number}" for number in range(count)]
    plan = plan_of(count, names=names)
    document = opened(plan)
    words = all_text(document)
    assert "7 eat no pork:" in words
    assert words.index("7 eat no pork:") < words.index("Thing0")
    for caution in plan["cautions"]:
        assert caution in words
    for number, item in enumerate(plan["items"]):
        assert item["name"] in words
        assert f"Mind number {number}." in words
        told = item["minimum"]
        assert f"{told['core_f']} °F ({told['core_c']} °C)" in words
        for load in item["loads"]:
            assert load["stages"][0]["start"][11:] in words
            assert load["off"][11:] in words
    assert "the number is the rule." in words
    assert (len(document) == 1) == (count < 60)
    for page in document:
        for text, _, (_, bottom, _, top) in texts_of(page):
            assert bottom >= 20, text
            assert top <= page.get_height() - 20, text


def test_each_minimum_stands_beside_its_own_bar():
    """The row of a thing holds its start, its least temperature and its end, in one line."""
    texts = texts_of(opened(PLAN)[0])
    for item, load in ((one, one["loads"][0]) for one in PLAN["items"]):
        name = next(box for text, _, box in texts if text.startswith(f"{item['name']},"))
        beside = " ".join(
            text for text, _, box in texts if box[1] < (name[1] + name[3]) / 2 < box[3]
        ).replace("\N{NO-BREAK SPACE}", " ")
        assert load["stages"][0]["start"][11:] in beside
        assert f"{item['minimum']['core_f']} °F" in beside
        assert load["off"][11:] in beside


def test_celsius_is_told_first_where_it_is_asked_for():
    """The same plan in °C: each minimum in °C, °F after it."""
    words = all_text(opened(PLAN | {"unit": "C", "weight_unit": "kg"}))
    assert "74 °C (165 °F)" in words
    assert "63 °C (145 °F)" in words
    assert "165 °F (74 °C)" not in words.partition("Take care.")[0]
    assert "4.31 kg" in words  # 9.5 lb; 0.45359237 kg a lb exactly (NIST Handbook 44, appendix C)


def test_what_is_left_out_is_said_with_where_it_stands():
    """A full sheet names what has no room; a short one says that the page holds the same."""
    full = all_text(opened(plan_of(9)))
    told = r"Left out here: .*steps.* All of it on the page: ?counter\.example/fire/"
    assert re.search(told, full)
    short = plan_of(1)
    short |= {"before": [], "after": [], "assumptions": short["assumptions"][:1]}
    words = all_text(opened(short))
    assert "Left out here" not in words
    assert "The same on the page:" in words


def test_the_stated_order_begins_with_the_bars_and_names_every_field():
    """What is most needed first; each field of the sheet is in the order; steps go first."""
    assert ORDER[0][0] == "bars"
    assert {name for name, _, _ in ORDER} == set(Keep.__dataclass_fields__)
    goes = list(dict.fromkeys(name for name, _, _ in reversed(ORDER)))
    assert goes[:3] == ["steps", "after", "before"]
    assert goes.index("rests") < goes.index("assumptions") < goes.index("carve")


MENU = json.loads((ROOT / "docs/examples/fire.json").read_text(encoding="utf-8"))
SIXTH = {
    "id": "links", "name": "Pork links with rusk", "species": "pork", "serve": "supper",
    "weight_lb": "3", "area_sq_in": 70, "cook_as": "ground", "treatment": "ground",
    "method": "direct", "allergens": ["mustard"],
    "body": {"form": "links", "thickness_mm": 28, "measured": False, "start_c": 4},
}  # fmt: skip


@cache
def menu_plan(count, unit):
    """Return the kernel's own plan of the worked menu with so many things."""
    items = [*MENU["items"], SIXTH][:count]
    fire_of = deepcopy(MENU["fire"]) | {"air_f": None}
    for zone in fire_of["zones"]:
        if zone.get("area_sq_in"):
            zone["area_sq_in"] = 700
    weight_unit = {"F": "lb", "C": "kg"}[unit]
    return fire(MENU | {"items": items, "fire": fire_of, "unit": unit, "weight_unit": weight_unit})


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("unit", ["F", "C"])
@pytest.mark.parametrize("count", [1, 3, 5, 6])
def test_an_ordinary_menu_has_carving_cautions_and_lines_to_correct_on_its_one_page(
    count, unit, paper
):
    """Up to six things: bars, every carve line and caution, three lines to write on, one page."""
    plan = menu_plan(count, unit)
    document = opened(plan, paper)
    words = all_text(document)
    assert len(document) == 1
    assert "middle at least" in words
    for item in plan["items"]:
        assert item["carve"] in words
    for caution in plan["cautions"]:
        assert words.count(caution) == 1
    for one in plan["assumptions"][:3]:
        assert one["what"] in words
    assert words.count("write what is different") == 1
    assert "Ride home" in words


def test_nine_things_of_a_real_menu_keep_bars_cautions_and_a_line_to_correct():
    """Nine real rows with their bars on letter paper; the heaviest thing's carve line stays."""
    items = deepcopy([*MENU["items"], SIXTH])
    items += [SIXTH | {"id": f"more{n}", "name": name, "allergens": []} for n, name in enumerate(
        ("Lamb red links", "Beef links", "Chicken links, spiced"))]  # fmt: skip
    fire_of = deepcopy(MENU["fire"])
    next(zone for zone in fire_of["zones"] if "direct" in zone["heats"])["area_sq_in"] = 1400
    plan = fire(MENU | {"items": items, "fire": fire_of})
    assert plan["answer"] == "yes"
    document = opened(plan)
    words = all_text(document)
    assert len(document) == 1
    assert "middle at least" in words
    assert "Legs off first" in words
    assert plan["assumptions"][0]["what"] in words
    for caution in plan["cautions"]:
        assert caution in words


@pytest.mark.parametrize("unit", ["F", "C"])
def test_a_core_wanted_well_above_the_minimum_stands_under_it(unit):
    """A shoulder wanted at 190 °F: its minimum, then the best; nothing else is told a best."""
    plan = menu_plan(1, unit)
    words = all_text(opened(plan))
    least, best = {
        "F": ("145 °F (63 °C)", "best 190 °F (88 °C)"),
        "C": ("63 °C (145 °F)", "best 88 °C (190 °F)"),
    }[unit]
    assert least in words
    assert words.count(best) == 1
    assert "best" not in all_text(opened(plan_of(2) | {"items": plan_of(2)["items"][1:]}))
    drawn = picture_svg(plan, width=640, unit=unit)
    assert best in drawn.replace("\N{NO-BREAK SPACE}", " ")


def test_thawing_is_told_however_full_the_sheet_is():
    """Chosen by its kind, whatever its words; one guest eats, two eat."""
    plan = plan_of(20, names=[f"Thing{number}" for number in range(20)])
    plan["before"].append({"at": "2026-06-12T09:54", "item": "X3", "kind": "thaw",
                           "what": "Thing3: into cold water."})  # fmt: skip
    plan["dont_eats"] = [{"what": "sesame", "count": 1, "plate": "any but Thing2"}]
    words = all_text(opened(plan))
    assert "09:54 Thing3: into cold water." in words
    assert "1 eats no sesame:" in words


def test_a_later_round_says_when_it_is_eaten():
    """A load eaten after the first meal has its hour in its row, rests or no rests."""
    plan = plan_of(9, names=[f"Thing{number}" for number in range(9)]) | {"answer": "rounds"}
    (load,) = plan["items"][2]["loads"]
    load |= {"wave": 2, "waves": 2, "eat": "2026-06-12T19:05", "eat_min": 35}
    words = all_text(opened(plan))
    assert "Not all at once" in words
    assert "load 2 of 2, over the coals, eat 19:05" in words


def words_in(part):
    """Return the words of a drawing, from left to right and top to bottom of each of its parts."""
    if hasattr(part, "text"):
        return [part.text]
    return [word for one in getattr(part, "contents", ()) for word in words_in(one)]


def test_how_a_piece_is_made_up_never_pushes_out_where_it_lies():
    """A row without room for it in one line takes a second: opened flat, and on the cool side."""
    plan = plan_of(4)
    for item in plan["items"]:
        item["made"] = "opened flat along the back"
    words = " ".join(words_in(fire_picture(plan, width=490, brief=True)))
    lies = {"direct": "over the coals", "indirect": "cool side, lid on", "oven": "in the oven"}
    for item in plan["items"]:
        heat = item["loads"][0]["stages"][0]["heat"]
        assert f"opened flat along the back, {lies[heat]}" in words, item["name"]


def test_steps_carry_the_tool_in_the_margin():
    """Raw and cooked tools stand as letters, and the letters are told."""
    plan = plan_of(4) | {"before": [], "after": [], "cautions": []}
    words = all_text(opened(plan))
    assert "In the margin: R raw tool, C cooked tool." in words
    marks = [text for text, _, _ in texts_of(opened(plan)[0]) if text in {"R", "C", "M"}]
    assert marks.count("R") >= 4
    assert marks.count("C") >= 3


def test_steps_of_one_time_tool_and_act_are_one_step():
    """Two things that go over the coals at one time are told in one line."""
    plan = plan_of(4)
    twin = deepcopy(plan["items"][2]) | {"id": "X9", "name": "Twin"}
    plan["items"].append(twin)
    plan["steps"] += [step | {"item": "X9"} for step in plan["steps"] if step["item"] == "X2"]
    plan["steps"].sort(key=lambda step: step["at"])
    told = [step.text for step in short_steps(plan)]
    assert any(re.search(r"Ćevapčići.*, Twin: over the coals", text) for text in told)


def test_a_fire_that_cannot_be_says_why_and_keeps_the_minimums():
    """No bars; the reason and what would work stand in a frame; every minimum stays."""
    plan = plan_of(3)
    plan |= {
        "answer": "no", "steps": [], "load": [], "coals": [],
        "why_no": [{"limit": "area", "item": None, "say": "The grill holds 123 sq in."}],
        "nearest_yes": [{"change": "waves", "to": 2, "say": "Two rounds would work."}],
    }  # fmt: skip
    for item in plan["items"]:
        item["loads"] = []
    jsonschema.validate(plan, SCHEMAS["fire.plan"])
    document = opened(plan)
    words = all_text(document)
    assert len(document) == 1
    assert "This does not fit the fire. The grill holds 123 sq in." in words
    assert "What would work: Two rounds would work." in words
    assert "165 °F (74 °C)" in words
    assert fire_picture(plan, width=500) is None
    assert picture_svg(plan, width=500) is None


def test_the_same_sheet_is_the_same_file():
    """Nothing of the clock or of chance is in the file; fonts are embedded in it."""
    data = fire_pdf(PLAN, sheet_of())
    assert data == fire_pdf(deepcopy(PLAN), sheet_of())
    fonts = set()
    for part in pypdfium2.PdfDocument(data)[0].get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT]):
        font = pdfium.FPDFTextObj_GetFont(part.raw)
        fonts.add(bool(pdfium.FPDFFont_GetIsEmbedded(font)))
    assert fonts == {True}


def test_hostile_names_break_nothing():
    """Control letters, right-to-left marks, markup and emptiness in a name: still one page."""
    names = ("<b>&amp;</b>", "\x00\x07\u202etxt.exe", "", " " * 50, "%(x)s {0} \\", "羊肉 🍖")
    document = opened(plan_of(6, names=names))
    assert len(document) == 1
    assert "<b>&amp;</b>" in all_text(document)


@pytest.mark.parametrize("width", [300, 340, 540, 640])
def test_the_picture_on_the_page_has_no_style_attribute(width):
    """The page's policy lets none through; the words of the plan stand in it as text."""
    drawn = picture_svg(PLAN, width=width)
    assert "style=" not in drawn
    assert "<script" not in drawn
    for item in PLAN["items"]:
        assert item["name"].split(",")[0] in drawn
    assert drawn.count("18:15") >= 3


def test_the_bars_and_the_band_are_to_scale():
    """Bars and bands have the lengths of their minutes on one scale; the band stays under full."""
    drawing = fire_picture(PLAN, width=540)
    rects = []

    def walk(group, dx=0.0):
        for part in group.contents:
            name = type(part).__name__
            if name == "Group":
                walk(part, dx)
            elif name == "Rect":
                rects.append((part.fillColor.hexval(), part.x, part.width, part.height))

    walk(drawing)
    band = [one for one in rects if one[0] == "0x9a9088"]
    spans = PLAN["load"][0]["spans"]
    assert len(band) == len(spans)
    per_minute = band[0][2] / (spans[0]["end_min"] - spans[0]["start_min"])
    tallest = max(span["area_sq_in"] for span in spans)
    for (_, _, width, height), span in zip(band, spans, strict=True):
        assert width == pytest.approx(per_minute * (span["end_min"] - span["start_min"]))
        assert height == pytest.approx(20 * span["area_sq_in"] / 600)
        assert height <= 20
        assert span["area_sq_in"] <= tallest
    oven = next(one for one in rects if one[0] == "0xece2cf" and one[2] > 20)
    assert oven[2] == pytest.approx(per_minute * (18 * 60 - (14 * 60 + 45)))


def test_words_wrap_within_their_width_and_keep_figures_with_their_unit():
    """No line is wider than asked, a time is bold and 16 pt, 145 and its °F are never parted."""
    text = "take it off at 145 °F after 12 min, at 18:15 sharp, then rest it for 3 min " * 3
    for width in (90, 150, 400):
        lines = wrap(text, width)
        assert all(line.width <= width + 1e-6 for line in lines)
        joined = [run.text for line in lines for run in line.runs]
        assert not any(part.endswith(("145", "12")) for part in joined)
    runs = [run for line in wrap(text, 400) for run in line.runs if "18:15" in run.text]
    assert {(run.font, run.size) for run in runs} == {(BOLD, TIME_PT)}
    cut = one_line("a name that is far too long for so little room", 100)
    assert cut.width <= 100
    assert cut.runs[-1].text.endswith("…")


FORBIDDEN = ["\x00", "\x0b", "\x1b", "\ufffe", "\uffff", "\x85", "]]>", "&#0;", "<!--", "\u202e"]


@pytest.mark.parametrize("letter", FORBIDDEN)
def test_the_picture_is_well_formed_whatever_the_name(letter):
    """Expat reads it (XML 1.0, W3C, production 2): forbidden letters are gone, markup is text."""
    drawn = picture_svg(plan_of(3, names=[f"Leg{letter}of", "Shin", "Rump"]), width=640)
    root = ET.fromstring(drawn)  # noqa: S314 -- our own text
    words = "".join(root.itertext())
    assert "Leg" in words
    assert "Rump" in words


def test_a_poor_chance_and_rounds_are_said_on_paper():
    """Under the asked chance the sheet says what would help; rounds are not all ready at once."""
    plan = plan_of(3)
    plan["serve"][0]["ready_chance"] = 0.86
    words = all_text(opened(plan))
    assert "all ready at 18:30 in 86 of 100 fires" in words
    assert "Less sure than we like (aim: 90 of 100)" in words
    plan["items"][2]["loads"][0] |= {"eat": "2026-06-12T19:05", "eat_min": 35}
    words = all_text(opened(plan | {"answer": "rounds"}))
    assert "each round at its time, in 86 of 100 fires" in words
    assert "all ready" not in words
    assert "Less sure" not in all_text(opened(PLAN))


@pytest.mark.parametrize("count", [1, 6, 20])
def test_what_can_hurt_is_never_left_out_of_what_is_taken_as_given(count):
    """Weather and ride home stand on the fullest sheet."""
    plan = plan_of(count, names=[f"Thing{number}" for number in range(count)])
    safe = [{"what": "The air stays under 90 °F (32 °C).", "ask": "Hotter than that"},
            {"what": "Home within the hour.", "ask": "Ride home"}]  # fmt: skip
    plan["assumptions"] = [*safe, *plan["assumptions"]]
    words = all_text(opened(plan))
    for one in safe:
        assert one["what"] in words


@pytest.mark.parametrize("paper", PAPERS)
def test_as_many_things_as_the_handbook_says_are_one_page(paper):
    """docs/firesheet.md gives the counts, of ordinary names and of the longest."""
    page = (ROOT / "docs/firesheet.md").read_text(encoding="utf-8")
    found = re.search(r"Up to (\d+) things of ordinary names, or (\d+) of the longest", page)
    for count, name in zip(found.groups(), ("Pork shoulder steak no. ", "W" * 117), strict=True):
        names = [f"{name}{number:03d}" for number in range(int(count))]
        assert len(opened(plan_of(int(count), names=names), paper)) == 1


def test_don_t_eats_of_many_words_are_cut_and_say_where_all_of_it_is():
    """Twenty lines of long plates stay on one page; each don't-eat keeps its own words."""
    plan = plan_of(3)
    plan["dont_eats"] = [
        {"what": f"thing{number}", "count": 2, "plate": "own plate, own tool: " + "Rump; " * 60}
        for number in range(20)
    ]
    document = opened(plan)
    assert len(document) == 1
    words = all_text(document)
    for number in range(20):
        assert f"2 eat no thing{number}:" in words
    assert "All of who may eat what: see the page." in words
    bare = pypdfium2.PdfDocument(fire_pdf(plan, {"paper": "a4"}))
    assert "All of who may eat what: ask at the counter." in all_text(bare)
    assert "All of who may eat what" not in all_text(opened(PLAN))


def test_the_fonts_are_as_they_came():
    """Each digest in the list is that of the file; the licence stands beside them."""
    rows = re.findall(
        r"^\| `([^`]+)` .*\| `([0-9a-f]{64})` \|$",
        (FONTS / "README.md").read_text(encoding="utf-8"),
        re.MULTILINE,
    )
    assert {name for name, _ in rows} == {path.name for path in FONTS.glob("*.ttf")}
    for name, digest in rows:
        assert hashlib.sha256((FONTS / name).read_bytes()).hexdigest() == digest
    assert "Bitstream" in (FONTS / "DejaVu-LICENSE.txt").read_text(encoding="utf-8")
