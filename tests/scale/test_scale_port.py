"""Reports one after another: recordings, a device that is pulled out, damaged reports between."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.scale import Port, State, open_port, read_recording

RECORDINGS = Path(__file__).parent / "recordings"
GOOD = bytes.fromhex("03 04 0c fe e2 03")
FIRST = "# collop scale recording 1\n"


def states(name):
    """Return the states of a recording, in order."""
    with open_port(RECORDINGS / f"{name}.txt") as port:
        return [reading.state for reading in port]


def written(path, text):
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_a_recording_gives_its_readings_in_order():
    """Empty, moving, stable, empty, and the same again."""
    still, moving, zero = State.STABLE, State.MOVING, State.ZERO
    assert states("pounds") == [zero, moving, moving, still, still, still, moving, zero, moving,
                                still]  # fmt: skip


def test_one_piece_weighs_the_same_in_every_unit_of_the_scale():
    """4.505 kg, 4505 g and 158.9 oz agree within half a step of a tenth of an ounce."""
    with open_port(RECORDINGS / "kilograms.txt") as port:
        weights = [reading.weight for reading in port if reading.stable]
    kilograms, grams, ounces = weights
    assert kilograms == grams == Weight.of("4.505", WeightUnit.KG)
    assert [weight.unit for weight in weights] == [WeightUnit.KG, WeightUnit.G, WeightUnit.OZ]
    half_a_step = Weight.of("0.05", WeightUnit.OZ)
    assert -half_a_step <= ounces - kilograms <= half_a_step


def test_trouble_and_damage_are_states_and_the_scale_reads_on():
    """Each trouble, four damaged reports, and then a good weight."""
    assert states("troubles") == [
        State.FAULT, State.UNDER_ZERO, State.OVER_LIMIT, State.NEEDS_CALIBRATION,
        State.NEEDS_ZERO, *[State.GARBLED] * 4, State.STABLE,
    ]  # fmt: skip


def test_a_scale_pulled_out_is_a_state_and_the_end():
    """After the last weight it says that the scale is gone, and nothing more comes."""
    with open_port(RECORDINGS / "pulled_out.txt") as port:
        assert [reading.state for reading in port][-2:] == [State.STABLE, State.UNPLUGGED]
        assert port.last.state is State.UNPLUGGED
        assert port.read() is None


def test_every_recording_says_where_it_comes_from():
    """Each file says in its head that it was made and not taken from a device."""
    files = sorted(RECORDINGS.glob("*.txt"))
    assert len(files) == 4
    for path in files:
        assert "not taken from a device" in path.read_text(encoding="utf-8").splitlines()[1]


def test_before_the_first_report_the_scale_is_silent():
    """The last reading of a port that has read nothing says so."""
    with Port(lambda: GOOD) as port:
        assert port.last.state is State.SILENT
        port.read()
        assert port.last.weight == Weight.of("9.94", WeightUnit.LB)


@pytest.mark.parametrize("number", [errno.ENODEV, errno.EIO])
def test_an_error_of_the_device_is_an_unplugged_scale(number):
    """What the system says of a lost device never comes through as an exception."""
    closed = []

    def lost():
        raise OSError(number, os.strerror(number))

    with Port(lost, lambda: closed.append(1)) as port:
        assert port.read().state is State.UNPLUGGED
        assert port.read() is None
    assert closed == [1]


def test_a_damaged_report_says_what_was_wrong():
    """The sentence is that of the refusal, and the next report is read."""
    reports = iter([GOOD[:4], GOOD])
    with Port(lambda: next(reports)) as port:
        short = port.read()
        assert (short.state, short.stable, short.weight) == (State.GARBLED, False, None)
        assert "4 bytes" in short.sentence
        assert port.read().stable


@given(st.lists(st.binary(max_size=64), max_size=12))
def test_any_reports_end_in_readings(reports):
    """Whatever a device sends, iterating gives readings and ends."""
    coming = iter([*reports, b""])
    with Port(lambda: next(coming)) as port:
        readings = list(port)
    assert readings[-1].state is State.UNPLUGGED
    assert len(readings) <= len(reports) + 1


def test_a_device_file_is_read_report_by_report(tmp_path):
    """What is no plain file is a device: one read is one report, its end an unplugged scale."""
    device = tmp_path / "scale0"
    os.mkfifo(device)
    holder = os.open(device, os.O_RDWR)  # so that opening and writing wait for nobody
    try:
        with open_port(device) as port:
            os.write(holder, GOOD)
            assert port.read().weight == Weight.of("9.94", WeightUnit.LB)
            os.write(holder, GOOD[:3])
            assert port.read().state is State.GARBLED
            os.close(holder)
            holder = None
            assert port.read().state is State.UNPLUGGED
    finally:
        if holder is not None:
            os.close(holder)


@pytest.mark.parametrize("name", ["no-such-scale", "a\0b", "."])
def test_a_device_that_cannot_be_read_is_one_sentence(tmp_path, name):
    """A missing one and a bad name are refused; a folder can be opened and is no scale."""
    if name == ".":
        with open_port(tmp_path) as port:
            assert port.read().state is State.UNPLUGGED
        return
    with pytest.raises(BadValue, match="cannot be opened"):
        open_port(f"{tmp_path}/{name}")


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "first line"),
        ("0 030402ff6300\n", "first line"),
        (FIRST + "soon 03\n", "line 2"),
        (FIRST + "\n0 03 0\n", "line 3"),
        (FIRST + "0 xx\n", "line 2"),
        (FIRST + "-1 03\n", "line 2"),
        (FIRST + "9 03\n8 03\n", "line 3: the offset falls"),
        (FIRST + "0 " + "03" * 65 + "\n", "at most 64"),
        (FIRST.encode() + b"0 \xff\n", "UTF-8"),
    ],
)
def test_a_spoilt_recording_names_its_line(tmp_path, text, part):
    """No line is skipped in silence."""
    with pytest.raises(BadValue, match=part):
        read_recording(written(tmp_path / "spoilt.txt", text))


def test_remarks_blanks_and_spacing_are_free(tmp_path):
    """Hex may stand together or apart, in either case, with remarks and blank lines between."""
    path = written(tmp_path / "free.txt", FIRST + "# a\n\n0 03040CFEE203\n 7\t03 04 0c fe e2 03\n")
    first, second = read_recording(path)
    assert first.report == second.report == GOOD
    assert (first.offset_ms, second.offset_ms) == (0, 7)


@given(st.binary(max_size=200))
def test_any_file_is_a_recording_or_one_refusal(tmp_path_factory, raw):
    """No bytes in a file raise anything but BadValue."""
    path = tmp_path_factory.getbasetemp() / "any.txt"
    for text in (raw, FIRST.encode() + raw):
        try:
            recorded = read_recording(written(path, text))
        except BadValue as refusal:
            assert refusal.message
        else:
            assert all(len(one.report) <= 64 for one in recorded)
