"""Write copper, holes and construction as fabrication files: Gerber X2, XNC drill, Gerber job file.

It is how the built-in board is made, and how tests make boards. Ucamco, *The Gerber Layer Format Specification*,
revision 2024.05, and *The XNC Format Specification*, revision 2021.11 (from memory).
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.fabrication.attributes import ObjectAttributes
from geometries.quantities import MM, NANO
from geometries.section.outline import Point

_NO_ATTRIBUTES = ObjectAttributes()


@dataclass(frozen=True, slots=True, kw_only=True)
class Flash:
    """A pad: round if `height` is zero, else a rectangle; `width`, `height` [m]. Not dark, it clears."""

    place: Point
    width: float
    height: float = 0.0
    known: ObjectAttributes = _NO_ATTRIBUTES
    dark: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A line of a round pen of `width` through `points` [m]. Not dark, it clears."""

    points: tuple[Point, ...]
    width: float
    known: ObjectAttributes = _NO_ATTRIBUTES
    dark: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A filled outline through `points` [m]."""

    points: tuple[Point, ...]
    known: ObjectAttributes = _NO_ATTRIBUTES


Drawn = Flash | Track | Area


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """A round hole of `diameter` [m]; what it is for, as the aperture function says."""

    place: Point
    diameter: float
    plated: bool = True
    function: str = "ViaDrill"


def gerber_text(function: str, drawn: Sequence[Drawn]) -> str:
    """A Gerber file of one layer in millimetres with six decimals."""
    apertures = _apertures(drawn)
    head = [f"%TF.FileFunction,{function}*%", "%TF.FilePolarity,Positive*%", "%FSLAX46Y46*%", "%MOMM*%"]
    defined = [line for key, number in apertures.items() for line in _definition(key, number)]
    body = [line for item in drawn for line in _written(item, apertures)]
    return "\n".join([*head, *defined, "G75*", "G01*", *body, "M02*", ""])


_Key = tuple[str, float, float]


def _key(item: Flash | Track) -> _Key:
    return item.known.aperture, item.width, item.height if isinstance(item, Flash) else 0.0


def _apertures(drawn: Sequence[Drawn]) -> Mapping[_Key, int]:
    keys = dict.fromkeys(_key(item) for item in drawn if not isinstance(item, Area))
    return {key: number for number, key in enumerate(keys, start=10)}


def _definition(key: _Key, number: int) -> Iterator[str]:
    function, width, height = key
    if function:
        yield f"%TA.AperFunction,{function}*%"
    sizes = f"R,{width / MM:.6f}X{height / MM:.6f}" if height else f"C,{width / MM:.6f}"
    yield f"%ADD{number}{sizes}*%"
    if function:
        yield "%TD*%"


def _written(item: Drawn, apertures: Mapping[_Key, int]) -> Iterator[str]:
    yield from _object_attributes(item.known)
    if isinstance(item, Area):
        yield from ("G36*", f"{_place(item.points[0])}D02*")
        yield from (f"{_place(point)}D01*" for point in (*item.points[1:], item.points[0]))
        yield "G37*"
    else:
        yield from ("%LPD*%" if item.dark else "%LPC*%", f"D{apertures[_key(item)]}*")
        yield from _strokes(item)
    yield from ("%LPD*%", "%TD*%")


def _strokes(item: Flash | Track) -> Iterator[str]:
    if isinstance(item, Flash):
        yield f"{_place(item.place)}D03*"
        return
    yield f"{_place(item.points[0])}D02*"
    yield from (f"{_place(point)}D01*" for point in item.points[1:])


def _object_attributes(known: ObjectAttributes) -> Iterator[str]:
    if known.pin:
        yield f"%TO.P,{known.reference},{known.pin}{',' + known.function if known.function else ''}*%"
    if known.net:
        yield f"%TO.N,{known.net}*%"


def _place(point: Point) -> str:
    """Coordinates with six decimals of a millimetre, which is a nanometre."""
    return f"X{round(point[0] / NANO)}Y{round(point[1] / NANO)}"


def drill_text(holes: Sequence[Drilled], copper_layers: int) -> str:
    """An XNC file of one kind of holes, plated or not, in millimetres."""
    plated = holes[0].plated
    words = "Plated,1,{},PTH" if plated else "NonPlated,1,{},NPTH"
    tools = {
        key: number for number, key in enumerate(dict.fromkeys((hole.diameter, hole.function) for hole in holes), 1)
    }
    lines = ["M48", f"; #@! TF.FileFunction,{words.format(copper_layers)}", "METRIC"]
    for (diameter, function), number in tools.items():
        start = "Plated,PTH" if plated else "NonPlated,NPTH"
        lines += [f"; #@! TA.AperFunction,{start},{function}", f"T{number}C{diameter / MM:.3f}"]
    lines += ["%", "G05"]
    for (diameter, function), number in tools.items():
        lines.append(f"T{number}")
        spots = [hole.place for hole in holes if (hole.diameter, hole.function) == (diameter, function)]
        lines += [f"X{x / MM:.4f}Y{y / MM:.4f}" for x, y in spots]
    return "\n".join([*lines, "M30", ""])


def job_text(name: str, stackup: Stackup, files: Mapping[str, str], size: Point) -> str:
    """A Gerber job file: every file's function, the board's size [m] and its construction."""
    general = {
        "ProjectId": {"Name": name},
        "Size": {"X": round(size[0] / MM, 4), "Y": round(size[1] / MM, 4)},
        "LayerNumber": len(stackup.copper_names),
        "BoardThickness": round(stackup.thickness / MM, 4),
    }
    return json.dumps(
        {
            "GeneralSpecs": general,
            "FilesAttributes": [{"Path": path, "FileFunction": function} for path, function in files.items()],
            "MaterialStackup": [_construction(layer) for layer in stackup.layers],
        },
        indent=2,
    )


def _construction(layer: CopperLayer | DielectricLayer) -> dict[str, object]:
    common = {"Name": layer.name, "Thickness": round(layer.thickness / MM, 6)}
    if isinstance(layer, CopperLayer):
        return {"Type": "Copper", **common}
    return {"Type": "Dielectric", **common, "DielectricConstant": f"{layer.relative_permittivity:g}"}
