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
    use         mlb n[o,.] <= most z[o];  mlb n[o,.] >= least z[o]
    one-style   sum over styles of z <= 1                        for each offer
    items       min_items <= sum z <= max_items
    total       W = sum oz n
    share.i     oz of offer i <= max_share W
    style.s     meals in style s <= max_style_share of all meals
    budget      sum cents n <= budget
    fire.Z      sum of strips of options that lie only in zones Z <= area of Z
    slot.s      sum of z over options of the slot >= times wanted
    slow        sum of z over slow cuts >= 1
    pin.i       sum of z of the pinned offer = 1 (and its weight)

There are no variables for who eats what: the rows need.T are Hall's condition, and servings are
dealt out afterwards.  A cut's *strip* is the part of the grill it holds for the whole fire; with
w loads one after the other it needs 1/w of its area.  Coefficients are exact fractions turned to
floats at the very end; every answer is checked again in exact arithmetic by
`collop.spread.checker`.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.spread.diet import may_eat
from collop.spread.need import Union
from collop.spread.options import Option, Part, is_slow
from collop.spread.problem import SpreadProblem
from collop.spread.program import Program
from collop.spread.proving import Gate

__all__ = ["Pick", "SpreadModel", "build_model", "plenty_caps"]

_INF = math.inf


@dataclass(frozen=True, slots=True)
class Pick:
    """One line of an answer: an option and how many of each of its steps."""

    option: Option
    counts: tuple[int, ...]

    @property
    def mlb(self) -> int:
        """Return the weight [0.001 lb]."""
        return sum(p.mlb * n for p, n in zip(self.option.parts, self.counts, strict=True))

    @property
    def pounds(self) -> Fraction:
        """Return the weight [lb]."""
        return Fraction(self.mlb, 1000)

    @property
    def pieces(self) -> tuple[int, ...] | None:
        """Return the weights of the pieces taken [0.001 lb], or None if cut to weight."""
        if self.option.offer.pieces_mlb is None:
            return None
        parts = zip(self.option.parts, self.counts, strict=True)
        return tuple(itertools.chain.from_iterable([p.mlb] * n for p, n in parts))

    @property
    def oz(self) -> Fraction:
        """Return the raw boneless-equivalent weight [oz]."""
        return self.option.oz_per_lb * self.pounds

    @property
    def meals(self) -> Fraction:
        """Return how many usual adult meals it makes."""
        return self.option.meals_per_lb * self.pounds


@dataclass(frozen=True, slots=True)
class SpreadModel:
    """The program with the columns of each option."""

    program: Program
    options: tuple[Option, ...]
    amounts: tuple[tuple[int, ...], ...]
    used: tuple[int, ...]
    total: int
    least: list[float]
    places: dict[int, int]
    most_oz: Fraction | None

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

    def picks(self, values: Mapping[int, float]) -> tuple[Pick, ...]:
        """Read an answer back."""
        found = []
        for option, columns in zip(self.options, self.amounts, strict=True):
            counts = tuple(round(values.get(column, 0.0)) for column in columns)
            if any(counts):
                found.append(Pick(option, counts))
        return tuple(found)


def plenty_caps(
    problem: SpreadProblem, needs: Sequence[Union], slack: Fraction
) -> dict[bool, Fraction]:
    """Return the most meals wanted for {False: meat-eaters, True: those who eat no meat}.

    At most `slack` times the mean need, but never less than a tenth over what is enough.
    """
    caps: dict[bool, Fraction] = {}
    for part in {union.part for union in needs}:
        mine = [union for union in needs if union.part == part]
        meat_free = all(problem.offer(i).is_meat_free for union in mine for i in union.offers)
        plenty = max(max(slack * u.mean, u.meals * Fraction(11, 10)) for u in mine)
        caps[meat_free] = caps.get(meat_free, Fraction(0)) + plenty
    return caps


def least_oz(problem: SpreadProblem, option: Option) -> Fraction:
    """Return the least useful line [oz].

    A portion for one in `one_in` of those who may eat it, and never under half a portion.
    """
    if not problem.rules.one_in:
        return Fraction(0)
    eaters = sum(group.count for group in problem.groups if may_eat(group, option.offer))
    portions = max(Fraction(eaters, problem.rules.one_in), Fraction(1, 2))
    return problem.portion_oz[option.style] * portions


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
        tag = f"{option.offer.id}.{option.style}"
        amounts.append(
            tuple(
                program.column(f"steps.{tag}.{part.mlb}", 0, part.most, whole=True)
                for part in option.parts
            )
        )
        used.append(program.column(f"use.{tag}", 0, 1, whole=True))
    total = program.column("ounces", 0, _INF)
    model = SpreadModel(
        program, tuple(options), tuple(amounts), tuple(used), total, [], {}, _most_oz(problem, caps)
    )
    _rows_of_need(model, needs, caps)
    _rows_of_use(model, problem, caps)
    _rows_of_variety(model, problem, slow_line=slow_line)
    _rows_of_fire(model, problem)
    _rows_of_pins(model, problem)
    return model


def _meals(model: SpreadModel, ids: Iterable[str]) -> dict[int, float]:
    wanted = set(ids)
    return {
        column: float(option.meals_per_lb * part.mlb / 1000)
        for option, columns in zip(model.options, model.amounts, strict=True)
        if option.offer.id in wanted
        for part, column in zip(option.parts, columns, strict=True)
    }


def _rows_of_need(
    model: SpreadModel, needs: Sequence[Union], caps: Mapping[bool, Fraction] | None
) -> None:
    for union in needs:
        terms = _meals(model, union.offers)
        model.program.row(f"need.{union.name}", terms, float(union.meals), _INF)
    for meat_free, cap in (caps or {}).items():
        ids = {o.offer.id for o in model.options if o.offer.is_meat_free == meat_free}
        word = "meat-free" if meat_free else "meat"
        model.program.row(f"plenty.{word}", _meals(model, ids), 0, float(cap))


def _most_oz(problem: SpreadProblem, caps: Mapping[bool, Fraction] | None) -> Fraction | None:
    """Return the most food a spread can hold [oz], or None if nothing bounds it."""
    if caps is None:
        return None
    return sum(caps.values(), Fraction(0)) * max(problem.need_oz.values())


def _rows_of_use(
    model: SpreadModel, problem: SpreadProblem, caps: Mapping[bool, Fraction] | None
) -> None:
    most_oz = model.most_oz
    by_offer: dict[str, list[int]] = {}
    for option, columns, use in zip(model.options, model.amounts, model.used, strict=True):
        terms = {c: float(p.mlb) for p, c in zip(option.parts, columns, strict=True)}
        most = Fraction(option.free_mlb)
        if caps is not None and most_oz is not None:
            # no line is more than its table eats, nor than its share of all
            eaten = caps[option.offer.is_meat_free] / option.meals_per_lb
            share = problem.rules.max_share * most_oz / option.oz_per_lb
            most = min(most, 1000 * eaten, 1000 * share)
        least = 1000 * least_oz(problem, option) / option.oz_per_lb
        least = min(Fraction(math.ceil(least)), Fraction(option.free_mlb))
        least = max(least, Fraction(min(p.mlb for p in option.parts)))
        _cap_steps(model.program, option.parts, columns, most)
        model.least.append(float(least / max(p.mlb for p in option.parts)))
        model.program.row("use.most", {**terms, use: -float(most)}, -_INF, 0)
        model.program.row("use.least", {**terms, use: -float(least)}, 0, _INF)
        by_offer.setdefault(option.offer.id, []).append(use)
    for offer_id, uses in by_offer.items():
        if len(uses) > 1:
            model.program.row(f"one-style.{offer_id}", dict.fromkeys(uses, 1.0), 0, 1)


def _cap_steps(
    program: Program, parts: Sequence[Part], columns: Sequence[int], most: Fraction
) -> None:
    for part, column in zip(parts, columns, strict=True):
        program.upper[column] = min(program.upper[column], int(most // part.mlb))


def _rows_of_variety(model: SpreadModel, problem: SpreadProblem, *, slow_line: bool) -> None:
    rules, program = problem.rules, model.program
    program.row("items", dict.fromkeys(model.used, 1.0), rules.min_items, rules.max_items)
    by_offer: dict[str, dict[int, float]] = {}
    for option, columns in zip(model.options, model.amounts, strict=True):
        terms = by_offer.setdefault(option.offer.id, {})
        for part, column in zip(option.parts, columns, strict=True):
            terms[column] = float(option.oz_per_lb * part.mlb / 1000)
    whole: dict[int, float] = {}
    for terms in by_offer.values():
        whole |= terms
    program.row("total", {**whole, model.total: -1.0}, 0, 0)
    if rules.max_share < 1:
        for offer_id, terms in by_offer.items():
            share = {**terms, model.total: -float(rules.max_share)}
            program.row(f"share.{offer_id}", share, -_INF, 0)
    if rules.max_style_share < 1 and len(problem.need_oz) > 1:
        _rows_of_style(model, float(rules.max_style_share))
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
    for option, columns in zip(model.options, model.amounts, strict=True):
        for part, column in zip(option.parts, columns, strict=True):
            every[column] = float(option.meals_per_lb * part.mlb / 1000)
            styles.setdefault(option.style, {})[column] = every[column]
    if len(styles) == 1:
        return
    for style, terms in styles.items():
        less = {column: value - share * value for column, value in terms.items()}
        rest = {column: -share * value for column, value in every.items()}
        model.program.row(f"style.{style}", {**rest, **less}, -_INF, 0)


def _rows_of_fire(model: SpreadModel, problem: SpreadProblem) -> None:
    fire = problem.fire
    if fire is None:
        return
    area = {zone.name: zone.area_sq_in for zone in fire.zones}
    strips: list[tuple[frozenset[str], dict[int, float]]] = []
    for option, columns, use in zip(model.options, model.amounts, model.used, strict=True):
        if option.place is None or not option.strip_per_lb:
            continue
        strip = _strip(model.program, option, columns)
        strips.append((option.place, strip))
        model.places.update((use, column) for column in strip if column not in columns)
    places = {place for place, _ in strips}
    unions = {
        frozenset[str]().union(*some)
        for size in range(1, len(places) + 1)
        for some in itertools.combinations(sorted(places, key=sorted), size)
    }
    for zones in sorted(unions, key=sorted):
        terms: dict[int, float] = {}
        for place, strip in strips:
            if place <= zones:
                terms |= strip
        room = float(sum(area[name] for name in zones))
        model.program.row(f"fire.{'+'.join(sorted(zones))}", terms, 0, room)


def _strip(program: Program, option: Option, columns: Sequence[int]) -> dict[int, float]:
    """Return the terms of the grill area an option holds [sq in]."""
    per_lb = option.offer.sq_in_per_lb
    if option.offer.pieces_mlb is None or option.waves == 1:
        each = per_lb / option.waves
        return {c: float(each * p.mlb / 1000) for p, c in zip(option.parts, columns, strict=True)}
    # a piece cannot be halved over two loads: count whole places, each as large as the largest
    largest = max(part.mlb for part in option.parts)
    count = sum(part.most for part in option.parts)
    places = program.column(
        f"places.{option.offer.id}.{option.style}", 0, -(-count // option.waves), whole=True
    )
    terms = {**dict.fromkeys(columns, -1.0), places: float(option.waves)}
    program.row(f"places.{option.offer.id}", terms, 0, _INF)
    return {places: float(per_lb * largest / 1000)}


def _rows_of_pins(model: SpreadModel, problem: SpreadProblem) -> None:
    for pin in problem.pinned:
        mine = [
            (option, columns, use)
            for option, columns, use in zip(model.options, model.amounts, model.used, strict=True)
            if option.offer.id == pin.offer_id and pin.style in (None, option.style)
        ]
        uses = dict.fromkeys((use for _, _, use in mine), 1.0)
        model.program.row(f"pin.{pin.offer_id}", uses, 1, 1)
        if pin.mlb is not None:
            terms = {c: float(p.mlb) for option, columns, _ in mine
                     for p, c in zip(option.parts, columns, strict=True)}  # fmt: skip
            model.program.row(f"pin-weight.{pin.offer_id}", terms, pin.mlb, pin.mlb)
            for option, columns, use in mine:
                # the pinned weight stands, however small
                _free_least(model.program, use, columns, option)


def _free_least(program: Program, use: int, columns: Sequence[int], option: Option) -> None:
    step = min(part.mlb for part in option.parts)
    for index, row in enumerate(program.rows):
        if row.name == "use.least" and any(column == use for column, _ in row.terms):
            terms = {c: float(p.mlb) for p, c in zip(option.parts, columns, strict=True)}
            program.rows[index] = type(row)(
                row.name, 0, _INF, (*terms.items(), (use, -float(step)))
            )
