"""Words on a label that look like others: nothing is left out for them, nothing claimed by them."""

from __future__ import annotations

from datetime import date

import pytest

from collop.errors import BadValue, Contradiction
from collop.rules.labelling import Origin, Product
from collop.rules.labelling_allergens import check_ingredients, declared, found_in
from collop.rules.labelling_cautions import nutrition_cautions
from collop.rules.labelling_dates import check_dates
from collop.rules.labelling_names import kind_of_meat
from collop.rules.labelling_origin import covered_rule, origin_cautions, origin_words


def product(**changes):
    """Return a made-up product."""
    told = {"name": "Leg", "species": "lamb", "product_class": "raw whole",
            "packed": date(2026, 6, 10), "use_by": date(2026, 6, 13)}  # fmt: skip
    return Product(**(told | changes))


@pytest.mark.parametrize(
    ("ingredient", "names"),
    [
        ("egg (free range)", ("egg",)),
        ("eggs, free-range", ("egg",)),
        ("wheat, free of GMO", ("wheat",)),
        ("milk free from hormones", ("milk",)),
        ("egg-free dressing", ()),
        ("rub free from sesame", ()),
        ("crumb free of wheat", ()),
    ],
)
def test_free_takes_back_only_what_it_is_said_of(ingredient, names):
    """An egg that is free range is an egg; what is free from sesame holds none."""
    assert found_in(ingredient) == names


def test_a_free_range_egg_is_declared():
    """Undeclared, it is refused as any egg is."""
    with pytest.raises(Contradiction, match="egg is not declared"):
        check_ingredients(("egg, free range",), ())
    assert check_ingredients(("egg, free range",), declared(["egg"])) == ()


@pytest.mark.parametrize(
    ("name", "species", "kind"),
    [
        ("Hamburger", "pork", "Pork"),
        ("Kidney", "goat", "Goat"),
        ("Hogget leg", "pork", "Pork"),
        ("Kids' shoulders", "goat", ""),
        ("Lambs' liver", "lamb", ""),
        ("Smoked hams", "pork", ""),
        ("Beefburger", "beef", ""),
    ],
)
def test_a_longer_word_does_not_name_the_animal(name, species, kind):
    """A hamburger is no ham and a kidney no kid: the animal is added; a plural names it."""
    assert kind_of_meat(product(name=name, species=species)) == kind


def test_a_country_against_its_stages_is_refused():
    """A label never says the one and drops the other."""
    usa = {"born": "US", "raised": "US", "slaughtered": "US", "processed": "US"}
    with pytest.raises(Contradiction, match="origin is Canada, but born is USA"):
        origin_words(product(origin=Origin(country="Canada", **usa)))
    with pytest.raises(Contradiction, match="but slaughtered is USA"):
        origin_words(product(origin=Origin(country="CA", born="Canada", slaughtered="US")))
    assert origin_words(product(origin=Origin(country="US", **usa))) == "Product of USA"


@pytest.mark.parametrize("words", ["Product of U.S", "Product of the U.S.", "Made in U S A"])
def test_other_spellings_of_the_claim_need_all_stages(words):
    """They are the same claim."""
    with pytest.raises(BadValue, match="LB125"):
        origin_words(product(origin=Origin(words=words)))


@pytest.mark.parametrize(("species", "rule"), [("hogget", "LB109"), ("mutton", ""), ("beef", "")])
def test_sheep_other_than_mutton_is_lamb_to_the_law(species, rule):
    """LB121: lamb is meat of sheep other than mutton, so hogget needs its country."""
    assert covered_rule(product(species=species)) == rule
    assert bool(origin_cautions(product(species=species))) == bool(rule)


def test_poultry_has_its_major_cuts():
    """LB064 is from memory and says so; a neck has no reminder."""
    (said,) = nutrition_cautions(product(name="Thighs, bone in", species="chicken"))
    assert "LB064" in said
    assert "from memory, not checked" in said
    assert nutrition_cautions(product(name="Whole chicken", species="chicken"))
    assert nutrition_cautions(product(name="Chicken necks", species="chicken")) == ()


@pytest.mark.parametrize(("days", "rule"), [(14, "SF062"), (30, "SF061"), (10, "SF061")])
def test_a_vacuum_pack_names_the_edition_its_days_are_of(days, rule):
    """14 days are the older text's; a shop's own fewer days are under the newer one."""
    late = product(vacuum=True, vacuum_days=days, use_by=date(2026, 12, 1))
    with pytest.raises(BadValue, match=rf"kept {days} days .*\({rule}"):
        check_dates(late)
