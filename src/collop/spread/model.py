"""The spread as a mixed-integer program.

Sets
    O       options: an offer in a dish style            I  offers
    K(o)    selling steps of option o (0.01 lb, or whole pieces of one weight)
    T       unions of groups, with N(T) the options that feed them

Variables
    n[o,k]  whole number of steps of option o taken        0 <= n <= most[k]
    z[o]    1 if option o is in the spread
    W       raw boneless-equivalent weight of the spread   [oz]
    c[o]    whole number of places on the grill held by an option sold by the piece

Minimise an aim (see `collop.spread.aims`) subject to

    need.T      sum over N(T) of meals[o,k] n[o,k] >= meals needed by T
    plenty.*    the meals of meat-eaters, and of those who eat none, at most their cap [meals]
    use.most.o  mlb n[o,.] <= most z[o]
    use.least.o mlb n[o,.] >= least z[o]
    one-style   sum over styles of z <= 1                        for each offer
    items       min_items <= sum z <= max_items
    total       W = sum oz n
    share.i     oz of offer i <= max_share (W - w) + max_share w z[i]
    style.s     meals in style s <= max_style_share of all meals
    budget      sum cents n <= budget
    fire.Z      sum of strips of options that lie only in zones Z <= area of Z
    slot.s      sum of z over options of the slot >= times wanted
    slow        sum of z over slow cuts >= 1
    pin.i       sum of z of the pinned offer = 1 (and its weight)

In share.i, w is the least that the food can weigh in any spread; for z = 0 and z = 1 the row says
no more than ``oz of offer i <= max_share W``, but between them it is much tighter.

There are no variables for who eats what: the rows need.T are Hall's condition, and servings are
dealt out afterwards.  A cut's *strip* is the part of the grill it holds for the whole fire; with
w loads one after the other it needs 1/w of its area.  Coefficients are exact fractions turned to
floats at the very end; every answer is checked again in exact arithmetic by
`collop.spread.checker`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from collop.spread.ceilings import bounds_oz, eaters, least_oz, style_share
from collop.spread.model_fire import rows_of_fire
from collop.spread.need import Union
from collop.spread.options import Option, is_slow
from collop.spread.picks import Pick
from collop.spread.problem import SpreadProblem
from collop.spread.program import Program, Row, make_row
from collop.spread.proving import Gate

__all__ = ["SpreadModel", "build_model"]

_INF = math.inf


@dataclass(frozen=True, slots=True)
class SpreadModel:
    """The program with the columns of each option.

    Attributes
    ----------
    program : Program
    options : tuple of Option
    amounts, used : tuple
        Columns of the steps, and of the use, of each option.
    total : int
        Column of the weight of the spread [oz].
    meals, ounces : tuple of mapping
        What one step of each column brings, for each option.
    fewest_oz, most_oz : Fraction, Fraction or None
        What any spread weighs at least, and at most if anything bounds it [oz].
    least : list of float
        Least amount of each option when it is used [steps of its largest part].
    most : list of int
        Most of each option that can be used [0.001 lb].
    places : dict
        Column of the places on the grill, by the use column of an option that needs them.
    beside : list of Row
        Rows of the fire that are not in the program until the fire refuses an answer.
    """

    program: Program
    options: tuple[Option, ...]
    amounts: tuple[tuple[int, ...], ...]
    used: tuple[int, ...]
    total: int
    meals: tuple[Mapping[int, float], ...]
    ounces: tuple[Mapping[int, float], ...]
    fewest_oz: Fraction
    most_oz: Fraction | None
    least: list[float] = field(default_factory=list)
    most: list[int] = field(default_factory=list)
    places: dict[int, int] = field(default_factory=dict)
    beside: list[Row] = field(default_factory=list)

    def per_pound(self, values: Sequence[float]) -> dict[int, float]:
        """Turn a value per pound for each option into costs per column."""
        return {
            column: value * part.mlb / 1000
            for option, columns, value in zip(self.options, self.amounts, values, strict=True)
            for part, column in zip(option.parts, columns, strict=True)
        }

    @property
    def gates(self) -> tuple[Gate, ...]:
        """Return the options as gated amounts for the proof."""
        return tuple(
            Gate(use, columns, least, option.offer.pieces_mlb is None, self.places.get(use))
            for option, columns, use, least in zip(
                self.options, self.amounts, self.used, self.least, strict=True
            )
        )

    def share_rows(self, share: Fraction) -> Iterator[Row]:
        """Yield the rows that hold every cut to `share` of the food."""
        least = float(share * self.fewest_oz)
        offers: dict[str, list[int]] = {}
        for index, option in enumerate(self.options):
            offers.setdefault(option.offer.id, []).append(index)
        for offer_id, mine in offers.items():
            terms = {self.total: -float(share)}
            for index in mine:
                terms |= self.ounces[index]
                terms[self.used[index]] = -least
            yield make_row(f"share.{offer_id}", terms, -_INF, -least)
        if self.most_oz is not None:
            most_oz = 1000 * share * self.most_oz
            for index, option in enumerate(self.options):
                yield from self.most_rows(index, int(most_oz // option.oz_per_lb))

    def most_rows(self, index: int, most: int) -> Iterator[Row]:
        """Yield the rows that hold an option to `most` [0.001 lb], in steps it can be cut to."""
        option, columns, use = self.options[index], self.amounts[index], self.used[index]
        most = min(most, self.most[index])
        counts = [min(part.most, most // part.mlb) for part in option.parts]
        held = min(most, sum(n * part.mlb for n, part in zip(counts, option.parts, strict=True)))
        name = f"use.most.{_tag(option)}"
        if len(columns) > 1:
            for column, count in zip(columns, counts, strict=True):
                yield make_row(f"{name}.{column}", {column: 1.0, use: -float(count)}, -_INF, 0)
        yield make_row(name, {**_weights(option, columns), use: -float(held)}, -_INF, 0)

    def picks(self, values: Mapping[int, float]) -> tuple[Pick, ...]:
        """Read an answer back."""
        found = []
        for option, columns in zip(self.options, self.amounts, strict=True):
            counts = tuple(round(values.get(column, 0.0)) for column in columns)
            if any(counts):
                found.append(Pick(option, counts))
        return tuple(found)


def build_model(
    problem: SpreadProblem,
    options: Sequence[Option],
    needs: Sequence[Union],
    *,
    caps: Mapping[bool, Fraction] | None,
    slow_line: bool,
) -> SpreadModel:
    """Write the program for one ask; the budget and the aim are left to the caller."""
    program = Program()
    amounts, used = [], []
    for option in options:
        tag = _tag(option)
        amounts.append(
            tuple(
                program.column(f"steps.{tag}.{part.mlb}", 0, part.most, whole=True)
                for part in option.parts
            )
        )
        used.append(program.column(f"use.{tag}", 0, 1, whole=True))
    ounces = tuple(_per_step(o, c, o.oz_per_lb) for o, c in zip(options, amounts, strict=True))
    whole = {column: oz for terms in ounces for column, oz in terms.items()}
    fewest, most = bounds_oz(problem, options, needs, caps)
    model = SpreadModel(
        program,
        tuple(options),
        tuple(amounts),
        tuple(used),
        program.total("ounces", whole, float(fewest)),
        tuple(_per_step(o, c, o.meals_per_lb) for o, c in zip(options, amounts, strict=True)),
        ounces,
        fewest,
        most,
    )
    _rows_of_need(model, needs, caps)
    _rows_of_use(model, problem, caps)
    _rows_of_variety(model, problem, slow_line=slow_line)
    if problem.fire is not None:
        slow = rows_of_fire(
            program, problem.fire, model.options,
            amounts=model.amounts, used=model.used, places=model.places,
        )  # fmt: skip
        model.beside.extend(slow)
    _rows_of_pins(model, problem)
    return model


def _tag(option: Option) -> str:
    return f"{option.offer.id}.{option.style}"


def _per_step(option: Option, columns: Sequence[int], per_lb: Fraction) -> dict[int, float]:
    """Return what one step of each column brings; the division of integers rounds once."""
    top, bottom = per_lb.numerator, 1000 * per_lb.denominator
    return {c: top * part.mlb / bottom for part, c in zip(option.parts, columns, strict=True)}


def _weights(option: Option, columns: Sequence[int]) -> dict[int, float]:
    return {c: float(part.mlb) for part, c in zip(option.parts, columns, strict=True)}


def _rows_of_need(
    model: SpreadModel, needs: Sequence[Union], caps: Mapping[bool, Fraction] | None
) -> None:
    meals: dict[str, dict[int, float]] = {}
    for option, terms in zip(model.options, model.meals, strict=True):
        meals.setdefault(option.offer.id, {}).update(terms)
    for union in needs:
        eaten = {c: v for offer_id in sorted(union.offers) for c, v in meals[offer_id].items()}
        model.program.row(f"need.{union.name}", eaten, float(union.meals), _INF)
    for meat_free, cap in (caps or {}).items():
        eaten = {}
        for option, terms in zip(model.options, model.meals, strict=True):
            if option.offer.is_meat_free == meat_free:
                eaten |= terms
        word = "meat-free" if meat_free else "meat"
        model.program.row(f"plenty.{word}", eaten, 0, float(cap))


def _rows_of_use(
    model: SpreadModel, problem: SpreadProblem, caps: Mapping[bool, Fraction] | None
) -> None:
    program, tables = model.program, eaters(problem, model.options)
    for index, (option, columns) in enumerate(zip(model.options, model.amounts, strict=True)):
        offer, use, most = option.offer, model.used[index], option.free_mlb
        if caps is not None:  # no line is more than its table eats
            most = min(most, int(1000 * caps[offer.is_meat_free] // option.meals_per_lb))
        ounces = least_oz(problem, option, tables[offer.id])
        least = max(
            min(math.ceil(1000 * ounces / option.oz_per_lb), option.free_mlb),
            min(part.mlb for part in option.parts),
        )
        if len(columns) == 1:  # whole steps only
            step = option.parts[0].mlb
            least = -(-least // step) * step
        for part, column in zip(option.parts, columns, strict=True):
            program.upper[column] = min(part.most, most // part.mlb)
        model.most.append(most)
        model.least.append(least / max(part.mlb for part in option.parts))
        program.rows += model.most_rows(index, most)
        terms = _weights(option, columns)
        program.row(f"use.least.{_tag(option)}", {**terms, use: -float(least)}, 0, _INF)


def _rows_of_variety(model: SpreadModel, problem: SpreadProblem, *, slow_line: bool) -> None:
    rules, program = problem.rules, model.program
    program.row("items", dict.fromkeys(model.used, 1.0), rules.min_items, rules.max_items)
    styles: dict[str, dict[int, float]] = {}
    for option, use in zip(model.options, model.used, strict=True):
        styles.setdefault(option.offer.id, {})[use] = 1.0
    for offer_id, terms in styles.items():
        if len(terms) > 1:
            program.row(f"one-style.{offer_id}", terms, 0, 1)
    if rules.max_share < 1:
        program.put(model.share_rows(rules.max_share))
    share = style_share(problem, model.options)
    if share < 1:
        _rows_of_style(model, float(share))
    for wish, times in Counter(rules.slots).items():
        uses = [
            use
            for option, use in zip(model.options, model.used, strict=True)
            if wish.slot in option.offer.slots
            and (wish.species is None or option.offer.species == wish.species)
        ]
        program.row(f"slot.{wish.slot}", dict.fromkeys(uses, 1.0), times, _INF)
    if slow_line:
        uses = [u for o, u in zip(model.options, model.used, strict=True) if is_slow(o.offer)]
        program.row("slow", dict.fromkeys(uses, 1.0), 1, _INF)


def _rows_of_style(model: SpreadModel, share: float) -> None:
    styles: dict[str, dict[int, float]] = {}
    every: dict[int, float] = {}
    for option, terms in zip(model.options, model.meals, strict=True):
        every |= terms
        styles.setdefault(option.style, {}).update(terms)
    for style, terms in styles.items():
        less = {column: value - share * value for column, value in terms.items()}
        rest = {column: -share * value for column, value in every.items()}
        model.program.row(f"style.{style}", {**rest, **less}, -_INF, 0)


def _rows_of_pins(model: SpreadModel, problem: SpreadProblem) -> None:
    for pin in problem.pinned:
        mine = [
            index
            for index, option in enumerate(model.options)
            if option.offer.id == pin.offer_id and pin.style in (None, option.style)
        ]
        model.program.row(f"pin.{pin.offer_id}", {model.used[i]: 1.0 for i in mine}, 1, 1)
        if pin.mlb is None:
            continue
        terms: dict[int, float] = {}
        for index in mine:
            terms |= _weights(model.options[index], model.amounts[index])
            _free_least(model, index)
        model.program.row(f"pin-weight.{pin.offer_id}", terms, pin.mlb, pin.mlb)


def _free_least(model: SpreadModel, index: int) -> None:
    """Let an option be as little as one step: a pinned weight stands, however small."""
    option, columns = model.options[index], model.amounts[index]
    step = min(part.mlb for part in option.parts)
    model.least[index] = step / max(part.mlb for part in option.parts)
    terms = {**_weights(option, columns), model.used[index]: -float(step)}
    model.program.put([make_row(f"use.least.{_tag(option)}", terms, 0, _INF)])
