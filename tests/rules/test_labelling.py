"""Label rules as data and the checks of name, lean and fat, origin, dates, cautions."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from collop.errors import BadValue, Contradiction
from collop.reference.rulebook import rule_row
from collop.rules.labelling import (
    CLASSES,
    ELEMENTS,
    RAW_CLASSES,
    Origin,
    Product,
    cited,
    elements_of,
    rule_notes,
)
from collop.rules.labelling_cautions import claim_cautions, nutrition_cautions
from collop.rules.labelling_dates import check_dates, date_cautions, day_words, discard_by
from collop.rules.labelling_lean import check_lean_and_fat, fat_cautions, lean_words
from collop.rules.labelling_names import check_class, check_name, kind_of_meat, label_name
from collop.rules.labelling_origin import covered_rule, origin_cautions, origin_words

USA = Origin(born="US", raised="USA", slaughtered="United States", processed="us")


def product(**changes):
    """Return a made-up product."""
    told = {"name": "Lamb leg", "species": "lamb", "product_class": "raw whole",
            "packed": date(2026, 6, 10), "use_by": date(2026, 6, 13)}  # fmt: skip
    return Product(**(told | changes))


def ground(**changes):
    """Return made-up ground beef."""
    return product(**{"name": "Ground beef", "species": "beef", "product_class": "raw ground"}
                   | changes)  # fmt: skip


def test_every_rule_of_an_element_is_a_row():
    """No element rests on a rule that is not in the tables."""
    for element in ELEMENTS:
        for rule in element.rules:
            assert rule_row(rule).rule_id == rule
        assert set(element.classes) <= set(CLASSES)


@pytest.mark.parametrize("kind", CLASSES)
def test_some_elements_are_on_every_label(kind):
    """Name, packer, net weight, both prices, tare, lot and allergens belong to each class."""
    names = {one.name for one in elements_of(kind)}
    assert {"product name", "packer", "net weight", "price per unit", "total price", "tare", "lot",
            "contains"} <= names  # fmt: skip
    assert ("safe handling" in names) is (kind in RAW_CLASSES)


def test_conditions_add_their_elements():
    """An element with a condition is asked for only where it holds."""
    assert "was frozen" not in {one.name for one in elements_of("raw whole")}
    there = elements_of("raw whole", frozenset({"previously frozen"}))
    assert "was frozen" in {one.name for one in there}


def test_what_is_from_memory_says_so():
    """The mark stands in the citation of a row from memory, and in no other."""
    (seen,) = rule_notes("LB001")
    (memory,) = rule_notes("LB003")
    assert "from memory, not checked" not in seen.source
    assert memory.source.endswith("from memory, not checked")
    assert "from memory" in cited("WM058")
    assert "from memory" not in cited("LB024")


@pytest.mark.parametrize(
    ("name", "species", "kind"),
    [
        ("Short ribs", "beef", "Beef"),
        ("Beef short ribs", "beef", ""),
        ("Hamburger", "beef", ""),
        ("Kid shoulder", "goat kid", ""),
        ("Loin chops", "pork", "Pork"),
        ("Loin chops", "pig", "Pork"),
        ("Pork loin chops", "pig", ""),
        ("Smoked ham", "pork", ""),
    ],
)
def test_the_animal_is_told_once(name, species, kind):
    """The kind of meat is added only where the name leaves it out."""
    assert kind_of_meat(product(name=name, species=species)) == kind


def test_a_sausage_has_its_list_instead():
    """Classes with a list of ingredients need no animal under the name."""
    assert kind_of_meat(product(name="Red links", product_class="raw sausage")) == ""


@pytest.mark.parametrize("how", ["mechanically", "blade", "needle"])
def test_the_designation_is_in_the_name_once(how):
    """Added, corrected to the law's spelling, or left as it is."""
    told = {"species": "beef", "tenderised": how}
    assert label_name(product(name="Beef rump", **told)) == f"Beef rump, {how} tenderized"
    right = f"Beef rump, {how} tenderized"
    assert label_name(product(name=right, **told)) == right
    assert label_name(product(name=f"Beef rump, {how} tenderised", **told)) == right


@pytest.mark.parametrize("word", ["fresh", "Freshly cut", "never frozen"])
def test_thawed_goods_are_not_called_fresh(word):
    """The word is refused for thawed and for frozen goods, and allowed else."""
    named = f"{word} lamb leg"
    check_name(product(name=named))
    for state in ("frozen", "previously_frozen"):
        with pytest.raises(Contradiction, match="leave the word out"):
            check_name(product(name=named, **{state: True}))


@pytest.mark.parametrize("words", ["when packed", "minimum 2", "jumbo pound", "giant lb"])
def test_words_that_praise_a_weight_are_refused(words):
    """WM058, from memory: the refusal says so."""
    with pytest.raises(BadValue, match="from memory"):
        check_name(product(name=f"Lamb leg, {words}"))


def test_a_class_and_its_facts_agree():
    """A good product of each class passes; see the ticket tests for each refusal."""
    for kind in RAW_CLASSES:
        check_class(product(product_class=kind))
    check_class(product(product_class="ready to eat", cook_as="none"))
    check_class(product(product_class="meat-free", species="none", name="Cheese"))


@pytest.mark.parametrize("species", ["salmon", "fish", "shrimp", "mussels"])
def test_raw_fish_is_not_for_this_ticket(species):
    """The safe-handling words are for meat and poultry; raw fish is refused."""
    with pytest.raises(BadValue, match="by hand"):
        check_class(product(name="Fillet", species=species))


def test_the_percentages_are_worded():
    """Both are named; fat alone may stand."""
    assert lean_words(ground(lean=Decimal(80), fat=Decimal(20))) == "80 % lean, 20 % fat"
    assert lean_words(ground(fat=Decimal(20))) == "20 % fat"
    assert lean_words(ground()) == ""
    check_lean_and_fat(ground(name="Ground beef 80/20", lean=Decimal(80), fat=Decimal(20)))


@pytest.mark.parametrize(
    ("name", "rule", "most"),
    [("Italian sausage", "LB084", 35), ("Beef sausage", "LB078", 30), ("Hamburger", "LB067", 30)],
)
def test_a_standard_from_memory_is_a_caution_only(name, rule, most):
    """Over such a limit the label prints, with the mark."""
    kind = "raw ground" if name == "Hamburger" else "raw sausage"
    over = product(name=name, species="beef", product_class=kind, fat=Decimal(most + 1))
    check_lean_and_fat(over)
    (caution,) = fat_cautions(over)
    assert rule in caution
    assert "from memory" in caution
    assert fat_cautions(product(name=name, species="beef", product_class=kind,
                                fat=Decimal(most))) == ()  # fmt: skip


def test_bare_lean_is_a_claim():
    """`Lean` without a figure is told to be a claim; a percentage is none."""
    assert "LB088" in fat_cautions(ground(name="Lean ground beef"))[0]
    assert "LB087" in fat_cautions(ground(name="Extra lean ground beef"))[0]
    assert (
        fat_cautions(ground(name="Ground beef 90% lean", lean=Decimal(90), fat=Decimal(10))) == ()
    )


def test_origin_by_stages():
    """Stages in one country stand together; all four in the United States are the claim."""
    assert origin_words(product(origin=USA)) == "Product of USA"
    three = Origin(born="AU", raised="AU", slaughtered="NZ")
    assert origin_words(product(origin=three)) == (
        "Born and raised in Australia, slaughtered in New Zealand"
    )
    assert origin_words(product(origin=Origin(country="NZ"))) == "Product of New Zealand"
    assert origin_words(product(origin=Origin())) == ""


@pytest.mark.parametrize(
    "words",
    ["Product of USA", "Made in the USA", "American lamb", "Born in the United States", "US lamb"],
)
def test_a_claim_in_words_needs_all_four_stages(words):
    """The words are refused with the stages that were not told."""
    short = Origin(words=words, born="US", raised="US", slaughtered="US")
    with pytest.raises(BadValue, match="and processed is not told"):
        origin_words(product(origin=short))
    full = Origin(words=words, born="US", raised="US", slaughtered="US", processed="US")
    assert origin_words(product(origin=full)) == words


@pytest.mark.parametrize("words", ["Raised by us", "Product of South America", "Saltgrass Holding"])
def test_other_words_of_origin_stand_as_they_are(words):
    """Words that name no part of the United States need no stages."""
    assert origin_words(product(origin=Origin(words=words))) == words


def test_a_covered_meat_without_origin_is_a_caution():
    """It blocks nothing: the rule is for retailers licensed under another law."""
    assert "PACA" in origin_cautions(product())[0]
    assert origin_cautions(product(origin=USA)) == ()
    assert origin_cautions(product(name="Beef rump", species="beef")) == ()
    many = product(name="Ground lamb", product_class="raw ground", origin=USA)
    assert "LB124" in origin_cautions(many)[0]


def test_a_processed_meat_is_not_covered():
    """An ingredient of a sausage needs no origin."""
    assert covered_rule(product(product_class="raw sausage")) == ""


def test_days_have_their_month():
    """Weekday, day, month; with the year where asked."""
    assert day_words(date(2026, 6, 10)) == "Wed 10 Jun"
    assert day_words(date(2028, 2, 29), with_year=True) == "Tue 29 Feb 2028"


def test_frozen_time_is_not_counted_in_a_vacuum_pack():
    """A frozen vacuum pack may say a later day; a chilled one may not."""
    late = {"vacuum": True, "use_by": date(2026, 12, 1)}
    check_dates(product(frozen=True, **late))
    assert discard_by(product(frozen=True, **late)) == "Discard if not used by Tue 1 Dec 2026"
    with pytest.raises(BadValue, match="30 days"):
        check_dates(product(**late))


def test_an_unusual_phrase_and_a_late_day_are_cautions():
    """A phrase nobody knows, and ready-to-eat food over seven days, are told."""
    assert "no usual phrase" in date_cautions(product(date_words="happy until"))[0]
    ready = product(product_class="ready to eat", use_by=date(2026, 6, 16))
    assert date_cautions(ready) == ()
    late = product(product_class="ready to eat", use_by=date(2026, 6, 17))
    assert "SF015" in date_cautions(late)[0]
    assert "last day" in date_cautions(product(product_class="ready to eat", use_by=None))[0]
    assert "last day" in date_cautions(product(use_by=None))[0]


def test_nutrition_reminders():
    """Ground meat and major cuts have one; a neck has none."""
    assert "LB022" in nutrition_cautions(ground())[0]
    assert "lamb loin chop" in nutrition_cautions(product(name="Loin chops"))[0]
    assert nutrition_cautions(product(name="Lamb neck slices")) == ()
    assert nutrition_cautions(product(product_class="raw sausage")) == ()


@pytest.mark.parametrize(
    ("name", "rule"), [("Grass-fed lamb leg", "LB132"), ("Choice beef rump", "LB133"),
                       ("Organic lamb", "LB134")],
)  # fmt: skip
def test_voluntary_claims_are_reminded_of_their_evidence(name, rule):
    """Each claim in the name names its rule, which is from memory."""
    (caution,) = claim_cautions(product(name=name))
    assert rule in caution
    assert "from memory" in caution


def test_prime_rib_is_a_cut_and_no_grade():
    """The name of the cut is no claim of the grade."""
    assert claim_cautions(product(name="Beef prime rib", species="beef")) == ()
