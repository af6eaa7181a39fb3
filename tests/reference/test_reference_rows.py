"""The tables that come with the package, their look-ups and their citations."""

from __future__ import annotations

import dataclasses
import doctest
import importlib
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from collop.errors import BadValue, ReferenceTableError
from collop.measures import Temperature, Weight, WeightUnit
from collop.reference import (
    FROM_MEMORY,
    RULE_TABLES,
    Status,
    carcass_rules,
    chicken_parts,
    cite,
    composition_rows,
    conversion_rows,
    cook_minimum,
    cooked_weight,
    cooking_yield,
    cut_rows,
    cut_style_rows,
    cutout_weight_rows,
    elasticity_rows,
    field_sources,
    joint_cost_rows,
    keeping_rows,
    known_misprints,
    known_sources,
    label_rows,
    limit_rows,
    limits,
    listed_tables,
    minimum_rows,
    newsvendor_rows,
    portion_rows,
    price_ratio_rows,
    price_rows,
    rule_rows,
    safe_handling_parts,
    servings,
    thaw_hours,
    thawing,
    yield_rows,
)

ROOT = Path(__file__).resolve().parents[2]
LOOKED_UP = [
    *portion_rows(),
    *chicken_parts(),
    *keeping_rows(),
    *limit_rows(),
    *label_rows(),
    *composition_rows(),
    *minimum_rows(),
    *conversion_rows(),
    *yield_rows(),
    *carcass_rules(),
    *cut_rows(),
    *cut_style_rows(),
    *joint_cost_rows(),
    *newsvendor_rows(),
    *cutout_weight_rows(),
    *price_ratio_rows(),
    *price_rows(),
    *elasticity_rows(),
]
MODULES = [
    "allergens", "carcassrules", "carcassyields", "citing", "cookyields", "cuts", "cutstyles",
    "limits", "portions", "thawing",
]  # fmt: skip


def pounds(text: str) -> Weight:
    """Return a weight read on a pound scale."""
    return Weight.of(text, WeightUnit.LB)


def test_no_figure_is_a_binary_number():
    """Every number in every table is a decimal or a whole number."""
    seen = set()
    for rows in listed_tables().values():
        for cells in rows:
            seen |= {type(value) for value in cells.values.values()}
    assert Decimal in seen
    assert float not in seen


def test_every_source_is_cited_by_a_row():
    """No source stands in a list for nothing; a field of a cut may be its only use."""
    used = {row.origin().source_id for rows in listed_tables().values() for row in rows}
    assert used | field_sources() == set(known_sources())


def test_every_row_of_every_table_can_be_looked_up():
    """The look-ups leave no row of their table out."""
    tables = listed_tables()
    assert len(portion_rows()) == len(tables["cooking/portions.csv"])
    assert len(keeping_rows()) == len(tables["cooking/thaw_chill_hold.csv"])
    assert len(chicken_parts()) == len(tables["yields/chicken_parts_yield.csv"])
    yields = [
        len(tables[f"yields/{name}_subprimal_yield.csv"]) for name in ("beef", "pork", "lamb")
    ]
    assert len(yield_rows()) == sum(yields) == 256
    assert len(carcass_rules()) == len(tables["yields/carcass_rules.csv"]) == 246
    assert len(cut_rows()) == len(tables["yields/cut_catalogue.csv"]) == 121
    assert len(cut_style_rows()) == len(tables["yields/cutting_alternatives.csv"]) == 262
    assert len(limit_rows()) == len(tables["rules/safety_limits.csv"])
    assert len(label_rows()) == len(tables["rules/labels.csv"])
    assert len(composition_rows()) == 28
    rules = sum(len(tables[table.path]) for table in RULE_TABLES.values())
    assert len(rule_rows()) == rules == 670
    assert len(safe_handling_parts()) == len(tables["rules/safe_handling_text.csv"]) == 6
    species = {cells.text("species") for cells in tables["cooking/cooking_yields.csv"]}
    found = sum(len(cooking_yield(name)) for name in species)
    assert found == len(tables["cooking/cooking_yields.csv"])


def test_every_row_of_the_price_tables_can_be_looked_up():
    """Joint costs, quantities, prices and demand: no row is left out."""
    tables = {path: len(rows) for path, rows in listed_tables().items()}
    assert len(joint_cost_rows()) == tables["pricing/joint_cost.csv"] == 94
    assert len(newsvendor_rows()) == tables["pricing/newsvendor_cases.csv"] == 7
    assert len(cutout_weight_rows()) == tables["pricing/cutout_weights_implied.csv"] == 14
    assert len(price_ratio_rows()) == tables["pricing/price_ratios.csv"] == 105
    assert len(price_rows()) == tables["pricing/price_relatives.csv"] == 503
    assert len(elasticity_rows()) == tables["pricing/elasticities.csv"] == 102


def test_rows_of_the_price_tables_are_found_by_what_they_are_of():
    """Example, method, species, cut, level, source and kind narrow the rows."""
    assert {row.product for row in joint_cost_rows("JC06")} == {"L-Ten", "Triol", "Pioze"}
    assert len(joint_cost_rows("JC01", method="physical measure")) == 6
    assert {row.species for row in price_rows("pork", level="retail")} == {"pork"}
    assert {row.source.source_id for row in price_rows(source_id="P15")} == {"P15"}
    assert {row.denominator for row in price_ratio_rows("pork", numerator="butt")} >= {"loin"}
    assert len(cutout_weight_rows("beef")) == 7
    assert [row.primal for row in cutout_weight_rows() if not row.is_share] == [
        "constant: other parts, USD/cwt"
    ]
    own = elasticity_rows("own_price_elasticity", item="beef")
    assert {row.status for row in own} == {Status.MEMORY, Status.COMPUTED}
    cited = elasticity_rows("own_price_elasticity", item="beef", cited_only=True)
    assert [row.value for row in cited] == [Decimal("-0.947")]


def test_a_figure_printed_wrong_says_so():
    """Slips are flagged; what is equal within its rounding is not."""
    wrong = {row.example_id for row in joint_cost_rows() if row.is_misprinted}
    assert wrong == {"JC06", "JC06b", "MG03"}
    assert {row.case_id for row in newsvendor_rows() if row.is_misprinted} == {"NV01", "NV02"}


def test_a_price_is_told_in_dollars_a_pound():
    """Hundredweights and cents are turned; a multiple is no price."""
    found = {row.unit: row for row in price_rows()}
    hundredweight = found["USD/cwt"]
    assert hundredweight.usd_per_lb == hundredweight.price / 100
    assert found["cents/lb"].usd_per_lb == found["cents/lb"].price / 100
    assert found["USD/lb"].usd_per_lb == found["USD/lb"].price
    assert found["multiple of whole-bird price per lb"].usd_per_lb is None


@pytest.mark.parametrize("row", LOOKED_UP, ids=range(len(LOOKED_UP)))
def test_every_row_is_cited_and_marked(row):
    """A row from memory bears the mark, any other does not."""
    assert cite(row).startswith(row.source.text())
    assert (FROM_MEMORY in cite(row)) == (row.status is Status.MEMORY)
    assert row.is_cited == (row.status is not Status.MEMORY)


def test_a_row_cannot_be_changed():
    """A published figure is frozen."""
    row = portion_rows()[0]
    with pytest.raises(dataclasses.FrozenInstanceError):
        row.low = Decimal(1)


def test_a_source_is_cited_by_its_id():
    """Publisher, title, year and locator stand in one line."""
    assert cite("FSIS_MIN") == (
        "USDA FSIS, Safe minimum internal temperatures; grilling and food safety, 2011-2020, "
        "table (several reprints)"
    )


def test_a_source_none_of_whose_figures_was_read_is_marked():
    """A source that was only recalled is never cited as if it had been read."""
    assert cite("EU1169").endswith(FROM_MEMORY)
    assert cite("FSIS_THAW").endswith(FROM_MEMORY)
    assert FROM_MEMORY not in cite("FSIS_MIN")


def test_an_unknown_source_is_refused():
    """A citation is never made up."""
    with pytest.raises(BadValue, match=r"'NOBODY' is not a known source; see docs/sources\.md"):
        cite("NOBODY")


def test_common_practice_says_so():
    """What has no source is cited as common practice."""
    child = portion_rows("child", cited_only=False)[0]
    said = f"Common practice, no published source, treat as adjustable default; {FROM_MEMORY}"
    assert cite(child) == said


def test_rows_from_memory_can_be_left_out():
    """Each look-up can be held to what was read."""
    for look_up in (portion_rows, keeping_rows, limit_rows, yield_rows, carcass_rules):
        assert all(row.is_cited for row in look_up(cited_only=True))
        assert not all(row.is_cited for row in look_up())
    assert len(cooking_yield("beef", "fresh or frozen")) == 4
    assert len(cooking_yield("beef", "fresh or frozen", cited_only=True)) == 2


def test_portions_are_found_by_words_state_and_source():
    """Words fit in any order and case."""
    found = portion_rows("TURKEY boneless", state="raw", source_id="DUMMIES")
    assert [row.item for row in found] == ["chicken, turkey or duck, boneless"]
    assert portion_rows("unicorn") == ()
    assert {row.status for row in portion_rows(who="child")} == {Status.MEMORY}


def test_a_portion_in_pieces_has_no_ounces():
    """Racks, ribs and patties are not turned into weight."""
    ribs = portion_rows("back or side ribs")[0]
    assert ribs.ounces_a_head() is None
    with pytest.raises(BadValue, match="is published in rack/person; choose a row with a weight"):
        servings(pounds("5"), ribs)


def test_a_weight_below_zero_serves_nobody():
    """A mistaken sign is refused."""
    flank = portion_rows("flank")[0]
    assert servings(Weight.zero(), flank) == (0, 0)
    with pytest.raises(BadValue, match="cannot be negative"):
        servings(-pounds("1"), flank)


def test_a_yield_is_found_by_either_word_of_its_preparation():
    """Grilled and broiled are one column of the source."""
    grilled = cooking_yield("beef", "flank", "grilled")
    assert grilled == cooking_yield("Beef", "FLANK", "broiled") != ()
    assert cooking_yield("beef", "flank", "boiled") == ()


@pytest.mark.parametrize("species", ["duck", "goat"])
def test_nothing_is_made_up_for_a_species_that_was_not_published(species):
    """No row of another species stands in."""
    assert cooking_yield(species) == ()


def test_a_raw_weight_below_zero_is_not_cooked():
    """A mistaken sign is refused."""
    row = cooking_yield("beef", "flank")[0]
    with pytest.raises(BadValue, match="cannot be negative"):
        cooked_weight(-pounds("1"), row)


def test_bone_is_told_only_where_the_parts_were_weighed():
    """A share alone does not tell bone."""
    with pytest.raises(BadValue, match="were not weighed; use another row"):
        chicken_parts("CHICKEN_RTC_BOOK")[0].bone_fraction()


def test_a_limit_in_words_has_no_figure():
    """Words are not read as a number."""
    figures = {row.rule_id: row.figure for row in limit_rows()}
    assert figures["SF023"] == 145
    assert figures["SF125"] is None


@pytest.mark.parametrize(
    ("cook_as", "shown"),
    [
        ("whole", "63 °C (145 °F), then 3 min rest"),
        ("ground", "72 °C (160 °F)"),
        ("poultry", "74 °C (165 °F)"),
    ],
)
def test_a_shown_minimum_is_never_below_the_rule(cook_as, shown):
    """Whole degrees are rounded up on both scales."""
    minimum = cook_minimum(cook_as)
    assert minimum.text() == shown
    assert Temperature.celsius(minimum.whole_celsius) >= minimum.temperature
    assert Temperature.fahrenheit(minimum.whole_fahrenheit) >= minimum.temperature
    assert minimum.status is Status.SEEN
    assert minimum.source == cite("FSIS_MIN")


@pytest.mark.parametrize("cook_as", ["", "none", "Whole", "beef", "rare"])
def test_no_minimum_is_guessed(cook_as):
    """An unknown way of cooking is refused, with the names that are known."""
    with pytest.raises(BadValue, match="use one of whole, ground, poultry"):
        cook_minimum(cook_as)


def test_a_recalled_figure_never_rules_what_people_eat(monkeypatch):
    """A minimum whose row is from memory, or missing, is refused."""
    recalled = {
        row.product: dataclasses.replace(row, status=Status.MEMORY) for row in minimum_rows()
    }
    for rows in (recalled, {}):
        monkeypatch.setattr(limits, "_minimums", lambda rows=rows: rows)
        with pytest.raises(ReferenceTableError, match="has no cited row for 'ground beef"):
            cook_minimum("ground")


def test_a_recalled_figure_never_rules_thawing(monkeypatch):
    """A thawing time whose row is from memory is refused."""
    recalled = tuple(dataclasses.replace(row, status=Status.MEMORY) for row in keeping_rows())
    monkeypatch.setattr(thawing, "_rows", lambda: recalled)
    with pytest.raises(ReferenceTableError, match="has no cited thaw row for 'refrigerator'"):
        thaw_hours(pounds("5.2"))


def test_a_thawing_rule_in_another_form_is_refused(monkeypatch):
    """A changed unit is a fault of the table, not a wrong time."""
    changed = tuple(dataclasses.replace(row, unit="h") for row in keeping_rows())
    monkeypatch.setattr(thawing, "_rows", lambda: changed)
    with pytest.raises(ReferenceTableError, match="'h' is not 'h per A-B lb'"):
        thaw_hours(pounds("5.2"))


def test_contradictions_point_at_tables_that_exist():
    """Each known misprint names a table of the package."""
    assert {one.table for one in known_misprints()} <= set(listed_tables())
    assert len(known_misprints()) >= 10


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_each_module_are_true(name):
    """Every example in a docstring gives what it says."""
    result = doctest.testmod(importlib.import_module(f"collop.reference.{name}"))
    assert result.attempted > 0
    assert result.failed == 0


def test_the_page_of_sources_is_up_to_date():
    """The page is what its script would write now."""
    done = subprocess.run(
        [sys.executable, ROOT / "scripts" / "sources", "--check"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
