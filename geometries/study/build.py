"""From what a file says to what is solved: sections, placements, victims and the tables that analyses ask for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from geometries.board.materials import COPPER, Conductor
from geometries.board.stackup import Stackup
from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.layout.ground_layers import have_lengths
from geometries.layout.laid_out import LaidOutLoop
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placement_sections import placement_stretches
from geometries.layout.placements import PlacedLoop, Site
from geometries.layout.real_planes import real_planes
from geometries.layout.section_plan import SectionPlan, section_plan
from geometries.operation.budgets import read_budgets
from geometries.operation.price import read_price
from geometries.operation.switching import Switching
from geometries.quantities import MM, Quantity, read_quantity, write_quantity
from geometries.section.analysis import Analysis
from geometries.section.coupled_loops import SwitchedLoops
from geometries.section.loops import Loop, Plane, SameLayerLoop, board_of, cross_section, loop_span
from geometries.section.outline import Circle, Outline, Polygon, Rectangle, Ring
from geometries.section.rings import (
    AnnularSlot,
    AxisymmetricLoop,
    Disc,
    RingLoop,
    axisymmetric_twin,
    ring_section,
    why_no_ring,
)
from geometries.section.section import CrossSection, CurrentLoop, Dielectric, Region, Tie, View
from geometries.section.victims import Drive, VictimSetup, loop_edge, with_switched
from geometries.study.described_board import BoardLoop, BoardTable, build_board_loop
from geometries.study.described_copper import build_switched, build_victims
from geometries.study.described_outline import OutlineTable, build_outline
from geometries.study.described_placement import build_placement
from geometries.study.described_variant import (
    SHAPE_KEYS,
    CopperTable,
    DielectricTable,
    PlaneTable,
    RegionTable,
    SegmentTable,
    VariantTable,
)
from geometries.study.description import AnalysisTable, Description, FrequencySweep
from geometries.study.scenario import BuildStep, Scenario, Segment, Variant
from geometries.study.unusual import unusual_values

_ROUNDING = 1e-9

FEEDBACK_NOISE = "feedback_noise"
"""Key of the budget that `[pickup]` may state too."""

_USER_DEFINED = "its section is user-defined, and says of no rectangular loop how large its area is"

_A_LAYOUT = "its layout describes it, and says of no rectangular loop how large its area is"

_OUTLINES: dict[str, type[Outline]] = {"rectangle": Rectangle, "polygon": Polygon, "circle": Circle, "ring": Ring}


def build_scenario(description: Description) -> Scenario:
    """Build a scenario from what a file says.

    Parameters
    ----------
    description : Description
        As read, or with some of its values replaced (:func:`geometries.study.keys.with_values`).

    Returns
    -------
    Scenario

    Raises
    ------
    GeometryError
        If something does not fit together; the message names the variant.

    Examples
    --------
    >>> from geometries import build_scenario, describe, find_key, with_values
    >>> from geometries.files.reading import builtin_text
    >>> description = describe(builtin_text("orchard-pump"))
    >>> longer = with_values(description, {find_key(description, "loop.length"): 12e-3})
    >>> build_scenario(longer).variants[0].length
    0.012
    """
    return Scenario(
        title=description.title,
        setting=description.setting.strip(),
        revision=description.revision.strip(),
        variants=tuple(_named(variant, description) for variant in description.variant),
        reference=description.reference,
        objectives=description.objectives,
        analysis=build_analysis(description.analysis),
        text=description.text,
        tables=tuple(table.built(description) for table in description.operating_tables()),
        budgets=read_budgets(_budgets(description)),
        unusual=unusual_values(description),
    )


def _budgets(description: Description) -> Mapping[str, Any]:
    """The table of budgets, with the one of `[pickup]` where every variant has victims."""
    drive, table = description.pickup, description.budgets
    if drive is None or math.isinf(drive.budget) or not all(each.victims for each in description.variant):
        return table
    return {FEEDBACK_NOISE: write_quantity(drive.budget, Quantity.VOLTAGE), **table}


def _drive(description: Description) -> Drive | None:
    """What the victims are driven with, and the budget of their noise, whichever table states it.

    Raises
    ------
    ScenarioError
        If two tables state different ones.
    """
    drive, stated = description.pickup, description.budgets.get(FEEDBACK_NOISE)
    if drive is None or not isinstance(stated, str):
        return drive
    budget = read_quantity(stated, Quantity.VOLTAGE, FEEDBACK_NOISE)
    if math.isfinite(drive.budget) and not math.isclose(drive.budget, budget):
        raise ScenarioError(
            f"pickup: budget is {write_quantity(drive.budget, Quantity.VOLTAGE)}, and in [budgets] {FEEDBACK_NOISE} is "
            f"{stated}; it is one budget: write it once"
        )
    return replace(drive, budget=budget)


def _named(variant: VariantTable, description: Description) -> Variant:
    try:
        return _build_variant(variant, description)
    except GeometryError as error:
        raise GeometryError(f"variant {variant.name!r}: {error}") from error


def build_analysis(table: AnalysisTable) -> Analysis:
    """The frequencies one by one, and the heights in order."""
    wanted = table.frequencies
    return Analysis(
        frequencies=tuple(
            sorted({*(wanted if isinstance(wanted, tuple) else _spaced(wanted)), table.report_frequency})
        ),
        report_frequency=table.report_frequency,
        heights_above=tuple(sorted(table.heights_above)),
        heights_below=tuple(sorted(table.heights_below)),
        tolerance=table.tolerance,
        axisymmetric_view=table.axisymmetric_view,
    )


def _spaced(wanted: FrequencySweep) -> list[float]:
    count = max(2, 1 + round(math.log10(wanted.stop / wanted.start) * wanted.per_decade))
    ratio = (wanted.stop / wanted.start) ** (1 / (count - 1))
    return [float(f"{wanted.start * ratio**step:.6g}") for step in range(count)]


def _build_variant(table: VariantTable, description: Description) -> Variant:
    if table.outline is not None:
        stackups = (find_stackup(table, description),) if table.stackup else ()
        return _laid_out(table, _build_outline(table, table.outline, description), stackups, description)
    if table.board is not None:
        found = _build_board(table, table.board, description)
        return _laid_out(table, found.laid_out, found.stackups, description)
    placed = _build_placed(table, description)
    main = _build_stretch(table, description) if placed is None else _placed_stretch(table.name, placed, description)
    further = tuple(_build_segments(table, main, description))
    own_length = _own_length(main, further)
    pickup = _build_victims(table, description, main, own_length)
    switched = _build_switched(table, main, pickup) if table.switched else None
    return Variant(
        name=table.name,
        note=table.note,
        section=main.section,
        length=own_length,
        stackups=main.stackups,
        steps=main.steps,
        segments=_placed_segments(placed) + further,
        axisymmetric_loop=main.axisymmetric_loop,
        placed=placed,
        plan=_plan(table.name, main, further) if placed is None else None,
        switched=switched,
        no_axisymmetric_view=main.no_axisymmetric_view,
        pickup=with_switched(pickup, switched) if pickup is not None and switched is not None else pickup,
        switching=_edge(description),
        radiated=_spectrum(description),
        price=read_price(table.price) if table.price else None,
    )


def _laid_out(
    table: VariantTable, loop: LaidOutLoop, stackups: tuple[Stackup, ...], description: Description
) -> Variant:
    """A variant whose loop its layout describes."""
    return Variant(
        name=table.name,
        note=table.note,
        stackups=stackups,
        laid_out=loop,
        no_axisymmetric_view=_A_LAYOUT if description.analysis.axisymmetric_view else "",
        switching=_edge(description),
        radiated=_spectrum(description),
        price=read_price(table.price) if table.price else None,
    )


def _build_outline(table: VariantTable, outline: OutlineTable, description: Description) -> LaidOutLoop:
    stackup = find_stackup(table, description) if table.stackup else None
    return build_outline(table.name, outline, stackup, build_copper(table.copper))


def _build_board(table: VariantTable, board: BoardTable, description: Description) -> BoardLoop:
    stackup = find_stackup(table, description) if table.stackup else None
    place = description.file(board.files, "board.files")
    return build_board_loop(board, place, stackup, build_copper(table.copper))


def _plan(name: str, main: _Stretch, further: tuple[Segment, ...]) -> SectionPlan | None:
    """The copper of a loop with a length seen from above."""
    if main.loop is None or main.stackup is None:
        return None
    if further and have_lengths(main.planes):
        raise GeometryError(
            f"segment {further[0].name!r} changes the section along the loop, and a ground layer with a length is the "
            "same all along it; leave the length out, or describe the copper as an [outline]"
        )
    return section_plan(name, main.stackup, main.loop, main.planes)


def _edge(description: Description) -> Switching | None:
    """The switching edge, with the files that it names."""
    return None if description.switching is None else description.switching.built(description)


def _spectrum(description: Description) -> tuple[float, float] | None:
    """From where to where its emission is asked for [Hz]."""
    return None if description.emission is None else description.emission.built(description).spectrum


def _own_length(main: _Stretch, further: tuple[Segment, ...]) -> float:
    """What the segments leave of the loop's length [m]; a turn of an axisymmetric loop has none to share."""
    taken = math.fsum(segment.length for segment in further)
    if not further or main.section.view is View.AXISYMMETRIC:
        return main.length
    if not taken < main.length * (1 - _ROUNDING):
        sums = " + ".join(f"{each.length / MM:.6g}" for each in further) + " = " if len(further) > 1 else ""
        raise GeometryError(
            f"the loop is {main.length / MM:.6g} mm long, and its segments take {sums}{taken / MM:.6g} mm of it; "
            "they replace stretches of the loop, and what they leave has the variant's own section: give the loop its "
            "whole length and each segment its own, shorter together"
        )
    return float(f"{main.length - taken:.12g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """What a table describes: a section, its length, its board and its ground layers one by one, its ring."""

    section: CrossSection
    length: float
    stackups: tuple[Stackup, ...] = ()
    steps: tuple[BuildStep, ...] = ()
    axisymmetric_loop: AxisymmetricLoop | None = None
    no_axisymmetric_view: str = ""
    loop: Loop | None = None
    planes: tuple[Plane, ...] = ()

    @property
    def stackup(self) -> Stackup | None:
        return self.stackups[0] if self.stackups else None


def _build_victims(table: VariantTable, description: Description, main: _Stretch, length: float) -> VictimSetup | None:
    drive = _drive(description)
    if not table.victims or drive is None:
        return None
    if main.section.view is View.AXISYMMETRIC:
        raise GeometryError(
            "victims run along the loop, which a axisymmetric view closes on itself; describe a section"
        )
    return build_victims(table.victims, table.switch_node, drive, main.section, length, main.stackup)


def _build_switched(table: VariantTable, main: _Stretch, pickup: VictimSetup | None) -> SwitchedLoops:
    return build_switched(
        table.switched,
        main.section if pickup is None else pickup.section,
        length=main.length,
        loop_edge=loop_edge(main.section),
        stackup=main.stackup,
        victims=() if pickup is None else pickup.victims,
    )


def _build_segments(table: VariantTable, main: _Stretch, description: Description) -> Iterator[Segment]:
    """The further segments; one that does not say where it begins follows the one before, and all end the loop."""
    built = [_build_segment(segment, description) for segment in table.segment]
    end = main.length - math.fsum(segment.length for segment in built)
    for segment, described in zip(built, table.segment, strict=True):
        start = end if described.start is None else described.start
        yield replace(segment, start=float(f"{start:.12g}"))
        end = start + segment.length


def _build_segment(table: SegmentTable, description: Description) -> Segment:
    try:
        stretch = _build_stretch(table, description)
    except GeometryError as error:
        raise GeometryError(f"segment {table.name!r}: {error}") from error
    return Segment(name=table.name, section=stretch.section, length=stretch.length)


def _build_stretch(table: SegmentTable, description: Description) -> _Stretch:
    if table.loop is None:
        return _user_defined_stretch(table, description)
    stackup = find_stackup(table, description)
    if isinstance(table.loop, RingLoop):
        return _ring_stretch(table, table.loop, stackup)
    planes = _build_planes(table.planes, stackup, table.loop)
    return _loop_stretch(table.name, board_of(stackup, table.loop), table.loop, planes, description)


def _build_placed(table: VariantTable, description: Description) -> PlacedLoop | None:
    """The placement of a variant on its board, if it has one."""
    if table.placement is None or table.switch is None:
        return None
    stackup = find_stackup(table, description)
    placement = build_placement(table.placement, table.switch, table.capacitor)
    planes = _build_planes(table.planes, stackup, placement.loop(stackup.copper_names[0], stackup.copper_names[-1]))
    placed = PlacedLoop(placement=placement, site=Site(stackup=stackup, planes=planes))
    placement_plan(table.name, placed)
    real_planes(table.name, placed)
    return placed


def _placed_stretch(name: str, placed: PlacedLoop, description: Description) -> _Stretch:
    return _loop_stretch(name, placed.site.stackup, placed.loop, placed.site.planes, description)


def _placed_segments(placed: PlacedLoop | None) -> tuple[Segment, ...]:
    stretches = () if placed is None else placement_stretches(placed)
    return tuple(Segment(name=each.name, section=each.section, length=each.length) for each in stretches)


def _loop_stretch(
    name: str, stackup: Stackup, loop: Loop, planes: tuple[Plane, ...], description: Description
) -> _Stretch:
    steps = [BuildStep(layer="", section=cross_section(f"{name}, no ground", stackup, loop))]
    for count, plane in enumerate(planes, start=1):
        section = cross_section(f"{name}, ground {plane.layer}", stackup, loop, planes[:count])
        steps.append(BuildStep(layer=plane.layer, section=section))
    wanted = description.analysis.axisymmetric_view
    reason = why_no_ring(loop) if wanted else ""
    ring = None
    if wanted and not reason and isinstance(loop, SameLayerLoop):
        ring = axisymmetric_twin(name, stackup, loop, planes)
    return _Stretch(
        section=cross_section(name, stackup, loop, planes),
        length=loop.length,
        stackups=(stackup,),
        steps=tuple(steps) if planes else (),
        axisymmetric_loop=ring,
        no_axisymmetric_view=reason,
        loop=loop,
        planes=planes,
    )


def _ring_stretch(table: SegmentTable, ring: RingLoop, stackup: Stackup) -> _Stretch:
    discs = [_build_disc(layer, plane, ring) for layer, plane in _present(table.planes, stackup)]
    sections = [ring_section(table.name, stackup, ring, discs[:count]) for count in range(len(discs) + 1)]
    layers = ["", *(disc.layer for disc in discs)]
    steps = tuple(BuildStep(layer=layer, section=section) for layer, section in zip(layers, sections, strict=True))
    return _Stretch(
        section=sections[-1],
        length=1.0,
        stackups=(stackup,),
        steps=steps if discs else (),
        axisymmetric_loop=AxisymmetricLoop(section=sections[-1], radius=ring.radius),
    )


def _build_disc(layer: str, table: PlaneTable, ring: RingLoop) -> Disc:
    if table.tie.carries_return or table.vias is not None:
        raise GeometryError(
            f"plane {layer!r} is tied at both ends or has vias; a disc under a ring closes on itself whatever it is "
            'tied to: write tie = "capacitor end", and no vias'
        )
    if table.width is not None or table.edge_distance is not None:
        raise GeometryError(f"plane {layer!r} under a ring is a disc: give its radius or its overhang, and no width")
    outer = ring.radius + max(ring.width, ring.wire) / 2
    return Disc(
        layer=layer,
        radius=table.radius if table.radius is not None else outer + (table.overhang or 0.0),
        hole=table.hole,
        tie=table.tie,
        slots=tuple(AnnularSlot(radius=slot.position, width=slot.width) for slot in table.slots),
    )


def _user_defined_stretch(table: SegmentTable, description: Description) -> _Stretch:
    usual = "return" if table.view is View.SECTION else ""
    listed = tuple(
        CurrentLoop(name=each.name, go_group=each.go, return_group=usual if each.back is None else each.back)
        for each in table.current
    )
    main = CurrentLoop(return_group=usual)
    copper = build_copper(table.copper)
    section = CrossSection(
        name=table.name,
        regions=tuple(_build_region(region, copper) for region in table.region),
        loops=listed if any(loop.go_group == main.go_group for loop in listed) else (main, *listed),
        dielectrics=tuple(map(_build_dielectric, table.dielectric)),
        view=table.view,
    )
    if table.length is None:
        return _Stretch(section=section, length=1.0, axisymmetric_loop=_user_defined_ring(section))
    return _Stretch(
        section=section,
        length=table.length,
        no_axisymmetric_view=_USER_DEFINED if description.analysis.axisymmetric_view else "",
    )


def _build_dielectric(table: DielectricTable) -> Dielectric:
    return Dielectric(
        name=table.name,
        outline=Rectangle(left=table.left, right=table.right, bottom=table.bottom, top=table.top),
        relative_permittivity=table.relative_permittivity,
    )


def _user_defined_ring(section: CrossSection) -> AxisymmetricLoop:
    """A user-defined axisymmetric section; the radius of its loop is that of the driven copper's middle."""
    driven = [region.outline.bounds for region in section.regions if region.group == section.loops[0].go_group]
    left, right = min(box[0] for box in driven), max(box[2] for box in driven)
    return AxisymmetricLoop(section=section, radius=(left + right) / 2)


def find_stackup(table: SegmentTable, description: Description) -> Stackup:
    """The board of a variant or of a segment, with its copper.

    Raises
    ------
    GeometryError
        If there is none of that name.
    """
    known = description.stackups
    if table.stackup not in known:
        raise GeometryError(f"unknown stackup {table.stackup!r}; {nearest(table.stackup, list(known))}")
    return replace(known[table.stackup], copper=build_copper(table.copper))


def build_copper(table: CopperTable) -> Conductor:
    """The metal at its temperature."""
    at_reference = replace(COPPER, conductivity=table.conductivity)
    return at_reference if table.temperature == 20 else at_reference.at_temperature(table.temperature)


def _present(planes: Mapping[str, PlaneTable], stackup: Stackup) -> list[tuple[str, PlaneTable]]:
    """Planes that are not absent, from the top of the board to its bottom."""
    for layer in planes:
        stackup.heights(layer)
    ordered = [(layer, planes[layer]) for layer in stackup.copper_names if layer in planes]
    return [(layer, plane) for layer, plane in ordered if plane.tie is not Tie.ABSENT]


def _build_planes(tables: Mapping[str, PlaneTable], stackup: Stackup, loop: Loop) -> tuple[Plane, ...]:
    return tuple(_build_plane(layer, table, loop) for layer, table in _present(tables, stackup))


def _build_plane(layer: str, table: PlaneTable, loop: Loop) -> Plane:
    if table.radius is not None or table.hole:
        raise GeometryError(f"plane {layer!r} has a radius or a hole; only discs under a loop of kind 'ring' have them")
    width = table.width
    if width is None:
        width = loop_span(loop) + 2 * (table.overhang or 0.0)
    return Plane(
        layer=layer,
        tie=table.tie,
        width=width,
        edge_distance=math.inf if table.edge_distance is None else table.edge_distance,
        length=math.inf if table.length is None else table.length,
        slots=table.slots,
        vias=table.vias,
    )


def _build_region(table: RegionTable, copper: Conductor) -> Region:
    material = copper
    if table.conductivity is not None:
        material = Conductor(name=f"metal of {table.name}", conductivity=table.conductivity)
    try:
        outline = _OUTLINES[table.shape](**{key: getattr(table, key) for key in SHAPE_KEYS[table.shape]})
    except GeometryError as error:
        raise GeometryError(f"region {table.name!r}: {error}") from error
    return Region(
        name=table.name, outline=outline, role=table.role, material=material, group=table.group, tie=table.tie
    )
