"""A cross-section: named conductor regions, what each of them is for, and the loops they carry.

In the section view x runs across the board, y up out of the board, the current along z. In the axisymmetric view a
half-plane is turned about an axis: x is the distance r from the axis, y runs along it, and the current goes round. A
section is either built from a stackup and a loop (:mod:`geometries.section.loops`, :mod:`geometries.section.rings`)
or user-defined, region by region.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from shapely.geometry.base import BaseGeometry

from geometries.board.materials import COPPER, Conductor
from geometries.errors import GeometryError, require_unique
from geometries.section.outline import Outline, Polygon, Rectangle

AIR = "air"
"""Name of everything between the conductors."""

MAIN_SEGMENT = "main section"
"""Name of the stretch that a variant's own section describes."""

WIDEST = 100.0
"""No section is wider or higher than this [m]."""


class View(StrEnum):
    """How a section stands for a body: drawn out along z, or turned about the axis x = 0.

    Examples
    --------
    >>> from geometries import View
    >>> View("axisymmetric").name
    'AXISYMMETRIC'
    """

    SECTION = "section"
    AXISYMMETRIC = "axisymmetric"


class Role(StrEnum):
    """What a conductor does in the section.

    Examples
    --------
    >>> from geometries import Role
    >>> [role.value for role in Role]
    ['go', 'return', 'floating', 'victim']
    """

    GO = "go"
    RETURN = "return"
    FLOATING = "floating"
    VICTIM = "victim"


class Tie(StrEnum):
    """At which ends of the loop vias tie a plane to its return.

    A plane that is tied nowhere is a study: a converter's ground carries the load current and is tied somewhere.

    Examples
    --------
    >>> from geometries import Tie
    >>> [tie.value for tie in Tie]
    ['absent', 'none', 'capacitor end', 'switch end', 'both ends']
    >>> Tie("switch end").carries_return
    False
    """

    ABSENT = "absent"
    NONE = "none"
    CAPACITOR_END = "capacitor end"
    SWITCH_END = "switch end"
    BOTH_ENDS = "both ends"

    @property
    def carries_return(self) -> bool:
        """Whether part of the loop's current returns through the plane: one end alone closes no path."""
        return self is Tie.BOTH_ENDS

    @property
    def has_vias(self) -> bool:
        """Whether vias tie it somewhere."""
        return self not in (Tie.ABSENT, Tie.NONE)

    @property
    def role(self) -> Role:
        """What the plane is in a section of the loop."""
        return Role.RETURN if self.carries_return else Role.FLOATING


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """One conductor of a cross-section.

    Parameters
    ----------
    name : str
        Unique in its section; it follows the conductor from the file to the report.
    outline : Outline
        Rectangle, polygon, circle or ring [m].
    role : Role
        Carries the current out (``go``) or back (``return``), or has no net current
        (``floating``, ``victim``). In the axisymmetric view ``go`` is driven and ``floating`` is a disc or ring
        closed on itself, without a voltage: it carries the current that is induced in it.
    material : Conductor
        Its metal; annealed copper at 20 °C unless said otherwise.
    group : str
        Conductors bonded at both ends share a group, hence one voltage drop per metre. Without a
        name all ``go`` regions form one group, all ``return`` regions another, and every other
        region stands alone.
    tie : Tie
        Of a ground layer that has no net current: where it is tied all the same.

    Examples
    --------
    >>> from geometries import Circle, Region, Role
    >>> Region(name="core", role=Role.GO, outline=Circle(centre=(0.0, 0.0), radius=1e-3)).group
    'go'
    """

    name: str
    outline: Outline
    role: Role
    material: Conductor = COPPER
    group: str = ""
    tie: Tie = Tie.NONE

    def __post_init__(self) -> None:
        object.__setattr__(self, "role", Role(self.role))
        if not self.name:
            raise GeometryError("a region has no name; give every region a name of its own")
        if self.name == AIR:
            raise GeometryError(f"a region is called {AIR!r}, which is what lies between the regions; rename it")
        if not self.group:
            shared = self.role in (Role.GO, Role.RETURN)
            object.__setattr__(self, "group", self.role.value if shared else self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentLoop:
    """A current that goes out in one group and comes back in another.

    Parameters
    ----------
    name : str
        Name of the loop in matrices and tables.
    go_group, return_group : str
        Groups that carry +1 A and -1 A. In the axisymmetric view the current closes on itself: `return_group` is empty.

    Examples
    --------
    >>> from geometries import CurrentLoop
    >>> CurrentLoop(name="sense line", go_group="trace").return_group
    'return'
    """

    name: str = "loop"
    go_group: str = "go"
    return_group: str = "return"


@dataclass(frozen=True, slots=True, kw_only=True)
class DielectricBand:
    """A dielectric layer as a horizontal band of the section, drawn to scale; it has no part in L or R."""

    name: str
    bottom: float
    top: float
    relative_permittivity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Dielectric:
    """A dielectric that the mesh resolves; it has no part in L or R, but in every capacitance.

    Parameters
    ----------
    name : str
        What it is.
    outline : Rectangle or Polygon
        Where it lies [m]; conductors inside it displace it.
    relative_permittivity : float
        1 or above [1].
    """

    name: str
    outline: Rectangle | Polygon
    relative_permittivity: float

    def __post_init__(self) -> None:
        if not 1 <= self.relative_permittivity < math.inf:
            raise GeometryError(
                f"dielectric {self.name!r} has a relative permittivity of {self.relative_permittivity:g}; it must be "
                "1 or above"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossSection:
    """Conductors in air, the loops they carry, and the bands between them.

    Parameters
    ----------
    name : str
        Title of the section.
    regions : tuple of Region
        At least two conductors that neither overlap nor touch.
    loops : tuple of CurrentLoop
        One row and column of the impedance matrix each, in this order.
    bands : tuple of DielectricBand
        For the drawing.
    dielectrics : tuple of Dielectric
        For the electric view; where two of them overlap, the first counts. Without any, all is air.
    view : View
        Drawn out along z, or turned about the axis x = 0.

    Raises
    ------
    GeometryError
        If names repeat, conductors overlap or touch, or a loop names a group that no region belongs to; in the round
        view also if a conductor crosses the axis, or one that is driven reaches it.

    Examples
    --------
    >>> from geometries import Circle, CrossSection, Region, Role
    >>> wires = [(Role.GO, 0.0), (Role.RETURN, 3e-3)]
    >>> section = CrossSection(
    ...     name="two wires",
    ...     regions=tuple(
    ...         Region(name=role.value, role=role, outline=Circle(centre=(x, 0.0), radius=1e-3)) for role, x in wires
    ...     ),
    ... )
    >>> section.size
    0.005
    """

    name: str
    regions: tuple[Region, ...]
    loops: tuple[CurrentLoop, ...] = (CurrentLoop(),)
    bands: tuple[DielectricBand, ...] = ()
    dielectrics: tuple[Dielectric, ...] = ()
    view: View = View.SECTION

    def __post_init__(self) -> None:
        require_unique("region", [region.name for region in self.regions])
        require_unique("loop", [loop.name for loop in self.loops])
        if not self.loops:
            raise GeometryError(f"section {self.name!r} carries no loop; name at least one go and return group")
        object.__setattr__(self, "view", View(self.view))
        for loop in self.loops:
            self._require_groups(loop)
        self._require_different_loops()
        if not self.size <= WIDEST:
            raise GeometryError(
                f"section {self.name!r} is {self.size:.3g} m across; more than {WIDEST:g} m can only be a slip of "
                "the unit"
            )
        if self.view is View.AXISYMMETRIC:
            self._require_round()
        _require_apart(self.regions, self.view)

    def _require_groups(self, loop: CurrentLoop) -> None:
        if self.view is View.AXISYMMETRIC and loop.return_group:
            raise GeometryError(
                f"loop {loop.name!r} of section {self.name!r} returns in group {loop.return_group!r}; in the "
                "axisymmetric view a current closes on itself: leave its return group out"
            )
        for group in (loop.go_group, loop.return_group)[: 1 if self.view is View.AXISYMMETRIC else 2]:
            if group not in self.groups:
                known = ", ".join(map(repr, self.groups))
                raise GeometryError(
                    f"loop {loop.name!r} of section {self.name!r} uses group {group!r}, to which no region "
                    f"belongs; the groups are {known}"
                )
        if loop.go_group == loop.return_group:
            raise GeometryError(
                f"loop {loop.name!r} of section {self.name!r} goes and returns in the same group {loop.go_group!r}"
            )

    def _require_different_loops(self) -> None:
        for one, other in combinations(self.loops, 2):
            if (one.go_group, one.return_group) == (other.go_group, other.return_group):
                raise GeometryError(
                    f"loops {one.name!r} and {other.name!r} of section {self.name!r} go and return in the same groups; "
                    "they are one loop: remove one of them"
                )

    def _require_round(self) -> None:
        for region in self.regions:
            left = region.outline.bounds[0]
            if left < 0:
                raise GeometryError(
                    f"region {region.name!r} reaches {-left * 1e3:.4g} mm across the axis of symmetry; x is the "
                    "distance from the axis there: move the region to x >= 0"
                )
            if region.role in (Role.RETURN, Role.VICTIM):
                raise GeometryError(
                    f"region {region.name!r} is a {region.role.value}; in the axisymmetric view a conductor is driven "
                    "(go) or closed on itself (floating)"
                )
            if left == 0 and (region.group in self.voltage_groups or not isinstance(region.outline, Rectangle)):
                raise GeometryError(
                    f"region {region.name!r} touches the axis of symmetry; only a disc (rectangle) without "
                    "a driven current can do so: give it an inner radius above zero"
                )

    @property
    def groups(self) -> tuple[str, ...]:
        """Names of the conductor groups, in the order of their first region."""
        return tuple(dict.fromkeys(region.group for region in self.regions))

    @property
    def voltage_groups(self) -> tuple[str, ...]:
        """Groups with a voltage of their own: all in the section view, those of a loop in the axisymmetric one."""
        if self.view is View.SECTION:
            return self.groups
        driven = [loop.go_group for loop in self.loops]
        return tuple(group for group in self.groups if group in driven)

    @property
    def ground_layers(self) -> tuple[str, ...]:
        """Names of the return and floating conductors that are wider than every go conductor."""
        width = {region.name: region.outline.bounds[2] - region.outline.bounds[0] for region in self.regions}
        widest = max((width[region.name] for region in self.regions if region.role is Role.GO), default=0.0)
        ground = (Role.RETURN, Role.FLOATING)
        return tuple(each.name for each in self.regions if each.role in ground and width[each.name] > widest)

    @property
    def ground_carries_return(self) -> bool:
        """Whether a ground layer is tied to the return."""
        return any(self.region(name).role is Role.RETURN for name in self.ground_layers)

    @property
    def untied_layers(self) -> tuple[str, ...]:
        """Names of the ground layers that are tied nowhere: a study, which nobody builds."""
        ground = map(self.region, self.ground_layers)
        return tuple(each.name for each in ground if each.role is Role.FLOATING and not each.tie.has_vias)

    @property
    def size(self) -> float:
        """Largest dimension of all conductors together, in the axisymmetric view from the axis [m]."""
        left, bottom, right, top = self.extent
        return max(right - (left if self.view is View.SECTION else 0.0), top - bottom)

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Bounding box of all conductors (left, bottom, right, top) [m]."""
        boxes = [region.outline.bounds for region in self.regions]
        left, bottom, right, top = zip(*boxes, strict=True)
        return min(left), min(bottom), max(right), max(top)

    def region(self, name: str) -> Region:
        """Return the region called `name`; raise GeometryError if there is none."""
        for region in self.regions:
            if region.name == name:
                return region
        raise GeometryError(f"section {self.name!r} has no region {name!r}")


def _require_apart(regions: tuple[Region, ...], view: View) -> None:
    across, up = ("r", "z") if view is View.AXISYMMETRIC else ("x", "y")
    shapes: dict[str, BaseGeometry] = {region.name: region.outline.shape for region in regions}
    for (first, a), (second, b) in combinations(shapes.items(), 2):
        if not a.intersects(b):
            continue
        shared = a.intersection(b)
        x, y = shared.representative_point().coords[0]
        how = "overlap" if shared.area > 0 else "touch"
        raise GeometryError(
            f"regions {first!r} and {second!r} {how} near {across} = {x * 1e3:.4g} mm, {up} = {y * 1e3:.4g} mm; "
            "move one of them, or draw joined copper as one polygon"
        )
