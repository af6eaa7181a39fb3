"""Cards for learning the case: what a cut is, where it sat, its cousin, and how it is carved.

Every answer and every reason is one line of at most `LONGEST` letters: it is said over the counter
while the knife moves. What stands in the cut catalogue keeps its mark (read, recalled, the shop's
own); where a large cut sits and how a piece is sliced is common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from collop.carcass.cards_places import parts_of, place_of, zone_line
from collop.carcass.catalogue import Cut, cuts_of, find_cuts
from collop.carcass.species import SPECIES, large_cuts, plain
from collop.carcass.standing import Basis, Standing
from collop.fire.around_carving import carve_line

__all__ = [
    "LONGEST", "Card", "CardLine", "Question", "card_json", "cards_of", "meant_cuts", "one_line",
]  # fmt: skip

#: So many letters an answer or a reason may have.
LONGEST = 90
_MOST_CUTS = 3
_MADE = re.compile(r"\b(mince|minced|ground|links?|sausages?|burgers?|patty|patties)\b")
_BOARD = "today's board and portions of this shop"
_ASIDE = re.compile(r"\b(frozen|fresh|thawed)\b|\d+(\.\d+)? ?%[^,]*|\bno rusk\b|\bwith rusk\b")
_FORMS = re.compile(r"\b(slices?|steaks?|chops?|diced|cubes?|skewers?|joint|roast|whole)\b")
_BONED = re.compile(r"\b(bone[- ]in|on the bone|boneless|boned|off the bone)\b")
_CUT_SMALL = re.compile(r"\b(slice|steak|chop|diced)")
_IS_BONELESS = re.compile(r"\b(boneless|boned|off the bone)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One line of the case, as far as a card needs it.

    Parameters
    ----------
    id, name, species : str
        As the shop writes them; `species` is ``none`` for food without meat.
    form : str
        How it is cut for the fire, a key of `collop.fire.problem.FORMS`; empty if not known.
    role : str
        Its first role in a spread, such as ``centre``; empty without one.
    carve : str
        The shop's own sentence; empty without one.
    cousin, cousin_reason : str
        The neighbour by the spread, and why; empty if it has none.
    """

    id: str
    name: str
    species: str
    form: str = ""
    role: str = ""
    carve: str = ""
    cousin: str = ""
    cousin_reason: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One side of a card.

    Parameters
    ----------
    kind : str
        ``what``, ``where``, ``cousin`` or ``carve``.
    ask, answer, reason : str
        One line each; the reason may be empty.
    basis : Basis
        What the answer and its reason rest on.
    parts : tuple of str
        Of ``where``: the parts of the drawn animal (`collop.carcass.cards_places.parts_of`).
    """

    kind: str
    ask: str
    answer: str
    reason: str
    basis: Basis
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A line of the case with what is asked of it."""

    case_id: str
    name: str
    species: str
    questions: tuple[Question, ...]


def one_line(text: str, most: int = LONGEST) -> str:
    """Return a text in one line of at most `most` letters, cut where a clause or a word ends.

    Examples
    --------
    >>> one_line("Slice across the grain; it turns, so turn the piece there.", 30)
    'Slice across the grain.'
    """
    flat = " ".join(text.split())
    if len(flat) <= most:
        return flat
    for mark in ("; ", ": ", ", ", " "):
        head = flat[: most - 1].rpartition(mark)[0].rstrip(",;:. ")
        if len(head) * 2 > most or mark == " ":
            break
    return f"{head or flat[: most - 1]}."


def cards_of(lines: Iterable[CardLine]) -> tuple[Card, ...]:
    """Return a card for each line of which anything can be asked, in their order.

    Parameters
    ----------
    lines : iterable of CardLine
        The case.
    """
    made = (_card(line) for line in lines)
    return tuple(card for card in made if card.questions)


def card_json(card: Card) -> dict[str, Any]:
    """Return a card as JSON."""
    return {
        "case_id": card.case_id,
        "name": card.name,
        "species": card.species,
        "questions": [
            {
                "kind": one.kind,
                "ask": one.ask,
                "answer": one.answer,
                "reason": one.reason,
                "standing": one.basis.standing.value,
                "source": one.basis.text(),
                "parts": list(one.parts),
            }
            for one in card.questions
        ],
    }


def _card(line: CardLine) -> Card:
    is_meat = line.species in SPECIES
    asked: list[Question] = []
    if is_meat and _MADE.search(line.name.casefold()):
        asked += _made(line)
    elif is_meat:
        asked += _from_catalogue(line)
    if line.cousin:
        reason, basis = one_line(line.cousin_reason), Basis(Standing.COMPUTED, _BOARD)
        answer = _sentence(line.cousin)
        asked.append(Question("cousin", "What is its cousin?", answer, reason, basis))
    asked += _carving(line)
    return Card(line.id, line.name, line.species, tuple(asked))


def _sentence(text: str) -> str:
    """Return a text as one line that ends with a full stop; nothing if there is none."""
    flat = one_line(text, LONGEST - 1)
    return flat if flat.endswith(".") or not flat else f"{flat}."


def _made(line: CardLine) -> Iterator[Question]:
    """Yield what is asked of mince and of what is made of it."""
    shop = Basis(Standing.SHOP)
    is_links = re.search(r"\b(links?|sausages?)\b", line.name.casefold())
    what = f"Minced {line.species} in a casing." if is_links else f"Minced {line.species}."
    yield Question("what", "What is it?", what, "Several muscles, lean and fat, through the plate.",
                   shop)  # fmt: skip
    yield Question("where", "Where did it sit on the animal?", "Anywhere: trim of every large cut.",
                   "Minced, the outside is all through it: the ground-meat figure counts.",
                   shop)  # fmt: skip


def _from_catalogue(line: CardLine) -> Iterator[Question]:
    cuts = meant_cuts(line.name, line.species)
    if cuts:
        names = " or ".join(cut.name for cut in cuts)
        named = cuts[0].title if len(cuts) == 1 else f"{names} ({line.species})"
        yield Question("what", "What is it?", _sentence(named), _muscles(cuts), cuts[0].basis)
    larges = list(dict.fromkeys(cut.large_cut for cut in cuts)) or [
        _large_said(line.name, line.species)
    ]
    if (named_so := _large_said(line.name, line.species)) in larges:
        larges = [named_so]
    named = f"{cuts[0].name if cuts else ''} {line.name}"
    large, places = " or ".join(larges), [place_of(line.species, one, named) for one in larges]
    place = places[0] if len(set(places)) == 1 else ""
    told = f"Large cut: {large}." if large not in {"", "bird", "whole"} else ""
    answer = f"{told} {place}".strip()
    if answer:
        yield Question("where", "Where did it sit on the animal?",
                       answer if len(answer) <= LONGEST else place,
                       zone_line(line.species, larges[0]), Basis(Standing.SHOP),
                       tuple(dict.fromkeys(part for one in places for part in parts_of(one))),
                       )  # fmt: skip


def _muscles(cuts: Sequence[Cut]) -> str:
    """Return the muscles that all the cuts share; empty if that says nothing."""
    shared = [one for one in cuts[0].muscles if all(one in cut.muscles for cut in cuts)]
    if not shared or shared == ["all"]:
        return ""
    told = "Muscle" if len(shared) == 1 else "Muscles"
    return _sentence(f"{told}: {', '.join(shared)}")


def _large_said(name: str, species: str) -> str:
    """Return the large cut that a line's own name says; empty if none."""
    said = f" {plain(name)} "
    for large in large_cuts(species):
        if any(f" {plain(other)} " in said for other in (large.name, *large.other_names)):
            return large.name
    return ""


def _carving(line: CardLine) -> Iterator[Question]:
    if line.species not in SPECIES and line.role != "meat-free":
        return
    if line.species in SPECIES and not line.role:  # bones and the like: nobody carves them
        return
    is_cut = line.species in SPECIES and not _MADE.search(line.name.casefold())
    cuts = meant_cuts(line.name, line.species) if is_cut else ()
    grain = next((f"Grain {cut.grain}: {cut.slice_advice}" for cut in cuts if cut.grain), "")
    told = line.carve or carve_line(line.name, line.species, line.form, line.role)
    basis = Basis(Standing.SHOP) if line.carve or not grain else cuts[0].basis
    yield Question("carve", "How is it carved?", one_line(told),
                   _sentence(grain), basis)  # fmt: skip


def meant_cuts(name: str, species: str) -> tuple[Cut, ...]:
    """Return the cuts of the catalogue that a line's name may mean, three at most.

    Parameters
    ----------
    name : str
        As the shop writes the line, e.g. ``Lamb leg, bone in``.
    species : str
        One of `collop.carcass.SPECIES`.

    Examples
    --------
    >>> [cut.name for cut in meant_cuts("Beef hanger and skirt", "beef")]
    ['Hanger steak', 'Outside skirt', 'Inside skirt']
    """
    said = _ASIDE.sub(" ", name.casefold())
    for phrases in _phrases(_BONED.sub(" ", said), species):
        each = [_nearest(phrase, species, said) for phrase in phrases]
        if all(each):
            return tuple(dict.fromkeys(cut for cuts in each for cut in cuts))[:_MOST_CUTS]
    large = _large_said(said, species)
    only = cuts_of(species, large) if large else ()
    return only if len(only) <= _MOST_CUTS else ()


def _nearest(phrase: str, species: str, said: str) -> list[Cut]:
    """Return the cuts a phrase finds, those that bear it in their own name if there are any."""
    found = list(find_cuts(phrase, species))
    if _BONED.search(said):
        want = "boneless" if _IS_BONELESS.search(said) else "bone-in"
        found = [cut for cut in found if want in cut.bone] or found
    words, asked = set(plain(phrase).split()), plain(phrase).rstrip("s")
    near = [cut for cut in found if plain(cut.name.partition(",")[0]).rstrip("s") == asked]
    near = near or [cut for cut in found if words <= _stems(cut.name)] or found
    told = _bare(_FORMS.findall(said))
    fits = [cut for cut in near if not set(_CUT_SMALL.findall(cut.name.casefold())) - told]
    return fits or near


def _bare(words: Iterable[str]) -> set[str]:
    return {word.rstrip("s") for word in words}


def _stems(text: str) -> set[str]:
    words = plain(text).split()
    return {*words, *(f"{word}s" for word in words)}


def _phrases(said: str, species: str) -> Iterator[list[str]]:
    """Yield what to look for, the most of the name first; all of a list must be found."""
    whole = re.sub(rf"\b{species}s?\b", " ", said)
    head = whole.partition(",")[0]
    if "whole" in said.split() or "whole" in plain(said).split():
        yield [f"whole {species}"]
    for text in (whole.replace(",", " "), head, _FORMS.sub(" ", head)):
        flat = " ".join(text.split())
        if flat:
            yield [flat]
            yield [part.strip() for part in flat.split(" and ")]
