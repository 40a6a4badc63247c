"""The built-in board: an invented supply of a tide gauge, 24 V to 5 V on four layers, written as fabrication files.

Sizes in the tables are millimetres, as a layout is thought of; they become metres where they are drawn. The input
capacitor C1 sits at the pins of the converter U1, its ground vias on the far side from them: a loop that could be
shorter. All of it is made up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.fabrication.attributes import ObjectAttributes
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.writing import Area, Drawn, Drilled, Flash, Track, drill_text, gerber_text, job_text
from geometries.quantities import MM, UM
from geometries.section.outline import Point

NAME = "tide-gauge-supply"
_WIDTH, _HEIGHT = 40.0, 28.0
_SUPPLY, _GROUND, _SWITCH, _OUTPUT, _FEEDBACK, _BOOT = "+24V", "GND", "SW", "+5V", "FB", "BOOT"

STACKUP = Stackup(
    name=NAME,
    layers=(
        CopperLayer(name="L1", thickness=43 * UM),
        DielectricLayer(name="upper prepreg", thickness=0.12 * MM, relative_permittivity=4.1),
        CopperLayer(name="L2", thickness=17 * UM),
        DielectricLayer(name="core", thickness=1.2 * MM, relative_permittivity=4.4),
        CopperLayer(name="L3", thickness=17 * UM),
        DielectricLayer(name="lower prepreg", thickness=0.12 * MM, relative_permittivity=4.1),
        CopperLayer(name="L4", thickness=43 * UM),
    ),
    note="invented",
)

_PADS = (
    ("U1", "1", "VIN", _SUPPLY, 15.0, 14.95, 1.0, 0.6),
    ("U1", "2", "GND", _GROUND, 15.0, 14.0, 1.0, 0.6),
    ("U1", "3", "SW", _SWITCH, 15.0, 13.05, 1.0, 0.6),
    ("U1", "4", "EN", _SUPPLY, 17.0, 13.05, 1.0, 0.6),
    ("U1", "5", "FB", _FEEDBACK, 17.0, 14.0, 1.0, 0.6),
    ("U1", "6", "BOOT", _BOOT, 17.0, 14.95, 1.0, 0.6),
    ("C1", "1", "", _SUPPLY, 12.8, 15.3, 1.2, 0.9),
    ("C1", "2", "", _GROUND, 12.8, 13.6, 1.2, 0.9),
    ("C2", "1", "", _SUPPLY, 9.6, 15.8, 1.6, 1.4),
    ("C2", "2", "", _GROUND, 9.6, 13.3, 1.6, 1.4),
    ("C3", "1", "", _BOOT, 18.6, 14.95, 0.8, 0.8),
    ("C3", "2", "", _SWITCH, 18.6, 13.2, 0.8, 0.8),
    ("L1", "1", "", _SWITCH, 15.2, 8.5, 2.2, 3.0),
    ("L1", "2", "", _OUTPUT, 22.0, 8.5, 2.2, 3.0),
    ("C4", "1", "", _OUTPUT, 27.0, 9.0, 1.6, 1.4),
    ("C4", "2", "", _GROUND, 27.0, 5.0, 1.6, 1.4),
    ("R1", "1", "", _OUTPUT, 24.0, 11.5, 0.8, 0.8),
    ("R1", "2", "", _FEEDBACK, 24.0, 14.0, 0.8, 0.8),
    ("R2", "1", "", _FEEDBACK, 25.8, 14.0, 0.8, 0.8),
    ("R2", "2", "", _GROUND, 25.8, 16.5, 0.8, 0.8),
)
"""Reference, pin, function, net, x, y, width, height of the pads on top [mm]."""

_AREAS = (
    (_SUPPLY, ((3, 14.6), (15.6, 14.6), (15.6, 15.4), (14.2, 15.4), (14.2, 18.5), (3, 18.5))),
    (_GROUND, ((8, 10), (13.8, 10), (13.8, 13.6), (15.6, 13.6), (15.6, 14.4), (8, 14.4))),
    (_SWITCH, ((14, 6.8), (16.4, 6.8), (16.4, 10), (15.6, 10), (15.6, 13.4), (14, 13.4))),
    (_OUTPUT, ((20.6, 6.5), (37.2, 6.5), (37.2, 10.5), (20.6, 10.5))),
    (_GROUND, ((25, 3), (31, 3), (31, 5.9), (25, 5.9))),
)
"""Net and corners of the areas on top [mm]."""

_TRACKS = (
    (_BOOT, 0.4, ((17, 14.95), (18.6, 14.95))),
    (_SWITCH, 0.5, ((18.6, 13.2), (18.6, 11), (15, 11))),
    (_SUPPLY, 0.3, ((17, 13.05), (17, 12.1))),
    (_FEEDBACK, 0.2, ((17, 14), (25.8, 14))),
    (_OUTPUT, 0.3, ((24, 11.5), (24, 10))),
    (_GROUND, 0.4, ((25.8, 16.5), (25.8, 17.5))),
)
_UNDERSIDE = (_SUPPLY, 0.3, ((17, 12.1), (17, 17.5), (13, 17.5)))
"""Net, width and corners of the tracks on top, and of the one on the underside [mm]."""

_VIAS = (
    *((_GROUND, x, y) for x in (9.6, 11.2, 12.8) for y in (10.8, 12.0)),
    (_GROUND, 26.2, 3.7), (_GROUND, 28.0, 3.7), (_GROUND, 29.8, 3.7), (_GROUND, 25.8, 17.5),
    (_SUPPLY, 13.0, 17.5), (_SUPPLY, 17.0, 12.1),
)  # fmt: skip
_VIA_DRILL, _VIA_PAD = 0.3, 0.6
_PINS = (
    ("J1", "1", _SUPPLY, 5.0, 16.5), ("J1", "2", _GROUND, 5.0, 11.5),
    ("J2", "1", _OUTPUT, 35.0, 8.5), ("J2", "2", _GROUND, 35.0, 3.5),
)  # fmt: skip
_PIN_DRILL, _PIN_PAD = 1.0, 2.0
_MOUNTING, _MOUNTING_DRILL = ((3.0, 24.5), (37.0, 24.5)), 3.2
_CLEARANCE = 0.25


def write_example_board(folder: Path) -> None:
    """Write the built-in board's files into a folder, which is made if need be.

    Raises
    ------
    FabricationError
        If the folder cannot be written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in example_files().items():
            (folder / name).write_text(text, encoding="utf-8")
    except OSError as failure:
        raise FabricationError(
            f"{folder} cannot be written to: {failure.strerror or failure}; name another"
        ) from failure


def example_files() -> Mapping[str, str]:
    """Name and content of every file of the built-in board."""
    sides = {1: "Top", 2: "Inr", 3: "Inr", 4: "Bot"}
    functions = {f"{NAME}-L{layer}.gbr": f"Copper,L{layer},{side}" for layer, side in sides.items()}
    outline = f"{NAME}-profile.gbr"
    files = {
        name: gerber_text(function, list(_layer(number)))
        for number, (name, function) in enumerate(functions.items(), start=1)
    }
    files[outline] = gerber_text("Profile,NP", [_edge()])
    plated, unplated = [hole for hole in _holes() if hole.plated], [hole for hole in _holes() if not hole.plated]
    files[f"{NAME}-plated.drl"] = drill_text(plated, len(sides))
    files[f"{NAME}-unplated.drl"] = drill_text(unplated, len(sides))
    size = (_WIDTH * MM, _HEIGHT * MM)
    files[f"{NAME}.gbrjob"] = job_text(NAME, STACKUP, {**functions, outline: "Profile,NP"}, size)
    return files


def _metres(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((x * MM, y * MM) for x, y in points)


def _edge() -> Track:
    corners: tuple[Point, ...] = ((0, 0), (_WIDTH, 0), (_WIDTH, _HEIGHT), (0, _HEIGHT), (0, 0))
    return Track(points=_metres(corners), width=0.05 * MM, known=ObjectAttributes(aperture="Profile"))


def _holes() -> Iterator[Drilled]:
    for _, x, y in _VIAS:
        yield Drilled(place=(x * MM, y * MM), diameter=_VIA_DRILL * MM)
    for _, _, _, x, y in _PINS:
        yield Drilled(place=(x * MM, y * MM), diameter=_PIN_DRILL * MM, function="ComponentDrill")
    for x, y in _MOUNTING:
        yield Drilled(place=(x * MM, y * MM), diameter=_MOUNTING_DRILL * MM, plated=False, function="ComponentDrill")


def _layer(number: int) -> Iterator[Drawn]:
    yield from _top() if number == 1 else _plane()
    if number == len(STACKUP.copper_names):
        net, width, points = _UNDERSIDE
        yield Track(points=_metres(points), width=(width + 2 * _CLEARANCE) * MM, dark=False)
        yield _track(net, width, points)
    for net, x, y in _VIAS:
        known = ObjectAttributes(net=net, aperture="ViaPad")
        yield Flash(place=(x * MM, y * MM), width=_VIA_PAD * MM, known=known)
    for reference, pin, net, x, y in _PINS:
        known = ObjectAttributes(net=net, reference=reference, pin=pin, aperture="ComponentPad")
        yield Flash(place=(x * MM, y * MM), width=_PIN_PAD * MM, known=known)


def _top() -> Iterator[Drawn]:
    for net, corners in _AREAS:
        yield Area(points=_metres(corners), known=ObjectAttributes(net=net, aperture="Conductor"))
    for net, width, points in _TRACKS:
        yield _track(net, width, points)
    for reference, pin, function, net, x, y, width, height in _PADS:
        known = ObjectAttributes(net=net, reference=reference, pin=pin, function=function, aperture="SMDPad,CuDef")
        yield Flash(place=(x * MM, y * MM), width=width * MM, height=height * MM, known=known)


def _track(net: str, width: float, points: tuple[Point, ...]) -> Track:
    known = ObjectAttributes(net=net, aperture="Conductor")
    return Track(points=_metres(points), width=width * MM, known=known)


def _plane() -> Iterator[Drawn]:
    """Ground over the whole board, cleared around holes that are on other nets."""
    edge = 0.5
    corners = ((edge, edge), (_WIDTH - edge, edge), (_WIDTH - edge, _HEIGHT - edge), (edge, _HEIGHT - edge))
    yield Area(points=_metres(corners), known=ObjectAttributes(net=_GROUND, aperture="Conductor"))
    for net, x, y in _VIAS:
        if net != _GROUND:
            yield _clearance(x, y, _VIA_PAD)
    for _, _, net, x, y in _PINS:
        if net != _GROUND:
            yield _clearance(x, y, _PIN_PAD)
    for x, y in _MOUNTING:
        yield _clearance(x, y, _MOUNTING_DRILL)


def _clearance(x: float, y: float, size: float) -> Flash:
    return Flash(place=(x * MM, y * MM), width=(size + 2 * _CLEARANCE) * MM, dark=False)
