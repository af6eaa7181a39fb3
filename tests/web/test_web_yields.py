"""The sheets of figures: what was typed becomes a problem, the plan a table, a fault a sentence."""

from __future__ import annotations

import re
from html import unescape

import pytest

from collop.carcass import (
    closes,
    cuttingtest,
    find_cuts,
    published_misprints,
    published_table,
    published_tables,
    take_home_plan,
)
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.web.forms import Fields
from collop.web.yields import FIGURES
from collop.web.yields_sheet import Sheet

LOIN = {"name": "lamb loin", "weight": "12", "unit": "lb", "price": "6.65", "c1_part": "fat",
        "c1_weight": "3", "c2_part": "kidneys", "c2_weight": "1", "c2_value": "6.10",
        "c3_part": "flanks", "c3_weight": "24 oz", "c3_value": "4.60", "loss": "0.5",
        "p1_part": "usable meat", "cooked": "5.5", "portion": "5",
        "portion_unit": "oz", "new_price": "7.20"}  # fmt: skip
SHOULDER = {"name": "pork shoulder", "weight": "18.625", "unit": "lb", "p1_part": "steak",
            "p1_weight": "9.9375", "p2_part": "trim", "p2_weight": "5.625", "p3_part": "fat",
            "p3_weight": "1.75", "p4_part": "bone", "p4_weight": "1.0625",
            "t1_part": "trim lug", "t1_weight": "2.20"}  # fmt: skip
SIDE = {"sd": "3", "worth": "4", "next": "312.5", "part1": "steaks", "pub1": "25",
        "t1_1": "26.2", "t2_1": "25.5", "part2": "roasts", "pub2": "25", "t1_2": "22.8",
        "t2_2": "23.9", "part3": "ground", "pub3": "25", "t1_3": "27.6", "t2_3": "26.8",
        "part4": "bone", "pub4": "25", "t1_4": "23.4", "t2_4": "23.8"}  # fmt: skip
GRADE = {"fat": "0.40", "kph": "2.5", "eye": "12.8", "hot": "750"}
HOME = {"species": "beef", "stage": "live", "weight": "1300", "dressing": "62", "days": "14",
        "cutting": "take-home"}  # fmt: skip
FILLED = {"/yields/test": LOIN, "/yields/balance": SHOULDER, "/yields/combine": SIDE,
          "/yields/grade": GRADE, "/yields/take-home": HOME,
          "/yields/cuts": {"find": "sirloin", "species": "beef"}}  # fmt: skip


def table(html, words):
    """Return the rows of the worked table as words."""
    body = html[html.index('<table class="figure-table') :]
    return [words(row).strip() for row in body[: body.index("</table>")].split("<tr")[2:]]


def kept(html):
    """Return what stands in the fields of the sheet."""
    typed = dict(re.findall(r'name="([a-z0-9_]+)" type="(?:text|search)" value="([^"]*)"', html))
    chosen = re.findall(r'<select id="f-([a-z_]+)".*?</select>', html, re.DOTALL)
    for name in chosen:
        body = html[html.index(f'<select id="f-{name}"') :]
        options = body[: body.index("</select>")]
        found = re.search(r'value="([^"]*)" selected', options) or re.search(
            r'value="(.*?)"', options
        )
        typed[name] = found[1]
    return typed


# ------------------------------------------------------------------------------- all sheets


def test_the_index_leads_to_every_figure(client):
    """Each address answers with its own page."""
    html = client.get("/yields").text
    for address, name, _ in FIGURES:
        assert f'href="{address}"' in html
        page = client.get(address)
        assert page.status_code == 200, address
        assert f"<h1>{name}" in page.text.replace("\n", "")


@pytest.mark.parametrize("address", FILLED)
def test_an_empty_sheet_has_labels_and_no_fault(client, read_page, address):
    """Nothing asked, nothing wrong; every field is named; no inline script or style."""
    page = read_page(client.get(address).text)
    assert "problem" not in page.ids
    assert page.unlabelled() == []
    assert page.inline == []


@pytest.mark.parametrize("address", FILLED)
def test_a_worked_sheet_keeps_what_was_typed(client, address):
    """The texts stand in their fields as they were written, beside the result."""
    answer = client.get(address, params=FILLED[address])
    assert answer.status_code == 200
    assert kept(answer.text).items() >= FILLED[address].items()


@pytest.mark.parametrize(
    ("address", "wrong", "sentence"),
    [
        ("/yields/test", {"weight": ""}, "Weight bought: weigh it and enter the weight."),
        ("/yields/test", {"weight": "heavy"}, "Weight bought: 'heavy' is not a weight"),
        ("/yields/test", {"weight": "0"}, "Weight bought is zero"),
        ("/yields/test", {"price": ""}, "Price: write an amount such as"),
        ("/yields/test", {"c1_part": ""}, "Credit 1, part: name the part of this line"),
        ("/yields/test", {"c2_value": "lots"}, "Credit 2, value: write an amount"),
        ("/yields/test", {"c2_value": "99"}, "The credits are worth"),
        ("/yields/test", {"p1_part": ""}, "Product 1: name what is left"),
        ("/yields/test", {"cooked": "8"}, "Cooked weight is 8 lb, more than the 6 that"),
        ("/yields/test", {"unit": "stone"}, "Unit: 'stone' is not known here"),
        ("/yields/balance", {"p2_weight": ""}, "Part 2, weight: weigh it"),
        ("/yields/balance", {"loss": "2"}, "Give or take: enter both"),
        ("/yields/balance", {"loss": "95", "loss_sd": "1"}, "Usual loss: enter 90 or less."),
        ("/yields/combine", {"pub2": ""}, "Published share of roasts: write an amount"),
        ("/yields/combine", {"pub2": "80"}, "Published shares sums to 155, not to 1 or 100"),
        ("/yields/combine", {"part2": "steaks"}, "Part 2: 'steaks' is there twice"),
        ("/yields/combine", {"t1_1": "some"}, "Test 1, steaks: 'some' is not a weight"),
        ("/yields/combine", {"age1": "old"}, "Test 1, age in days: write a whole number"),
        ("/yields/grade", {"eye": ""}, "Ribeye area: write an amount"),
        ("/yields/grade", {"hot": "75 stone"}, "Hot carcass weight: '75 stone' is not a weight"),
        ("/yields/take-home", {"days": "-3"}, "Days hung: -3 is too few"),
        ("/yields/take-home", {"dressing": "130"}, "Dressing share: enter 100 or less."),
        ("/yields/take-home", {"species": "yak"}, "Animal: 'yak' is not known here"),
        ("/yields/cuts", {"species": "yak"}, "Animal: 'yak' is not known here"),
    ],
)
def test_a_fault_names_its_label_and_loses_nothing(client, words, address, wrong, sentence):
    """422; the summary links to a field that is there; no key of the problem is shown."""
    typed = FILLED[address] | wrong
    answer = client.get(address, params=typed)
    assert answer.status_code == 422
    said = words(answer.text)
    assert sentence in said
    assert "$." not in said
    links = re.findall(r'href="#(f-[a-z0-9_-]+)"', answer.text)
    assert links
    assert all(f'id="{link}"' in answer.text for link in links)
    right = {name: text for name, text in typed.items() if name not in wrong}
    assert kept(answer.text).items() >= right.items()


def test_a_kernels_sentence_is_said_in_the_labels_words():
    """Keys of the problem become labels, the nearest field gets the fault, others plain words."""

    def refuse(_problem):
        raise BadValue("$.parts[1].weight is over $.whole.most, see $.", where="$.parts[1].weight")

    sheet = Sheet(Fields([]), "first")
    sheet.stands_for("$.parts[1]", "p2", "Part 2")
    sheet.stands_for("$.parts[1].weight", "p2_weight", "Part 2, weight")
    assert sheet.work_out(refuse, {}) is None
    assert sheet.faults.messages == {"p2_weight": "Part 2, weight is over most, see the sheet."}


def test_a_refusal_that_names_no_field_stands_at_the_main_one():
    """Where the kernel cannot say where, the sheet's main field carries it."""

    def refuse(_problem):
        raise BadValue("This cannot be.")

    sheet = Sheet(Fields([]), "first")
    assert sheet.work_out(refuse, {}) is None
    assert sheet.faults.of("first") == "This cannot be."


def test_weights_may_be_written_as_people_write_them():
    """Pounds and ounces on a sheet in kilograms, to the tenth of a gram."""
    sheet = Sheet(Fields([("w", "2 lb 12 oz"), ("x", "1,5"), ("y", "0")]), "w")
    assert sheet.weight("w", "Weight", "$.w", unit="kg") == "1.2474"
    assert sheet.weight("x", "Weight", "$.x", unit="lb") == "1.5"
    assert sheet.amount("y", "Amount", "$.y") == "0"
    assert not sheet.faults


def test_a_table_shows_its_used_lines_and_one_more():
    """A gap keeps its place, and there is always a line to fill up to the most."""
    sheet = Sheet(Fields([("p5", "x")]), "p1")
    assert list(sheet.rows(["p{}"], least=3, most=9)) == [1, 2, 3, 4, 5, 6]
    assert list(sheet.rows(["p{}"], least=3, most=5)) == [1, 2, 3, 4, 5]
    assert sheet.used(["p{}"], 9) == [5]


@pytest.mark.parametrize("address", FILLED)
def test_text_from_the_address_cannot_break_out_of_a_sheet(client, address):
    """A tag in any field stays text."""
    bad = '"><script>alert(1)</script>'
    for name in FILLED[address]:
        answer = client.get(address, params=FILLED[address] | {name: bad})
        assert answer.status_code in {200, 422}
        assert "<script>alert" not in answer.text


@pytest.mark.parametrize("address", FILLED)
@pytest.mark.parametrize("text", ["-1", "1e9", "9" * 60, "NaN", "\x00", "½", "0", "1/0", "$."])
def test_no_text_in_any_field_breaks_a_sheet(client, address, text):
    """Each field in turn is filled with something odd: 200 or 422, never a failure."""
    for name in FILLED[address]:
        answer = client.get(address, params=FILLED[address] | {name: text})
        assert answer.status_code in {200, 422}, name
        assert "Traceback" not in answer.text


# ------------------------------------------------------------------------------ cutting test


def test_the_cutting_test_shows_what_the_kernel_works_out(client, words):
    """Cost, yield, factor, portion, each part: the figures of the plan, in its units."""
    plan = cuttingtest(
        {
            "schema": "collop.cuttingtest/1",
            "bought": {"weight": "12", "unit": "lb", "price_per_unit": "6.65"},
            "credits": [
                {"part": "fat", "weight": "3"},
                {"part": "kidneys", "weight": "1", "value_per_unit": "6.10"},
                {"part": "flanks", "weight": "1.5", "value_per_unit": "4.60"},
            ],
            "loss_weight": "0.5",
            "products": [{"part": "usable meat"}],
            "cooked_weight": "5.5",
            "portion": {"size": "5", "unit": "oz"},
            "new_price_per_unit": "7.20",
        }
    )
    html = client.get("/yields/test", params=LOIN).text
    said = words(html)
    assert f"costs {plan['cost_per_unit']} a lb" in said
    assert f"portion of 5 oz {plan['portion_cost']}" in said
    assert f"At the new price: {plan['new_cost_per_unit']} a lb" in said
    assert f"{plan['cooked_cost_per_unit']} a lb, factor {plan['cooked_cost_factor']:.4f}" in said
    rows = table(html, words)
    assert rows[0].startswith("> bought 12 100.00 % 79.80 6.65")
    assert rows[3] == "> flanks credited 1.5 12.50 % -6.90"
    assert rows[-1] == "> net 6 50.00 % 66.80 11.1333"


def test_a_sheet_that_does_not_close_says_what_is_missing(client, words):
    """The gap and its likeliest cause, beside figures that are still worked out."""
    html = client.get("/yields/test", params=LOIN | {"p1_weight": "5", "cooked": ""}).text
    assert "Does not close by 1 lb. 1 lb (8.3 %)" in words(html)


def test_a_closed_break_fills_the_sheet(client, shop, words):
    """Cuts carry the cost, the rest is credited, shrink is loss, the price is what was paid."""
    answer = client.get("/yields/test?break=1")
    assert answer.status_code == 200
    typed = kept(answer.text)
    hung = shop.cutting.trace("B-41F").up[0].weight
    weighed = shop.cutting.break_(1).weighed
    paid = next(piece for piece in shop.cutting.rail() if piece.tag == "B-41H")
    assert Weight.of(typed["weight"], WeightUnit.LB) == hung
    assert Weight.of(typed["loss"], WeightUnit.LB) == hung - weighed
    price = paid.paid.decimal() / paid.weight_in.decimal(WeightUnit.LB, 2)
    assert float(typed["price"]) == pytest.approx(float(price), abs=1e-4)
    parts = {part.part: part.kind for part in shop.cutting.break_(1).parts}
    carried = {text for name, text in typed.items() if re.fullmatch(r"p\d+_part", name) and text}
    assert carried == {part for part, kind in parts.items() if kind == "cut"}
    said = words(answer.text)
    assert "Filled from break 1 of B-41F: the price is what was paid" in said
    assert "Does not close" not in said


@pytest.mark.parametrize("address", ["/yields/test", "/yields/balance"])
def test_a_closed_break_is_chosen_not_typed(client, shop, address):
    """By its piece and its day, for nobody knows its number; what was chosen stays chosen."""
    (broken,) = shop.cutting.closed_breaks()
    html = client.get(address).text
    assert f'<option value="{broken.number}">{broken.tag}, {broken.what}, ' in html
    assert f'value="{broken.number}" selected>' in client.get(f"{address}?break=1").text


def test_a_break_whose_price_is_not_known_waits_for_it(client, shop, words, monkeypatch):
    """The delivery names no price: the sheet is filled, the price asked for."""
    monkeypatch.setattr(shop.cutting, "price_paid", lambda _tag: None)
    answer = client.get("/yields/test?break=1")
    assert answer.status_code == 200
    assert "what was paid is not known any more, so enter the price" in words(answer.text)
    assert kept(answer.text)["price"] == ""
    assert kept(answer.text)["weight"] == "174"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [("77", "There is no break"), ("x", "Break: write a whole number")],
)
def test_a_break_that_is_not_there_is_a_fault_beside_its_field(client, words, text, sentence):
    """On both sheets that can be filled."""
    for address in ("/yields/test", "/yields/balance"):
        answer = client.get(address, params={"break": text})
        assert answer.status_code == 422
        assert sentence in words(answer.text)
        assert 'id="e-break"' in answer.text


def test_an_open_break_is_not_used(client, shop, words):
    """Only what has closed is a test."""
    opened = shop.cutting.start_break("L-207", _style_for(shop, "lamb"), by="marek", key="s")
    answer = client.get("/yields/test", params={"break": opened.number})
    assert answer.status_code == 422
    assert f"Break {opened.number} is still open; close it at the knife first." in words(
        answer.text
    )


def _style_for(shop, species):
    return next(style.id for style in shop.cutting.styles() if style.species == species)


# ---------------------------------------------------------------------- balance and combined


def test_weights_that_close_are_reconciled_to_the_last_digit(client, words):
    """Accepted, and parts and loss make the piece exactly as printed."""
    html = client.get("/yields/balance", params=SHOULDER).text
    assert "Closes chi-square" in words(html)
    weights = [row.split()[-1] for row in table(html, words)]
    whole, *parts = [Weight.of(text, WeightUnit.LB) for text in weights]
    assert sum((part.count for part in parts), 0) == whole.count


def test_a_tub_that_was_not_tared_is_named(client, words):
    """Refused; the likely slip is said, and no weight is moved."""
    html = client.get("/yields/balance", params=SHOULDER | {"p2_weight": "7.825"}).text
    said = words(html)
    assert "Does not close: weigh again" in said
    assert "just the trim lug: was it tared?" in said
    assert "Most likely" not in said


def test_a_closed_break_fills_the_weights(client, words, shop):
    """From the weight at the block; the demo's break closes."""
    answer = client.get("/yields/balance?break=1")
    assert Weight.of(kept(answer.text)["weight"], WeightUnit.LB) == shop.cutting.break_(1).start
    assert "Closes chi-square" in words(answer.text)


def test_published_and_own_yields_are_combined(client, words):
    """Shares sum to the whole, with spread and the next carcass in pounds."""
    html = client.get("/yields/combine", params=SIDE).text
    rows = table(html, words)
    shares = [float(re.findall(r"([0-9.]+) %", row)[1]) for row in rows]
    assert sum(shares) == pytest.approx(100, abs=1e-9)
    pounds = [float(re.search(r"([0-9.]+) lb", row)[1]) for row in rows]
    assert sum(pounds) == pytest.approx(312.5, abs=1e-9)
    assert "counts as 4 carcasses, 67 % of the answer" in words(html)


# ------------------------------------------------------------------------------- the carcass


def test_a_cut_is_found_by_another_name_with_its_marks(client, words):
    """Muscle, grain, slicing line, and the mark of what was not read in a source."""
    (cut,) = find_cuts("onglet")
    said = words(client.get("/yields/cuts?find=onglet").text)
    assert cut.name in said
    assert cut.muscles[0] in said
    assert cut.slice_advice in said
    assert not cut.basis.is_cited
    assert "from memory, not checked" in said


def test_item_numbers_are_shown_only_where_there_are_any(client, words):
    """A cut without a number that was read has no such line."""
    cuts = find_cuts("sirloin")
    said = words(client.get("/yields/cuts?find=sirloin").text)
    assert said.count("IMPS number") == sum(cut.imps is not None for cut in cuts)
    assert said.count("UNECE number") == sum(cut.unece is not None for cut in cuts)
    assert any(cut.unece is None for cut in cuts)


def test_a_word_that_is_no_cut_says_what_to_try(client, words):
    """A useful empty state."""
    assert 'No cut is called "zzz"' in words(client.get("/yields/cuts?find=zzz").text)


def test_the_grade_shows_both_methods_and_each_step(client, words):
    """2.75 by the equation, decimals dropped; the steps sum to it."""
    html = client.get("/yields/grade", params=GRADE).text
    steps = [float(row.split()[-1]) for row in table(html, words)]
    assert sum(steps[:-1]) == pytest.approx(steps[-1], abs=0.01)
    assert steps[-1] == 2.75
    assert "yield grade by the equation 2 (2.75)" in words(html)


def test_the_short_method_says_where_it_does_not_reach(client, words):
    """A carcass beyond the published steps: the equation stands alone, with the reason."""
    html = client.get("/yields/grade", params=GRADE | {"hot": "1200"}).text
    said = words(html)
    assert "yield grade by the equation" in said
    assert "by the short method" not in said
    assert 'class="notice"' in html


def test_take_home_shows_each_step_with_weight_and_source(client, words):
    """Every step of the plan, a range as a range."""
    plan = take_home_plan(
        {"schema": "collop.takehome/1", "species": "beef", "stage": "live", "weight_lb": "1300",
         "dressing_pct": "62", "days_hung": 14, "cutting": "take-home"}
    )  # fmt: skip
    rows = table(client.get("/yields/take-home", params=HOME).text, words)
    assert len(rows) == len(plan["steps"])
    for row, step in zip(rows, plan["steps"], strict=True):
        low = Weight.of(step["low_lb"], WeightUnit.LB).text()
        assert row.startswith(f"> {step['name']} {low}")
        assert step["rule"] in row
        assert step["source"] in row


def test_a_remembered_step_is_marked(client):
    """A figure from memory never stands as if it were read; one that was read has no mark."""
    problem = {"schema": "collop.takehome/1", "species": "beef", "weight_lb": "1300",
               "cutting": "boneless"}  # fmt: skip
    standings = [step["standing"] for step in take_home_plan(problem)["steps"]]
    typed = {"species": "beef", "weight": "1300", "cutting": "boneless"}
    html = client.get("/yields/take-home", params=typed).text
    assert html.count("from memory, not checked</span>") == standings.count("memory") == 1
    assert "seen" in standings


def test_a_share_that_is_not_published_is_asked_for_in_its_labels_words(client, words):
    """The kernel names a key; the page names the field, and stands the sentence beside it."""
    answer = client.get("/yields/take-home", params={"species": "goat", "weight": "60"})
    assert answer.status_code == 422
    assert "No dressing share is published for goat; give dressing share." in words(answer.text)
    assert 'id="e-dressing"' in answer.text


# -------------------------------------------------------------------------- published tables


@pytest.mark.parametrize("table_id", published_tables())
def test_every_published_table_is_shown_line_by_line_with_its_source(client, words, table_id):
    """Each printed line, its mark if it is remembered, and whether the sums close."""
    rows = published_table(table_id).rows
    html = client.get("/yields/tables", params={"table": table_id}).text
    shown = table(html, words)
    assert len(shown) == len(rows)
    for line, row in zip(shown, rows, strict=True):
        assert line.startswith(f"> {row.part if hasattr(row, 'part') else row.item}")
    assert html.count("from memory, not checked</span>") == sum(not r.is_cited for r in rows)
    assert rows[0].source.text() in words(html)


def test_tables_are_chosen_by_animal_and_weight_not_by_who_printed_them(client):
    """Each choice is told apart; titles, years and houses stand with the sources, in a fold."""
    html = client.get("/yields/tables?table=BEEF_1300_806").text
    options = re.findall(r"<option value=\"[A-Z_0-9]+\"[^>]*>([^<]+)<", html)
    assert len(options) == len(set(options)) == len(published_tables())
    assert "beef 2: 1300 lb alive, 806 lb hanging" in options
    titles = {row.source.title for one in published_tables() for row in published_table(one).rows}
    assert not [one for one in options if any(title in one for title in titles)]
    before, _fold, after = html.partition("Who printed it")
    source = published_table("BEEF_1300_806").rows[0].source.text()
    assert source not in unescape(before)
    assert source in unescape(after)


def test_a_table_that_does_not_close_says_by_how_much(client, words):
    """What the lines make and what is printed, one line for each sum."""
    (check,) = closes("PORK_250_180_HOGCHOPS").failing
    said = words(client.get("/yields/tables?table=PORK_250_180_HOGCHOPS").text)
    assert f"lines make {float(check.found):g} {check.unit}" in said
    assert f"printed {float(check.printed):g}" in said


def test_known_misprints_are_listed_and_used_for_nothing(client, words):
    """Each with what is printed, what its own lines make, and the source."""
    rows = table(client.get("/yields/tables").text, words)
    misprints = published_misprints()
    assert len(rows) == len(misprints)
    for row, one in zip(rows, misprints, strict=True):
        printed = f"{one.what.split(', ')[-1]} {float(one.printed):g} {one.unit}"
        assert printed in row
        assert "_" not in row


def test_a_table_of_large_cuts_starts_the_combined_yields(client, words, read_page):
    """Its shares stand in the fields, its source beside them, and they sum to the whole."""
    links = read_page(client.get("/yields/tables?table=BEEF_PRIMALS_KSU").text).links
    (combine,) = [link for link in links if link.startswith("/yields/combine?")]
    answer = client.get(combine)
    assert answer.status_code == 200
    rows = {row.primal: row.primal_pct.low for row in published_table("BEEF_PRIMALS_KSU").rows}
    typed = kept(answer.text)
    assert [typed[f"part{place}"] for place in range(1, len(rows) + 1)] == list(rows)
    assert "Published in: Kansas State University" in words(answer.text)


def test_a_table_whose_shares_make_no_whole_is_not_offered(client, read_page):
    """No combined yields from a table that does not close."""
    links = read_page(client.get("/yields/tables?table=PORK_PRIMALS_KSU").text).links
    assert not [link for link in links if link.startswith("/yields/combine?")]


def test_a_table_that_is_not_there_is_a_fault_beside_the_field(client, words):
    """The kernel's sentence."""
    answer = client.get("/yields/tables?table=zzz")
    assert answer.status_code == 422
    assert "There is no table 'zzz'" in words(answer.text)
    assert 'id="e-table"' in answer.text
