"""From the live animal to what is taken home, every step named with its weight and its source.

Published take-home shares are of the carcass as it was paid for, so they apply to the hot weight
unless told otherwise. They differ by a fifth of the carcass between shops; a range stays a range.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.carcass.shrink import PercentRange, hanging_loss, published_range
from collop.carcass.species import species_named
from collop.carcass.standing import Basis, Standing
from collop.errors import BadValue
from collop.measures import Weight, decimal_of, round_fraction

__all__ = ["CUTTINGS", "STAGES", "Hanging", "HomeStep", "TakeHome", "take_home"]

STAGES = ("live", "hot", "chilled")
CUTTINGS = ("take-home", "bone-in", "boneless", "none")
_QUANTITY = {
    "take-home": "cutting_yield_take_home",
    "bone-in": "cutting_yield_bone_in",
    "boneless": "cutting_yield_boneless",
}
_WORDS = {
    "live_shrink_pct": "live shrink",
    "dressing_pct": "dressing share",
    "chill_loss_pct": "loss of the first day",
    "hang_loss_pct": "loss of hanging",
    "take_home_pct": "take-home share",
}


@dataclass(frozen=True, slots=True)
class Hanging:
    """What is known of one carcass; None is looked up in the published figures.

    Parameters
    ----------
    animal : str
        What kind of animal, in words of the table, e.g. ``grass-fed``; any if empty.
    live_shrink_pct : Decimal
        Loss of live weight on the way [% of live].
    dressing_pct : Decimal or None
        Hot carcass over live weight [%].
    chill_loss_pct : Decimal or None
        Loss of the first day [% of hot].
    days_hung : int
        Days since it was dressed.
    hang_loss_pct : Decimal or None
        Total loss after those days [% of hot].
    cutting : str
        One of `CUTTINGS`.
    take_home_pct : Decimal or None
        What is taken home [%].
    take_home_of : str
        ``hot`` or ``hung``: the weight that share is of.
    """

    animal: str = ""
    live_shrink_pct: Decimal = Decimal(0)
    dressing_pct: Decimal | None = None
    chill_loss_pct: Decimal | None = None
    days_hung: int = 1
    hang_loss_pct: Decimal | None = None
    cutting: str = "take-home"
    take_home_pct: Decimal | None = None
    take_home_of: str = "hot"


@dataclass(frozen=True, slots=True)
class HomeStep:
    """One weight on the way.

    Parameters
    ----------
    name : str
        ``live``, ``live after the road``, ``hot``, ``chilled``, ``hung`` or ``take-home``.
    low, high : Weight
        Ends of the weight; equal where nothing is a range.
    rule : str
        How it follows from the step it names.
    basis : Basis
        What the rule rests on.
    """

    name: str
    low: Weight
    high: Weight
    rule: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class TakeHome:
    """All steps of one carcass, the last being what is taken home."""

    species: str
    steps: tuple[HomeStep, ...]

    def step(self, name: str) -> HomeStep | None:
        """Return one step, None if it was not on the way."""
        return next((step for step in self.steps if step.name == name), None)


def take_home(
    species: str, weight: Weight, *, stage: str = "live", hanging: Hanging | None = None
) -> TakeHome:
    """Return every weight from what was weighed to what is taken home.

    Parameters
    ----------
    species : str
        The animal.
    weight : Weight
        What was weighed.
    stage : str
        ``live``, ``hot`` or ``chilled``: what `weight` is of.
    hanging : Hanging, optional
        What is known; published figures fill the rest.

    Raises
    ------
    BadValue
        If a share that is needed is neither given nor published, or is out of range.

    Examples
    --------
    >>> from decimal import Decimal as D
    >>> from collop.measures import Weight, WeightUnit
    >>> known = Hanging(dressing_pct=D(62), take_home_pct=D(79))
    >>> for step in take_home("beef", Weight.of(1300, WeightUnit.LB), hanging=known).steps:
    ...     print(step.name, step.low.text(), step.high.text())
    live 1300.00 lb 1300.00 lb
    hot 806.00 lb 806.00 lb
    chilled 765.70 lb 789.88 lb
    take-home 636.74 lb 636.74 lb
    """
    name, known = species_named(species), hanging or Hanging()
    if stage not in STAGES:
        raise BadValue(f"{stage[:20]!r} is no stage; use one of {', '.join(STAGES)}.")
    if weight.count <= 0:
        raise BadValue(f"{weight.text()} is no carcass; weigh it again.")
    way = _Way(name, weight, stage)
    if stage == "live":
        way.dress(known)
    if stage != "chilled":
        way.chill(known)
    way.hang(known)
    way.cut(known)
    return TakeHome(name, tuple(way.steps))


def _given(amount: Decimal, key: str, low: int = 0) -> PercentRange:
    if not amount.is_finite() or not low <= amount <= 100:
        raise BadValue(
            f"The {_WORDS[key]} is {amount} %; it must be from {low} to 100.", where=f"$.{key}"
        )
    return PercentRange(Fraction(amount), Fraction(amount), Basis(Standing.GIVEN))


def _percent(span: PercentRange) -> str:
    ends = [f"{decimal_of(end, 2).normalize():f}" for end in (span.low, span.high)]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


class _Way:
    """Exact ends of the weight so far; they become counts only when a step is written down."""

    def __init__(self, species: str, weight: Weight, stage: str) -> None:
        self.species = species
        self.unit = weight.unit
        self.ends: dict[str, tuple[Fraction, Fraction]] = {}
        self.steps: list[HomeStep] = []
        exact = Fraction(weight.count)
        self._write(stage, (exact, exact), "weighed", Basis(Standing.GIVEN))

    def _write(self, name: str, ends: tuple[Fraction, Fraction], rule: str, basis: Basis) -> None:
        low, high = (Weight(round_fraction(end), self.unit) for end in ends)
        self.ends[name] = ends
        self.steps.append(HomeStep(name, low, high, rule, basis))

    def _keep(self, name: str, of: str, share: PercentRange) -> None:
        low, high = self.ends[of]
        ends = low * share.low / 100, high * share.high / 100
        self._write(name, ends, f"{_percent(share)} % of {of}", share.basis)

    def _lose(self, name: str, of: str, loss: PercentRange) -> None:
        low, high = self.ends[of]
        ends = low * (100 - loss.high) / 100, high * (100 - loss.low) / 100
        self._write(name, ends, f"{of} less {_percent(loss)} %", loss.basis)

    def dress(self, known: Hanging) -> None:
        """Write the live weight after the road, and the hot carcass."""
        of = "live"
        if known.live_shrink_pct:
            of = "live after the road"
            self._lose(of, "live", _given(known.live_shrink_pct, "live_shrink_pct"))
        share = (
            published_range("dressing_percent", self.species, known.animal)
            if known.dressing_pct is None
            else _given(known.dressing_pct, "dressing_pct")
        )
        if share is None:
            raise self._unpublished("dressing share", "dressing_pct")
        self._keep("hot", of, share)

    def chill(self, known: Hanging) -> None:
        """Write the chilled carcass."""
        if known.days_hung == 0:
            return
        loss = (
            hanging_loss(self.species, 1)
            if known.chill_loss_pct is None
            else _given(known.chill_loss_pct, "chill_loss_pct", -20)
        )
        self._lose("chilled", "hot", loss)

    def hang(self, known: Hanging) -> None:
        """Write the weight after some days, from the hot weight."""
        if known.days_hung <= 1 and known.hang_loss_pct is None:
            return
        if "hot" not in self.ends and known.hang_loss_pct is None:
            raise BadValue(
                "The loss of hanging is published for the hot weight; weigh that or give the loss."
            )
        loss = (
            hanging_loss(self.species, known.days_hung)
            if known.hang_loss_pct is None
            else _given(known.hang_loss_pct, "hang_loss_pct")
        )
        self._lose("hung", "hot" if "hot" in self.ends else "chilled", loss)

    def cut(self, known: Hanging) -> None:
        """Write what is taken home."""
        if known.cutting == "none":
            return
        if known.cutting not in CUTTINGS:
            raise BadValue(f"{known.cutting[:20]!r} is none of {', '.join(CUTTINGS)}.")
        share = (
            published_range(_QUANTITY[known.cutting], self.species)
            if known.take_home_pct is None
            else _given(known.take_home_pct, "take_home_pct")
        )
        if share is None:
            raise self._unpublished(f"{known.cutting} share", "take_home_pct")
        last = self.steps[-1].name
        of = "hot" if known.take_home_of == "hot" and "hot" in self.ends else last
        self._keep("take-home", of, share)

    def _unpublished(self, what: str, key: str) -> BadValue:
        return BadValue(f"No {what} is published for {self.species}; give {key}.", where=f"$.{key}")
