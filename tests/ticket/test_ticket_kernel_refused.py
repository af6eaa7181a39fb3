"""What a ticket is refused for: missing elements, contradictions, hostile values; one sentence."""

from __future__ import annotations

import pytest

from collop.errors import ProblemError
from collop.ticket import ticket
from collop.ticket.variable import read_variable
from ending import that_ends
from ticket.ticket_problems import GOOD, ground, line_of, sausage, ticket_problem


def refusal(problem):
    """Return the sentence a problem is refused with."""
    with pytest.raises(ProblemError) as caught:
        ticket(problem)
    return caught.value.message


MISSING = {
    "lot": ({"lot": None}, "the lot"),
    "tare": ({"weight": {"tare": None}}, "the tare"),
    "price": ({"price": {"amount": None}}, "the price"),
    "contains": ({"product": {"contains": None}}, "what it contains"),
    "name": ({"product": {"name": " "}}, "the product's name"),
    "shop": ({"shop": {"name": ""}}, "the shop's name"),
    "packed": ({"packed": None}, "the day of packing"),
    "gross": ({"weight": {"gross": None}}, "the weight on the scale"),
    "vacuum": ({"product": {"vacuum": True}, "use_by": None}, "the last day of the vacuum pack"),
    "ingredients": ({"product": sausage(ingredients=[])}, "the ingredients"),
}


@pytest.mark.parametrize("element", MISSING)
def test_one_missing_element_is_named(element):
    """Each element that is missing refuses the ticket and is named."""
    change, words = MISSING[element]
    said = refusal(ticket_problem(**change))
    assert said == f"The ticket cannot be printed without {said.partition('without ')[2]}"
    assert words in said


def test_all_missing_elements_are_named_in_one_sentence():
    """Lot, tare, price and allergens missing at once are told at once."""
    said = refusal(
        ticket_problem({"contains": None}, {"tare": None}, {"amount": None}, lot="  ")
    )  # fmt: skip
    for words in ("the lot", "the tare", "the price", "what it contains"):
        assert words in said
    assert said.count(".") == 1


def test_zero_tare_is_told_and_not_missing():
    """`0` says that there is no packing."""
    assert ticket(ticket_problem(weight={"tare": "0"}))["net"] == "4.87"


REFUSED = {
    "tare over gross": (ticket_problem(weight={"tare": "5"}), "nothing is left"),
    "over capacity": (ticket_problem(weight={"gross": "30.01"}), "over its capacity"),
    "off the steps": (ticket_problem(weight={"gross": "4.875"}), "is no reading of a scale"),
    "division of 3": (ticket_problem(weight={"division": "0.03"}), "none a scale may have"),
    "no division": (ticket_problem(weight={"division": "0"}), "is zero"),
    "no price": (ticket_problem(price={"amount": "0"}), "is zero"),
    "part of a cent": (ticket_problem(price={"amount": "12.995"}), "part of a cent"),
    "nothing to pay": (
        ticket_problem(weight={"gross": "0.03"}, price={"amount": "0.10"}),
        "smallest coin",
    ),
    "price of 100 in 4 digits": (
        ticket_problem(weight={"gross": "11.93"}), "databar-expanded-stacked"
    ),
    "no item": (ticket_problem({"item": None}), "item reference"),
    "short item": (ticket_problem({"item": "101"}), "item reference"),
    "no trade item": (ticket_problem({"gtin": None}, codes=["gs1-128"]), "trade item number"),
    "wrong check digit": (
        ticket_problem({"gtin": "90614141000016"}, codes=["gs1-128"]), "check digit must be 5"
    ),
    "lot too long": (ticket_problem(lot="L" * 21, codes=["gs1-128"]), "longer than the 20"),
    "lot with a blank": (ticket_problem(lot="L 208", codes=["gs1-128"]), "gs1-128 code"),
    "code twice": (ticket_problem(codes=["qr", "qr"]), "second time"),
    "unknown code": (ticket_problem(codes=["aztec"]), "use one of"),
    "unknown form": (ticket_problem(form={"size": "50x50", "dpi": 203}), "use one of"),
    "unknown dots": (ticket_problem(form={"size": "58x60", "dpi": 250}), "203 or 300"),
    "before packing": (ticket_problem(use_by="2026-06-09"), "before the day of packing"),
    "no day": (ticket_problem(use_by="2026-02-30"), "write a day"),
    "date without words": (ticket_problem(date_words="13"), "does not explain"),
    "vacuum too long": (ticket_problem({"vacuum": True}, use_by="2026-07-11"), "30 days"),
    "vacuum by older text": (
        ticket_problem({"vacuum": True}, use_by="2026-06-25", vacuum_days=14), "14 days"
    ),
    "vacuum laxer": (ticket_problem(vacuum_days=31), "from 1 to 30"),
    "warmer than the code": (ticket_problem(keep_at_most_f="42"), "never laxer"),
    "meat without meat": (ticket_problem({"class": "meat-free"}), "but the class is meat-free"),
    "raw without animal": (ticket_problem({"species": "none"}), "tells no animal"),
    "raw not cooked": (ticket_problem({"cook_as": "none"}), "is cooked before"),
    "ready but cooked": (ticket_problem({"class": "ready to eat"}), "no safe-cooking minimum"),
    "ground as whole": (ticket_problem({"name": "Ground lamb"}), "says that it is ground"),
    "casing on a roast": (ticket_problem({"casing": "hog"}), "has no casing"),
    "pierced mince": (ticket_problem(ground(tenderised="blade")), "tenderised"),
    "name says pierced": (ticket_problem({"name": "Blade tenderized lamb"}), "tenderised is 'no'"),
    "frozen and thawed": (
        ticket_problem({"frozen": True, "previously_frozen": True}), "so is frozen"
    ),
    "fresh but thawed": (
        ticket_problem({"name": "Fresh lamb leg", "previously_frozen": True}), "thawed"
    ),
    "praised weight": (ticket_problem({"name": "Lamb leg, jumbo pound"}), "praise a weight"),
    "lean alone": (ticket_problem(ground(lean_pct="80")), "without the fat"),
    "lean and fat": (ticket_problem(ground(lean_pct="80", fat_pct="21")), "not 100"),
    "lean on a roast": (ticket_problem({"lean_pct": "80", "fat_pct": "20"}), "for ground meat"),
    "lean in the name": (ticket_problem(ground(name="Ground beef 90% lean")), "lean_pct"),
    "fat beside the name": (
        ticket_problem(ground(name="Beef mince, 20 % fat", lean_pct="75", fat_pct="25")),
        "but fat_pct is 25",
    ),
    "too fat": (ticket_problem(ground(lean_pct="69", fat_pct="31")), "over the 30 %"),
    "too fat by name": (ticket_problem(ground(name="Beef mince, 35 % fat")), "over the 30 %"),
    "undeclared sesame": (
        ticket_problem(sausage(ingredients=["pork", "sesame oil"])),
        "sesame oil is among the ingredients, but sesame is not declared",
    ),
    "unknown allergen": (ticket_problem({"contains": ["moonlight"]}), "not a known allergen"),
    "which nuts": (ticket_problem({"contains": ["nuts"]}), "does not say which"),
    "claimed origin": (ticket_problem({"origin": {"words": "Product of USA"}}), "born, raised"),
    "country alone": (ticket_problem({"origin": {"country": "US"}}), "born, raised"),
    "unknown country": (ticket_problem({"origin": {"country": "XX"}}), "name of the country"),
    "unknown animal": (ticket_problem({"species": "chikcen", "cook_as": None}), "say in cook_as"),
    "name tells": (ticket_problem({"name": "Lamb leg, soy and sesame"}), "tells of soy"),
    "line end in the name": (ticket_problem({"name": "Lamb\nleg"}), "one line"),
    "turned letters": (ticket_problem({"name": "Lamb \u202eleg"}), "one line"),
    "long name": (ticket_problem({"name": "x" * 4000}), "4000 characters"),
    "unknown key": (ticket_problem(lots="L-208"), "not a known key"),
    "unknown key below": (ticket_problem({"alergens": []}), "not a known key"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_what_may_not_be_printed_is_refused_with_the_reason(case):
    """Each wrong problem gives one sentence that says what is wrong."""
    problem, words = REFUSED[case]
    said = refusal(problem)
    assert words in said
    assert said.endswith(".")
    assert "!" not in said


def test_a_dear_pack_can_still_be_printed_the_other_way():
    """The alternative that the refusal names works."""
    plan = ticket(
        ticket_problem(weight={"gross": "11.93"}, codes=["databar-expanded-stacked", "qr"])
    )
    assert plan["total"] == "100.04"
    assert "(3922)10004" in plan["codes"][0]["data"]


def test_a_till_with_five_digits_takes_a_dear_pack():
    """The other alternative that the refusal names works too."""
    told = refusal(ticket_problem(weight={"gross": "11.93"}))
    assert "us, 5-digit price" in told
    problem = ticket_problem(weight={"gross": "11.93"}, ean13={"place": "us, 5-digit price"})
    read = read_variable(ticket(problem)["codes"][0]["data"], "us, 5-digit price")
    assert str(read.amount) == "100.04"


def test_an_animal_that_no_minimum_names_is_cooked_as_told():
    """Told how it is cooked it prints, with the caution that no row names it."""
    plan = ticket(
        ticket_problem({"name": "Rabbit, whole", "species": "rabbit", "cook_as": "ground"})
    )
    assert any("names rabbit" in one for one in plan["cautions"])


@pytest.mark.parametrize("total", ["99.99", "100.00"])
def test_the_last_price_that_fits_four_digits(total):
    """99.99 has its number; 100.00 is refused."""
    problem = ticket_problem(weight={"gross": "1.02"}, price={"amount": total})
    if total == "99.99":
        assert "9999" in ticket(problem)["codes"][0]["data"]
    else:
        assert "does not fit" in refusal(problem)


HOSTILE = [None, True, 0, -1, 1.5, float("nan"), "", "NaN", "1e-999999", "-1", "9" * 5000, [], {},
           [None], {"a": 1}, "\x00", "\ud800", ["x"] * 10_000]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "lot"),
    [("gs1-128", "L-208.01"), ("databar-expanded-stacked", "L" * 20),
     ("databar-expanded-stacked", "!" * 20)],
)  # fmt: skip
def test_what_a_code_has_no_room_for_is_refused_before_drawing(kind, lot):
    """A code too long for its kind is no plan that only fails at the printer."""
    said = refusal(ticket_problem(codes=[kind], lot=lot))
    assert said.startswith(f"The {kind} code: ")
    assert "use gs1-datamatrix" in said
    assert ticket(ticket_problem(codes=["gs1-datamatrix"], lot=lot))["codes"]


@pytest.mark.parametrize(
    ("name", "species"),
    [("Lamb shoulder", "pork"), ("Chicken thigh", "pork"), ("Pork chops", "lamb"),
     ("Veal chop", "lamb"), ("Duck legs", "chicken"), ("Goat leg", "lamb"),
     ("Turkey mince", "chicken")],
)  # fmt: skip
def test_a_name_of_another_animal_is_refused(name, species):
    """The cooking line would be that of the wrong animal."""
    assert "another animal" in refusal(ticket_problem({"name": name, "species": species}))


@pytest.mark.parametrize(
    ("name", "species"),
    [("Lamb shoulder", "sheep"), ("Veal chop", "beef"), ("Chicken-fried steak", "beef"),
     ("Chicken steak", "beef"), ("Goose skirt", "beef"), ("Pork belly, lamb style", "pork"),
     ("Milk-fed lamb", "lamb"), ("Beef and lamb kebab", "beef and lamb"), ("Shanks", "lamb"),
     ("Beef kidney", "beef"), ("Pork chops with goat cheese", "pork"),
     ("Confit legs, duck fat", "pork"), ("Salmon-cut silverside", "beef")],
)  # fmt: skip
def test_a_name_that_only_sounds_like_another_animal_prints(name, species):
    """Cuts named after an animal, and the animal's other names, are no contradiction."""
    contains = ["milk"] if "cheese" in name else []
    assert ticket(ticket_problem({"name": name, "species": species, "contains": contains}))


@pytest.mark.parametrize("name", ["Raw chicken thigh", "Oven-ready duck", "Uncooked pork roll"])
def test_raw_goods_are_not_ready_to_eat(name):
    """In that class they would lack the safe-handling block and the cooking line."""
    product = {"name": name, "species": name.split()[1], "class": "ready to eat", "cook_as": None}
    assert "ready to eat" in refusal(ticket_problem(product | {"species": "poultry"}))
    assert ticket(ticket_problem(product | {"name": "Raw milk brie", "species": "cheese",
                                            "contains": ["milk"]}))  # fmt: skip


@pytest.mark.parametrize(
    "product",
    [{"name": "Pork pie"}, {"name": "Grilling slice", "ingredients": ["goat milk", "bacon bits"]},
     {"name": "Dumplings", "ingredients": ["beef suet", "salt"]}, {"name": "Duck fat potatoes"}],
)  # fmt: skip
def test_meat_is_not_meat_free(product):
    """A name or an ingredient that tells of meat contradicts the class."""
    meatless = {"species": "none", "class": "meat-free", "cook_as": None, "contains": ["milk"]}
    assert "meat-free" in refusal(ticket_problem(meatless | product))
    for name, listed in [("Vegan chicken pieces", ["pea protein"]), ("Vegetable suet", ["palm"]),
                         ("Salad", ["lamb's lettuce", "beef tomato", "duck eggs"])]:  # fmt: skip
        told = {"name": name, "ingredients": listed, "contains": ["egg", "soy"]}
        assert ticket(ticket_problem(meatless | told))


@pytest.mark.parametrize(
    "name", ["Beef roast, jaccarded", "Beef steak, tenderised", "Pinned beef roast"]
)
def test_a_name_that_tells_of_piercing_needs_it_told(name):
    """Without it the designation and the higher minimum would be missing (LB092)."""
    product = {"name": name, "species": "beef"}
    assert "pierced" in refusal(ticket_problem(product))
    assert ticket(ticket_problem(product | {"tenderised": "blade"}))


@pytest.mark.parametrize("name", ["Beef cube steak", "Minute steaks", "Larded beef roast"])
def test_opened_meat_is_cooked_as_ground(name):
    """A name that tells of opened meat raises the minimum, whatever it was said to be."""
    plan = ticket(ticket_problem({"name": name, "species": "beef", "cook_as": "whole"}))
    assert line_of(plan, "cook") == ["Cook: 160 F in the middle"]


@pytest.mark.parametrize("species", ["venison", "rabbit"])
def test_game_that_no_row_names_is_a_caution(species):
    """From memory, not checked: 160 F may be asked of it at home; who says so gets it printed."""
    game = {"name": species.capitalize(), "species": species}
    said = ticket(ticket_problem(game))["cautions"]
    assert any("160 F" in one and "from memory" in one for one in said)
    plan = ticket(ticket_problem(game | {"cook_as": "ground"}))
    assert line_of(plan, "cook") == ["Cook: 160 F in the middle"]
    assert not any("160 F" in one for one in plan["cautions"])


@pytest.mark.parametrize(
    "change",
    [{"date_words": "fresh until"}, {"product": {"origin": {"words": "Fresh, never frozen"}}}],
)
def test_thawed_goods_are_called_fresh_nowhere(change):
    """Not beside the date and not in the words of origin either (LB008)."""
    product = {"previously_frozen": True} | change.get("product", {})
    problem = ticket_problem(product) | {k: v for k, v in change.items() if k != "product"}
    assert "thawed" in refusal(problem)
    problem["product"]["previously_frozen"] = False
    assert ticket(problem)


@pytest.mark.parametrize(
    "told",
    [{"name": "USA lamb leg"}, {"name": "U.S. lamb leg"},
     {"origin": {"words": "product of the U.S"}}, {"origin": {"words": "From America's heart"}}],
)  # fmt: skip
def test_the_united_states_are_claimed_nowhere_without_the_stages(told):
    """In the name, and however it is spelt, the claim needs all four stages (LB125)."""
    assert "Product of USA" in refusal(ticket_problem(told))
    assert ticket(ticket_problem({"name": "American Wagyu style rib", "species": "beef"}))


def test_a_casing_tells_its_allergens():
    """What a casing is made of is declared like an ingredient."""
    assert "fish is not declared" in refusal(ticket_problem(sausage(casing="fish gelatin")))
    assert ticket(ticket_problem(sausage(casing="hog")))


def test_fat_free_in_percent_is_told_as_lean():
    """97 % fat free is not 97 % fat: it must be the lean percentage."""
    told = ground(name="Ground beef 97% fat free", lean_pct="97", fat_pct="3")
    assert ticket(ticket_problem(told))
    assert "97% fat free" in refusal(ticket_problem(told | {"lean_pct": "80", "fat_pct": "20"}))


def test_the_word_none_is_answered_with_the_empty_list():
    """Who writes that nothing is in it is told how to say so."""
    assert "an empty list says" in refusal(ticket_problem({"contains": ["none"]}))


def _paths():
    for key, value in GOOD.items():
        yield (key,)
        if isinstance(value, dict):
            yield from ((key, below) for below in value)


@pytest.mark.parametrize("path", list(_paths()), ids=".".join)
def test_no_hostile_value_at_any_key_breaks_it(path):
    """Each key takes each hostile value: a plan or one sentence."""
    with that_ends():
        for value in HOSTILE:
            problem = ticket_problem()
            part = problem
            for key in path[:-1]:
                part = part[key]
            part[path[-1]] = value
            try:
                ticket(problem)
            except ProblemError as error:
                assert 10 < len(error.message) < 1200
                assert "Traceback" not in error.message


@pytest.mark.parametrize("value", [None, [], "x", 3])
def test_what_is_no_object_is_refused(value):
    """Anything but an object is one sentence."""
    assert "must be an object" in refusal(value)
