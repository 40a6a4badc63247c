"""A scenario: the variants to solve, the frequencies, and where to look at the field."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeVar

from geometries.board.stackup import Stackup
from geometries.errors import ScenarioError
from geometries.layout.laid_out import LaidOutLoop
from geometries.layout.placements import PlacedLoop
from geometries.layout.section_plan import SectionPlan
from geometries.operation.budgets import Budget
from geometries.operation.emission import Emission
from geometries.operation.measurements import Measurement
from geometries.operation.price import Price
from geometries.operation.switching import Switching
from geometries.quantities import MM
from geometries.section.analysis import Analysis
from geometries.section.coupled_loops import SwitchedLoops
from geometries.section.rings import AxisymmetricLoop
from geometries.section.section import MAIN_SEGMENT, CrossSection, CurrentLoop, View
from geometries.section.victims import VictimSetup

T = TypeVar("T")

_ROUNDING = 1e-9

_LINE_REACH = 10e-3
"""Of scan lines beyond the widest conductor [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildStep:
    """A variant's section with its ground layers up to and including `layer`; `layer` is empty for none of them."""

    layer: str
    section: CrossSection


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A further segment of the same loop with a section of its own.

    Parameters
    ----------
    name : str
        What is different there, for instance "over the slot".
    section : CrossSection
        Its cross-section, with as many loops as the variant's own.
    length : float
        Its length along the current [m].
    start : float, optional
        Where it begins along the loop, from the capacitor end [m]; none of a placement's own.

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> from geometries import Segment
    >>> Segment(name="over the slot", section=section, length=2 * MM).length
    0.002
    """

    name: str
    section: CrossSection
    length: float
    start: float | None = None

    def __post_init__(self) -> None:
        if not self.length > 0:
            raise ScenarioError(f"segment {self.name!r} is {self.length:g} m long; its length must be above zero")

    @property
    def reach(self) -> str:
        """From where to where it runs, in words."""
        start = self.start or 0.0
        return f"{self.name!r} from {start / MM:.6g} to {(start + self.length) / MM:.6g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One candidate.

    Parameters
    ----------
    name : str
        Unique in its scenario.
    note : str
        A remark for the report; may be empty.
    section : CrossSection, optional
        Its cross-section; none of a loop that its layout describes.
    length : float
        Length along the current by which per-length values are multiplied [m]; 1 for a round section, whose values
        are those of the whole turn, and 0 without a section.
    stackups : tuple of Stackup
        The board it is built on; empty for a user-defined section.
    steps : tuple of BuildStep
        The section with no ground layer, then with one more from the top each time; empty if it has none.
    segments : tuple of Segment
        Further segments of the loop; their section times length is added to that of the variant's own section.
    axisymmetric_loop : AxisymmetricLoop, optional
        The same loop in the axisymmetric view; the variant's own section if that is round.
    switching : Switching, optional
        The scenario's edge, whose ring drives the victims.
    radiated : tuple of float, optional
        Between which frequencies its emission is looked at [Hz], if it is.
    pickup : VictimSetup, optional
        The victims beside it, if any are described.
    price : Price, optional
        Of a board built like this.
    placed : PlacedLoop, optional
        The placement of its capacitors, if that is what describes it.
    plan : SectionPlan, optional
        A bare section's copper seen from above, over its whole length; none for a user-defined or round section.
    laid_out : LaidOutLoop, optional
        The loop on its layout, where that describes it in place of a section.
    switched : SwitchedLoops, optional
        Further switched loops beside it.
    no_axisymmetric_view : str
        Why it has no axisymmetric view, where one was asked for; empty if it has one.

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> from geometries import Variant
    >>> Variant(name="as built", note="", section=section, length=loop.length).view.value
    'section'
    """

    name: str
    note: str
    section: CrossSection | None = None
    length: float = 0.0
    stackups: tuple[Stackup, ...] = ()
    steps: tuple[BuildStep, ...] = ()
    segments: tuple[Segment, ...] = ()
    axisymmetric_loop: AxisymmetricLoop | None = None
    pickup: VictimSetup | None = None
    price: Price | None = None
    placed: PlacedLoop | None = None
    plan: SectionPlan | None = None
    laid_out: LaidOutLoop | None = None
    switched: SwitchedLoops | None = None
    no_axisymmetric_view: str = ""
    switching: Switching | None = None
    radiated: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if (self.section is None) == (self.laid_out is None):
            raise ScenarioError(f"variant {self.name!r} needs either a section or a layout that describes its loop")
        names = [MAIN_SEGMENT, *(segment.name for segment in self.segments)]
        if len(set(names)) < len(names):
            raise ScenarioError(f"variant {self.name!r} has two segments of one name: {', '.join(names)}")
        if self.section is not None:
            self._require_one_kind(self.section)
        _require_side_by_side(self.stretches, self.whole_length)

    def _require_one_kind(self, section: CrossSection) -> None:
        """Refuse segments of a round loop, and segments that carry other loops."""
        for segment in self.segments:
            if View.AXISYMMETRIC in (segment.section.view, section.view):
                raise ScenarioError(
                    f"variant {self.name!r} has segment {segment.name!r}; a round loop closes on itself and has no "
                    "further segments"
                )
            if len(segment.section.loops) != len(section.loops):
                raise ScenarioError(
                    f"segment {segment.name!r} of variant {self.name!r} carries {len(segment.section.loops)} loops, "
                    f"the variant itself {len(section.loops)}; a loop runs through all of its segments"
                )

    @property
    def whole_length(self) -> float:
        """Of the loop along the current, its further segments included [m]."""
        return self.length + math.fsum(segment.length for segment in self.segments)

    @property
    def stretches(self) -> tuple[Segment, ...]:
        """The loop from the capacitor end to the switch end, the pieces of its main section among them.

        Empty if the loop is the same all along, or a placement describes it.
        """
        if not self.segments or any(segment.start is None for segment in self.segments):
            return ()
        found: list[Segment] = []
        end = 0.0
        for segment in sorted(self.segments, key=lambda each: each.start or 0.0):
            found += self._main_between(end, segment.start or 0.0)
            found.append(segment)
            end = (segment.start or 0.0) + segment.length
        return (*found, *self._main_between(end, self.whole_length))

    def _main_between(self, start: float, end: float) -> list[Segment]:
        """The main section between two segments, if anything is left between them."""
        if self.section is None or not end - start > _ROUNDING * self.whole_length:
            return []
        return [Segment(name=MAIN_SEGMENT, section=self.section, length=end - start, start=start)]

    @property
    def section_share(self) -> float:
        """Part of the loop's current in its section: half of it where a placement has two sides [1]."""
        return 1.0 if self.placed is None else 1 / self.placed.placement.SIDES

    @property
    def own_section(self) -> CrossSection:
        """The variant's section.

        Raises
        ------
        ScenarioError
            If its layout describes it: what is seen in a section is not known of it.
        """
        if self.section is None:
            raise ScenarioError(
                f"variant {self.name!r} is described by its layout and has no section; describe it by a [loop] or a "
                "[placement] to see what only a section shows"
            )
        return self.section

    @property
    def loop_names(self) -> tuple[str, ...]:
        """Names of its section's loops; a layout is one loop."""
        return (CurrentLoop().name,) if self.section is None else tuple(loop.name for loop in self.section.loops)

    @property
    def untied_layers(self) -> tuple[str, ...]:
        """Ground layers of its section that are tied nowhere."""
        return () if self.section is None else self.section.untied_layers

    @property
    def view(self) -> View:
        """View of the variant's own section; a layout is compared with sections."""
        return View.SECTION if self.section is None else self.section.view

    @property
    def surfaces(self) -> tuple[float, float]:
        """Heights of the upper and the lower surface of board and conductors together [m]."""
        top, bottom = -math.inf, math.inf
        if self.section is not None:
            _, bottom, _, top = self.section.extent
        if self.laid_out is not None:
            top, bottom = self.laid_out.surfaces
        for stackup in self.stackups:
            top = max(top, stackup.top)
            bottom = min(bottom, stackup.top - stackup.thickness)
        return top, bottom


def _require_side_by_side(stretches: tuple[Segment, ...], whole: float) -> None:
    """Refuse stretches that overlap or reach beyond the loop.

    Raises
    ------
    ScenarioError
        With the stretches and their lengths.
    """
    for one, other in pairwise(stretches):
        if (one.start or 0.0) + one.length > (other.start or 0.0) + _ROUNDING * whole:
            raise ScenarioError(
                f"the segments {one.reach} and {other.reach} overlap; they replace stretches of the loop: let each "
                "begin where the one before it ends, or later"
            )
    last = stretches[-1] if stretches else None
    if last is not None and (last.start or 0.0) + last.length > whole * (1 + _ROUNDING):
        raise ScenarioError(
            f"the segment {last.reach} reaches beyond the end of the loop, which is {whole / MM:.6g} mm long; let it "
            "begin earlier, or make it shorter"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """Everything a study needs.

    Parameters
    ----------
    title : str
        Headline of the report.
    setting : str
        What the converter is and does; says so if the data are invented.
    variants : tuple of Variant
        At least one.
    reference : str
        Name of the variant to which all are compared.
    analysis : Analysis
        Frequencies and scan lines.
    text : str
        The scenario file as read, for the report's record of inputs; empty if built in Python.
    tables : tuple of object
        What analyses are asked with, one of a class at most: :class:`~geometries.operation.switching.Switching`,
        :class:`~geometries.operation.emission.Emission` and the like; :meth:`asked` finds them.
    budgets : tuple of Budget
        Limits that every variant is asked to keep, not judged yet.
    objectives : tuple of str
        What the choice between variants goes by, the most important first; empty for the usual order.
    unusual : tuple of str
        What is said of values outside the range where they usually lie.
    revision : str
        Of the board or its description, as whoever keeps it counts; may be empty.

    Examples
    --------
    >>> from geometries.files.reading import read_builtin_scenario
    >>> scenario = read_builtin_scenario("orchard-pump")
    >>> scenario.asked(Switching).input_voltage, scenario.asked(Emission)
    (48.0, None)
    """

    title: str
    setting: str
    variants: tuple[Variant, ...]
    reference: str
    analysis: Analysis
    text: str = ""
    tables: tuple[object, ...] = ()
    budgets: tuple[Budget, ...] = ()
    objectives: tuple[str, ...] = ()
    unusual: tuple[str, ...] = ()
    revision: str = ""

    def __post_init__(self) -> None:
        names = [variant.name for variant in self.variants]
        if not names:
            raise ScenarioError("the scenario has no variant")
        if len(set(names)) < len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise ScenarioError(f"two variants are called {twice!r}; names must be unique")
        views = {variant.view: variant.name for variant in self.variants}
        if len(views) > 1:
            raise ScenarioError(
                f"variant {views[View.SECTION]!r} is a section and {views[View.AXISYMMETRIC]!r} is axisymmetric; "
                "values "
                "per length and of a whole turn cannot be compared: put them in two scenarios"
            )
        if self.reference not in names:
            raise ScenarioError(
                f"the reference {self.reference!r} is not one of the variants: {', '.join(map(repr, names))}"
            )
        currencies = sorted({variant.price.currency for variant in self.variants if variant.price is not None})
        if len(currencies) > 1:
            raise ScenarioError(f"prices are in {' and '.join(currencies)}; write all of them in one currency")
        kinds = [type(table) for table in self.tables]
        if len(set(kinds)) < len(kinds):
            raise ScenarioError("the scenario has two tables of one kind; give one of each")
        if self.measurement is not None and self.measurement.variant not in names:
            raise ScenarioError(
                f"measurement: the variant {self.measurement.variant!r} is not one of the variants: "
                f"{', '.join(map(repr, names))}"
            )

    def asked(self, kind: type[T]) -> T | None:
        """The table of a class; none if the scenario does not ask for it."""
        return next((table for table in self.tables if isinstance(table, kind)), None)

    def asking(self, *tables: object) -> Scenario:
        """The same with further tables; one of the same class is replaced."""
        kept = tuple(each for each in self.tables if type(each) not in map(type, tables))
        return replace(self, tables=(*kept, *tables))

    @property
    def view(self) -> View:
        """View that all variants share."""
        return self.variants[0].view

    @property
    def switching(self) -> Switching | None:
        """The switching edge, if it is asked for."""
        return self.asked(Switching)

    @property
    def emission(self) -> Emission | None:
        """Radiated emission, if it is asked for."""
        return self.asked(Emission)

    @property
    def measurement(self) -> Measurement | None:
        """What was measured on one of the variants."""
        return self.asked(Measurement)


def without_steps(scenario: Scenario, names: Collection[str] = ()) -> Scenario:
    """The scenario reduced to some variants, or to all without names, and to what their headline figures need.

    The benefit of ground layers is left out. The reference is the scenario's own if that one is left, else the first.

    Raises
    ------
    ScenarioError
        If no variant has one of the names.
    """
    for name in names:
        only_variant(scenario, name)
    kept = tuple(replace(variant, steps=()) for variant in scenario.variants if not names or variant.name in names)
    known = [variant.name for variant in kept]
    reference = scenario.reference if scenario.reference in known else known[0]
    return replace(scenario, variants=kept, reference=reference, tables=_tables_for(scenario, known))


def _tables_for(scenario: Scenario, names: Collection[str]) -> tuple[object, ...]:
    """The tables of the scenario without a measurement of another variant."""
    return tuple(each for each in scenario.tables if not isinstance(each, Measurement) or each.variant in names)


def whole_section(variant: Variant) -> CrossSection | None:
    """The variant's section with its victims, if it has any; none of a layout."""
    return variant.section if variant.pickup is None else variant.pickup.section


def only_variant(scenario: Scenario, name: str = "") -> Scenario:
    """Return the scenario reduced to one variant; to its reference if no name is given.

    Raises
    ------
    ScenarioError
        If no variant has that name.
    """
    wanted = name or scenario.reference
    for variant in scenario.variants:
        if variant.name == wanted:
            tables = _tables_for(scenario, (wanted,))
            return replace(scenario, variants=(variant,), reference=wanted, tables=tables)
    known = ", ".join(repr(variant.name) for variant in scenario.variants)
    raise ScenarioError(f"no variant is called {wanted!r}; the scenario has {known}")


_NOTHING = (0.0, 0.0, 0.0, 0.0)


def scan_span(variants: Iterable[Variant]) -> tuple[float, float]:
    """Where scan lines must run to pass the edges of the widest conductor of all variants [m]."""
    extents = [variant.section.extent for variant in variants if variant.section is not None] or [_NOTHING]
    return min(extent[0] for extent in extents) - _LINE_REACH, max(extent[2] for extent in extents) + _LINE_REACH
