"""What a what-if page draws: outlines in section and from above as they are today, and how they move with every key."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from shapely import get_coordinates

from geometries.layout.ground_layers import RealPlanes
from geometries.layout.laid_out import bare_copper
from geometries.layout.layout import EdgeTerminal, PlanLayout, Wall
from geometries.layout.part_bodies import FAR_END
from geometries.layout.placement_copper import INPUT_END, placement_plan
from geometries.layout.real_planes import real_planes
from geometries.quantities import MM
from geometries.section.section import Role
from geometries.study.explore import Exploration, ExploredVariant, Values
from geometries.study.scenario import Scenario, Variant, whole_section

_DIGITS = 4
"""Of a corner [mm]: a tenth of a micrometre."""

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """An outline or a line [m], of what kind it is, and what it is called; of a via its centre and a point on it."""

    kind: str
    name: str
    corners: Points


def moving_shapes(asked: Exploration, variant: ExploredVariant) -> dict[str, Any]:
    """Section and plan of a variant today, and how every corner moves with every key, in straight lines [mm].

    A key that changes how many pieces there are is named as still: it moves nothing of the picture.
    """
    return {
        "section": _moving(asked, variant, section_shapes),
        "plan": _moving(asked, variant, plan_shapes),
    }


def _moving(
    asked: Exploration, variant: ExploredVariant, shapes_of: Callable[[Variant], tuple[Shape, ...]]
) -> dict[str, Any]:
    def at(values: Values) -> tuple[Shape, ...]:
        scenario: Scenario = asked.scenario_at(variant, values)
        return shapes_of(scenario.variants[0])

    today = at(variant.today)
    ends = [
        (at(_with(variant.today, number, axis.low)), at(_with(variant.today, number, axis.high)))
        for number, axis in enumerate(asked.axes)
    ]
    still = [number for number, pair in enumerate(ends) if any(_pieces(each) != _pieces(today) for each in pair)]
    moves: list[list[list[list[float]]]] = [
        [[] for _ in today] if number in still else _speeds(low, high, axis.high - axis.low)
        for number, (axis, (low, high)) in enumerate(zip(asked.axes, ends, strict=True))
    ]
    return {
        "shapes": [
            {
                "kind": shape.kind,
                "name": shape.name,
                "corners": [[round(x / MM, _DIGITS), round(y / MM, _DIGITS)] for x, y in shape.corners],
                "moves": [moved[number] for moved in moves],
            }
            for number, shape in enumerate(today)
        ],
        "still": still,
    }


def _with(values: Values, number: int, value: float) -> Values:
    return (*values[:number], value, *values[number + 1 :])


def _pieces(shapes: tuple[Shape, ...]) -> list[tuple[str, str, int]]:
    return [(shape.kind, shape.name, len(shape.corners)) for shape in shapes]


def _speeds(low: tuple[Shape, ...], high: tuple[Shape, ...], span: float) -> list[list[list[float]]]:
    """How every corner of every shape moves; nothing for a shape that rests."""
    return [
        []
        if one.corners == other.corners
        else [
            [(b[0] - a[0]) / span / MM, (b[1] - a[1]) / span / MM]
            for a, b in zip(one.corners, other.corners, strict=True)
        ]
        for one, other in zip(low, high, strict=True)
    ]


def section_shapes(variant: Variant) -> tuple[Shape, ...]:
    """Conductors in section; of a layout nothing."""
    section = whole_section(variant)
    return tuple(
        Shape(kind=each.role.value, name=each.name, corners=_corners(get_coordinates(each.outline.shape)))
        for each in (() if section is None else section.regions)
    )


def plan_shapes(variant: Variant) -> tuple[Shape, ...]:
    """Copper, lands, vias, bodies and ground layers with a length; of a section without a plan its conductors."""
    if variant.placed is not None:
        plan = placement_plan(variant.name, variant.placed)
        parts = tuple(Shape(kind="body", name=each.name, corners=each.outline.vertices) for each in plan.parts)
        far = () if plan.far is None else tuple(_layout(plan.far, "far"))
        return (*_ground(real_planes(variant.name, variant.placed)), *far, *_layout(plan.near, "near"), *parts)
    if variant.laid_out is not None:
        return tuple(_layout(variant.laid_out.layout, "near"))
    if variant.plan is not None:
        return (*_ground(variant.plan.real), *_layout(variant.plan.near, "near"))
    length, section = variant.length, whole_section(variant)
    return tuple(
        Shape(kind=each.role.value, name=each.name, corners=((0, left), (length, left), (length, right), (0, right)))
        for each in (() if section is None else section.regions)
        if each.role in (Role.GO, Role.RETURN)
        for left, _, right, _ in [each.outline.bounds]
    )


def _ground(planes: RealPlanes | None) -> Iterator[Shape]:
    """Ground layers that have a length, each with its voids."""
    for sheet in () if planes is None else planes.ground:
        yield Shape(kind="layer", name=sheet.name, corners=sheet.outline.vertices)
        yield from (Shape(kind="void", name=sheet.name, corners=hole.vertices) for hole in sheet.holes)


def _layout(layout: PlanLayout, kind: str) -> Iterator[Shape]:
    """Copper from the lowest to the highest, which alone is of this kind, each with its voids; then lands and vias."""
    copper = sorted(bare_copper(layout), key=lambda each: each.height)
    for sheet in copper:
        yield Shape(
            kind=kind if sheet.height == copper[-1].height else "far", name=sheet.name, corners=sheet.outline.vertices
        )
        yield from (Shape(kind="void", name=sheet.name, corners=hole.vertices) for hole in sheet.holes)
    for port in layout.cut_ports:
        for end in port.terminals():
            corners = (end.start, end.end) if isinstance(end, EdgeTerminal) else end.outline.vertices
            name = port.name.removesuffix(FAR_END).removesuffix(INPUT_END)
            yield Shape(kind="land", name=name, corners=corners)
    for via in layout.vias:
        if isinstance(via, Wall):
            yield Shape(kind="wall", name=via.name, corners=(via.start, via.end))
            continue
        (x, y), radius = via.centre, via.radius
        yield Shape(kind="via", name=via.name, corners=((x, y), (x + radius, y)))


def _corners(coordinates: Any) -> Points:
    return tuple((float(x), float(y)) for x, y in coordinates)
