"""The topics of the book of rules, and which topic a published row belongs to."""

from __future__ import annotations

from collections.abc import Mapping

from collop.errors import ReferenceTableError
from collop.reference.rulebook import PublishedRule

__all__ = ["TOPICS", "topic_of"]

#: Topics in the order of the page.
TOPICS: Mapping[str, str] = {
    "local": "Your place comes first",
    "receiving": "Receiving",
    "holding": "Cold, frozen and hot",
    "cooling": "Cooling",
    "dates": "Dates on ready-to-eat food",
    "packing": "Vacuum packs and curing",
    "cooking": "Cooking",
    "cleaning": "Clean-down",
    "sanitiser": "Sanitiser",
    "keeping": "Keeping and shelves",
    "ageing": "Dry ageing",
    "scale": "The scale",
    "price": "Weight and price",
    "checking": "Checking packs",
    "label": "The label",
    "handling": "Safe handling words",
    "nutrition": "Nutrition and lean",
    "mince": "What may be in it",
    "allergens": "Allergens",
    "origin": "Origin",
    "grind": "Grind record",
    "records": "Records",
    "retail": "What a shop may sell",
    "trace": "Trace and recall",
    "hazard": "Hazard plan",
    "tax": "Tax",
    "cash": "Cash",
    "board": "Prices on the board",
    "codes": "Bar codes",
    "own": "Our own figures",
}
_OF: Mapping[str, Mapping[str, str]] = {
    "safety": {
        "receiving": "receiving", "cold_holding": "holding", "cooling": "cooling",
        "date_marking": "dates", "time_control": "dates", "cooking": "cooking",
        "roast_table": "cooking", "roast_oven": "cooking", "home_cooking": "cooking",
        "parasites": "cooking", "rop": "packing", "variance": "packing", "cleaning": "cleaning",
        "cut_room": "cleaning", "sanitiser": "sanitiser", "storage_order": "keeping",
        "home_storage": "keeping", "allergen": "allergens", "dry_ageing": "ageing",
        "caution": "local",
    },
    "labels": {
        "core": "label", "tenderised": "label", "dates": "label", "claims": "label",
        "safe_handling": "handling", "nutrition": "nutrition", "major_cut": "nutrition",
        "composition": "mince", "allergen": "allergens", "cool": "origin", "us_origin": "origin",
        "caution": "local",
    },
    "trace": {
        "grind_record": "grind", "records": "records", "retail_limit": "retail",
        "normal_retail_quantity": "retail", "recall": "trace", "fsma204": "trace",
        "lot_code": "trace", "srm": "trace", "haccp": "hazard", "caution": "local",
    },
    "tax": {
        "tax_structure": "tax", "tax_prepared_test": "tax", "tax_items": "tax",
        "tax_rounding": "tax", "cash_rounding": "cash", "conversion": "board",
        "price_ending": "board", "price_change": "board", "multi_buy": "board",
        "discount": "board", "caution": "local",
    },
}  # fmt: skip
# the rows on weights have no topic: the last number of each stretch, in order
_WEIGHTS = ((26, "scale"), (60, "price"), (132, "checking"), (135, "price"), (136, "local"))


def topic_of(row: PublishedRule) -> str:
    """Return the topic of a published row.

    Raises
    ------
    ReferenceTableError
        If nobody said where rows of its topic stand.
    """
    if row.table == "barcodes":
        return "local" if row.topic == "caution" else "codes"
    if row.table == "weights":
        number = int(row.rule_id[2:])
        for last, topic in _WEIGHTS:
            if number <= last:
                return topic
    found = _OF.get(row.table, {}).get(row.topic)
    if found is None:
        raise ReferenceTableError(f"The rule {row.rule_id} has no topic on the page; give it one.")
    return found
