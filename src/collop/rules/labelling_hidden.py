"""Words of ingredients that hide an allergen: common practice, no published source.

The plain words stand in the table of allergens; here are foods that are always made of one, and
words written together, such as wholewheat.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["HIDDEN", "within"]


def _all(name: str, words: str) -> dict[str, tuple[str, ...]]:
    return {word.strip(): (name,) for word in words.split(",")}


#: What each word is made of; accents left off, plurals cut.
HIDDEN: Mapping[str, tuple[str, ...]] = {
    **_all("milk", "caseinate, curd, creme fraiche, fromage frais, ricotta, mozzarella, cheddar, "
           "parmesan, feta, halloumi, mascarpone, paneer, brie, camembert, gruyere, stilton, "
           "gouda, emmental, pecorino, provolone, gorgonzola, quark, kefir, half and half, "
           "lactalbumin"),
    **_all("egg", "albumin, ovalbumin, meringue, lysozyme"),
    **_all("fish", "surimi, bonito, kipper, pollock, halibut, caviar"),
    **_all("crustaceans", "krill, scampi"),
    **_all("tree nuts", "praline, frangipane, gianduja"),
    **_all("wheat", "matzo, matzah, matza, farina, freekeh, udon, vital gluten"),
    **_all("soy", "natto, okara, kinako, textured soy protein"),
    **_all("sesame", "halva, halvah, halwa, tahina, tehina, gomasio"),
}  # fmt: skip
_PARTS = {
    "milk": "milk", "cheese": "milk", "wheat": "wheat", "sesam": "sesame", "soya": "soy",
    "soybean": "soy", "peanut": "peanut", "hazelnut": "tree nuts", "almond": "tree nuts",
    "walnut": "tree nuts",
}  # fmt: skip
# words that only look like it
_OTHERS = ("buckwheat", "milkcap", "milkfish", "milkweed", "milkfed")


def within(word: str) -> tuple[str, ...]:
    """Return the allergens whose words are a part of one word, in small letters.

    Examples
    --------
    >>> within("wholewheat"), within("buckwheat")
    (('wheat',), ())
    """
    if word.startswith(_OTHERS):
        return ()
    return tuple(dict.fromkeys(name for part, name in _PARTS.items() if part in word))
