"""The JSON of cuts, styles, yield grade and take-home: problem in, plan out.

Keys are described in ``docs/carcass.md``. Weights are decimal strings with the unit in the key.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.carcass.catalogue import Cut, find_cuts
from collop.carcass.expecting import Output, expected
from collop.carcass.grade import YieldGrade, yield_grade, yield_grade_short
from collop.carcass.shares import PartKind
from collop.carcass.species import large_cuts, piece_named, species_named
from collop.carcass.standing import Basis
from collop.carcass.styles import style_named, styles_of
from collop.carcass.taking_home import CUTTINGS, STAGES, Hanging, take_home
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.wire import Reader

__all__ = ["cuts_plan", "styles_plan", "take_home_plan", "yield_grade_plan"]

_TAKE_HOME_KEYS = (
    "schema",
    "species",
    "animal",
    "stage",
    "weight_lb",
    "live_shrink_pct",
    "dressing_pct",
    "chill_loss_pct",
    "days_hung",
    "hang_loss_pct",
    "cutting",
    "take_home_pct",
    "take_home_of",
)


def _weight(reader: Reader, key: str) -> Weight:
    amount = reader.decimal(key, high="10000")
    try:
        return Weight.of(amount, WeightUnit.LB)
    except BadValue as error:
        raise reader.fail(key, f"is wrong: {error.message}") from None


def _pounds(weight: Weight) -> str:
    return str(weight.decimal(WeightUnit.LB, 3))


def _number(value: Fraction, places: int = 3) -> float:
    return float(decimal_of(value, places))


def _basis(basis: Basis) -> dict[str, str]:
    return {"standing": basis.standing.value, "source": basis.text()}


# ------------------------------------------------------------------------------------ cuts


def _cut(cut: Cut) -> dict[str, Any]:
    return {
        "id": cut.cut_id,
        "species": cut.species,
        "large_cut": cut.large_cut,
        "name": cut.name,
        "other_names": list(cut.other_names),
        "imps": cut.imps,
        "unece": cut.unece,
        "muscles": list(cut.muscles),
        "bone": cut.bone,
        "grain": cut.grain,
        "slice": cut.slice_advice,
        "fat": cut.fat_level,
        "tenderness": {"class": cut.tenderness, **_basis(cut.tenderness_basis)},
        "methods": list(cut.methods),
        "value_cut": cut.value_cut,
        "weight_lb": cut.weights and [_pounds(weight) for weight in cut.weights],
        "weight_basis": _basis(cut.weights_basis),
        "note": cut.note,
        **_basis(cut.basis),
    }


def cuts_plan(text: str, species: str = "") -> dict[str, Any]:
    """Return every cut that a text may mean, the nearest first; an empty list if none.

    Raises
    ------
    BadValue
        If `species` is no animal here.
    """
    found = find_cuts(text, species)
    return {"schema": "collop.cuts.plan/1", "text": text, "cuts": [_cut(cut) for cut in found]}


# ---------------------------------------------------------------------------------- styles


def _output(output: Output) -> dict[str, Any]:
    return {
        "part": output.part,
        "kind": output.kind.value,
        "place": output.place,
        "weight_lb": _pounds(output.weight),
        "share_pct": _number(output.fraction * 100),
        "large_cut": output.large_cut,
        "style": output.style,
        "cut_id": output.cut_id or None,
        **_basis(output.basis),
    }


def _choices(top: Reader) -> dict[str, str]:
    given = top.value["choices"] if top.has("choices") else {}
    found = Reader(given, "$.choices", given if isinstance(given, dict) else ())
    return {key: found.text(key) for key in found.value}


def _large_cuts(species: str, outputs: tuple[Output, ...]) -> list[dict[str, Any]]:
    told = []
    known = {cut.name for cut in large_cuts(species)}
    for name in dict.fromkeys(output.large_cut for output in outputs):
        if name not in known:  # what is lost in dividing the piece itself
            continue
        lines = [output for output in outputs if output.large_cut == name]
        chosen = style_named(species, name, lines[0].style)
        total = sum((line.weight.count for line in lines), 0)
        told.append({
            "name": name,
            "weight_lb": _pounds(Weight(total)),
            "style": chosen.name,
            "minutes": None if chosen.minutes is None else float(chosen.minutes.low),
            "styles": [style.name for style in styles_of(species, name)],
        })  # fmt: skip
    return told


def styles_plan(problem: object) -> dict[str, Any]:
    """Return what a piece is expected to give (``collop.styles/1``).

    Parameters
    ----------
    problem : object
        Parsed JSON.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(problem, "$", ("schema", "species", "piece", "weight_lb", "choices"))
    top.choice("schema", ["collop.styles/1"])
    piece = piece_named(top.text("piece"), top.text("species", ""), where="$.piece")
    weight = _weight(top, "weight_lb")
    if not weight:
        raise top.fail("weight_lb", "is zero; weigh the piece.")
    outputs = expected(piece.title, weight, _choices(top), where="$.choices")
    sums = dict.fromkeys(PartKind, 0)
    for output in outputs:
        sums[output.kind] += output.weight.count
    return {
        "schema": "collop.styles.plan/1",
        "piece": piece.title,
        "weight_lb": _pounds(weight),
        "large_cuts": _large_cuts(piece.species, outputs),
        "outputs": [_output(output) for output in outputs],
        "sum_lb": {kind.value: _pounds(Weight(sums[kind])) for kind in PartKind if sums[kind]},
        "gap_lb": _pounds(Weight(sum(sums.values()) - weight.count)),
    }


# ----------------------------------------------------------------------------- yield grade


def _grade(grade: YieldGrade) -> dict[str, Any]:
    return {
        "value": _number(grade.value),
        "grade": grade.grade,
        "steps": [{"what": s.what, "amount": _number(s.amount, 4)} for s in grade.steps],
        "retail_pct": [None if end is None else float(end) for end in grade.retail_pct],
        "retail_source": grade.retail_basis.text(),
        **_basis(grade.basis),
    }


def yield_grade_plan(problem: object) -> dict[str, Any]:
    """Return the yield grade by both methods (``collop.yieldgrade/1``).

    The short method is null, with the reason, where its published steps do not reach.

    Parameters
    ----------
    problem : object
        Parsed JSON.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    keys = ("schema", "adjusted_fat_in", "kph_pct", "ribeye_sq_in", "hot_carcass_lb")
    top = Reader(problem, "$", keys)
    top.choice("schema", ["collop.yieldgrade/1"])
    fat, inner, eye = (top.decimal(key) for key in keys[1:4])
    hot = _weight(top, "hot_carcass_lb")
    full = yield_grade(adjusted_fat_in=fat, kph_pct=inner, ribeye_sq_in=eye, hot_carcass=hot)
    short, refused = _or_reason(
        lambda: yield_grade_short(fat_in=fat, kph_pct=inner, ribeye_sq_in=eye, hot_carcass=hot)
    )
    return {
        "schema": "collop.yieldgrade.plan/1",
        "equation": _grade(full),
        "short": short and _grade(short),
        "short_refused": refused,
    }


def _or_reason(method: Callable[[], YieldGrade]) -> tuple[YieldGrade | None, str | None]:
    try:
        return method(), None
    except BadValue as error:
        return None, error.message


# ------------------------------------------------------------------------------- take-home


def take_home_plan(problem: object) -> dict[str, Any]:
    """Return every weight from the live animal to what is taken home (``collop.takehome/1``).

    Parameters
    ----------
    problem : object
        Parsed JSON.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(problem, "$", _TAKE_HOME_KEYS)
    top.choice("schema", ["collop.takehome/1"])
    known = Hanging(
        animal=top.text("animal", ""),
        live_shrink_pct=top.decimal("live_shrink_pct", Decimal(0)),
        dressing_pct=top.decimal("dressing_pct", None),
        chill_loss_pct=top.decimal("chill_loss_pct", None),
        days_hung=top.whole("days_hung", 0, 120, 1),
        hang_loss_pct=top.decimal("hang_loss_pct", None),
        cutting=top.choice("cutting", CUTTINGS, "take-home"),
        take_home_pct=top.decimal("take_home_pct", None),
        take_home_of=top.choice("take_home_of", ["hot", "hung"], "hot"),
    )
    species = species_named(top.text("species"), where="$.species")
    weight = _weight(top, "weight_lb")
    if not weight:
        raise top.fail("weight_lb", "is zero; weigh the animal.")
    found = take_home(species, weight, stage=top.choice("stage", STAGES, "live"), hanging=known)
    return {
        "schema": "collop.takehome.plan/1",
        "species": found.species,
        "steps": [
            {"name": step.name, "low_lb": _pounds(step.low), "high_lb": _pounds(step.high),
             "rule": step.rule, **_basis(step.basis)}
            for step in found.steps
        ],
    }  # fmt: skip
