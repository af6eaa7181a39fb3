"""Which elements a ticket has, each with the rule that asks for it and where that was published."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from collop.measures import WeightUnit
from collop.reference.rulebook import safe_handling_parts
from collop.rules.labelling import Element, Product, elements_of, rule_notes
from collop.rules.labelling_allergens import RULE_OF, contains_words
from collop.rules.labelling_dates import WAS_FROZEN, day_words, discard_by, keep_words
from collop.rules.labelling_lean import lean_words
from collop.rules.labelling_names import kind_of_meat, label_name
from collop.rules.labelling_origin import origin_rules
from collop.ticket.checking import COOK_RULE, Checked
from collop.ticket.plan_amounts import Amounts
from collop.ticket.plan_lines import ingredient_words
from collop.ticket.problem import TicketProblem
from collop.ticket.words import cook_words, money_text

__all__ = ["elements_rows"]

#: Said where no rule asks for an element.
OWN_PRACTICE = "common practice, no published source"
_PART_OF = {f"safe handling: {part.part}": part for part in safe_handling_parts()}


def elements_rows(
    problem: TicketProblem, amounts: Amounts, checked: Checked
) -> list[dict[str, Any]]:
    """Return one row for each element and rule.

    Raises
    ------
    AssertionError
        If an element that must be there has no words: a fault of the program, never of the input.
    """
    words = _words(problem, amounts, checked)
    facts = _facts(problem, amounts, words)
    rows: list[dict[str, Any]] = []
    for element in elements_of(problem.product.product_class, facts):
        said = words[element.name]
        assert said, element.name
        rows.extend(_rows(element, said, _rules(element, problem, checked)))
    return rows


def _rows(element: Element, said: str, rules: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    if not rules:
        yield {"element": element.name, "words": said, "rule": "", "source": OWN_PRACTICE,
               "status": "memory"}  # fmt: skip
    part = _PART_OF.get(element.name)
    if part:  # the words themselves, verbatim, were read in another source than the rule
        yield {"element": element.name, "words": said, "rule": rules[0], "source": part.citation(),
               "status": part.status.value}  # fmt: skip
        return
    for note in rule_notes(*rules):
        yield {"element": element.name, "words": said, "rule": note.rule, "source": note.source,
               "status": note.status}  # fmt: skip


def _rules(element: Element, problem: TicketProblem, checked: Checked) -> tuple[str, ...]:
    """Return the rules of an element, with those that depend on what is declared."""
    if element.name == "contains":
        majors = (RULE_OF[one.name] for one in checked.declared if one.name in RULE_OF)
        return (*element.rules, *majors)
    if element.name == "origin":
        return origin_rules(problem.product)
    if element.name == "cook to":
        return (COOK_RULE[checked.cook_as],)
    return element.rules


def _facts(problem: TicketProblem, amounts: Amounts, words: dict[str, str]) -> frozenset[str]:
    """Return which conditions of the elements hold."""
    product = problem.product
    holds = {
        "kind": bool(words["kind of meat"]),
        "tenderised": product.tenderised != "no",
        "place": bool(problem.shop.place),
        "other unit": amounts.shows_other,
        "use by": product.use_by is not None,
        "vacuum": product.vacuum,
        "chilled": not product.frozen,
        "frozen": product.frozen,
        "previously frozen": product.previously_frozen,
        "ingredients": bool(product.ingredients),
        "lean": product.fat is not None,
        "origin": bool(words["origin"]),
    }
    return frozenset(name for name, true in holds.items() if true)


def _words(problem: TicketProblem, amounts: Amounts, checked: Checked) -> dict[str, str]:
    """Return what stands on the ticket for each element."""
    product = problem.product
    celsius = problem.weighed.unit is WeightUnit.KG
    keep = keep_words(product, celsius=celsius)
    least = checked.least
    pierced = product.tenderised != "no"
    cook = cook_words(least, celsius=celsius, tenderised=pierced) if least else ""
    block = {name: part.words for name, part in _PART_OF.items()}
    return {
        "product name": label_name(product),
        "kind of meat": kind_of_meat(product),
        "tenderised": label_name(product),
        "packer": problem.shop.name,
        "place of packer": problem.shop.place,
        "net weight": amounts.net_words,
        "net weight in the other unit": f"{amounts.net_other:f} {problem.weighed.other}",
        "price per unit": amounts.price_words,
        "total price": money_text(amounts.total, problem.price.currency),
        "tare": amounts.tare_words,
        "packed on": f"Packed {day_words(product.packed, with_year=product.frozen)}",
        "last day": _last_day(product),
        "discard by": discard_by(product),
        "keep cold": keep,
        "keep cold, vacuum pack": keep,
        "keep frozen": keep,
        "was frozen": WAS_FROZEN,
        "ingredients": ingredient_words(product),
        "contains": contains_words(checked.declared),
        "lean and fat": lean_words(product),
        "origin": checked.origin,
        "lot": f"Lot {problem.lot}",
        "cook to": cook,
        "cooking of tenderised meat": cook,
        "safe handling": f"{len(safe_handling_parts())} parts in the prescribed words",
        **block,
    }


def _last_day(product: Product) -> str:
    if product.use_by is None:
        return ""
    return discard_by(product) or (
        f"{product.date_words} {day_words(product.use_by, with_year=product.frozen)}"
    )
