"""What a scenario file says, as frozen values: one class per table, every key with the quantity that it measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import Discriminator, Field, Tag

from geometries.board.stackup import Stackup
from geometries.operation.converter import Converter
from geometries.operation.emission import Emission
from geometries.operation.measurement_table import MeasurementTable
from geometries.operation.switching import Switching
from geometries.section.victims import Drive
from geometries.study.described_variant import VariantTable
from geometries.study.described_variation import ExploreTable, SweepTable, ToleranceTable
from geometries.tables import (
    Count,
    Derived,
    Filled,
    Fraction,
    Frequency,
    Length,
    OperatingTable,
    Table,
)
from geometries.text_files import path_under

HIGHEST_FREQUENCY = 100e9
"""No scenario needs more [Hz]; the mesh could not follow a higher one."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class FrequencySweep(Table):
    """Frequencies spaced evenly on a logarithmic axis."""

    start: Annotated[Frequency, Field(alias="from")]
    stop: Annotated[Frequency, Field(alias="to")]
    per_decade: Count = 4

    def __post_init__(self) -> None:
        if not 0 < self.start < self.stop:
            raise ValueError(f"frequencies run from {self.start:g} to {self.stop:g} Hz; write 0 < from < to")
        if not 1 <= self.per_decade <= 100:
            raise ValueError(f"per_decade is {self.per_decade}; it lies between 1 and 100")


def _form_of_frequencies(table: Any) -> str:
    return "list" if isinstance(table, list | tuple) else "sweep"


Frequencies = Annotated[
    Annotated[FrequencySweep, Tag("sweep")] | Annotated[tuple[Frequency, ...], Tag("list")],
    Discriminator(_form_of_frequencies),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysisTable(Table):
    """Frequencies, and where the field is looked at."""

    frequencies: Frequencies = FrequencySweep(start=10e3, stop=300e6)
    report_frequency: Frequency = 100e6
    heights_above: Filled[Length] = (3e-3, 10e-3)
    heights_below: Filled[Length] = (3e-3, 10e-3)
    tolerance: Fraction = 1e-3
    axisymmetric_view: bool = True

    def __post_init__(self) -> None:
        listed = self.frequencies if isinstance(self.frequencies, tuple) else (self.frequencies.stop,)
        if not listed:
            raise ValueError('frequencies is an empty list; give at least one, for example ["100 MHz"]')
        for frequency in (*listed, self.report_frequency):
            _require_usable(frequency)
        if not 1e-7 <= self.tolerance <= 0.1:
            raise ValueError(f"tolerance is {self.tolerance:g}; it must lie between 0.00001 % and 10 %")
        for height in (*self.heights_above, *self.heights_below):
            if not height > 0:
                raise ValueError(f"a scan line lies {height:g} m from the board; distances must be above zero")


def _require_usable(frequency: float) -> None:
    if frequency > HIGHEST_FREQUENCY:
        raise ValueError(f"a frequency is {frequency:g} Hz; the quasi-static section ends far below 100 GHz")
    if not frequency > 0:
        raise ValueError(
            f"a frequency is {frequency:g} Hz; frequencies must be above zero (the value at DC is always computed too)"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Description(Table):
    """A whole scenario file; defaults that one table takes from another stand in it already.

    Parameters
    ----------
    title, setting, revision, reference, objectives
        As in :class:`~geometries.study.scenario.Scenario`; `reference` is never empty.
    analysis : AnalysisTable
        Frequencies and scan lines.
    stackups : mapping of str to Stackup
        The file's own and the built-in ones that it names.
    variant : tuple of VariantTable
        At least one, each complete.
    converter, switching, emission, pickup, measurement, budgets, sweep, explore, tolerance
        Tables of the whole scenario, if the file has them. A further table is a further line here.
    text : str
        The file as read.
    folder : Path
        Where files that a table names are looked for.
    outside : bool
        Whether they may lie outside that folder.
    following : frozenset of tuple of str
        Lines of :func:`geometries.study.keys.follow_lines` for keys that the file leaves out.

    Examples
    --------
    >>> from geometries import describe
    >>> from geometries.files.reading import builtin_text
    >>> description = describe(builtin_text("orchard-pump"))
    >>> description.variant[0].loop.width, description.switching.edge_time
    (0.003, 3e-09)
    """

    title: str
    setting: str = ""
    revision: str = ""
    reference: str = ""
    objectives: tuple[str, ...] = ()
    analysis: AnalysisTable = AnalysisTable()
    stackups: Mapping[str, Stackup] = field(default_factory=dict)
    variant: Filled[VariantTable]
    converter: Converter | None = None
    switching: Switching | None = None
    emission: Emission | None = None
    pickup: Drive | None = None
    measurement: MeasurementTable | None = None
    budgets: Mapping[str, Any] = field(default_factory=dict)
    sweep: SweepTable | None = None
    explore: ExploreTable | None = None
    tolerance: ToleranceTable | None = None
    text: Derived[str] = ""
    folder: Derived[Path] = Path()
    outside: Derived[bool] = False
    following: Derived[frozenset[tuple[str, str, str, str]]] = frozenset()

    def __post_init__(self) -> None:
        if not self.reference:
            object.__setattr__(self, "reference", self.variant[0].name)
        with_victims = [variant.name for variant in self.variant if variant.victims]
        if with_victims and self.pickup is None:
            raise ValueError(
                f"variant {with_victims[0]!r} has victims, but nothing says what they pick up; add a [pickup] table "
                "with the loop's current and its edges, the switch node's voltage and the feedback divider"
            )
        if self.pickup is not None and not with_victims:
            raise ValueError("[pickup] is given, but no variant has a victim; add one, for example [victims.feedback]")

    def file(self, name: str, key: str) -> Path:
        """A file that a table names under a key: in the scenario's folder or below it, if none is allowed outside.

        Raises
        ------
        ScenarioError
            If it lies elsewhere.
        """
        return self.folder / name if self.outside else path_under(self.folder, name, key)

    def asked(self, kind: type[T]) -> T | None:
        """The table of a class, if the file has one."""
        return next((each for each in map(self._of, fields(self)) if isinstance(each, kind)), None)

    def operating_tables(self) -> tuple[OperatingTable, ...]:
        """All tables that analyses ask for."""
        return tuple(each for each in map(self._of, fields(self)) if isinstance(each, OperatingTable))

    def _of(self, key: Any) -> object:
        return getattr(self, key.name)
