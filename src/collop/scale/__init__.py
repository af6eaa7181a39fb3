"""Reading a scale: typed, sent as keys, or by the open USB weighing page."""

from collop.scale.port import Port, open_port
from collop.scale.readings import Reading, State, figure_of
from collop.scale.recordings import Recorded, read_recording
from collop.scale.reports import read_report
from collop.scale.wedge import read_line, read_weighed

__all__ = [
    "Port",
    "Reading",
    "Recorded",
    "State",
    "figure_of",
    "open_port",
    "read_line",
    "read_recording",
    "read_report",
    "read_weighed",
]
