"""What the checks share: a record per published value, and benches that draw and solve sections.

A test calls ``published.compare``; with ``--published-page FILE`` everything that was compared in the run is
written as a table, so that the page and the checks cannot differ. ``bench`` solves sections in the section view,
``turned`` in the round view, each section and frequency once.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from functools import lru_cache
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from geometries.board.materials import COPPER, Conductor
from geometries.quantities import MM
from geometries.section.outline import Circle, Rectangle, Ring
from geometries.section.section import CrossSection, CurrentLoop, Region, View
from solver.formulas import MU_0
from solver.section.boundary_layers import MeshSettings
from solver.section.extraction import current_density, current_share, field_strength
from solver.section.fields import (
    FieldSolution,
    SectionSystem,
    assemble_section,
    solve_at_dc,
    solve_at_frequency,
    solve_perfect_conductor,
)
from solver.section.mesh import mesh_section

NANO = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One published value beside ours.

    Parameters
    ----------
    source, item : str
        Where the value stands, and which one it is.
    mark : str
        How the value was come by: published, from memory, derived, or computed independently.
    printed, found : float
        Their value and ours, in `unit`.
    unit : str
        Unit of both.
    rtol : float
        Allowed relative deviation; infinite where the value is shown but not used as a check.
    reason : str
        Why this tolerance, or why it is not a check.
    position : int
        Place of the test in the collection, for the order of the page.
    """

    source: str
    item: str
    mark: str
    printed: float
    found: float
    unit: str
    rtol: float
    reason: str
    position: int

    @property
    def deviation(self) -> float:
        """Relative deviation of ours from theirs."""
        return self.found / self.printed - 1

    @property
    def holds(self) -> bool:
        """Whether the deviation is within the tolerance."""
        return abs(self.deviation) <= self.rtol


_RECORDS = pytest.StashKey[list[Comparison]]()
_POSITION = pytest.StashKey[int]()


class Published:
    """Compares values of one test with published ones and keeps the record."""

    def __init__(self, records: list[Comparison], position: int) -> None:
        self._records = records
        self._position = position

    def compare(
        self,
        *,
        found: float,
        printed: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> None:
        """Record both values and fail if they differ by more than `rtol` times the printed one."""
        entry = self._record(found, printed, rtol, source, item, unit, reason, mark)
        assert entry.holds, (
            f"{source}, {item}: printed {printed:.7g} {unit}, found {found:.7g} {unit}, deviation "
            f"{entry.deviation:+.3%}, allowed {rtol:.3%} ({reason})"
        )

    def show(self, *, found: float, printed: float, source: str, item: str, unit: str, reason: str, mark: str) -> None:
        """Record both values without checking them; `reason` says on the page why."""
        self._record(found, printed, math.inf, source, item, unit, reason, mark)

    def _record(
        self,
        found: float,
        printed: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> Comparison:
        entry = Comparison(
            source=source,
            item=item,
            mark=mark,
            printed=float(printed),
            found=float(found),
            unit=unit,
            rtol=rtol,
            reason=reason,
            position=self._position,
        )
        self._records.append(entry)
        return entry


@pytest.fixture
def published(request: pytest.FixtureRequest) -> Published:
    """Comparison with published values, recorded for the validation page."""
    return Published(request.config.stash[_RECORDS], request.node.stash[_POSITION])


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--published-page",
        type=Path,
        metavar="FILE",
        help="write every comparison with a published value to FILE, as Markdown tables",
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_RECORDS] = []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for position, item in enumerate(items):
        item.stash[_POSITION] = position


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Take over the records of a finished worker process."""
    arrived = getattr(node, "workeroutput", {}).get("published", [])
    stash = node.config.stash  # type: ignore[attr-defined]
    stash[_RECORDS].extend(Comparison(**fields) for fields in arrived)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    config = session.config
    records = config.stash[_RECORDS]
    if hasattr(config, "workerinput"):
        config.workeroutput["published"] = [asdict(entry) for entry in records]  # type: ignore[attr-defined]
        return
    page = config.getoption("published_page")
    if page is not None:
        page.write_text("\n".join(_page(records)) + "\n", encoding="utf-8")


_HEAD = """\
# Validation against published values

This page is written by the checks themselves: `pytest validation --published-page docs/validation.md`.

*Printed* is the published or independently computed value, *found* is the finite-element result.
*Allowed* is the tolerance of the check, with its reason below the table; "shown" marks a value that is not a
check, and the reason says why. The marks: *published*, checked against the printed text; *from memory*, a formula
quoted without opening its source; *derived*, worked out from the cited theory; *computed independently*, a number
from another method, with its error. Closed forms are evaluated by `solver.formulas`, which
`validation/formulas` checks on its own.
"""


def _page(records: Iterable[Comparison]) -> Iterator[str]:
    ordered = sorted(records, key=lambda entry: entry.position)
    sources = list(dict.fromkeys(entry.source for entry in ordered))
    ordered.sort(key=lambda entry: sources.index(entry.source))
    yield _HEAD
    yield f"{sum(math.isfinite(entry.rtol) for entry in ordered)} checks of {len(sources)} sources"
    yield f"({sum(not math.isfinite(entry.rtol) for entry in ordered)} more values are shown only)."
    for source, entries in groupby(ordered, key=lambda entry: entry.source):
        yield from _chapter(source, list(entries))


def _chapter(source: str, entries: list[Comparison]) -> Iterator[str]:
    notes = list(Counter((entry.mark, entry.reason) for entry in entries))
    yield f"\n## {source}\n"
    yield "| item | printed | found | unit | deviation | allowed | note |"
    yield "|---|---:|---:|---|---:|---:|---|"
    for entry in entries:
        yield "| " + " | ".join(_cells(entry, notes.index((entry.mark, entry.reason)) + 1)) + " |"
    yield ""
    for number, (mark, reason) in enumerate(notes, start=1):
        yield f"{number}. {mark}. {reason[:1].upper()}{reason[1:]}."


def _cells(entry: Comparison, note: int) -> Iterator[str]:
    yield entry.item.replace("|", "\\|")
    yield f"{entry.printed:.7g}"
    yield f"{entry.found:.7g}"
    yield entry.unit
    yield f"{100 * entry.deviation:+.3f} %" + ("" if entry.holds else " **fails**")
    yield f"{100 * entry.rtol:g} %" if math.isfinite(entry.rtol) else "shown"
    yield str(note)


@lru_cache(maxsize=2)
def _system(section: CrossSection, highest_frequency: float, settings: MeshSettings) -> SectionSystem:
    return assemble_section(mesh_section(section, highest_frequency=highest_frequency, settings=settings))


@lru_cache(maxsize=3)
def _field(section: CrossSection, frequency: float, highest_frequency: float, settings: MeshSettings) -> FieldSolution:
    system = _system(section, highest_frequency, settings)
    if frequency == 0:
        return solve_at_dc(system)
    if math.isinf(frequency):
        return solve_perfect_conductor(system)
    return solve_at_frequency(system, frequency)


class Fixture:
    """Draws conductors in millimetres and reads off a solved section what the checks compare.

    In the round view x is the distance from the axis, and inductance and resistance are those of the whole turn.
    """

    def __init__(self, view: View) -> None:
        self._view = view
        self._loops = (CurrentLoop(),) if view is View.SECTION else (CurrentLoop(return_group=""),)

    def bar(
        self,
        role: str,
        left: float,
        right: float,
        bottom: float,
        top: float,
        *,
        name: str = "",
        material: Conductor = COPPER,
    ) -> Region:
        """Rectangle; its name is its role unless another is given."""
        outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
        return Region(name=name or role, outline=outline, role=role, material=material)

    def wire(
        self,
        role: str,
        x: float,
        y: float,
        radius: float,
        *,
        name: str = "",
        group: str = "",
        material: Conductor = COPPER,
    ) -> Region:
        """Round wire; its name is its role unless another is given."""
        outline = Circle(centre=(x * MM, y * MM), radius=radius * MM)
        return Region(name=name or role, outline=outline, role=role, group=group, material=material)

    def shell(self, inner_radius: float, outer_radius: float) -> Region:
        """Copper tube round the origin that carries the return; without effect on the field inside it."""
        outline = Ring(centre=(0.0, 0.0), inner_radius=inner_radius * MM, outer_radius=outer_radius * MM)
        return Region(name="shell", outline=outline, role="return")

    def solve(
        self,
        *regions: Region,
        frequency: float,
        highest_frequency: float = 0.0,
        loops: tuple[CurrentLoop, ...] = (),
        **fineness: float,
    ) -> FieldSolution:
        """Field at `frequency` (0 for DC, infinite for perfect conductors) on the mesh of `highest_frequency`.

        `fineness` names settings of the mesh; those left out, or 0, are the program's own.
        """
        section = CrossSection(name="section under check", regions=regions, loops=loops or self._loops, view=self._view)
        settings = MeshSettings(**{name: value for name, value in fineness.items() if value})
        return _field(section, frequency, highest_frequency, settings)

    def inductance(self, field: FieldSolution) -> float:
        """Loop inductance [nH/m], in the round view [nH]."""
        return float(field.inductance[0, 0]) / NANO

    def resistance(self, field: FieldSolution) -> float:
        """Loop resistance [ohm/m], in the round view [ohm]."""
        return float(field.resistance[0, 0])

    def share(self, field: FieldSolution, region: str) -> float:
        """Part of the loop current in a conductor, with sign [A/A]."""
        return current_share(field, region)

    def flux_density(self, field: FieldSolution, *points: tuple[float, float]) -> NDArray[np.complex128]:
        """B_x and B_y [T per A] at points in millimetres, (n, 2)."""
        return MU_0 * field_strength(field, MM * np.array(points, dtype=float))

    def loss_resistance(self, field: FieldSolution, region: str) -> float:
        """What one conductor of a round section adds to the loop's resistance: its loss per square ampere [ohm]."""
        meshed = field.system.meshed
        inside = field.system.basis.with_elements(meshed.elements(region))
        points = np.asarray(inside.global_coordinates()).reshape(2, -1).T
        square = np.abs(current_density(field, region, points)) ** 2
        around = 2 * math.pi * points[:, 0] * inside.dx.ravel()
        return float(square @ around) / meshed.section.region(region).material.conductivity


@pytest.fixture(scope="session")
def fixture() -> Fixture:
    """Drawing, solving and reading off in the section view, with the last few solutions kept."""
    return Fixture(View.SECTION)


@pytest.fixture(scope="session")
def turned() -> Fixture:
    """Drawing, solving and reading off in the round view, with the last few solutions kept."""
    return Fixture(View.AXISYMMETRIC)
