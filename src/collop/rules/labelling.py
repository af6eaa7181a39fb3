"""What must stand on a label: the elements as data, by class of product, each with its rules.

The checks of single elements stand beside it: `labelling_names`, `labelling_animals`,
`labelling_lean`, `labelling_allergens`, `labelling_origin`, `labelling_dates` and
`labelling_cautions`.  Local codes come first.  The paths in errors are those of a ticket problem.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from collop.reference import FROM_MEMORY
from collop.reference.rulebook import PublishedRule, rule_row

__all__ = [
    "CLASSES", "ELEMENTS", "MOST_DAYS_VACUUM", "RAW_CLASSES", "TENDERISED", "Element", "Origin",
    "Product", "RuleNote", "cited", "elements_of", "rule_notes",
]  # fmt: skip

#: Classes of raw meat or poultry: they carry the safe-handling block (LB009).
RAW_CLASSES = ("raw whole", "raw ground", "raw sausage", "raw marinated")
#: Every class of product that a ticket may be for.
CLASSES = (*RAW_CLASSES, "ready to eat", "meat-free")
#: How a piece may have been pierced, and the words the law prescribes for it (LB092).
TENDERISED: Mapping[str, str] = {
    "no": "",
    "mechanically": "mechanically tenderized",
    "blade": "blade tenderized",
    "needle": "needle tenderized",
}
#: Days a vacuum pack of raw meat may be kept at the most, day of packing not counted (SF061).
MOST_DAYS_VACUUM = 30


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an animal was, by country; empty where it was not told.

    Parameters
    ----------
    country : str
        Country told without more.
    words : str
        Words to print as they are.
    born, raised, slaughtered, processed : str
        Country of each stage.
    """

    country: str = ""
    words: str = ""
    born: str = ""
    raised: str = ""
    slaughtered: str = ""
    processed: str = ""

    def stages(self) -> dict[str, str]:
        """Return the stages that were told, in their order."""
        named = {"born": self.born, "raised": self.raised, "slaughtered": self.slaughtered,
                 "processed": self.processed}  # fmt: skip
        return {stage: country for stage, country in named.items() if country}


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What is told of a product, as far as its label depends on it.

    Parameters
    ----------
    name, species : str
        As the shop calls it; the animal, ``none`` without meat.
    product_class : str
        One of `CLASSES`.
    cook_as : str or None
        ``whole``, ``ground``, ``poultry``, ``none``; None if nothing was said.
    ingredients : tuple of str or None
        In the order given; None for a single ingredient.
    contains : tuple of str
        Allergens as they were declared; empty if none are.
    casing : str or None
        Animal of the casing.
    lean, fat : Decimal or None
        Percent.
    tenderised : str
        A key of `TENDERISED`.
    frozen, previously_frozen, vacuum : bool
        Sold frozen; sold thawed; in a vacuum pack.
    origin : Origin or None
        None if nothing was told.
    packed, use_by : date or None
        `packed` is always told.
    date_words : str
        The phrase before `use_by`.
    keep_at_most_f : Decimal
        Highest temperature to keep it at [degF].
    vacuum_days : int
        Days that the shop's edition allows a vacuum pack.
    """

    name: str
    species: str
    product_class: str
    packed: date
    cook_as: str | None = None
    ingredients: tuple[str, ...] | None = None
    contains: tuple[str, ...] = ()
    casing: str | None = None
    lean: Decimal | None = None
    fat: Decimal | None = None
    tenderised: str = "no"
    frozen: bool = False
    previously_frozen: bool = False
    vacuum: bool = False
    origin: Origin | None = None
    use_by: date | None = None
    date_words: str = "use or freeze by"
    keep_at_most_f: Decimal = Decimal(41)
    vacuum_days: int = MOST_DAYS_VACUUM

    @property
    def is_raw(self) -> bool:
        """Tell whether it is raw meat or poultry."""
        return self.product_class in RAW_CLASSES


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a label.

    Parameters
    ----------
    name : str
        What it is called here.
    rules : tuple of str
        Ids of the published rules that ask for it; empty for the shop's own, by common practice.
    classes : tuple of str
        Classes of product that it belongs to.
    when : str
        Name of the fact that asks for it; empty if it is always asked for.
    """

    name: str
    rules: tuple[str, ...]
    classes: tuple[str, ...] = CLASSES
    when: str = ""


_MEAT = (*RAW_CLASSES, "ready to eat")
#: Every element, in the order in which it is checked.
ELEMENTS = (
    Element("product name", ("LB001",)),
    Element("kind of meat", ("LB001",), _MEAT, "kind"),
    Element("tenderised", ("LB092", "LB093"), RAW_CLASSES, "tenderised"),
    Element("packer", ("LB004",)),
    Element("place of packer", ("LB004",), when="place"),
    Element("net weight", ("WM050", "LB005")),
    Element("net weight in the other unit", ("WM059", "WM060"), when="other unit"),
    Element("price per unit", ("WM048",)),
    Element("total price", ("WM049",)),
    Element("tare", ("WM044",)),
    Element("packed on", ("LB127", "LB129")),
    Element("last day", ("LB128", "LB129"), when="use by"),
    Element("discard by", ("SF064", "SF061"), CLASSES, "vacuum"),
    Element("keep cold", ("LB007", "SF006"), CLASSES, "chilled"),
    Element("keep cold, vacuum pack", ("SF063",), CLASSES, "vacuum"),
    Element("keep frozen", ("LB007",), CLASSES, "frozen"),
    Element("was frozen", ("LB008",), CLASSES, "previously frozen"),
    Element("ingredients", ("LB003",), when="ingredients"),
    Element("contains", ("LB105",)),
    Element("lean and fat", ("LB024",), ("raw ground", "raw sausage"), "lean"),
    Element("origin", (), when="origin"),
    Element("lot", ()),
    Element("cook to", (), RAW_CLASSES),
    Element("cooking of tenderised meat", ("LB094",), RAW_CLASSES, "tenderised"),
    Element("safe handling", ("LB009", "LB010", "LB011", "LB012", "LB013"), RAW_CLASSES),
    Element("safe handling: heading", ("LB011",), RAW_CLASSES),
    Element("safe handling: rationale", ("LB014",), RAW_CLASSES),
    Element("safe handling: storage", ("LB015",), RAW_CLASSES),
    Element("safe handling: separation", ("LB016",), RAW_CLASSES),
    Element("safe handling: cooking", ("LB017",), RAW_CLASSES),
    Element("safe handling: holding", ("LB018",), RAW_CLASSES),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RuleNote:
    """One rule behind an element: its id, where it was published, and how it was obtained."""

    rule: str
    source: str
    status: str


def elements_of(product_class: str, facts: frozenset[str] = frozenset()) -> tuple[Element, ...]:
    """Return the elements that a label must have.

    Parameters
    ----------
    product_class : str
        One of `CLASSES`.
    facts : frozenset of str
        Which of the `when` of `ELEMENTS` hold.

    Examples
    --------
    >>> "safe handling" in [one.name for one in elements_of("ready to eat")]
    False
    """
    return tuple(
        one
        for one in ELEMENTS
        if product_class in one.classes and (not one.when or one.when in facts)
    )


def rule_notes(*rule_ids: str) -> tuple[RuleNote, ...]:
    """Return what is cited for each rule; a rule from memory says so in its source."""
    return tuple(
        RuleNote(row.rule_id, row.citation(), row.status.value) for row in map(rule_row, rule_ids)
    )


def cited(rule_id: str) -> str:
    """Return a rule in brackets for the end of a sentence, e.g. ``(LB024, USDA FSIS)``.

    Examples
    --------
    >>> cited("LB129")
    '(LB129, reprint of FSIS guidance; from memory, not checked)'
    """
    row: PublishedRule = rule_row(rule_id)
    by = row.source.publisher or row.source.title
    return f"({rule_id}, {by})" if row.is_cited else f"({rule_id}, {by}; {FROM_MEMORY})"
