"""Where a loop's capacitors stand: four short descriptions, each with its copper, ports, vias, parts and sections.

Seen from above the switch package ends at x = 0 and lies to the left of it; its input pins border the copper above the
x axis, its ground pins the copper below it. Right of the pins lies what is described here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, ClassVar

from geometries.board.capacitors import Capacitor, ElectrodeBody, LumpedEsl, SwitchPackage
from geometries.board.parts import Via
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError
from geometries.quantities import MM, Quantity, write_quantity
from geometries.section.loops import Loop, NextLayerLoop, Plane, SameLayerLoop

LEAST_LANDING = 0.1 * MM
"""A terminal overlaps its copper by at least so much, or it cannot be soldered (common practice)."""


class Orientation(StrEnum):
    """How a capacitor lies: ``normal`` across the gap of the pins, ``rotated`` pointing away from them.

    Examples
    --------
    >>> from geometries import Orientation
    >>> Orientation("rotated").name
    'ROTATED'
    """

    NORMAL = "normal"
    ROTATED = "rotated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """What all placements share.

    Parameters
    ----------
    copper_width : float
        Width of the input copper and of the ground copper, along the package's edge [m]; the pins are as wide.
    gap : float
        Clearance between the two [m].
    distance : float
        From the pins to the capacitor, or to the vias that lead to it [m].
    capacitors : tuple of Capacitor
        In the order of their distance.
    package : SwitchPackage
        A line of its own in the loop.
    via : Via
        Every via of the placement.
    via_count : int
        Vias per net and place; see the kinds.

    Raises
    ------
    GeometryError
        If a part does not fit.
    """

    copper_width: float
    gap: float
    distance: float
    capacitors: tuple[Capacitor, ...]
    package: SwitchPackage
    via: Via
    via_count: int = 0

    LENGTHS: ClassVar[tuple[str, ...]] = ("distance", "copper_width", "gap")
    """Dimensions that can be varied."""

    SIDES: ClassVar[int] = 1
    """Loops alike that share the current; the section is one of them."""

    def __post_init__(self) -> None:
        for name in self.LENGTHS:
            value = getattr(self, name)
            if not (value > 0 and math.isfinite(value)):
                raise GeometryError(f"{name} of the placement is {value / MM:g} mm; it must be above zero")
        if not self.capacitors:
            raise GeometryError("the placement has no capacitor; add a [[capacitor]] table")
        if self.via_count < 0:
            raise GeometryError(f"via_count is {self.via_count}; it must be 0 or above")
        self._require_fit()

    def _require_fit(self) -> None:
        for capacitor in self.capacitors:
            require_across(capacitor, self.gap, self.copper_width)

    @property
    def reach_of_switches(self) -> float:
        """How far the switches' current passes from pin to pin [m].

        Half way between the inner edges of the pins, where it crowds, and their middles.
        """
        return self.gap + self.copper_width / 2

    def loop(self, first: str, below: str) -> Loop:
        """The loop's section along its copper, on the package's layer and, if it returns there, the layer below."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True, kw_only=True)
class SameSide(Placement):
    """Beside the package on its own side of the board, one capacitor behind the other.

    ``via_count`` vias along the ground copper tie it to a plane at both ends; rotated, the first terminal is the
    input's and the ground copper reaches round to the second.

    Parameters
    ----------
    orientation : Orientation
        Of all capacitors; a rotated one stands alone.
    spacing : float
        Between the bodies of two capacitors [m].

    Examples
    --------
    >>> from geometries import MM, Capacitor, LumpedEsl, SameSide, capacitor_case, switch_package, via_type
    >>> capacitor = Capacitor(
    ...     case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=LumpedEsl(inductance=0.35e-9)
    ... )
    >>> placement = SameSide(
    ...     copper_width=1.6 * MM,
    ...     gap=0.6 * MM,
    ...     distance=0.6 * MM,
    ...     capacitors=(capacitor,),
    ...     package=switch_package("flip-chip"),
    ...     via=via_type("standard"),
    ... )
    >>> round(placement.loop("L1", "L2").length * 1e3, 3)
    1.0
    """

    orientation: Orientation = Orientation.NORMAL
    spacing: float = 0.3 * MM

    LENGTHS: ClassVar[tuple[str, ...]] = ("distance", "copper_width", "gap", "spacing")

    def _require_fit(self) -> None:
        if self.orientation is Orientation.NORMAL:
            for capacitor in self.capacitors:
                require_across(capacitor, self.gap, self.copper_width)
            return
        if len(self.capacitors) > 1:
            raise GeometryError(
                f"{len(self.capacitors)} rotated capacitors in one placement; describe one, or turn them to normal"
            )
        require_along(self.capacitors[0], self.copper_width)

    @property
    def starts(self) -> tuple[float, ...]:
        """Where each body begins [m]."""
        places, x = [], self.distance
        for capacitor in self.capacitors:
            places.append(x)
            x += capacitor.case.width + self.spacing
        return tuple(places)

    def loop(self, first: str, below: str) -> Loop:
        """Go and return side by side, as far as the middle of the capacitors or the far terminal of a rotated one."""
        if self.orientation is Orientation.ROTATED:
            length = self.distance + self.capacitors[0].case.length
        else:
            middles = [x + each.case.width / 2 for x, each in zip(self.starts, self.capacitors, strict=True)]
            length = sum(middles) / len(middles)
        return side_by_side(self, length, first)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnBelow(Placement):
    """Rotated, and the current comes back in the plane below: ``via_count`` vias at either end lead to it.

    Parameters
    ----------
    copper_width, gap, distance, capacitors, package, via, via_count
        As for every placement; one capacitor, at least one via.

    Examples
    --------
    >>> from geometries import MM, Capacitor, LumpedEsl, ReturnBelow, capacitor_case, switch_package, via_type
    >>> capacitor = Capacitor(
    ...     case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=LumpedEsl(inductance=0.35e-9)
    ... )
    >>> placement = ReturnBelow(
    ...     distance=0.6 * MM,
    ...     copper_width=1.6 * MM,
    ...     gap=0.6 * MM,
    ...     package=switch_package("flip-chip"),
    ...     capacitors=(capacitor,),
    ...     via=via_type("standard"),
    ...     via_count=2,
    ... )
    >>> placement.loop("L1", "L2").return_layer
    'L2'
    """

    def _require_fit(self) -> None:
        if len(self.capacitors) != 1:
            raise GeometryError(f"a placement with its return below holds one capacitor, not {len(self.capacitors)}")
        require_along(self.capacitors[0], self.copper_width)
        require_vias(self, least=1)

    def loop(self, first: str, below: str) -> Loop:
        """Return copper on the next layer, as far as the vias behind the capacitor; the plane takes its place."""
        return NextLayerLoop(
            width=self.copper_width,
            return_width=self.copper_width,
            length=self.distance + self.capacitors[0].case.length,
            layer=first,
            return_layer=below,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FarSide(Placement):
    """On the far side of the board under the package; ``via_count`` vias per net lead there.

    Parameters
    ----------
    via_distance : float
        From the vias' pads to the nearest capacitor on the far side [m].
    spacing : float
        Between the bodies of two capacitors [m].

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> variants = read_builtin_scenario("greenhouse-vent").variants
    >>> placement = variants[2].placed.placement
    >>> type(placement).__name__, placement.via_count, round(placement.far_length * 1e3, 3)
    ('FarSide', 2, 0.9)
    """

    via_distance: float = 0.2 * MM
    spacing: float = 0.3 * MM

    LENGTHS: ClassVar[tuple[str, ...]] = ("distance", "copper_width", "gap", "via_distance", "spacing")

    def _require_fit(self) -> None:
        for capacitor in self.capacitors:
            require_across(capacitor, self.gap, self.copper_width)
        require_vias(self, least=1)

    @property
    def via_x(self) -> float:
        """Where the vias stand [m]."""
        return self.distance + self.via.pad / 2

    @property
    def starts(self) -> tuple[float, ...]:
        """Where the body of each capacitor begins, left of the vias [m]."""
        places, x = [], self.via_x - self.via.pad / 2 - self.via_distance
        for capacitor in self.capacitors:
            places.append(x - capacitor.case.width)
            x -= capacitor.case.width + self.spacing
        return tuple(places)

    def loop(self, first: str, below: str) -> Loop:
        """The lands of the pins, as far as the vias."""
        return side_by_side(self, self.via_x, first)

    @property
    def far_length(self) -> float:
        """From the vias to the middle of the capacitors on the far side [m]."""
        middles = [x + each.case.width / 2 for x, each in zip(self.starts, self.capacitors, strict=True)]
        return self.via_x - sum(middles) / len(middles)


@dataclass(frozen=True, slots=True, kw_only=True)
class MirroredPair(Placement):
    """Two alike, one on each side of a package with pins on both sides, mirrored about its middle.

    Parameters
    ----------
    part_width : float
        Of the package, from pins to pins [m].

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> variants = read_builtin_scenario("greenhouse-vent").variants
    >>> placement = variants[3].placed.placement
    >>> type(placement).__name__, len(placement.capacitors), placement.part_width
    ('MirroredPair', 2, 0.003)
    """

    part_width: float

    LENGTHS: ClassVar[tuple[str, ...]] = ("distance", "copper_width", "gap", "part_width")
    SIDES: ClassVar[int] = 2

    def _require_fit(self) -> None:
        if len(self.capacitors) != 2:
            raise GeometryError(
                f"a mirrored pair has two capacitors, not {len(self.capacitors)}; one [[capacitor]] table stands for "
                "both"
            )
        for capacitor in self.capacitors:
            require_across(capacitor, self.gap, self.copper_width)

    def loop(self, first: str, below: str) -> Loop:
        """One of the two sides, at half its length: two alike in parallel have half of each."""
        return side_by_side(self, (self.distance + self.capacitors[0].case.width / 2) / 2, first)


def side_by_side(placement: Placement, length: float, layer: str) -> SameLayerLoop:
    """Section of the input copper beside the ground copper."""
    width = placement.copper_width
    return SameLayerLoop(width=width, return_width=width, gap=placement.gap, length=length, layer=layer)


def require_across(capacitor: Capacitor, gap: float, copper_width: float) -> None:
    """Refuse a capacitor that does not span its gap, or is longer than the copper on both sides of it."""
    case = capacitor.case
    if case.length < gap + 2 * LEAST_LANDING:
        raise GeometryError(
            f"capacitor {case.eia_code} is {_mm(case.length)} long and does not span the gap of {_mm(gap)}: each "
            f"terminal needs {_mm(LEAST_LANDING)} of copper; narrow the gap to {_mm(case.length - 2 * LEAST_LANDING)} "
            "or take a longer case"
        )
    room = gap + 2 * copper_width
    if case.length > room:
        raise GeometryError(
            f"capacitor {case.eia_code} is {_mm(case.length)} long, too large for its place: gap and the copper on "
            f"both sides of it measure {_mm(room)}; widen the copper or take a smaller case"
        )


def require_along(capacitor: Capacitor, copper_width: float) -> None:
    """Refuse a rotated capacitor that is wider than its copper."""
    case = capacitor.case
    if case.width > copper_width:
        raise GeometryError(
            f"capacitor {case.eia_code} is {_mm(case.width)} wide, too large for copper {_mm(copper_width)} wide; "
            "widen the copper or take a smaller case"
        )


def require_vias(placement: Placement, *, least: int) -> None:
    """Refuse too few vias, or more than fit side by side into the copper's width."""
    via, count = placement.via, placement.via_count
    if count < least:
        raise GeometryError(f"via_count is {count}; this placement needs at least {least} via per net and place")
    if count * via.pad > placement.copper_width:
        raise GeometryError(
            f"{count} vias with pads of {_mm(via.pad)} do not fit side by side into copper "
            f"{_mm(placement.copper_width)} wide; take fewer, smaller ones or wider copper"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The board under a placement: its stackup and the ground layers that are present, from the top.

    Parameters
    ----------
    stackup : Stackup
        Its layers.
    planes : tuple of Plane
        From the top.

    Examples
    --------
    >>> from geometries import Site, named_stackup
    >>> site = Site(stackup=named_stackup("4L-7628"))
    >>> site.first, site.last, site.carries_return
    ('L1', 'L4', False)
    """

    stackup: Stackup
    planes: tuple[Plane, ...] = ()

    @property
    def first(self) -> str:
        """Layer of the package."""
        return self.stackup.copper_names[0]

    @property
    def last(self) -> str:
        """Layer of the far side."""
        return self.stackup.copper_names[-1]

    @property
    def carries_return(self) -> bool:
        """Whether the uppermost ground layer is tied to the loop's ground at both ends."""
        return bool(self.planes) and self.planes[0].tie.carries_return


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLoop:
    """A placement on its board.

    Parameters
    ----------
    placement : Placement
        Where the capacitors stand.
    site : Site
        The board under them.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> variants = read_builtin_scenario("greenhouse-vent").variants
    >>> variants[0].placed.loop.layer, variants[0].placed.has_bodies
    ('L1', True)
    """

    placement: Placement
    site: Site

    def __post_init__(self) -> None:
        placement, site = self.placement, self.site
        if isinstance(placement, ReturnBelow) and not site.carries_return:
            raise GeometryError(
                "a placement with its return below needs a ground layer tied at both ends, for example "
                'planes.L2 = { tie = "both ends", width = "40 mm" }'
            )
        if isinstance(placement, FarSide) and len(site.stackup.copper_names) < 2:
            raise GeometryError(f"stackup {site.stackup.name!r} has one copper layer and no far side")
        if isinstance(placement, SameSide | MirroredPair):
            if site.carries_return and placement.via_count < 2:
                raise GeometryError(
                    f"plane {site.planes[0].layer!r} is tied at both ends, but the placement has "
                    f"{placement.via_count} vias to it; give via_count of at least 2, or tie the plane at one end"
                )
            if not site.carries_return and placement.via_count:
                raise GeometryError(
                    f"the placement has {placement.via_count} vias along its ground copper, but no plane tied at "
                    "both ends for them to reach; set via_count = 0, or tie the plane at both ends"
                )

    @property
    def loop(self) -> Loop:
        """The loop's section on the layers of the board."""
        below = self.site.planes[0].layer if self.site.planes else self.site.last
        return self.placement.loop(self.site.first, below)

    @property
    def lumped(self) -> PlacedLoop:
        """The same with every body as a port: what remains when a capacitor is nothing."""
        bare = tuple(replace(each, body=LumpedEsl(inductance=_NOTHING)) for each in self.placement.capacitors)
        return replace(self, placement=replace(self.placement, capacitors=bare))

    @property
    def has_bodies(self) -> bool:
        """Whether a capacitor's body is a conductor of the plan view."""
        return any(isinstance(each.body, ElectrodeBody) for each in self.placement.capacitors)


_NOTHING = 1e-15
"""Inductance of a body that is only a port [H]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A length that can be changed: its key in the scenario file and its value [m]."""

    name: str
    value: float


ELECTRODE_HEIGHT = "electrode_height"
"""Name of the dimension that is no length of the placement's copper: of the capacitors' lowest electrode [m]."""


def dimensions(placed: PlacedLoop) -> tuple[Dimension, ...]:
    """Lengths of a placement and its board on which its inductance depends."""
    placement = placed.placement
    names = [name for name in placement.LENGTHS if name != "spacing" or len(placement.capacitors) > 1]
    found = [Dimension(name=name, value=getattr(placement, name)) for name in names]
    heights = {each.body.height for each in placement.capacitors if isinstance(each.body, ElectrodeBody)}
    found += [Dimension(name=ELECTRODE_HEIGHT, value=height) for height in sorted(heights)[:1]]
    gaps = _dielectrics(placed)
    return (*found, *(Dimension(name=layer.name, value=layer.thickness) for layer in gaps))


def with_dimension(placed: PlacedLoop, name: str, value: float) -> PlacedLoop:
    """The same with one dimension changed; raise GeometryError if nothing is called `name` or a part no longer fits."""
    placement = placed.placement
    if name in {field.name for field in fields(placement)}:
        changed: dict[str, Any] = {name: value}
        return replace(placed, placement=replace(placement, **changed))
    if name == ELECTRODE_HEIGHT:
        bodies = tuple(
            replace(each, body=ElectrodeBody(height=value)) if isinstance(each.body, ElectrodeBody) else each
            for each in placement.capacitors
        )
        return replace(placed, placement=replace(placement, capacitors=bodies))
    if name not in {layer.name for layer in placed.site.stackup.layers}:
        raise GeometryError(f"no dimension {name!r} of the placement or its board")
    layers = tuple(
        replace(layer, thickness=value) if layer.name == name else layer for layer in placed.site.stackup.layers
    )
    return replace(placed, site=replace(placed.site, stackup=replace(placed.site.stackup, layers=layers)))


def _dielectrics(placed: PlacedLoop) -> list[DielectricLayer]:
    """Dielectrics whose thickness counts: down to the first plane, or through the whole board for a far side."""
    stackup, found = placed.site.stackup, []
    stop = placed.site.planes[0].layer if placed.site.planes else ""
    if isinstance(placed.placement, FarSide):
        stop = placed.site.last
    if not stop:
        return []
    below_first = False
    for layer in stackup.layers:
        if isinstance(layer, CopperLayer):
            if layer.name == stop:
                break
            below_first = True
        elif below_first:
            found.append(layer)
    return found


def _mm(value: float) -> str:
    return write_quantity(value, Quantity.LENGTH)
