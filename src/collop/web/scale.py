"""The figure on the scale: kept from the command that reads it, shown to the page that asks.

``POST /scale`` comes from ``collop scale --post`` on the shop's own machines. It needs no token: no
browser can send a form here without ``Origin`` or ``Sec-Fetch-Site``, which `OwnRequestsOnly`
holds against other sites, and what is kept is a figure that a person sees before it is used.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, PlainTextResponse, Response

from collop.errors import BadValue, CollopError
from collop.measures import Weight, WeightUnit
from collop.scale.readings import Reading, State, exact_weight, figure_of, reading_of, trouble
from collop.web.forms import Fields, read_choice
from collop.web.room import Posted

__all__ = ["Pan", "router"]

router = APIRouter()
# after this long without a word from the scale its figure may be of another piece
KEPT_S = 3.0


@dataclass(slots=True)
class Pan:
    """The last reading of the shop's scale, in memory only.

    Parameters
    ----------
    clock : callable
        Seconds that never run back.
    """

    clock: Callable[[], float] = time.monotonic
    _last: tuple[Reading, float] | None = field(default=None, init=False)

    def put(self, reading: Reading) -> None:
        """Keep a reading with its time."""
        self._last = (reading, self.clock())

    def look(self) -> tuple[Reading, float] | None:
        """Return the last reading and its age in seconds; None if there is none of late."""
        last = self._last  # one look: another request may put a new one meanwhile
        if last is None:
            return None
        reading, at = last
        age_s = self.clock() - at
        return (reading, age_s) if age_s <= KEPT_S else None


def pan_of(request: Request) -> Pan:
    """Return the pan of the application the request came to."""
    pan: Pan = request.app.state.pan
    return pan


@router.post("/scale")
def put_reading(request: Request, fields: Posted) -> Response:
    """Keep one reading of the fields ``weight``, ``unit``, ``state``; 422 and why if unread."""
    try:
        reading = _read(fields)
    except CollopError as refusal:
        return PlainTextResponse(f"{refusal.message}\n", 422)
    pan_of(request).put(reading)
    return Response(status_code=204)


@router.get("/scale.json")
def show_reading(request: Request) -> Response:
    """Return the last reading and its age, or 204 if there was none in the last three seconds."""
    seen = pan_of(request).look()
    if seen is None:
        return Response(status_code=204)
    reading, age_s = seen
    weight = reading.weight
    return JSONResponse({
        "weight_lb": None if weight is None else _pounds(weight),
        "unit": None if weight is None else str(weight.unit),
        "stable": reading.stable,
        "age_s": math.floor(age_s * 10) / 10,
        "state": str(reading.state),
        "text": "" if weight is None else f"{figure_of(weight)} {weight.unit}",
        "sentence": reading.sentence,
    })  # fmt: skip


def _read(fields: Fields) -> Reading:
    state = State(read_choice(fields.one("state"), "State", (str(one) for one in State)))
    if not state.weighs:
        return trouble(state)
    unit = WeightUnit(read_choice(fields.one("unit"), "Unit", (str(one) for one in WeightUnit)))
    weight = exact_weight(Weight.of(fields.one("weight"), unit).exact(unit), unit)
    is_other_state = (state is State.ZERO and weight) or (state is State.STABLE and not weight)
    if weight.count < 0 or is_other_state:
        raise BadValue(f"Weight: {weight.text()} cannot be with the state {state}; read it again.")
    return reading_of(weight, moving=state is State.MOVING)


def _pounds(weight: Weight) -> str:
    """Return pounds to 0.001, the third place only where it is not nought."""
    return f"{weight.decimal(WeightUnit.LB, 3):f}".removesuffix("0")
