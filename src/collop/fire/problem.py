"""The fire as frozen data: where it burns, what goes on it, and when it is eaten.

Times are whole minutes counted from the first serving time, so what happens before it is
negative. Areas are exact square inches, weights whole thousandths of a pound (`mlb`).
Temperatures inside the kernel are floats in degrees Celsius: they are physics, never a rule; the
published minimum is a `collop.reference.CookMinimum`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "BANDS",
    "COAL_HEATS",
    "FORMS",
    "HEATS",
    "METHODS",
    "Body",
    "Course",
    "FireItem",
    "FireProblem",
    "Serving",
    "Stage",
    "StageTime",
    "Zone",
]

#: Kinds of heat a zone can give. ``direct``: over the coals; ``indirect``: beside them, lid on;
#: ``plate``: a flat plate or pan; ``oven``; ``pot``.
HEATS = ("direct", "indirect", "plate", "oven", "pot")
#: Heats that last only as long as the coals.
COAL_HEATS = frozenset({"direct", "indirect"})
#: How an item is cooked, with the heats of its stages in their order.
METHODS: dict[str, tuple[str, ...]] = {
    "direct": ("direct",),
    "indirect": ("indirect",),
    "indirect then direct": ("indirect", "direct"),
    "plate": ("plate",),
    "oven": ("oven",),
    "oven then direct": ("oven", "direct"),
    "pot": ("pot",),
}
#: What a piece is like to heat.
FORMS = (
    "steak", "thin", "patty", "links", "skewer", "joint", "roast", "bird-flat", "bird-whole",
)  # fmt: skip
#: The shares of samples a band of times is told by: 10, 50 and 90 in a hundred.
BANDS = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Zone:
    """One place to cook.

    Attributes
    ----------
    heats : frozenset of str
        The kinds of heat it gives; a covered grill with its coals on one side gives two.
    area_sq_in : Fraction or None
        Usable area [sq in]; None where it is not counted (an oven, pots).
    meat_free : bool
        Whether it is kept for food without meat.
    minutes : int or None
        How long it can be used, once lit [min]; None without limit.
    """

    id: str
    name: str
    heats: frozenset[str]
    area_sq_in: Fraction | None
    meat_free: bool = False
    minutes: int | None = None


@dataclass(frozen=True, slots=True)
class Serving:
    """A time at which food is to be on the table [min from the first serving time]."""

    id: str
    at: datetime
    at_min: int


@dataclass(frozen=True, slots=True)
class Body:
    """A piece as heat sees it.

    Attributes
    ----------
    form : str
        One of `FORMS`.
    thickness_mm : float
        Its least measure through the middle [mm]: thickness of a steak, breast depth of an opened
        bird, the smaller diameter of a roast or link.
    measured : bool
        True if measured; false if told over the counter (the band is wider then).
    shape : float or None
        Shape factor: 0 slab, 1 long cylinder, 2 sphere; None for that of the form.
    start_c : float
        Temperature at which it goes on the fire [degC].
    fat_rich : bool
        Belly, brisket and the like: conducts less.
    bone : bool
        Bone inside: the band is a tenth wider.
    """

    form: str
    thickness_mm: float
    measured: bool = False
    shape: float | None = None
    start_c: float = 4.0
    fat_rich: bool = False
    bone: bool = False


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage as the shop tells it: heat and its usual minutes, low to high [min]."""

    heat: str
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class FireItem:
    """One thing that is cooked.

    Attributes
    ----------
    weight_mlb, piece_mlb : int, int or None
        Weight of all of it, and of its largest piece if it is sold whole [0.001 lb].
    pieces : int or None
        How many whole pieces; None for what is cut to weight.
    area_sq_in : Fraction
        Grill area of all of it [sq in].
    cook_as : str
        ``whole``, ``ground``, ``poultry`` or ``none``; needled, injected, rolled or minced meat
        has been read as ``ground``.
    method : str
        One of `METHODS`.
    minutes : tuple of int, or None
        The shop's own time on the fire, 10th to 90th percentile [min].
    stages : tuple of Stage, or None
        The shop's own stages; they replace `minutes`.
    body : Body or None
        If known, times come from the heat model.
    done_c : float or None
        Wanted at the core [degC]; never below the published minimum.
    rest_min : int or None
        Rest before carving [min]; None for that of the form, never below the published one.
    hold_min : int or None
        How long it may wait, kept hot, after its rest [min]; None for that of the form.
    role : str
        ``centre``, ``bird``, ``in-hand``, ``goes-far``, ``meat-free`` or empty.
    """

    id: str
    name: str
    species: str | None
    serving: str
    weight_mlb: int
    area_sq_in: Fraction
    cook_as: str
    method: str
    pieces: int | None = None
    piece_mlb: int | None = None
    minutes: tuple[int, int] | None = None
    stages: tuple[Stage, ...] | None = None
    body: Body | None = None
    done_c: float | None = None
    rest_min: int | None = None
    hold_min: int | None = None
    role: str = ""
    frozen: bool = False
    carve: str | None = None
    allergens: tuple[str, ...] = ()
    treatment: str = "whole"

    @property
    def is_meat_free(self) -> bool:
        """Tell whether it holds no meat."""
        return self.cook_as == "none"


@dataclass(frozen=True, slots=True)
class FireProblem:
    """Everything the kernel needs for one fire sheet.

    `hands` is how many people can put on or take off at once. `air_f` is the weather [degF].
    `chance` is the share of samples in which everything is to be ready in time. `unit` is how
    temperatures are spoken first, ``F`` or ``C``.
    """

    name: str
    servings: tuple[Serving, ...]
    zones: tuple[Zone, ...]
    items: tuple[FireItem, ...]
    now: datetime | None = None
    heads: int | None = None
    hands: int = 1
    air_f: int | None = None
    ride_min: int | None = None
    chance: float = 0.9
    unit: str = "F"
    weight_unit: str = "lb"
    covered: bool = True
    waves: bool = True
    notes: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class StageTime:
    """How long one stage takes.

    Attributes
    ----------
    heat : str
        One of `HEATS`.
    minutes : array, shape (samples,)
        Minutes of the stage in each sample [min].
    turns : tuple of float
        When it is turned, as shares of the stage.
    until_c : float or None
        Core temperature that ends the stage in the plan [degC].
    """

    heat: str
    minutes: NDArray[np.float64]
    turns: tuple[float, ...] = ()
    until_c: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """How one item cooks, from the heat model or from the shop's own minutes.

    Attributes
    ----------
    stages : tuple of StageTime
        In their order; the same sample of every item is cooked on the same fire.
    pull_c, target_c : float or None
        Core when it comes off, and after its rest [degC]; None for food without a rule.
    rest_min, hold_min : int
        Least rest, and longest wait after it [min].
    rise_c : tuple of float or None
        Rise of the core in its rest: 10, 50 and 90 in a hundred [K].
    log_reduction : float or None
        Of Salmonella at the coldest point through the rest, median, capped at 12.
    source : str
        ``model`` or ``shop``.
    notes : tuple of str
        Assumptions in words, each one line.
    """

    stages: tuple[StageTime, ...]
    pull_c: float | None
    target_c: float | None
    rest_min: int
    hold_min: int
    rise_c: tuple[float, float, float] | None
    log_reduction: float | None
    source: str
    notes: tuple[str, ...] = ()

    @property
    def minutes(self) -> NDArray[np.float64]:
        """Return the time on the fire of each sample, all stages together [min]."""
        total = self.stages[0].minutes
        for stage in self.stages[1:]:
            total = total + stage.minutes
        return total
