"""A loop that its layout describes: copper seen from above, and the parts that bridge its ports."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shapely.geometry import LineString

from geometries.board.capacitors import Capacitor, SwitchPackage
from geometries.errors import GeometryError
from geometries.layout.layout import CopperSheet, PlanLayout, RingPort
from geometries.layout.part_bodies import BODY, FAR_END
from geometries.quantities import MM

_NO_GAP = 0.01 * MM
"""Between a port's ends: over a shorter one nothing is missing [m]."""

LoopPart = Capacitor | SwitchPackage
"""What bridges a port."""


def bare_copper(layout: PlanLayout) -> tuple[CopperSheet, ...]:
    """The sheets of a layout that are copper of the board, not a part's body."""
    return tuple(sheet for sheet in layout.sheets if not sheet.name.startswith(BODY))


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOutLoop:
    """One loop on its layout, whoever describes it.

    Parameters
    ----------
    layout : PlanLayout
        Its copper; the first port is where it is driven, by the switches.
    parts : tuple of (str, Capacitor or SwitchPackage)
        Each with the name of the port that it bridges; none, or one for every port with a cut. What a part has as a
        conductor of the layout is not in it again.
    left_out : float
        Relative uncertainty of the copper's inductance for copper that lies beyond the layout [1].

    Raises
    ------
    GeometryError
        If it is no single loop, some ports have a part and others none, a capacitor bridges the driven port, or copper
        lies under an open port, whose currents would close past the gap.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, LaidOutLoop, PlanLayout, Rectangle, RingPort
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> sheet = CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,))
    >>> ring = RingPort(name="loop", sheet="top", inside=(2 * MM, 1.5 * MM))
    >>> loop = LaidOutLoop(layout=PlanLayout(name="ring", sheets=(sheet,), ports=(ring,)))
    >>> f"{loop.size * 1e3:.1f} mm", loop.has_bodies
    ('5.8 mm', False)
    """

    layout: PlanLayout
    parts: tuple[tuple[str, LoopPart], ...] = ()
    left_out: float = 0.0

    def __post_init__(self) -> None:
        rings = [port.name for port in self.layout.ports if isinstance(port, RingPort)]
        if rings and len(self.layout.ports) > 1:
            raise GeometryError(
                f"{len(self.layout.ports)} ports, of which {rings[0]!r} drives a ring, are several loops; a variant is "
                "one loop: describe a variant for each of them"
            )
        self._require_parts()
        require_closed_ports(self.layout)

    @property
    def part_at(self) -> Mapping[str, LoopPart]:
        """The parts by the name of their port."""
        return dict(self.parts)

    @property
    def copper(self) -> tuple[CopperSheet, ...]:
        """The layout's copper, without the bodies of parts."""
        return bare_copper(self.layout)

    @property
    def has_bodies(self) -> bool:
        """Whether a part is a conductor of the layout."""
        return len(self.copper) < len(self.layout.sheets)

    @property
    def size(self) -> float:
        """Largest dimension of its copper: the diagonal of what encloses all of it [m]."""
        left, bottom, right, top = self.bounds
        return math.hypot(right - left, top - bottom)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of all copper [m]."""
        edges = list(zip(*(sheet.outline.bounds for sheet in self.layout.sheets), strict=True))
        return min(edges[0]), min(edges[1]), max(edges[2]), max(edges[3])

    @property
    def surfaces(self) -> tuple[float, float]:
        """Heights of the upper and lower surface of its copper [m]."""
        levels = [level for sheet in self.layout.sheets for level in sheet.levels]
        return max(levels), min(levels)

    def _require_parts(self) -> None:
        ports = [port.name for port in self.layout.cut_ports if not port.name.endswith(FAR_END)]
        open_ports = [name for name in ports if name not in self.part_at]
        if self.parts and open_ports:
            raise GeometryError(
                f"port {open_ports[0]!r} has no part, and others have; describe the parts of all ports, for example "
                'switch = { package = "flip-chip" } or a capacitor, or of none'
            )
        first = self.part_at.get(ports[0]) if ports else None
        if len(ports) > 1 and isinstance(first, Capacitor):
            raise GeometryError(
                f"the first port, {ports[0]!r}, is where the loop is driven, and holds a capacitor; write the port of "
                "the switches first"
            )


def require_closed_ports(layout: PlanLayout) -> None:
    """Refuse an open port over or under copper: induced currents close past its gap, and the part's own do not.

    Raises
    ------
    GeometryError
        If other copper lies under the way from one end of a port to the other.
    """
    for port in layout.cut_ports:
        ends = port.entry.middle, port.leave.middle
        levels = {layout.level(end) for end in port.terminals()}
        if math.dist(*ends) < _NO_GAP or any(end.sheet.startswith(BODY) for end in port.terminals()):
            continue
        own = {end.sheet for end in port.terminals()}
        for sheet in layout.sheets:
            crossed = sheet.name not in own and not levels & set(sheet.levels)
            if crossed and sheet.shape.intersects(LineString(ends)):
                raise GeometryError(
                    f"copper {sheet.name!r} lies under the open port {port.name!r}: the currents induced in it would "
                    "not find the part's; describe the part as a conductor (electrode_height of a capacitor, else "
                    f"height of the port), or {sheet.name!r} as the endless [plane]"
                )
