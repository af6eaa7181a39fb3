"""One report after another from a scale or a recording, and the last reading.

What goes wrong on the way is a state of the scale, not an end of the program: a damaged report is
`State.GARBLED`, a scale that was pulled out is `State.UNPLUGGED`.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

from collop.errors import BadValue
from collop.scale.readings import Reading, State, trouble
from collop.scale.recordings import GONE, read_recording
from collop.scale.reports import DATA_REPORT, read_report

__all__ = ["Port", "open_port"]

# a full-speed device sends at most 64 bytes in one report
_MOST_AT_ONCE = 64


class Port:
    """Where a scale is plugged in; iterating gives its readings until it ends.

    Parameters
    ----------
    next_report : callable
        Waits for one report and returns it; no bytes, or an OSError, when the scale is gone.
        It raises EOFError at the end of a recording.
    close : callable, optional
        Called once when the port is closed.
    report_id : int
        Id of the device's data report.

    Examples
    --------
    >>> reports = iter([bytes([3, 4, 12, 254, 226, 3]), b""])
    >>> with Port(lambda: next(reports)) as port:
    ...     [str(reading.state) for reading in port]
    ['stable', 'unplugged']
    """

    def __init__(
        self,
        next_report: Callable[[], bytes],
        close: Callable[[], None] | None = None,
        *,
        report_id: int = DATA_REPORT,
    ) -> None:
        self.last: Reading = trouble(State.SILENT)
        self._next_report = next_report
        self._close = close
        self._report_id = report_id
        self._is_open = True

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def __iter__(self) -> Iterator[Reading]:
        while (reading := self.read()) is not None:
            yield reading

    def read(self) -> Reading | None:
        """Wait for one report and return its reading, which is then `last`; None at the end."""
        if not self._is_open:
            return None
        try:
            report = self._next_report()
        except EOFError:
            self.close()
            return None
        except OSError:
            report = GONE
        if report == GONE:
            self.close()
            self.last = trouble(State.UNPLUGGED)
        else:
            self.last = self._read(report)
        return self.last

    def close(self) -> None:
        """Let go of the device; closing twice is closing once."""
        if self._is_open and self._close is not None:
            self._close()
        self._is_open = False

    def _read(self, report: bytes) -> Reading:
        try:
            return read_report(report, report_id=self._report_id)
        except BadValue as refusal:
            return trouble(State.GARBLED, refusal.message)


def open_port(path: Path | str, *, report_id: int = DATA_REPORT) -> Port:
    """Open a device file such as ``/dev/hidraw0``, or a recording.

    A plain file is a recording; anything else is read as a device, one report at a time.

    Raises
    ------
    BadValue
        If it cannot be opened, or is a plain file and no recording.
    """
    try:
        mode = os.stat(path).st_mode  # noqa: PTH116 -- Path would hide a device's own errors
        if stat.S_ISREG(mode):
            return _recorded_port(path, report_id)
        handle = os.open(path, os.O_RDONLY)
    except (OSError, ValueError) as error:
        if isinstance(error, BadValue):
            raise
        reason = getattr(error, "strerror", None) or "not a name of a file"
        raise BadValue(
            f"The scale {path} cannot be opened: {reason}; check its name, cable and permissions."
        ) from None
    return Port(
        lambda: os.read(handle, _MOST_AT_ONCE), lambda: os.close(handle), report_id=report_id
    )


def _recorded_port(path: Path | str, report_id: int) -> Port:
    reports = iter(read_recording(path))

    def next_report() -> bytes:
        one = next(reports, None)
        if one is None:
            raise EOFError
        return one.report

    return Port(next_report, report_id=report_id)
