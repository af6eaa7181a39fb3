"""Data reports of a USB weighing device.

A scale of the open USB device class for weighing describes itself on usage page 0x8D and sends one
data report after another::

    byte 0   report id
    byte 1   scale status     1 fault                       5 under zero
                              2 stable at centre of zero    6 over weight limit
                              3 in motion                   7 requires calibration
                              4 weight stable               8 requires re-zeroing
    byte 2   weight unit      1 milligram   5 tael          9 avoirdupois ton
                              2 gram        6 grain        10 troy ounce
                              3 kilogram    7 pennyweight  11 avoirdupois ounce
                              4 carat       8 metric ton   12 pound
    byte 3   scaling          signed power of ten
    byte 4,5 weight           unsigned, low byte first

The weight is the number of bytes 4 and 5 times ten to the power of byte 3, in the unit of byte 2.

References
----------
.. [1] USB Implementers Forum, HID Usage Tables, Weighing Devices page (0x8D): status usages 0x71 to
   0x78 and unit usages 0x51 to 0x5C, in the order above. Order and names seen in a reading of the
   standard: table of this page in Debian package libwireshark16, 4.0.17-0+deb12u3 (2026-11-25).
   That page 0x8D is for scales: seen in hid-tools 0.12 and hid-parser 0.1.0 too.
.. [2] USB Implementers Forum, HID Point of Sale Usage Tables: the six bytes of the data report,
   that selectors count from 1, and report id 3. From memory; not checked against the text.
"""

from __future__ import annotations

from fractions import Fraction

from collop.errors import BadValue
from collop.measures import WeightUnit
from collop.scale.readings import Reading, State, exact_weight, reading_of, trouble

__all__ = ["DATA_REPORT", "REPORT_BYTES", "read_report"]

DATA_REPORT = 3
REPORT_BYTES = 6

_STATES = {1: State.FAULT, 2: State.ZERO, 3: State.MOVING, 4: State.STABLE, 5: State.UNDER_ZERO,
           6: State.OVER_LIMIT, 7: State.NEEDS_CALIBRATION, 8: State.NEEDS_ZERO}  # fmt: skip
# unit of ours and how many of it one is
_UNITS = {1: (WeightUnit.G, Fraction(1, 1000)), 2: (WeightUnit.G, Fraction(1)),
          3: (WeightUnit.KG, Fraction(1)), 11: (WeightUnit.OZ, Fraction(1)),
          12: (WeightUnit.LB, Fraction(1))}  # fmt: skip
_FOREIGN_UNITS = {4: "carats", 5: "taels", 6: "grains", 7: "pennyweights", 8: "metric tons",
                  9: "tons", 10: "troy ounces"}  # fmt: skip
# no scale counts in steps of a billion; a larger power is a damaged report
_MOST_POWER = 9


def read_report(report: bytes, *, report_id: int = DATA_REPORT) -> Reading:
    """Read one data report, the report id in front.

    Parameters
    ----------
    report : bytes, shape (6,)
        As the device sent it.
    report_id : int
        Id of the device's data report.

    Returns
    -------
    Reading
        Without a weight under zero too: the weight has no sign there.

    Raises
    ------
    BadValue
        If the length, id, status, unit or scaling is not one of a data report, if the unit is not
        one meat is sold in, or if the status is zero and the weight is not.

    Examples
    --------
    >>> read_report(bytes([3, 4, 12, 0xFE, 0xE2, 0x03])).sentence
    '9.94 lb.'
    """
    if len(report) != REPORT_BYTES:
        raise BadValue(
            f"The scale sent a report of {len(report)} bytes, not {REPORT_BYTES}; weigh again."
        )
    if report[0] != report_id:
        raise BadValue(
            f"The scale sent report {report[0]}, and weights come in report {report_id}; "
            "see that this device is a scale."
        )
    state = _STATES.get(report[1])
    if state is None:
        raise BadValue(f"The scale sent status {report[1]}, which means nothing; weigh again.")
    if not state.weighs:
        return trouble(state)
    return _weighed(report, state)


def _weighed(report: bytes, state: State) -> Reading:
    unit, size = _unit(report[2])
    power = int.from_bytes(report[3:4], "little", signed=True)
    count = int.from_bytes(report[4:6], "little")
    if abs(power) > _MOST_POWER:
        raise BadValue(f"The scale sent steps of 10 to the power {power}; weigh again.")
    weight = exact_weight(count * size * Fraction(10) ** power, unit)
    if state is State.ZERO and weight:
        raise BadValue("The scale says that it stands at zero and sends a weight; weigh again.")
    return reading_of(weight, moving=state is State.MOVING)


def _unit(code: int) -> tuple[WeightUnit, Fraction]:
    if code in _FOREIGN_UNITS:
        raise BadValue(f"The scale weighs in {_FOREIGN_UNITS[code]}; set it to lb, oz, kg or g.")
    if code not in _UNITS:
        raise BadValue(f"The scale sent unit {code}, which means nothing; weigh again.")
    return _UNITS[code]
