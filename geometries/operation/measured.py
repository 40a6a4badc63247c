"""The `[measurement]` table of a scenario, and its files: impedance from Touchstone, spectrum from CSV."""

from __future__ import annotations

import io
import re
import warnings
from itertools import pairwise
from pathlib import Path

import numpy

from geometries.errors import GeometryError, ScenarioError, shown
from geometries.operation.comma_tables import read_comma_table, read_level
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum
from geometries.quantities import Quantity, read_quantity
from geometries.quantity_text import plain_number
from geometries.text_files import read_text_file, shown_path

_ONE_PORT = re.compile(r".*\.(?:s1p|ts)", re.IGNORECASE)
_SEVERAL_PORTS = re.compile(r".*\.s([0-9]+)p", re.IGNORECASE)
_OPTIONS = re.compile(
    r"#\s*(?:(?:[kmg]?hz|[syz]|ma|db|ri)\s+)*(?:r\s+(?P<reference>\S+)\s*)?(?:(?:[kmg]?hz|[syz]|ma|db|ri)\s*)*",
    re.IGNORECASE,
)
_HIGHEST = 1e13
_LARGEST_IMPEDANCE = 1e9
"""Of a measurement against 50 ohm anything above is an open circuit [ohm]."""

_EXAMPLE = "its first line that is no remark reads, for example, # MHZ S RI R 50"


def read_impedance(path: Path) -> MeasuredImpedance:
    """Read the impedance of one port from a Touchstone file.

    Parameters
    ----------
    path : Path
        A file of one port, ``.s1p`` or ``.ts``, version 1 or 2, with S, Z or Y parameters.

    Returns
    -------
    MeasuredImpedance

    Raises
    ------
    ScenarioError
        If the file cannot be read, has several ports, or holds values that are no impedance.
    """
    place = shown_path(path)
    _require_one_port(path.name, place)
    text = read_text_file(path, "Touchstone file")
    _require_touchstone(text, place)
    frequencies, impedances = _parse_touchstone(text, path.name, place)
    if not frequencies:
        raise ScenarioError(f"{place}: holds no line of values; save the measurement again")
    if not frequencies[0] > 0 or not all(0 < low < high for low, high in pairwise(frequencies)):
        raise ScenarioError(f"{place}: the frequencies must be above zero and rise from line to line")
    if not frequencies[-1] <= _HIGHEST:
        raise ScenarioError(f"{place}: the frequencies reach {frequencies[-1]:.3g} Hz; check the unit in its # line")
    if not all(abs(each) <= _LARGEST_IMPEDANCE for each in impedances):
        raise ScenarioError(f"{place}: holds an open circuit or values that are no numbers; leave those lines out")
    return MeasuredImpedance(name=path.name, frequencies=tuple(frequencies), impedances=tuple(impedances))


def _require_one_port(name: str, place: str) -> None:
    several = _SEVERAL_PORTS.fullmatch(name)
    if several and several.group(1) != "1":
        ports = several.group(1)[:9]
        raise ScenarioError(f"{place}: has {ports} ports by its name; the impedance of a loop is measured at one: .s1p")
    if not _ONE_PORT.fullmatch(name):
        raise ScenarioError(f"{place}: cannot be read as a Touchstone file by its name; call it .s1p, or .ts")


def _require_touchstone(text: str, place: str) -> None:
    """Check every line before the reader of a library sees the file; nothing of it is quoted."""
    information = False
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.partition("!")[0].strip()
        if content.startswith("["):
            information = content.lower().startswith("[begin information")
            _require_keyword(content.lower(), f"{place}: line {number}")
        elif content.startswith("#"):
            _require_options(content, f"{place}: line {number}")
        elif content and not information:
            _require_values(content.split(), f"{place}: line {number}")


def _require_keyword(content: str, place: str) -> None:
    keyword, _, value = content.partition("]")
    ports = keyword == "[number of ports"
    if ports and value.strip() != "1":
        raise ScenarioError(f"{place}: the file has several ports, or none; the impedance of a loop is measured at one")
    if keyword == "[reference" and (plain_number(value.strip()) or 0.0) <= 0:
        raise ScenarioError(f"{place}: has no reference resistance; write, for example, [Reference] 50")
    if keyword in {"[mixed-mode order", "[noise data"}:
        raise ScenarioError(f"{place}: only network data of one port is read; leave the keyword out")


def _require_options(content: str, place: str) -> None:
    options = _OPTIONS.fullmatch(content)
    reference = options and options.group("reference")
    if options is None or (reference and not (plain_number(reference) or 0.0) > 0):
        raise ScenarioError(f"{place}: cannot be read as the options of a Touchstone file; {_EXAMPLE}")


def _require_values(entries: list[str], place: str) -> None:
    numbers = [plain_number(entry) for entry in entries]
    if len(numbers) != 3 or not all(number is not None and abs(number) <= _HIGHEST for number in numbers):
        raise ScenarioError(
            f"{place}: cannot be read as a Touchstone file of one port; write a frequency and two numbers on every line"
        )


def _parse_touchstone(text: str, name: str, place: str) -> tuple[list[float], list[complex]]:
    """Frequencies [Hz] and impedances [ohm]."""
    import skrf  # half a second, which a scenario without such a file need not wait for

    file = io.StringIO(text)
    file.name = name.lower()  # the reader takes the kind of file from it
    try:
        network = skrf.Network()
        with warnings.catch_warnings(), numpy.errstate(all="ignore"):
            warnings.simplefilter("ignore")  # what it warns of is refused
            network.read_touchstone(file)
            return network.f.tolist(), network.z[:, 0, 0].tolist()
    except (
        ArithmeticError,
        AttributeError,
        EOFError,
        LookupError,
        NotImplementedError,
        TypeError,
        ValueError,
    ) as error:
        raise ScenarioError(f"{place}: cannot be read as a Touchstone file; {_EXAMPLE}") from error


def read_spectrum(path: Path) -> MeasuredSpectrum:
    """Read a spectrum from a CSV file.

    Parameters
    ----------
    path : Path
        Headings ``frequency,level``, then for instance ``120 MHz,34.5``: a frequency with its unit and a level in
        dBµV/m.

    Returns
    -------
    MeasuredSpectrum
        In ascending order of frequency.

    Raises
    ------
    ScenarioError
        If the file cannot be read or a line does not hold the two; the message names file and line.
    """
    rows = [_read_line(place, cells) for place, cells in read_comma_table(path, ("frequency", "level"), what="levels")]
    frequencies, levels = zip(*sorted(rows), strict=True)
    return MeasuredSpectrum(name=path.name, frequencies=frequencies, levels=levels)


def _read_line(place: str, cells: dict[str, str]) -> tuple[float, float]:
    try:
        frequency = read_quantity(cells["frequency"], Quantity.FREQUENCY, "frequency")
    except GeometryError as error:
        raise ScenarioError(f"{place}: {error}") from error
    level = read_level(cells["level"], place)
    if not frequency > 0:
        raise ScenarioError(f"{place}: {shown(cells['frequency'])}: no level at a frequency above zero")
    return frequency, level
