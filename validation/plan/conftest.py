"""Layouts in millimetres, solved once per layout and frequency."""

from __future__ import annotations

import math
from functools import lru_cache

import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, MirrorPlane, PlanLayout, Port, RingPort, Spread
from geometries.quantities import MM
from geometries.section.outline import Polygon, Rectangle
from solver.plan import PlanMeshSettings, PlanSolution, solve_plan

NANO = 1e-9

ROUGH = PlanMeshSettings().coarser()
"""Twice the error of the usual mesh, in a fifth of the time."""


@lru_cache(maxsize=8)
def _solve(layout: PlanLayout, frequency: float, settings: PlanMeshSettings) -> PlanSolution:
    return solve_plan(layout, frequency, settings)


class Board:
    """Draws copper in millimetres and reads off what the checks compare."""

    def rectangle(self, left: float, bottom: float, right: float, top: float) -> Rectangle:
        """From corner to corner."""
        return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)

    def disc(self, radius: float, sides: int = 48) -> Polygon:
        """Regular polygon around the origin with the area of a circle."""
        reach = radius * MM * math.sqrt(2 * math.pi / sides / math.sin(2 * math.pi / sides))
        turns = [2 * math.pi * k / sides for k in range(sides)]
        return Polygon(vertices=tuple((reach * math.cos(a), reach * math.sin(a)) for a in turns))

    def strip(self, name: str, length: float, width: float, *, x=0.0, y=0.0, height=0.0) -> CopperSheet:
        """Strip along x whose lower left corner is at (x, y)."""
        return CopperSheet(name=name, outline=self.rectangle(x, y, x + length, y + width), height=height * MM)

    def ends(self, strip: CopperSheet, spread: Spread = Spread.FREE) -> Port:
        """Port through the two short edges of a strip."""
        box = strip.outline
        return Port(
            name=f"ends of {strip.name}",
            entry=EdgeTerminal(sheet=strip.name, start=(box.left, box.bottom), end=(box.left, box.top)),
            leave=EdgeTerminal(sheet=strip.name, start=(box.right, box.bottom), end=(box.right, box.top)),
            spread=spread,
        )

    def between(self, right: CopperSheet, left: CopperSheet) -> Port:
        """Port from the right edge of one strip to the left edge of the next, over the gap."""
        here, there = right.outline, left.outline
        return Port(
            name="gap",
            entry=EdgeTerminal(sheet=right.name, start=(here.left, here.bottom), end=(here.left, here.top)),
            leave=EdgeTerminal(sheet=left.name, start=(there.right, there.bottom), end=(there.right, there.top)),
        )

    def frame(self, length: float, width: float, copper: float, height: float = 0.0) -> CopperSheet:
        """Rectangular ring around the origin, outer length and width, with copper of the given width."""
        return CopperSheet(
            name="frame",
            outline=self.rectangle(-length / 2, -width / 2, length / 2, width / 2),
            holes=(self.rectangle(copper - length / 2, copper - width / 2, length / 2 - copper, width / 2 - copper),),
            height=height * MM,
        )

    def plate(self, length: float, width: float, *holes, height: float = 0.0) -> CopperSheet:
        """Rectangular plane around the origin."""
        outline = self.rectangle(-length / 2, -width / 2, length / 2, width / 2)
        return CopperSheet(name="plane", outline=outline, holes=holes, height=height * MM)

    def annulus(self, inner: float, outer: float, height: float = 0.0, **more: object) -> CopperSheet:
        """Round ring around the origin."""
        return CopperSheet(
            name="annulus", outline=self.disc(outer), holes=(self.disc(inner),), height=height * MM, **more
        )

    def solve(
        self,
        *sheets: CopperSheet,
        ports: tuple[Port, ...] = (),
        vias=(),
        plane: MirrorPlane | None = None,
        frequency: float = math.inf,
        settings: PlanMeshSettings = ROUGH,
    ) -> PlanSolution:
        """Solution; without ports the first sheet is a ring driven around its hole."""
        chosen = ports or (RingPort(name="ring", sheet=sheets[0].name, inside=(0.0, 0.0)),)
        layout = PlanLayout(name="under check", sheets=sheets, ports=chosen, vias=tuple(vias), plane=plane)
        return _solve(layout, frequency, settings)

    def inductance(self, *sheets: CopperSheet, **more: object) -> float:
        """Inductance of the first loop [nH]."""
        return float(self.solve(*sheets, **more).inductance[0, 0]) / NANO


@pytest.fixture(scope="session")
def board() -> Board:
    """Drawing, solving and reading off."""
    return Board()
