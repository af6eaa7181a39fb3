"""The look: contrast from the one colour table, by day and in the dark, and one scale of sizes."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.web.glance import MINUTES_LEAST, MINUTES_READ, cap_height_mm
from collop.web.rendering import STATIC

SHEETS = {
    path.name: re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    for path in sorted(STATIC.glob("*.css"))
}
ROW = re.compile(r"--([a-z-]+): (#[0-9a-f]{6});")


def table(sheet):
    """Return the colour table at the head of a sheet: name to colour."""
    return dict(ROW.findall(SHEETS[sheet].partition("}")[0]))


DAY = table("collop.css")
TABLES = {"day": DAY, "dark": DAY | table("dark.css")}

#: Body text of the counter and the bench on its ground: 7:1, W3C WCAG 2.2, criterion 1.4.6.
BODY_TEXT = [("ink", "paper"), ("ink", "card"), ("ink-soft", "paper"), ("ink-soft", "card"),
             ("ink", "brass-pale"), ("ink", "alert-pale"), ("ink", "good-pale"),
             ("alert", "paper"), ("alert", "card"), ("alert", "alert-pale"), ("brass", "paper"),
             ("brass", "card"), ("oxblood", "paper"), ("oxblood", "card"),
             ("on-oxblood", "oxblood"), ("on-oxblood", "oxblood-deep"), ("on-top", "top"),
             ("on-top", "top-deep"), ("good", "paper"), ("good", "card"), ("good", "good-pale"),
             ("paper", "ink"), ("card", "alert"), ("print-ink", "print-paper")]  # fmt: skip
#: Small marks that stand beside body text and repeat it: 4.5:1, WCAG 2.2, 1.4.3.
OTHER_TEXT = [("ink-soft", "brass-pale"), ("oxblood", "brass-pale"), ("brass", "brass-pale"),
              ("ink-soft", "alert-pale")]  # fmt: skip
#: Borders, bars, marks and the ring of the focus: 3:1, WCAG 2.2, 1.4.11.
SHAPES = [("edge", "paper"), ("edge", "card"), ("ink", "paper"), ("ink", "card"),
          ("oxblood", "card"), ("oxblood", "paper"), ("oxblood", "brass-pale"),
          ("brass", "paper"), ("brass", "card"), ("alert", "alert-pale"), ("alert", "card"),
          ("good", "good-pale"), ("top-mark", "top"), ("on-top", "top"),
          ("focus", "ink")]  # fmt: skip


def luminance(colour):
    """Return the relative luminance of a colour as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Return the contrast ratio of two colours, WCAG 2.2: (lighter + 0.05) / (darker + 0.05)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def ratio(light, pair):
    """Return the contrast of a pair of names in a table."""
    return contrast(*(TABLES[light][name] for name in pair))


def test_the_contrast_formula_gives_the_published_ends():
    """White on black is 21, a colour on itself is 1: WCAG 2.2, definition of contrast ratio."""
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#767676") == pytest.approx(1)


@pytest.mark.parametrize("light", TABLES)
@pytest.mark.parametrize("pair", BODY_TEXT, ids="-on-".join)
def test_body_text_has_seven_to_one(light, pair):
    """Harsh light, and the dark setting: every text and its ground."""
    assert ratio(light, pair) >= 7


@pytest.mark.parametrize("light", TABLES)
@pytest.mark.parametrize("pair", OTHER_TEXT, ids="-on-".join)
def test_other_text_has_four_and_a_half_to_one(light, pair):
    """Marks on a coloured ground."""
    assert ratio(light, pair) >= 4.5


@pytest.mark.parametrize("light", TABLES)
@pytest.mark.parametrize("pair", SHAPES, ids="-on-".join)
def test_borders_and_marks_have_three_to_one(light, pair):
    """Field borders, chart lines, the slow mark, the ring of the focus."""
    assert ratio(light, pair) >= 3


def test_the_dark_table_changes_every_colour_of_a_page_and_no_other_name():
    """A name forgotten in the dark table would keep its colour of the day: none is."""
    for_print = {"print-ink", "print-paper"}
    assert set(table("dark.css")) == set(DAY) - for_print
    rest = SHEETS["dark.css"].partition("}")[2]
    assert not rest.strip()


NAMED = re.compile(
    r":[^;{}]*\b(white|black|red|green|blue|gr[ae]y|yellow|orange|purple|brown|pink|silver|gold)\b"
)
LITERAL = re.compile(
    r"#[0-9a-fA-F]{3,8}\b|\b(?:rgb|hsl|lab|lch|oklab|oklch|hwb|color|color-mix)a?\("
)


@pytest.mark.parametrize("sheet", SHEETS)
def test_no_style_sheet_names_a_colour_outside_the_tables(sheet):
    """Neither in figures nor by a word; what is used stands in the table."""
    text = SHEETS[sheet]
    if sheet in {"collop.css", "dark.css"}:
        head, _, text = text.partition(":root {")
        text = head + text.partition("}")[2]
    text = re.sub(r"\"[^\"]*\"", "", text)
    assert LITERAL.findall(text) == []
    assert NAMED.findall(text) == []
    used = set(re.findall(r"var\(--([a-z0-9-]+)\)", SHEETS[sheet]))
    known = set(re.findall(r"--([a-z0-9-]+):", SHEETS["collop.css"] + SHEETS[sheet]))
    assert used <= known


@pytest.mark.parametrize("sheet", SHEETS)
def test_type_is_of_one_scale(sheet):
    """A size on the screen is a step of the scale, a share of its parent, or grows with the screen.

    Points are of paper.
    """
    sizes = re.findall(r"font-size:\s*([^;}!]+)", SHEETS[sheet])
    short = re.findall(r"font:\s*(?:[a-z0-9]+ )*?([^\s;/]+(\([^;]*?\))?)/", SHEETS[sheet])
    sizes += [found[0] for found in short]
    of_scale = re.compile(
        r"var\(--(t|glance)-[a-z]+\)|[\d.]+(em|pt|%)|clamp\(.*|max\(1rem, 16px\)|inherit"
    )
    assert [size for size in sizes if not of_scale.fullmatch(size.strip())] == []


def test_the_first_style_sheet_is_small_and_asks_for_nothing_more():
    """At most 27 kB, and no file from elsewhere."""
    assert len((STATIC / "collop.css").read_bytes()) <= 27_000
    for text in SHEETS.values():
        assert "url(" not in text
        assert "@import" not in text


#: Each state of the tool: the classes that show it, and what shows it beside the colour.
STATES = {
    "state": "border-radius", "state-asked": "dashed", "state-off": "line-through",
    "notice": "border-left", "problem": "border", "bad": "border-left", "short": "border-left",
    "slow": "inline-block", "work-care": "border-left", "late-word": "inline-block",
}  # fmt: skip


@pytest.mark.parametrize("state", STATES)
def test_a_state_has_a_shape_beside_its_colour(state):
    """Its rule draws an edge, a pattern or a line, which a reader without colours sees."""
    rules = re.findall(rf"\.{state} {{([^}}]*)}}", "".join(SHEETS.values()))
    assert any(STATES[state] in rule for rule in rules)


def test_height_of_a_capital_is_what_the_screens_ask():
    """NUREG-0700: 17 to 19 mm at 3 m, 14 mm at the least; 3.5 to 3.8 mm at 60 cm (20 to 22 min)."""
    low, high = MINUTES_READ
    assert round(float(cap_height_mm(3000, low)), 1) == 17.5
    assert round(float(cap_height_mm(3000, high)), 1) == 19.2
    assert round(float(cap_height_mm(3000, MINUTES_LEAST)), 1) == 14.0
    assert round(float(cap_height_mm(600, low)), 2) == 3.49
    assert round(float(cap_height_mm(600, high)), 2) == 3.84


@given(st.integers(1, 50_000), st.integers(1, 600))
def test_height_grows_with_the_distance(distance, minutes):
    """Twice as far, twice as high, without a rounding between."""
    one = cap_height_mm(distance, minutes)
    assert one > 0
    assert cap_height_mm(2 * distance, minutes) == 2 * one


@pytest.mark.parametrize("value", [0, -1, 100_001, 3.0, "3", None, True, Fraction(3), float("nan")])
def test_a_distance_that_is_none_is_refused_in_a_sentence(value):
    """What is wrong and what would do."""
    with pytest.raises(BadValue, match=r"distance_mm: .*whole number; give 1 to 100000"):
        cap_height_mm(value, 20)


def test_every_part_of_the_sheet_stands_on_the_page_of_parts(client):
    """Each class of the layer of parts in collop.css is shown there, but what only others set."""
    layer = SHEETS["collop.css"].partition("@layer parts {")[2].partition("@layer screens {")[0]
    classes = set(re.findall(r"\.([a-z][a-z0-9-]*)", re.sub(r"\{[^}]*\}", "{}", layer)))
    html = client.get("/parts").text
    shown = set(" ".join(re.findall(r"class=\"([^\"]*)\"", html)).split())
    # set by a request that is on its way, and the part of the ask it dims
    assert classes - shown <= {"htmx-request", "spread-side"}
    assert {"stepper", "aim", "line", "slip", "paper-slip", "till-slip", "chart", "knife-strip",
            "rail-empty", "late-word", "tile"} <= shown  # fmt: skip
    assert html.count("<h1>") == 1


def test_this_device_keeps_what_was_chosen_and_says_so(client):
    """One form; each choice is a cookie and an attribute of the page, and the parts are linked."""
    html = client.get("/device").text
    assert 'data-ground="light" data-place="desk" data-sounds="off"' in html
    assert "dark.css" not in html
    assert "wall.css" not in html
    assert 'href="/parts"' in html
    sent = {"unit": "kg", "heat": "C", "language": "es", "ground": "dark", "place": "wall",
            "sounds": "on"}  # fmt: skip
    answer = client.post("/device", data=sent)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/device?done=kept"
    html = client.get("/device?done=kept").text
    assert '<html lang="es" data-ground="dark" data-place="wall" data-sounds="on">' in html
    assert re.search(r"dark\.css[^>]*media=\"screen\"", html)
    assert re.search(r"wall\.css[^>]*media=\"screen\"", html)
    for name, value in sent.items():
        assert re.search(rf'name="{name}" value="{value}" checked', html), name
    client.post("/device", data={"ground": "system"})
    html = client.get("/case").text
    assert re.search(r"dark\.css[^>]*media=\"screen and \(prefers-color-scheme: dark\)\"", html)
    assert 'data-place="wall" data-sounds="on"' in html


def test_a_choice_nobody_knows_leaves_the_device_as_it_was(client):
    """Neither a form nor a cookie can put a word of its own into the page."""
    client.post("/device", data={"place": "wall"})
    client.post("/device", data={"place": 'moon"><script>', "ground": "", "unit": "stone"})
    assert 'data-place="wall"' in client.get("/device").text
    client.cookies.set("collop_ground", "x")
    client.cookies.set("collop_sounds", "loud")
    assert 'data-ground="light" data-place="wall" data-sounds="off"' in client.get("/device").text


def test_the_form_in_the_head_still_keeps_the_weights(client):
    """It goes back to its page; the link beside it leads to this device."""
    answer = client.post("/device/units", data={"unit": "kg", "back": "/case"})
    assert answer.headers["location"] == "/case"
    html = client.get("/case").text
    assert 'name="unit" value="kg" checked' in html
    assert re.search(r'class="this-device" href="/device"', html)


@pytest.mark.parametrize(
    ("address", "is_wet"),
    [("/bench", True), ("/knife", True), ("/rail", True), ("/daybook/cold", True), ("/case", False),
     ("/device", False)],
)  # fmt: skip
def test_wet_pages_ask_for_a_moment_and_others_do_not(client, address, is_wet):
    """The script of the gloves, its sentence and the mark of the page come together."""
    html = client.get(address).text
    assert (" data-wet>" in html) == is_wet
    assert ("gloves.js" in html) == is_wet
    assert ('data-gloves="Touch one thing, a little longer."' in html) == is_wet
