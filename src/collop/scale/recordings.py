"""Recordings of a scale: one report a line, so that a scale can be tried without one.

The format is our own, plain text::

    # collop scale recording 1
    # any further line that begins so is a remark
    0 03 04 0c fe e2 03
    120 03 03 0c fe 00 01
    900 gone

A line is the offset from the first report in whole milliseconds, never falling, and the bytes of
one report in hex, spaces as one likes; ``gone`` is a scale that was pulled out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from collop.errors import BadValue

__all__ = ["GONE", "Recorded", "read_recording"]

GONE = b""
_FIRST = "# collop scale recording 1"
_LONGEST_REPORT = 64
_MOST_BYTES = 4 * 1024 * 1024
_LINE = re.compile(
    r"(?P<offset>\d{1,9})\s+(?P<report>gone|(?:[0-9a-f]{2}\s*)+)", re.ASCII | re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Recorded:
    """One report of a recording.

    Parameters
    ----------
    offset_ms : int
        Time since the first report, in milliseconds.
    report : bytes
        As the device sent it; `GONE` (no bytes) when it was pulled out.
    """

    offset_ms: int
    report: bytes


def read_recording(path: Path | str) -> tuple[Recorded, ...]:
    """Read a recording, in the order of its lines.

    Raises
    ------
    BadValue
        If the file cannot be read, is no recording, or a line is not an offset and a report; the
        sentence names the line.
    """
    lines = _text(Path(path)).splitlines()
    if not lines or lines[0].strip() != _FIRST:
        raise BadValue(f"{path} is no recording of a scale; its first line must be {_FIRST!r}.")
    recorded: list[Recorded] = []
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.startswith("#"):
            continue
        one = _recorded(line.strip(), f"{path}, line {number}")
        if recorded and one.offset_ms < recorded[-1].offset_ms:
            raise BadValue(f"{path}, line {number}: the offset falls; put the lines in order.")
        recorded.append(one)
    return tuple(recorded)


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(_MOST_BYTES + 1)
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadValue(f"{path} is not UTF-8 text; see that it is a recording.") from None
    except (OSError, ValueError) as error:  # a name with a null in it is a ValueError
        reason = getattr(error, "strerror", None) or "not a name of a file"
        raise BadValue(f"{path} cannot be read: {reason}; check the name.") from None
    if len(raw) > _MOST_BYTES:
        raise BadValue(f"{path} is over 4 MiB; cut the recording into parts.")
    return text


def _recorded(line: str, where: str) -> Recorded:
    match = _LINE.fullmatch(line)
    if match is None:
        raise BadValue(f"{where}: write an offset in ms and the report in hex, or gone.")
    if match["report"].lower() == "gone":
        return Recorded(int(match["offset"]), GONE)
    report = bytes.fromhex(match["report"])
    if len(report) > _LONGEST_REPORT:
        raise BadValue(f"{where}: a report has at most {_LONGEST_REPORT} bytes.")
    return Recorded(int(match["offset"]), report)
