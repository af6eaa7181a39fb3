"""Tickets as drawn: exact dots, true size, nothing cut, nothing over another, letters high enough.

Heights of letters are held to rule LB010 of the table of label rules (9 CFR 317.2 and 381.125 in a
public reprint, source CFR381_125): at least 1/16 in. Pillow and pypdfium2, which are not ours, read
the files.
"""

from __future__ import annotations

import io
import subprocess
import sys
from fractions import Fraction
from itertools import product

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFont

from collop.errors import BadValue
from collop.fonts import font_file
from collop.reference.rulebook import rule_row, safe_handling_parts
from collop.ticket import blank_card_pdf, pdf, png, pngs
from collop.ticket.layout import MARGIN_MM, layout, measures
from collop.ticket.layout_text import least_px
from ticket.ticket_plans import ALLERGENS, CLASSES, FORMS, line, plan

SIZES_MM = {"58x40": (58, 40), "58x60": (58, 60), "80x50": (80, 50), "80x80": (80, 80),
            "4x6": (101.6, 152.4)}  # fmt: skip
EVERY = list(product(FORMS, (203, 300), CLASSES))
LONG_NAME = "Beef short ribs, cross-cut, bone in, mechanically tenderized"


def drawn(size: str, dpi: int, kind: str):
    """Return a plan and its layout, or skip what is refused with a larger form."""
    ticket = plan(size, dpi, kind, ("upc-a", "qr"))
    try:
        return ticket, layout(ticket)
    except BadValue as refusal:
        assert size == "58x40", refusal.message
        assert "58x60" in refusal.message, refusal.message
        return ticket, None


def words(text: str) -> str:
    return " ".join(text.split())


def text_of(data: bytes) -> str:
    file = pypdfium2.PdfDocument(data)
    return words(" ".join(page.get_textpage().get_text_range() for page in file))


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_a_picture_has_the_printers_dots(size, dpi):
    """A picture is one bit a dot, the form's whole dots wide and high, and says its resolution."""
    ticket = plan(size, dpi, "ready to eat", ("upc-a",))
    image = Image.open(io.BytesIO(png(ticket)))
    wide, tall = SIZES_MM[size]
    assert image.mode == "1"
    assert image.size == (int(wide * dpi / 25.4 + 1e-9), int(tall * dpi / 25.4 + 1e-9))
    if dpi == 203:
        assert image.size == FORMS[size]
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_a_page_has_the_forms_true_size(size, dpi):
    """A page is the form's size, less than one dot smaller; its dots are the picture's."""
    ticket = plan(size, dpi, "whole", ("upc-a",))
    file = pypdfium2.PdfDocument(pdf([ticket, ticket]))
    parts = pngs(ticket)
    assert len(file) == 2 * len(parts)
    dot = 72 / dpi
    for page, part in zip(file, [*parts, *parts], strict=True):
        for points, mm in zip(page.get_size(), SIZES_MM[size], strict=True):
            assert mm * 72 / 25.4 - dot < points <= mm * 72 / 25.4 + 1e-3
        assert page.render(scale=dpi / 72).to_pil().size == Image.open(io.BytesIO(part)).size


@pytest.mark.parametrize(("size", "dpi", "kind"), EVERY)
def test_nothing_stands_over_another_or_in_the_margin(size, dpi, kind):
    """No two lines, codes or signs of a part overlap, and none reaches into the margin."""
    _, found = drawn(size, dpi, kind)
    if found is None:
        return
    form, margin = found.form, found.form.dots(MARGIN_MM)
    for part in found.parts:
        boxes = [*part.texts, *part.codes, *part.graphics]
        for box in [*boxes, *part.frames]:
            assert box.x >= margin
            assert box.y >= margin
            assert box.x + box.w <= form.width - margin
            assert box.y + box.h <= form.height - margin
        for at, one in enumerate(boxes):
            for other in boxes[at + 1 :]:
                apart = (
                    one.x + one.w <= other.x or other.x + other.w <= one.x
                    or one.y + one.h <= other.y or other.y + other.h <= one.y
                )  # fmt: skip
                assert apart, (one, other)


@pytest.mark.parametrize(("size", "dpi", "kind"), EVERY)
def test_ink_stays_in_its_box(size, dpi, kind):
    """Outside the boxes of a picture there is no ink: what is laid out is what is printed."""
    ticket, found = drawn(size, dpi, kind)
    if found is None:
        return
    for part, data in zip(found.parts, pngs(ticket), strict=True):
        image = Image.open(io.BytesIO(data)).convert("L")
        for box in [*part.texts, *part.codes, *part.graphics]:
            inked = image.crop((box.x, box.y, box.x + box.w, box.y + box.h))
            assert inked.getextrema()[0] == 0, box
            # a letter may lean one dot out of its box, as its type has it
            image.paste(255, (box.x - 1, box.y - 1, box.x + box.w + 1, box.y + box.h + 1))
        for frame in part.frames:
            image.paste(255, (frame.x, frame.y, frame.x + frame.w, frame.y + frame.thick))
            image.paste(255, (frame.x, frame.y, frame.x + frame.thick, frame.y + frame.h))
            below, right = frame.y + frame.h - frame.thick, frame.x + frame.w - frame.thick
            image.paste(255, (frame.x, below, frame.x + frame.w, frame.y + frame.h))
            image.paste(255, (right, frame.y, frame.x + frame.w, frame.y + frame.h))
        assert image.getextrema() == (255, 255)


@pytest.mark.parametrize(("size", "dpi", "kind"), EVERY)
def test_every_line_stands_in_full(size, dpi, kind):
    """Each line of the plan stands on the ticket in full, in the layout and in the page's text."""
    ticket, found = drawn(size, dpi, kind)
    if found is None:
        return
    shown = text_of(pdf([ticket]))
    heads = {"name", "lot", "handling_head"}  # said again on a further part
    for index, one in enumerate(ticket["lines"]):
        laid = [box for part in found.parts for box in part.texts if box.line == index]
        joined = words(" ".join(box.text for box in laid))
        assert joined == one["text"] or (
            one["role"] in heads and joined in {" ".join([one["text"]] * n) for n in (2, 3)}
        )
        assert words(one["text"]) in shown or _in_pieces(laid, shown)


def _in_pieces(boxes, shown: str) -> bool:
    """Tell whether each row of a line is in the page's text, where another row stands between."""
    return all(words(box.text) in shown for box in boxes)


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_no_letter_is_lower_than_the_rule(size, dpi):
    """A capital is 1/16 in on every line; in the block small letters too, or the notes say so."""
    row = rule_row("LB010")
    assert (row.value, row.unit, row.source.source_id, row.status) == (
        "1/16", "inch", "CFR381_125", "seen",
    )  # fmt: skip
    least = float(Fraction(row.value)) * dpi
    found = layout(plan(size, dpi, "whole", ("upc-a",)))
    lower = any("capitals" in note for note in found.notes)
    for part in found.parts:
        for box in part.texts:
            file = font_file("bold" if box.bold else "plain")
            type_ = ImageFont.truetype(str(file), box.px, layout_engine=ImageFont.Layout.BASIC)
            assert type_.getmask("H", mode="1").size[1] >= least
            if box.role == "handling" and not lower:
                assert type_.getmask("x", mode="1").size[1] >= least
    # a form that has room never makes use of the note
    assert lower == (size not in {"80x80", "4x6"}) or dpi == 300


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_the_block_has_a_larger_heading_a_border_and_its_signs(size, dpi):
    """The heading is larger than the statements, a border stands around, a sign beside each."""
    found = layout(plan(size, dpi, "ground", ("qr",)))
    blocks = [part for part in found.parts if part.frames]
    assert blocks
    for part in blocks:
        (frame,) = part.frames
        inside = [box for box in part.texts if box.role.startswith("handling")]
        heads = {box.px for box in inside if box.role == "handling_head"}
        rest = {box.px for box in inside if box.role == "handling"}
        assert min(heads) > max(rest)
        for box in [*inside, *part.graphics]:
            assert frame.x < box.x
            assert box.x + box.w < frame.x + frame.w
            assert frame.y < box.y
            assert box.y + box.h < frame.y + frame.h
    signs = [sign.name for part in blocks for sign in part.graphics]
    assert signs == ["cold", "apart", "heat", "hot dish"]


def test_203_and_300_dots_look_the_same():
    """The same ticket at 203 and 300 dpi has type sizes within one dot of each other in mm."""
    for size in FORMS:
        sizes = []
        for dpi in (203, 300):
            found = layout(plan(size, dpi, "ready to eat", ("qr",)))
            sizes.append({
                box.role: found.form.mm(box.px) for box in found.parts[0].texts
            })  # fmt: skip
        for role, mm in sizes[0].items():
            assert sizes[1][role] == pytest.approx(mm, rel=0.12), (size, role)


def test_a_designation_under_the_name_is_a_third_of_it_at_least():
    """Words that say a cut is tenderised are at least a third as high as the name's (LB093)."""
    row = rule_row("LB093")
    assert (row.value, row.status) == ("1/3", "seen")
    for size, dpi in product(FORMS, (203, 300)):
        _, found = drawn(size, dpi, "tenderised")
        if found is None:
            continue
        px = {box.role: box.px for box in found.parts[0].texts}
        x_height, capital = 0.547, 0.729
        assert px["also"] * x_height >= float(Fraction(row.value)) * px["name"] * capital


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_modules_are_whole_dots_within_the_standard(size, dpi):
    """Bars stand on whole dots of one module; a retail module is 0.264 to 0.66 mm (from memory)."""
    found = layout(plan(size, dpi, "ready to eat", ("upc-a", "qr")))
    for code in found.parts[0].codes:
        mm = code.dots * 25.4 / dpi
        assert 0.264 <= mm <= 0.66 or (code.kind == "qr" and 0.375 <= mm <= 0.99)
        quiet = (9 if code.kind == "upc-a" else 4) * code.dots
        assert min(x for x, *_ in code.bars) - code.x == quiet
        assert code.x + code.w - max(x + w for x, _, w, _ in code.bars) == quiet
        assert all(w % code.dots == 0 for _, _, w, _ in code.bars)
        tall = max(h for *_, h in code.bars) * 25.4 / dpi
        assert code.kind == "qr" or tall >= 7.9
    assert any(one.startswith("upc-a: ") for one in measures(found))


def test_a_long_name_wraps_and_is_not_cut():
    """A long name breaks between words and stands in full on a form that holds it."""
    found = layout(plan("58x60", 203, "ready to eat", ("upc-a", "qr"), name=LONG_NAME))
    rows = [box.text for box in found.parts[0].texts if box.role == "name"]
    assert len(rows) > 1
    assert " ".join(rows) == LONG_NAME


def test_twelve_allergens_stand_in_full():
    """Twelve allergens stand on the smallest form with room, each in full."""
    ticket = plan("58x60", 203, "ready to eat", ("qr",))
    for one in ticket["lines"]:
        if one["role"] == "contains":
            one["text"] = f"Contains: {', '.join(ALLERGENS)}"
    found = layout(ticket)
    rows = [box.text for box in found.parts[0].texts if box.role == "contains"]
    assert " ".join(rows) == f"Contains: {', '.join(ALLERGENS)}"


def fits(ticket, size: str) -> bool:
    try:
        png({**ticket, "form": {"size": size, "dpi": 203}})
    except BadValue:
        return False
    return True


@pytest.mark.parametrize("spices", [12, 24, 40, 60])
def test_what_does_not_fit_is_refused_with_the_next_form(spices):
    """A list too long for its form is refused, naming it and the next form that does hold it."""
    listed = "Ingredients: " + ", ".join(f"spice number {n}" for n in range(spices))
    ticket = plan("58x40", 203, "meat-free", ("upc-a",))
    ticket["lines"] = [
        {**one, "text": listed} if one["role"] == "ingredients" else one for one in ticket["lines"]
    ]
    sizes = list(FORMS)
    refused = 0
    for at, size in enumerate(sizes):
        if fits(ticket, size):
            continue
        refused += 1
        larger = next(one for one in sizes[at + 1 :] if fits(ticket, one))
        ticket["form"]["size"] = size
        with pytest.raises(BadValue, match=f"^The ingredients do not fit .*use form {larger}"):
            png(ticket)
    assert refused


def test_no_form_holds_it():
    """What no form holds is refused without naming one."""
    listed = "Ingredients: " + ", ".join(f"spice number {n}" for n in range(150))
    ticket = plan("58x40", 203, "ready to eat", ("upc-a",), more=(
        line("ingredients", listed), line("ingredients", listed),
    ))  # fmt: skip
    with pytest.raises(BadValue, match=r"^The ingredients do not fit .* shorten") as refused:
        png(ticket)
    assert "use form" not in refused.value.message


def test_a_code_too_wide_is_refused_with_the_alternative():
    """A GS1-128 on a small form is refused with what it needs, a form and another code."""
    with pytest.raises(BadValue, match=r"gs1-128 needs \d+\.\d mm .* form 4x6 .*gs1-datamatrix"):
        png(plan("58x60", 203, "ready to eat", ("gs1-128",)))


@pytest.mark.parametrize(("name", "said"), [
    ("Lamb \N{SHEEP} shoulder", "U+1F411"),
    ("羊の肩", "lacks"),
    ("كتف خروف", "right to left"),
    ("כתף כבש", "right to left"),
    ("e\u0338\u0337lamb", "lacks"),
    ("Lamb\x07", "lacks"),
    ("x" * 4000, "4,000 letters"),
    ("x" * 400, "does not fit"),
    (" \u200b ", "is empty"),
])  # fmt: skip
def test_letters_that_cannot_be_drawn_are_refused(name, said):
    """A name the type lacks letters of, or too long, is refused in one sentence."""
    with pytest.raises(BadValue, match=r".") as refused:
        png(plan(name=name))
    assert said in refused.value.message
    assert "\n" not in refused.value.message
    assert len(refused.value.message) < 200


def test_line_ends_and_marks_of_direction_become_spaces():
    """Line ends and tabs are spaces; marks nobody sees are left out; nothing else is."""
    found = layout(plan(name="Lamb\n\tshoulder,\u200e bone\r\nin", kind="ready to eat"))
    rows = [box.text for box in found.parts[0].texts if box.role == "name"]
    assert " ".join(rows) == "Lamb shoulder, bone in"


def test_the_parts_are_numbered_and_say_their_pack():
    """What a form has no room for stands on a second part that says its pack; the notes say it."""
    found = layout(plan("58x60", 203, "whole", ("upc-a", "qr")))
    said = [[box.text for box in part.texts] for part in found.parts]
    assert len(said) == 2
    assert "1 of 2" in said[0]
    assert {"2 of 2", "Lamb shoulder, bone in", "Lot L-208.01"} <= set(said[1])
    assert found.notes[0].startswith("The ticket is printed in 2 parts")
    whole = layout(plan("4x6", 203, "whole", ("upc-a", "qr")))
    assert len(whole.parts) == 1
    assert whole.notes == ()


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_the_allergens_begin_their_row_and_nothing_is_read_as_one(size, dpi):
    """The line stands at the left edge; no "1 of 2" in bold beside it."""
    drawn = 0
    for kind, codes in product(CLASSES, [("qr",), ("databar-expanded-stacked", "qr")]):
        try:
            found = layout(plan(size, dpi, kind, codes))
        except BadValue:
            continue
        drawn += 1
        boxes = found.parts[0].texts
        (first, *_) = [box for box in boxes if box.role == "contains"]
        assert first.x == min(box.x for box in boxes if box.role != "code")
        beside = {
            box.role
            for box in boxes
            if box.role != "code" and box.y < first.y + first.h and first.y < box.y + box.h
        }
        assert beside <= {"contains", "claims"}
    assert drawn


def test_codes_side_by_side_stand_apart_where_there_is_room():
    """More than their quiet zones lie between two codes of a row, if the form is wide enough."""
    for dpi, apart in ((203, 6), (300, 9)):  # 0.8 mm
        (upc, qr) = layout(plan("58x60", dpi, "meat-free", ("upc-a", "qr"))).parts[0].codes
        assert qr.y < upc.y + upc.h
        assert qr.x - upc.x - upc.w == apart


def test_a_name_without_room_on_a_further_part_is_told_by_its_name():
    """The prescribed words are never what must be shortened."""
    with pytest.raises(BadValue, match=r"^The product name does not fit"):
        png(plan("58x60", 203, "whole", ("qr",), name=f"Lamb {'W' * 110}"))


def test_the_block_must_be_in_the_prescribed_words():
    """A block with a changed or a missing statement is refused."""
    for change in (lambda lines: lines.pop(), lambda lines: lines[-1].update(text="Cook it.")):
        ticket = plan()
        change(ticket["lines"])
        with pytest.raises(BadValue, match="prescribed words"):
            png(ticket)


def test_drawings_are_the_same_each_time():
    """The same plan gives the same bytes, as picture and as page."""
    ticket = plan("80x80", 300, "sausage", ("upc-a", "qr"))
    assert pngs(ticket) == pngs(ticket)
    assert pdf([ticket]) == pdf([ticket])


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_card_for_a_pen_has_the_same_fields(paper):
    """A sheet of four cards asks for what a ticket says, with the block in the prescribed words."""
    file = pypdfium2.PdfDocument(blank_card_pdf(paper))
    assert len(file) == 1
    assert file[0].get_size() == pytest.approx(
        (612, 792) if paper == "letter" else (595.28, 841.89), abs=0.01
    )
    shown = text_of(blank_card_pdf(paper))
    for asked in (
        "Name",
        "Net",
        "Price per lb",
        "Total",
        "Packed",
        "Use or freeze by",
        "Keep at",
        "Ingredients",
        "Contains",
        "Lot",
        "Tare",
        "Cook to",
        "Shop and place",
    ):
        assert shown.count(asked) >= 4, asked
    for part in safe_handling_parts():
        assert part.words.split(".")[0][:24] in shown
    with pytest.raises(BadValue, match="There is no paper"):
        blank_card_pdf("a5")


@pytest.mark.parametrize("wrong", [
    {}, {"schema": "collop.ticket.plan/1"}, None, [], 7,
    {**plan(), "form": None}, {**plan(), "form": {"size": "9x9", "dpi": 203}},
    {**plan(), "form": {"size": "58x60", "dpi": 204}},
    {**plan(), "form": {"size": "58x60", "dpi": float("nan")}},
    {**plan(), "form": {"size": ["58x60"], "dpi": 203}}, {**plan(), "lines": []},
    {**plan(), "lines": [1]}, {**plan(), "lines": [line("name", "x")] * 10_000},
    {**plan(), "lines": [{"role": "name", "text": 5}]}, {**plan(), "lines": "name"},
    {**plan(), "lines": [{**line("name", "x"), "role": "tail"}]},
    {**plan(), "codes": [{"kind": "upc-a", "data": "1"}]}, {**plan(), "codes": [{}] * 9},
    {**plan(), "codes": [{"kind": "qr", "data": "x" * 5000}]},
    {**plan(), "codes": [{"kind": "tally", "data": "x"}]}, {**plan(), "codes": None, "lines": None},
])  # fmt: skip
def test_a_wrong_plan_is_refused_in_one_sentence(wrong):
    """A plan that is no plan is refused with a sentence, not with a traceback."""
    with pytest.raises(BadValue, match=r".") as refused:
        png(wrong)
    assert "\n" not in refused.value.message


def test_no_plans_are_refused():
    """Nothing to print is said, and so is a plan given without its list."""
    for nothing in ([], (), plan()):
        with pytest.raises(BadValue, match="no ticket to print"):
            pdf(nothing)


@settings(max_examples=60)
@given(st.text(max_size=60), st.sampled_from(list(FORMS)))
def test_any_name_is_drawn_in_full_or_refused(name, size):
    """Any text is either drawn word by word or refused with a sentence."""
    ticket = plan(size, 203, "ready to eat", ("qr",), name=name)
    try:
        found = layout(ticket)
    except BadValue as refused:
        assert "\n" not in refused.message
        return
    rows = [box.text for box in found.parts[0].texts if box.role == "name"]
    assert rows
    assert png(ticket)


def test_the_room_loads_without_the_drawing():
    """Importing the tickets pulls in no drawing library."""
    code = (
        "import sys, collop.ticket\n"
        "heavy = {'PIL', 'reportlab', 'zint', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_least_type_is_a_sixteenth_of_an_inch():
    """The least sizes are those whose letter is 1/16 in: 24 and 18 dots, 35 and 26 at 300 dpi."""
    from collop.ticket.layout_model import form_of

    for dpi, small, capital in ((203, 24, 18), (300, 35, 26)):
        form = form_of("58x60", dpi)
        assert least_px(form, small_letters=True) == small
        assert least_px(form, small_letters=False) == capital
