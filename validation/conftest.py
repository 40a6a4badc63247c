"""What the checks share: a record per reference value, and fixtures that draw and solve sections.

A test calls ``references.compare``; with ``--reference-page FILE`` everything that was compared in the run is
written as a table, so that the page and the checks cannot differ. ``fixture`` solves sections in the section view,
``turned`` in the axisymmetric view, each section and frequency once.
"""

from __future__ import annotations

import math
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

MARKS = {
    "published as printed": "a number that the source prints, read in the source or in a document that quotes it",
    "from memory": "a number or a formula quoted without opening its source",
    "derived": "worked out from the cited theory",
    "computed independently": "a number from another method, with its error",
    "common practice": "a figure in use in the trade, without one source",
}
"""What can be said of where a value comes from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One reference value beside ours.

    Parameters
    ----------
    source, item : str
        Where the value stands, and which one it is.
    mark : str
        How the value was come by: one of ``MARKS``.
    detail : str
        More about that, in a few words; may be empty.
    reference, found : float
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
    detail: str
    reference: float
    found: float
    unit: str
    rtol: float
    reason: str
    position: int

    @property
    def deviation(self) -> float:
        """Relative deviation of ours from theirs."""
        return self.found / self.reference - 1

    @property
    def holds(self) -> bool:
        """Whether the deviation is within the tolerance."""
        return abs(self.deviation) <= self.rtol


_RECORDS = pytest.StashKey[list[Comparison]]()
_POSITION = pytest.StashKey[int]()


class References:
    """Compares values of one test with reference values and keeps the record."""

    def __init__(self, records: list[Comparison], position: int) -> None:
        self._records = records
        self._position = position

    def compare(
        self,
        *,
        found: float,
        reference: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> None:
        """Record both values and fail if they differ by more than `rtol` times the reference."""
        entry = self._record(found, reference, rtol, source, item, unit, reason, mark)
        assert entry.holds, (
            f"{source}, {item}: reference {reference:.7g} {unit}, found {found:.7g} {unit}, deviation "
            f"{entry.deviation:+.3%}, allowed {rtol:.3%} ({reason})"
        )

    def show(
        self, *, found: float, reference: float, source: str, item: str, unit: str, reason: str, mark: str
    ) -> None:
        """Record both values without checking them; `reason` says on the page why."""
        self._record(found, reference, math.inf, source, item, unit, reason, mark)

    def _record(
        self,
        found: float,
        reference: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> Comparison:
        kind, _, detail = mark.partition(" (")
        if kind not in MARKS:
            raise ValueError(f"{source}, {item}: the mark is one of {', '.join(MARKS)}, found {mark!r}")
        entry = Comparison(
            source=source,
            item=item,
            mark=kind,
            detail=detail[:-1],
            reference=float(reference),
            found=float(found),
            unit=unit,
            rtol=rtol,
            reason=reason,
            position=self._position,
        )
        self._records.append(entry)
        return entry


@pytest.fixture
def references(request: pytest.FixtureRequest) -> References:
    """Comparison with reference values, recorded for the validation page."""
    return References(request.config.stash[_RECORDS], request.node.stash[_POSITION])


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--reference-page",
        type=Path,
        metavar="FILE",
        help="write every comparison with a reference value to FILE, as Markdown tables",
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_RECORDS] = []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for position, item in enumerate(items):
        item.stash[_POSITION] = position


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Take over the records of a finished worker process."""
    arrived = getattr(node, "workeroutput", {}).get("references", [])
    stash = node.config.stash  # type: ignore[attr-defined]
    stash[_RECORDS].extend(Comparison(**fields) for fields in arrived)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    config = session.config
    records = config.stash[_RECORDS]
    if hasattr(config, "workerinput"):
        config.workeroutput["references"] = [asdict(entry) for entry in records]  # type: ignore[attr-defined]
        return
    page = config.getoption("reference_page")
    if page is not None:
        page.write_text("\n".join(_page(records)) + "\n", encoding="utf-8")


_HEAD = """\
# Validation against reference values

This page is written by the checks themselves: `copperfield reference-checks --page docs/validation.md`.

*Reference* is a value that stands outside the program, *found* is what the program computes: closed forms where the
chapter is about formulas or limits, the finite-element result elsewhere. *Allowed* is the tolerance of the check, with
its reason below the table; "shown" marks a value that is not a check, and the reason says why. Only values marked
*published as printed* were read in print; closed forms evaluated by `solver.formulas` are checked on their own by
`validation/formulas`.
"""


def _page(records: Iterable[Comparison]) -> Iterator[str]:
    ordered = sorted(records, key=lambda entry: entry.position)
    sources = list(dict.fromkeys(entry.source for entry in ordered))
    ordered.sort(key=lambda entry: sources.index(entry.source))
    yield _HEAD
    yield from _counts(ordered)
    for source, entries in groupby(ordered, key=lambda entry: entry.source):
        yield from _chapter(source, list(entries))


def _counts(entries: list[Comparison]) -> Iterator[str]:
    """How many values of each mark there are, and how many of them are checks."""
    yield "| mark | meaning | values | of these checks |"
    yield "|---|---|---:|---:|"
    for mark, meaning in MARKS.items():
        yield f"| {mark} | {meaning} | {_count(entries, mark)} |"
    yield f"| all | from {len({entry.source for entry in entries})} sources | {_count(entries, *MARKS)} |"


def _count(entries: list[Comparison], *marks: str) -> str:
    counted = [entry for entry in entries if entry.mark in marks]
    return f"{len(counted)} | {sum(math.isfinite(entry.rtol) for entry in counted)}"


def _chapter(source: str, entries: list[Comparison]) -> Iterator[str]:
    notes = list(dict.fromkeys(map(_note, entries)))
    yield f"\n## {source}\n"
    yield "| item | mark | reference | found | unit | deviation | allowed | note |"
    yield "|---|---|---:|---:|---|---:|---:|---|"
    for entry in entries:
        yield "| " + " | ".join(_cells(entry, notes.index(_note(entry)) + 1)) + " |"
    yield ""
    for number, note in enumerate(notes, start=1):
        yield f"{number}. {note}"


def _note(entry: Comparison) -> str:
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in (entry.detail, entry.reason) if part)


def _cells(entry: Comparison, note: int) -> Iterator[str]:
    yield entry.item.replace("|", "\\|")
    yield entry.mark
    yield f"{entry.reference:.7g}"
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

    In the axisymmetric view x is the distance from the axis, and inductance and resistance are those of the whole turn.
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
        """Loop inductance [nH/m], in the axisymmetric view [nH]."""
        return float(field.inductance[0, 0]) / NANO

    def resistance(self, field: FieldSolution) -> float:
        """Loop resistance [ohm/m], in the axisymmetric view [ohm]."""
        return float(field.resistance[0, 0])

    def share(self, field: FieldSolution, region: str) -> float:
        """Part of the loop current in a conductor, with sign [A/A]."""
        return current_share(field, region)

    def flux_density(self, field: FieldSolution, *points: tuple[float, float]) -> NDArray[np.complex128]:
        """B_x and B_y [T per A] at points in millimetres, (n, 2)."""
        return MU_0 * field_strength(field, MM * np.array(points, dtype=float))

    def loss_resistance(self, field: FieldSolution, region: str) -> float:
        """What one conductor of a turned section adds to the loop's resistance: its loss per square ampere [ohm]."""
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
    """Drawing, solving and reading off in the axisymmetric view, with the last few solutions kept."""
    return Fixture(View.AXISYMMETRIC)
