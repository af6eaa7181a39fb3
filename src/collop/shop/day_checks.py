"""Lines of the Day Book, written: cold checks, boxes at the door, scale and thermometer checks.

Nothing is filled in for anybody and nothing is edited. A line that was wrong is corrected by a
further line that names it. A reading over its limit is written only with what was done and who
was told.

References
----------
.. [1] FDA Food Code 4-203.11: a food thermometer is right to 2 degF. Row SF010, from memory, not
   checked.
.. [2] NIST Handbook 44, Scales Code Table 6: tolerance of a scale in service. Rows WM006 to WM009,
   from memory, not checked.
.. [3] FDA Food Code 3-202.11 and 3-201.17: meat on arrival, its mark. Rows SF001, SF003 and SF005,
   from memory, not checked.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from collop.errors import BadValue
from collop.measures import Temperature, TemperatureDifference, Weight
from collop.reference.rulebook import PublishedRule, rule_row
from collop.rules.limits import cleaning_hours, receiving_limit
from collop.rules.weighing_scale import (
    check_division,
    in_divisions,
    maintenance_tolerance,
    weight_text,
)
from collop.shop.acts import Act
from collop.shop.day_model import Arrival, Told, both_scales
from collop.shop.day_places import load_places, words_in
from collop.shop.day_writing import (
    OLDEST_ENTRY,
    NewLine,
    corrected,
    done_when,
    line_number,
    line_row,
    sane,
    write_line,
)
from collop.shop.rule_choices import load_rule_choices

__all__ = [
    "ICE_POINT", "OLDEST_ENTRY", "check_arrival", "check_cold", "check_probe", "check_scale",
    "done_when", "line_number", "probe_allowance", "take_back",
]  # fmt: skip

#: The temperature of melting ice, by which a thermometer is checked.
ICE_POINT = Temperature.fahrenheit(32)


def check_cold(
    act: Act, place_id: str, reading: Temperature, told: Told, *,
    done_at: datetime | None = None, corrects: int | None = None,
) -> str:  # fmt: skip
    """Write what a place was read at; return the line's id.

    Parameters
    ----------
    act : Act
        The write.
    place_id : str
        Where it was read; of a correction, the place must be that of the line before.
    reading : Temperature
        As read.
    told : Told
        What was done and who was told, needed over the limit; why, needed of a correction.
    done_at : datetime, optional
        When it was read, if not now.
    corrects : int, optional
        The line it corrects.

    Raises
    ------
    BadValue
        If it is over the limit and nothing was done or nobody told, or a field is out of range.
    NotFound
        If there is no such place or line.
    WrongState
        If that line was corrected already.
    """
    sane(reading)
    if corrects is not None and corrected(act, corrects, "cold").subject != place_id:
        raise BadValue("The line before is of another place; take it back, then write a new one.",
                       where="place")  # fmt: skip
    place = load_places(act.conn).get(place_id)
    over = place.has_limit and reading > place.limit
    fields: dict[str, Any] = {
        "name": place.name, "place": place.kind, "limit": place.limit.count,
        "source": place.source,
    }  # fmt: skip
    if not place.has_limit:
        hours, row = cleaning_hours(reading, load_rule_choices(act.conn))
        fields |= {"hours": f"{hours:f}", "source": row.citation()}
    needs = ""
    if over:
        needs = (f"{place.name} is at {both_scales(reading)} and its limit is "
                 f"{both_scales(place.limit)}")  # fmt: skip
    new = NewLine(kind="cold", subject=place.id, fields=fields, is_over=over, reading=reading,
               needs=needs)  # fmt: skip
    return write_line(act, new, told, done_at=done_at, corrects=corrects)


def probe_allowance() -> tuple[TemperatureDifference, PublishedRule]:
    """Return by how much a food thermometer may be out, either way, and the row it stands in."""
    row = rule_row("SF010")
    assert row.figure is not None
    return TemperatureDifference.fahrenheit_degrees(row.figure), row


def check_probe(
    act: Act, name: str, reading: Temperature, told: Told, *,
    done_at: datetime | None = None, corrects: int | None = None,
) -> str:  # fmt: skip
    """Write what a thermometer said in melting ice; return the line's id.

    Raises
    ------
    BadValue
        If it is out by more than allowed and nothing was done or nobody told, or a field is out
        of its range.
    """
    called = words_in(name, "Thermometer", 80, where="name")
    sane(reading)
    allowed, row = probe_allowance()
    out = abs((reading - ICE_POINT).count)
    over = out > allowed.count
    needs = ""
    if over:
        degrees = allowed.in_fahrenheit_degrees(0)
        needs = (f"{called} says {both_scales(reading)} in melting ice, more than {degrees} °F "
                 f"from {both_scales(ICE_POINT)}")  # fmt: skip
    fields = {"name": called, "allowed": allowed.count, "source": row.citation()}
    new = NewLine(kind="probe", subject=called, fields=fields, is_over=over, reading=reading,
               needs=needs)  # fmt: skip
    return write_line(act, new, told, done_at=done_at, corrects=corrects)


def check_scale(
    act: Act, name: str, weights: tuple[Weight, Weight, Weight], told: Told, *,
    done_at: datetime | None = None, corrects: int | None = None,
) -> str:  # fmt: skip
    """Write what a scale said of a test weight; return the line's id.

    Parameters
    ----------
    act : Act
        The write.
    name : str
        Which scale.
    weights : (Weight, Weight, Weight)
        Test weight, reading and division of the scale.
    told : Told
        Needed where it is out by more than allowed.

    Raises
    ------
    BadValue
        If the division is none a scale may have, the reading no whole number of divisions, or the
        test weight out of range; or if it is out and nothing was done or nobody told.
    """
    called = words_in(name, "Scale", 80, where="name")
    test, reading, division = weights
    check_division(division)
    if test <= Weight.zero():
        raise BadValue("Test weight: give what is stamped on it, more than 0.", where="test")
    if in_divisions(reading, division).denominator != 1:
        raise BadValue(
            f"Reading: {weight_text(reading)} is no whole number of steps of "
            f"{weight_text(division)}; read it again.",
            where="reading",
        )
    allowed = maintenance_tolerance(test, division)
    error = reading - test
    over = abs(error.count) > allowed.count
    needs = ""
    if over:
        needs = (f"{called} says {weight_text(reading)} of {weight_text(test)}, more than "
                 f"{weight_text(allowed)} out")  # fmt: skip
    fields = {
        "name": called, "test": _kept(test), "reading": _kept(reading), "division": _kept(division),
        "allowed": _kept(allowed), "source": rule_row("WM006").citation(),
    }  # fmt: skip
    new = NewLine(kind="scale", subject=called, fields=fields, is_over=over, needs=needs)
    return write_line(act, new, told, done_at=done_at, corrects=corrects)


def _kept(weight: Weight) -> list[Any]:
    return [weight.count, weight.unit.value]


def _faults_of(box: Arrival, limit: Temperature) -> list[str]:
    """Return why a box may not be taken in, each with its rule."""
    found = []
    if box.keeps == "chilled":
        if box.temperature is None:
            raise BadValue(f"{box.what}: measure it in the middle before it is taken in.",
                           where="temperature")  # fmt: skip
        if box.temperature > limit:
            found.append(f"it is at {both_scales(box.temperature)} and the limit is "
                         f"{both_scales(limit)} (SF001)")  # fmt: skip
    if box.keeps == "frozen" and not box.frozen_solid:
        found.append("it is not frozen solid (SF003)")
    if box.is_meat and not box.mark:
        found.append("it bears no inspection mark (SF005)")
    return found


def check_arrival(
    act: Act, box: Arrival, told: Told, *,
    done_at: datetime | None = None, corrects: int | None = None,
) -> str:  # fmt: skip
    """Write a box at the door that is no animal: taken in, or not taken in and why.

    Raises
    ------
    BadValue
        If a field is out of its range; or if it may not be taken in, and nobody said what was
        done with it and who was told.
    """
    what = words_in(box.what, "What came", 80, where="what")
    supplier = words_in(box.supplier, "Supplier", 120, where="supplier")
    if corrects is not None and corrected(act, corrects, "receive").fields.get("cooling"):
        raise BadValue("The line before is of an animal; take it back, then write a new one.",
                       where="corrects")  # fmt: skip
    number = words_in(box.establishment, "Establishment number", 40, where="establishment", least=0)
    lot = words_in(box.lot, "Lot on the box", 60, where="lot", least=0)
    if box.keeps not in {"chilled", "frozen", "dry"}:
        raise BadValue("It keeps chilled, frozen or dry; choose one.", where="keeps")
    if box.is_meat and not number:
        raise BadValue("Establishment number: write it as it stands in the mark of inspection.",
                       where="establishment")  # fmt: skip
    if box.weight is not None and box.weight <= Weight.zero():
        raise BadValue("Weight: write more than 0, or leave it empty.", where="weight")
    if box.temperature is not None:
        sane(box.temperature)
    rule = receiving_limit(load_rule_choices(act.conn))
    faults = _faults_of(box, rule.temperature)
    fields = {
        "name": what, "supplier": supplier, "establishment": number, "lot": lot,
        "weight": None if box.weight is None else _kept(box.weight), "keeps": box.keeps,
        "is_meat": box.is_meat, "frozen_solid": box.frozen_solid, "mark": box.mark,
        "faults": faults, "limit": rule.temperature.count,
        "source": _arrival_source(box, rule.row),
    }  # fmt: skip
    needs = f"{what} is not taken in, for {' and '.join(faults)}" if faults else ""
    new = NewLine(kind="receive", subject=what, fields=fields, is_over=bool(faults),
               reading=box.temperature, needs=needs)  # fmt: skip
    return write_line(act, new, told, done_at=done_at, corrects=corrects)


def _arrival_source(box: Arrival, chilled: PublishedRule) -> str:
    if box.keeps == "chilled":
        return chilled.citation()
    if box.keeps == "frozen":
        return rule_row("SF003").citation()
    return rule_row("SF005").citation() if box.is_meat else ""


def take_back(act: Act, number: int, why: str) -> str:
    """Write that a line was never so; both stay in the book. Return the new line's id.

    Raises
    ------
    WrongState
        If it was corrected already, or is no reading.
    """
    row = line_row(act, number)
    before = corrected(act, number, row.kind)
    reason = words_in(why, "Why it is taken back", 200, where="why")
    fields = {"name": before.fields.get("name", before.subject), "void": True}
    new = NewLine(kind=before.kind, subject=before.subject, fields=fields, is_over=False)
    return write_line(act, new, Told(why=reason), done_at=None, corrects=number)
