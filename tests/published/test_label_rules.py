"""Label rules against what was published: each test names the source id and title of its rule.

Rows of the table that only quote a duty of a plant, a date of effect or an exemption of other
firms (LB006, LB020, LB023, LB026 to LB031, LB106, LB126) are nothing a label computes and have no
test here.  Rows from memory are in the tests of the rules, marked so, and never here.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from collop.errors import BadValue, ProblemError
from collop.reference.rulebook import rule_row
from collop.rules.labelling import MOST_DAYS_VACUUM, Product
from collop.rules.labelling_allergens import RULE_OF, declared
from collop.rules.labelling_cautions import nutrition_cautions
from collop.rules.labelling_dates import day_words
from collop.rules.labelling_lean import check_lean_and_fat
from collop.rules.labelling_origin import covered_rule
from collop.ticket import ticket
from ticket.ticket_problems import ground, line_of, rules_of, sausage, ticket_problem

# typed from 9 CFR 381.125(b)(2), not from the table. CFR381_125, "9 CFR 381.125 Special handling
# label requirements"
BLOCK = (
    "Safe Handling Instructions",
    ("This product was prepared from inspected and passed meat and/or poultry. Some food products "
    "may contain bacteria that could cause illness if the product is mishandled or cooked "
    "improperly. For your protection, follow these safe handling instructions."),
    "Keep refrigerated or frozen. Thaw in refrigerator or microwave.",
    ("Keep raw meat and poultry separate from other foods. Wash working surfaces (including "
    "cutting boards), utensils, and hands after touching raw meat or poultry."),
    "Cook thoroughly.",
    "Keep hot foods hot. Refrigerate leftovers immediately or discard.",
)  # fmt: skip


def is_read(*rules):
    """Assert that the rows were read in their source, so that a test may cite them."""
    for rule in rules:
        assert rule_row(rule).is_cited, rule


def refusal(problem):
    """Return the sentence of a refusal."""
    with pytest.raises(ProblemError) as caught:
        ticket(problem)
    return caught.value.message


def test_the_product_name_is_on_the_label():
    """LB001. CFR317_2, "9 CFR 317.2 Labels: definition; required features", 317.2(c)(1)."""
    is_read("LB001")
    plan = ticket(ticket_problem())
    assert line_of(plan, "name") == ["Lamb shoulder, bone in"]
    assert "LB001" in rules_of(plan, "product name")
    assert "name" in refusal(ticket_problem({"name": ""}))


@pytest.mark.parametrize("kind", ["raw whole", "raw ground", "raw sausage", "raw marinated"])
def test_the_safe_handling_words_are_the_regulation_s(kind):
    """LB009, LB014 to LB019. CFR381_125, "9 CFR 381.125 Special handling label requirements"."""
    is_read("LB009", "LB014", "LB015", "LB016", "LB017", "LB018", "LB019")
    told = sausage(**{"class": kind, "name": "Pork"}) if kind != "raw ground" else ground()
    plan = ticket(ticket_problem(told))
    block = line_of(plan, "handling_head") + line_of(plan, "handling")
    assert block == list(BLOCK)
    assert len(block) == int(rule_row("LB019").value)


def test_ready_to_eat_food_has_no_safe_handling_block():
    """LB009, what is exempt. CFR381_125, "9 CFR 381.125 Special handling label requirements"."""
    told = {"name": "Roast pork", "species": "pork", "class": "ready to eat", "cook_as": "none"}
    plan = ticket(ticket_problem(told))
    assert line_of(plan, "handling") == line_of(plan, "handling_head") == []


def test_the_form_of_the_block_is_cited():
    """LB010 to LB013. CFR381_125 and SHI_MODEL, "Food processing terminology" (table 9)."""
    is_read("LB010", "LB011", "LB012", "LB013")
    plan = ticket(ticket_problem())
    assert {"LB010", "LB011", "LB012", "LB013"} <= set(rules_of(plan, "safe handling"))
    (head,) = [line for line in plan["lines"] if line["role"] == "handling_head"]
    order = ("small", "plain", "big")
    assert all(
        order.index(head["weight"]) > order.index(line["weight"])
        for line in plan["lines"]
        if line["role"] == "handling"
    )


def test_perishable_goods_say_how_to_keep_them():
    """LB007. CFR381_125, 381.125(a). SF006: FL03F, quoting Food Code 3-501.16(A)(2): 41 F."""
    is_read("LB007", "SF006")
    (keep,) = line_of(ticket(ticket_problem()), "keep")
    assert keep == f"Keep refrigerated at {rule_row('SF006').value} F or below"


def test_thawed_goods_carry_a_statement():
    """LB008. CFR381_125, 381.125(a)."""
    is_read("LB008")
    keeps = line_of(ticket(ticket_problem({"previously_frozen": True})), "keep")
    assert any("frozen" in text for text in keeps)
    assert all("frozen" not in text for text in line_of(ticket(ticket_problem()), "keep"))


def test_ground_meat_and_major_cuts_are_reminded_of_nutrition():
    """LB021, LB022, LB032 to LB063. FR75NUTR, CFR317_301, CFR317_344 (9 CFR 317.344)."""
    is_read("LB021", "LB022", *(f"LB{number:03}" for number in range(32, 64)))
    day = date(2026, 6, 10)
    for number in range(32, 64):
        cut = rule_row(f"LB{number:03}").text
        species, _, name = cut.partition(" ")
        told = Product(name=name, species=species, product_class="raw whole", packed=day)
        assert "major cut" in nutrition_cautions(told)[0], cut
    mince = Product(name="Ground pork", species="pork", product_class="raw ground", packed=day)
    assert "LB022" in nutrition_cautions(mince)[0]


def test_lean_only_with_fat_beside_it():
    """LB024. FR75NUTR, "Nutrition Labeling of Single-Ingredient Products ...", 75 FR 82148."""
    is_read("LB024")
    plan = ticket(ticket_problem(ground(lean_pct="80", fat_pct="20")))
    assert line_of(plan, "claims") == ["80 % lean, 20 % fat"]
    assert "without the fat" in refusal(ticket_problem(ground(lean_pct="80")))
    assert "not 100" in refusal(ticket_problem(ground(lean_pct="80", fat_pct="15")))


@pytest.mark.parametrize(
    ("rule", "kind", "name"),
    [
        ("LB065", "raw ground", "Ground beef"),  # VA590, 2VAC5-590-10
        ("LB065", "raw ground", "Chopped beef"),
        ("LB071", "raw ground", "Beef patties"),  # VA590
        ("LB073", "raw sausage", "Fresh pork sausage"),  # CFR319_141, 9 CFR 319.141
        ("LB076", "raw sausage", "Whole hog sausage"),  # CFR319_144, 9 CFR 319.144
        ("LB080", "raw sausage", "Breakfast sausage"),  # NY319_143, 1 NYCRR 319.143
    ],
)
def test_a_name_with_a_standard_keeps_its_fat(rule, kind, name):
    """Fat at the published percentage passes, a tenth over is refused with the rule."""
    is_read(rule)
    most = Decimal(rule_row(rule).value)
    told = {"name": name, "species": "beef", "product_class": kind, "packed": date(2026, 6, 10)}
    check_lean_and_fat(Product(**told, lean=100 - most, fat=most))
    with pytest.raises(BadValue, match=rule):
        check_lean_and_fat(Product(**told, fat=most + Decimal("0.1")))


@pytest.mark.parametrize("words", ["mechanically tenderized", "blade tenderized",
                                   "needle tenderized"])  # fmt: skip
def test_pierced_beef_says_so_in_its_name(words):
    """LB092 to LB094. FR80TEND, "Descriptive Designation for Needle- or Blade-Tenderized Beef".

    The designation stands in the name's own line, so its letters are as high as the name's, over
    the third that is asked for; and the label has a cooking temperature.
    """
    is_read("LB092", "LB093", "LB094")
    assert words in rule_row("LB092").text
    told = {"name": "Beef rump", "species": "beef", "tenderised": words.split()[0]}
    plan = ticket(ticket_problem(told))
    (name,) = line_of(plan, "name")
    assert words in name
    (cook,) = line_of(plan, "cook")
    assert "160 F" in cook
    assert {"LB092", "LB093"} <= set(rules_of(plan, "tenderised"))


def test_the_nine_major_allergens():
    """LB096 to LB105. FDASESAME, "The FASTER Act: Sesame Is the Ninth Major Food Allergen"."""
    nine = ["milk", "egg", "fish", "crustaceans", "tree nuts", "peanut", "wheat", "soy", "sesame"]
    assert list(RULE_OF) == nine
    is_read("LB105", *RULE_OF.values())
    words = ["milk", "eggs", "fish", "crustacean shellfish", "tree nuts", "peanuts", "wheat",
             "soybeans", "sesame"]  # fmt: skip
    for word, (name, rule) in zip(words, RULE_OF.items(), strict=True):
        assert word in rule_row(rule).text
        assert declared([word])[0].name == name
        plan = ticket(ticket_problem(sausage(contains=[word])))
        assert rule in rules_of(plan, "contains")
        assert name in line_of(plan, "contains")[0]


def test_the_allergen_line_is_right_after_the_ingredients():
    """LB105. FDASESAME: in the ingredient list, or a "Contains" line right after it."""
    roles = [line["role"] for line in ticket(ticket_problem(sausage()))["lines"]]
    assert roles[roles.index("ingredients") + 1] == "contains"


@pytest.mark.parametrize(
    ("species", "kind", "rule"),
    [
        ("lamb", "raw whole", "LB109"),
        ("lamb", "raw ground", "LB110"),
        ("venison", "raw whole", "LB111"),
        ("venison", "raw ground", "LB112"),
        ("goat", "raw whole", "LB113"),
        ("chicken", "raw whole", "LB114"),
        ("mutton", "raw whole", ""),  # LB121
        ("beef", "raw whole", ""),  # LB117
        ("pork", "raw whole", ""),  # LB118
        ("beef", "raw ground", ""),  # LB119
        ("pork", "raw ground", ""),  # LB120
    ],
)
def test_which_meats_are_covered_by_origin_labelling(species, kind, rule):
    """USC1638, "7 U.S.C. 1638 Definitions"; FR81COOL, "Removal of Mandatory Country of Origin"."""
    is_read(*([rule] if rule else ["LB117", "LB118", "LB119", "LB120", "LB121"]))
    told = Product(name=f"{species} leg", species=species, product_class=kind,
                   packed=date(2026, 6, 10))  # fmt: skip
    assert covered_rule(told) == rule


def test_product_of_usa_needs_all_four_stages():
    """LB123: USC1638A; LB125: USANEWS, born, raised, slaughtered and processed in the US."""
    is_read("LB123", "LB125")
    stages = ("born", "raised", "slaughtered", "processed")
    everything = dict.fromkeys(stages, "US")
    plan = ticket(ticket_problem({"origin": everything}))
    assert line_of(plan, "claims") == ["Product of USA"]
    assert {"LB123", "LB125"} <= set(rules_of(plan, "origin"))
    for stage in stages:
        origin = {**everything, stage: "CA", "words": "Product of USA"}
        assert stage in refusal(ticket_problem({"origin": origin}))


def test_a_date_has_its_phrase():
    """LB128. DATING, "Food product dating summary (FSIS guidance restated)"; LB127: NYDATING."""
    is_read("LB127", "LB128")
    (dates,) = line_of(ticket(ticket_problem()), "dates")
    assert dates.endswith("use or freeze by Sat 13 Jun")
    assert "LB128" in refusal(ticket_problem(date_words="..."))
    undated = ticket(ticket_problem(use_by=None))
    assert line_of(undated, "dates") == ["Packed Wed 10 Jun"]  # a last day is voluntary


def test_a_vacuum_pack_of_raw_meat():
    """SF061, SF063, SF064. WI502_12, "Wisconsin Food Code 3-502.12 Reduced oxygen packaging"."""
    is_read("SF060", "SF061", "SF063", "SF064")
    assert int(rule_row("SF061").value) == MOST_DAYS_VACUUM
    packed = date(2026, 6, 10)
    last = packed + timedelta(days=int(rule_row("SF061").value))
    plan = ticket(ticket_problem({"vacuum": True}, use_by=last.isoformat()))
    keeps = [line for line in plan["lines"] if line["role"] == "keep"]
    assert keeps[0]["text"] == "Keep refrigerated at 41 F or below"
    assert keeps[1]["text"].startswith("Discard")
    assert keeps[1]["text"].endswith(day_words(last))
    assert all(line["bold"] for line in keeps)
    over = (last + timedelta(days=1)).isoformat()
    assert "SF061" in refusal(ticket_problem({"vacuum": True}, use_by=over))


def test_a_vacuum_pack_by_the_older_text():
    """SF062. PA46402, "7 Pa. Code 46.402 Reduced oxygen packaging (older 14-day text)"."""
    is_read("SF062")
    days = int(rule_row("SF062").value)
    last = date(2026, 6, 10) + timedelta(days=days)
    ticket(ticket_problem({"vacuum": True}, use_by=last.isoformat(), vacuum_days=days))
    over = (last + timedelta(days=1)).isoformat()
    problem = ticket_problem({"vacuum": True}, use_by=over, vacuum_days=days)
    assert "SF062" in refusal(problem)


def test_a_random_package_has_its_three_figures():
    """WM048, WM049: AR418320, Arkansas Code 4-18-320; WM050, WM060: ASAC27, 27.0659."""
    is_read("WM048", "WM049", "WM050", "WM060")
    plan = ticket(ticket_problem())
    assert line_of(plan, "net")[0].startswith("Net 4.85 lb")
    assert line_of(plan, "price")[0].startswith("$8.40/lb")
    assert line_of(plan, "total") == ["$40.74"]
    assert {"WM048", "WM049", "WM050"} <= set(rules_of(plan))


def test_the_price_is_of_the_net_weight():
    """WM044. AZTARE, "Tare (consumer page)": packaging is never paid for."""
    is_read("WM044")
    bare = ticket(ticket_problem(weight={"gross": "4.85", "tare": "0"}))
    packed = ticket(ticket_problem(weight={"gross": "4.95", "tare": "0.10"}))
    assert bare["total"] == packed["total"]
    assert bare["net"] == packed["net"] == "4.85"


@pytest.mark.parametrize(
    ("told", "rule", "words"),
    [
        ({}, "SF055", "145 F in the middle, then rest 3 min"),
        (ground(), "SF056", "160 F in the middle"),
        ({"name": "Chicken thighs", "species": "chicken"}, "SF057", "165 F in the middle"),
    ],
)
def test_the_cooking_line_is_the_consumer_minimum(told, rule, words):
    """SF055 to SF057. USDATEMP, "Safe minimum internal temperatures (USDA chart restated)"."""
    is_read(rule)
    plan = ticket(ticket_problem({**told, "cook_as": None}))
    assert line_of(plan, "cook") == [f"Cook: {words}"]
    assert words.startswith(f"{rule_row(rule).value} F")
    assert rules_of(plan, "cook to") == [rule]
