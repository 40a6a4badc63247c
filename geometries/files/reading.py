"""From a scenario file to a scenario. All input errors end here, as ScenarioError."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from geometries.board.materials import COPPER, Conductor
from geometries.board.stackup import CopperLayer, Stackup
from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.files.coupled_loops_reading import build_switched
from geometries.files.emission_reading import build_emission
from geometries.files.measurement_reading import build_measurement
from geometries.files.placement_reading import PLACEMENT_KINDS, build_placement
from geometries.files.schema import (
    AnalysisTable,
    CopperTable,
    DielectricTable,
    FrequencySweep,
    NextLayerTable,
    PlaneTable,
    RegionTable,
    RingTable,
    SameLayerTable,
    ScenarioTable,
    SegmentTable,
    ThroughBoardTable,
    VariantTable,
)
from geometries.files.stackups import build_stackup, named_stackup
from geometries.files.switching_reading import build_switching
from geometries.files.victims_reading import build_drive, build_victims
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placement_sections import placement_stretches
from geometries.layout.placements import PlacedLoop, Site
from geometries.operation.budgets import read_budgets
from geometries.operation.price import read_price
from geometries.section.coupled_loops import SwitchedLoops
from geometries.section.loops import (
    Loop,
    NextLayerLoop,
    Plane,
    SameLayerLoop,
    Slot,
    ThroughBoardLoop,
    Tie,
    cross_section,
    loop_layers,
    loop_span,
)
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
from geometries.section.section import CrossSection, CurrentLoop, Dielectric, Region, View
from geometries.section.victims import VictimSetup, loop_edge
from geometries.study.scenario import Analysis, BuildStep, Scenario, Segment, Variant

_WRITTEN_OUT = "its section is written out, and says of no rectangular loop how large its area is"

_INHERITED = ("stackup", "copper", "loop", "planes", "region", "dielectric", "current", "length")
_INHERITED_BY_VARIANTS = (*_INHERITED, "victims", "switch_node", "placement", "switch", "capacitor", "switched")


def builtin_scenario_names() -> tuple[str, ...]:
    """Names of the scenario files that come with the program."""
    folder = resources.files("geometries").joinpath("scenarios")
    return tuple(sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml")))


def read_builtin_scenario(name: str) -> Scenario:
    """Read one of the scenario files that come with the program.

    Raises
    ------
    ScenarioError
        If there is none of that name.
    """
    if name not in builtin_scenario_names():
        raise ScenarioError(f"no built-in scenario {name!r}; {nearest(name, list(builtin_scenario_names()))}")
    source = resources.files("geometries").joinpath("scenarios", f"{name}.toml")
    return parse_scenario(source.read_text(encoding="utf-8"), where=f"{name}.toml")


def read_scenario(path: Path) -> Scenario:
    """Read a scenario file.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        If the file cannot be read or does not describe a scenario; the message says what, where and
        how to mend it.
    """
    return parse_scenario(read_text(path), where=str(path))


def read_text(path: Path) -> str:
    """Text of a scenario file.

    Raises
    ------
    ScenarioError
        If there is no such file, or it cannot be read as text.
    """
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise ScenarioError(f"{path}: there is no such file; check the path") from error
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: not a text file in UTF-8; a scenario is a TOML text file") from error
    except OSError as error:
        raise ScenarioError(f"{path}: cannot be read ({error.strerror}); check the path and its permissions") from error


def parse_scenario(text: str, *, where: str = "scenario") -> Scenario:
    """Read a scenario from the text of a TOML file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    return build_scenario(parse_document(text, where=where), text=text, where=where)


def parse_document(text: str, *, where: str) -> dict[str, Any]:
    """Tables of a TOML file, not checked yet.

    Raises
    ------
    ScenarioError
        If it is not TOML.
    """
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise ScenarioError(f"{where}: tables or lists are nested too deeply; a scenario needs four levels") from error
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError(f"{where}: not valid TOML: {error}; mend that line and try again") from error


def build_scenario(document: dict[str, Any], *, text: str, where: str) -> Scenario:
    """Build a scenario from the tables of its file; `text` is the file itself, for its record and line numbers.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    complete = inherit_defaults(document)
    try:
        table = ScenarioTable.model_validate(complete)
    except ValidationError as error:
        raise explained(error, complete, document, text, where) from error
    try:
        return _build_scenario(table, text, Path(where).parent)
    except GeometryError as error:
        raise ScenarioError(f"{where}: {error}") from error


def explained(
    error: ValidationError, complete: dict[str, Any], document: dict[str, Any], text: str, where: str
) -> ScenarioError:
    """What is wrong with a file's tables, a line each: `complete` is what was checked, `document` what was written."""
    details = _without_echoes(error.errors(include_url=False))
    lines = dict.fromkeys(_explain(detail, complete, document, text) for detail in details)
    return ScenarioError("\n".join(f"{where}: {line}" for line in lines))


def inherit_defaults(document: dict[str, Any]) -> dict[str, Any]:
    """Give every variant the keys at the top of the file as defaults; one variant if there are none."""
    base = {key: document[key] for key in _INHERITED_BY_VARIANTS if key in document}
    rest = {key: value for key, value in document.items() if key not in base}
    variants = rest.get("variant", [{"name": str(document.get("title", "variant"))}])
    if not (isinstance(variants, list) and all(isinstance(variant, dict) for variant in variants)):
        return rest
    return {**rest, "variant": [_extend(_merge(base, variant)) for variant in variants]}


def _extend(variant: dict[str, Any]) -> dict[str, Any]:
    """Give every further stretch of a variant the variant's own keys as defaults."""
    stretches = variant.get("segment")
    if not (isinstance(stretches, list) and all(isinstance(each, dict) for each in stretches)):
        return variant
    base = {key: variant[key] for key in _INHERITED if key in variant}
    return {**variant, "segment": [_merge(base, each) for each in stretches]}


def _merge(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Own values win; tables are merged key by key. A loop of another kind starts afresh."""
    if own.get("kind", base.get("kind")) != base.get("kind"):
        return own
    merged = dict(base)
    for key, value in own.items():
        both_tables = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _merge(base[key], value) if both_tables else value
    return merged


def _without_echoes(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Drop "should be a list" where the other form of the same key was refused with a better reason."""
    better = {detail["loc"][:2] for detail in details if detail["type"] != "list_type"}
    return [detail for detail in details if detail["type"] != "list_type" or detail["loc"][:2] not in better]


def _explain(detail: ErrorDetails, complete: dict[str, Any], document: dict[str, Any], text: str) -> str:
    """One line: where in the file, and what is wrong with it. A key inherited by every variant is named once."""
    steps, missing = list(detail["loc"]), detail["type"] == "missing"
    place, keys = _walk(steps, complete, missing=missing)
    if len(steps) > 2 and steps[0] == "variant" and isinstance(steps[1], int):
        variants = document.get("variant", [])
        own = variants[steps[1]] if variants else {}
        inherited_place, inherited_keys = _walk(steps[2:], document, missing=missing)
        if inherited_keys == keys[1:] and _walk(steps[2:], own, missing=missing)[1] != keys[1:]:
            place, keys = inherited_place, inherited_keys
    line = _line_of(keys[-1], text) if keys else ""
    message = _message(detail)
    return f"{line}{' '.join(place)}: {message}" if place else f"{line}{message}"


def _walk(steps: list[int | str], node: Any, *, missing: bool) -> tuple[list[str], list[str]]:
    """Readable names of the steps to a value, and those of them that are keys of the file."""
    place, keys = [], []
    for number, step in enumerate(steps, start=1):
        if isinstance(step, int) and isinstance(node, list) and step < len(node):
            node = node[step]
            name = node.get("name") if isinstance(node, dict) else None
            place.append(repr(name) if name else f"number {step + 1}")
        elif isinstance(node, dict) and step in node:
            node = node[step]
            place.append(str(step))
            keys.append(str(step))
        elif missing and number == len(steps):
            place.append(str(step))
    return place, keys


def _message(detail: ErrorDetails) -> str:
    if detail["type"] == "missing":
        return "this key is missing"
    if detail["type"] in ("union_tag_invalid", "union_tag_not_found"):
        kind = detail["input"].get("kind")
        if "placement" in detail["loc"]:
            return f"kind is {kind!r}; a placement's kind is one of {', '.join(map(repr, PLACEMENT_KINDS))}"
        return f"kind is {kind!r}; a loop's kind is 'same-layer', 'next-layer', 'through-board' or 'ring'"
    if detail["type"] in ("model_type", "dict_type", "model_attributes_type"):
        return f"this must be a table of keys, not {detail['input']!r}"
    if detail["type"] == "string_too_short":
        return "this is empty; give it a name"
    if detail["type"] == "too_short":
        return "this list is empty; give at least one entry"
    return detail["msg"].removeprefix("Value error, ")


def _line_of(key: str, text: str) -> str:
    """Line of a key, if it stands in the file just once."""
    hits = [
        number
        for number, line in enumerate(text.splitlines(), start=1)
        if line.split("=")[0].strip() == key or line.strip().strip("[]").split(".")[-1] == key
    ]
    return f"line {hits[0]}: " if len(hits) == 1 else ""


def _build_scenario(table: ScenarioTable, text: str, folder: Path) -> Scenario:
    variants = tuple(_named(variant, table) for variant in table.variant)
    reference = table.reference or variants[0].name
    deaf = any(variant.pickup is None for variant in variants)
    placed = all(variant.placed is not None for variant in variants)
    computed = table.model_fields_set - ({"pickup"} if deaf else set()) | ({"placement"} if placed else set())
    switching = None if table.switching is None else build_switching(table.switching)
    return Scenario(
        title=table.title,
        setting=table.setting.strip(),
        variants=variants,
        reference=reference,
        analysis=_build_analysis(table.analysis),
        text=text,
        emission=None if table.emission is None else build_emission(table.emission, folder, switching),
        switching=switching,
        measurement=None
        if table.measurement is None
        else build_measurement(table.measurement, folder, reference, table.model_fields_set),
        budgets=read_budgets(table.budgets, computed),
    )


def _named(variant: VariantTable, table: ScenarioTable) -> Variant:
    try:
        return _build_variant(variant, table)
    except GeometryError as error:
        raise GeometryError(f"variant {variant.name!r}: {error}") from error


def _build_analysis(table: AnalysisTable) -> Analysis:
    wanted = table.frequencies
    if isinstance(wanted, FrequencySweep):
        count = max(2, 1 + round(math.log10(wanted.stop / wanted.start) * wanted.per_decade))
        ratio = (wanted.stop / wanted.start) ** (1 / (count - 1))
        listed = [float(f"{wanted.start * ratio**step:.6g}") for step in range(count)]
    else:
        listed = list(wanted)
    return Analysis(
        frequencies=tuple(sorted({*listed, table.report_frequency})),
        report_frequency=table.report_frequency,
        heights_above=tuple(sorted(table.heights_above)),
        heights_below=tuple(sorted(table.heights_below)),
        tolerance=table.tolerance,
        axisymmetric_view=table.axisymmetric_view,
    )


def _build_variant(table: VariantTable, scenario: ScenarioTable) -> Variant:
    placed = _build_placed(table, scenario)
    main = _build_stretch(table, scenario) if placed is None else _placed_stretch(table.name, placed, scenario)
    segments = _placed_segments(placed) + tuple(_build_segment(segment, scenario) for segment in table.segment)
    return Variant(
        name=table.name,
        note=table.note,
        section=main.section,
        length=main.length,
        stackups=main.stackups,
        steps=main.steps,
        segments=segments,
        axisymmetric_loop=main.axisymmetric_loop,
        placed=placed,
        switched=_build_switched(table, scenario, main),
        no_axisymmetric_view=main.no_axisymmetric_view,
        pickup=_build_victims(table, scenario, main),
        price=read_price(table.price) if table.price else None,
    )


def _build_victims(table: VariantTable, scenario: ScenarioTable, main: _Stretch) -> VictimSetup | None:
    if not table.victims or scenario.pickup is None:
        return None
    if main.section.view is View.AXISYMMETRIC:
        raise GeometryError("victims run along the loop, which a round view closes on itself; describe a section")
    return build_victims(
        table.victims,
        table.switch_node,
        build_drive(scenario.pickup, None if scenario.switching is None else build_switching(scenario.switching)),
        main.section,
        loop_edge=loop_edge(main.section),
        stackup=main.stackups[0] if main.stackups else None,
    )


def _build_switched(table: VariantTable, scenario: ScenarioTable, main: _Stretch) -> SwitchedLoops | None:
    """The further switched loops of a variant, in the section of its victims if it has some."""
    if not table.switched:
        return None
    pickup = _build_victims(table, scenario, main)
    return build_switched(
        table.switched,
        main.section if pickup is None else pickup.section,
        length=main.length,
        loop_edge=loop_edge(main.section),
        stackup=main.stackups[0] if main.stackups else None,
        victims=() if pickup is None else pickup.victims,
    )


def _build_segment(table: SegmentTable, scenario: ScenarioTable) -> Segment:
    try:
        stretch = _build_stretch(table, scenario)
    except GeometryError as error:
        raise GeometryError(f"segment {table.name!r}: {error}") from error
    return Segment(name=table.name, section=stretch.section, length=stretch.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """What a table describes: a section, its length, its board and its ground layers one by one, its round view."""

    section: CrossSection
    length: float
    stackups: tuple[Stackup, ...] = ()
    steps: tuple[BuildStep, ...] = ()
    axisymmetric_loop: AxisymmetricLoop | None = None
    no_axisymmetric_view: str = ""


def _build_stretch(table: SegmentTable, scenario: ScenarioTable) -> _Stretch:
    if table.loop is None:
        return _written_stretch(table, scenario)
    stackup = _find_stackup(table, scenario)
    if isinstance(table.loop, RingTable):
        return _ring_stretch(table, table.loop, stackup)
    loop = _build_loop(table.loop, stackup)
    if table.loop.copper_thickness is not None:
        for layer in loop_layers(stackup, loop):
            stackup = _with_thickness(stackup, layer, table.loop.copper_thickness)
    planes = _build_planes(table.planes, stackup, loop)
    present = [plane for plane in planes if plane.tie is not Tie.ABSENT]
    return _loop_stretch(table.name, stackup, loop, present, scenario)


def _build_placed(table: VariantTable, scenario: ScenarioTable) -> PlacedLoop | None:
    """The placement of a variant on its board, if it has one."""
    if table.placement is None or table.switch is None:
        return None
    stackup = _find_stackup(table, scenario)
    placement = build_placement(table.placement, table.switch, table.capacitor)
    outer = placement.loop(stackup.copper_names[0], stackup.copper_names[-1])
    planes = _build_planes(table.planes, stackup, outer)
    present = tuple(plane for plane in planes if plane.tie is not Tie.ABSENT)
    placed = PlacedLoop(placement=placement, site=Site(stackup=stackup, planes=present))
    placement_plan(table.name, placed)
    return placed


def _placed_stretch(name: str, placed: PlacedLoop, scenario: ScenarioTable) -> _Stretch:
    site = placed.site
    return _loop_stretch(name, site.stackup, placed.loop, list(site.planes), scenario)


def _placed_segments(placed: PlacedLoop | None) -> tuple[Segment, ...]:
    if placed is None:
        return ()
    return tuple(
        Segment(name=each.name, section=each.section, length=each.length) for each in placement_stretches(placed)
    )


def _loop_stretch(name: str, stackup: Stackup, loop: Loop, present: list[Plane], scenario: ScenarioTable) -> _Stretch:
    steps = [BuildStep(layer="", section=cross_section(f"{name}, no ground", stackup, loop))]
    for count, plane in enumerate(present, start=1):
        section = cross_section(f"{name}, ground {plane.layer}", stackup, loop, present[:count])
        steps.append(BuildStep(layer=plane.layer, section=section))
    asked = scenario.analysis.axisymmetric_view
    reason = why_no_ring(loop) if asked else ""
    return _Stretch(
        section=cross_section(name, stackup, loop, present),
        length=loop.length,
        stackups=(stackup,),
        steps=tuple(steps) if present else (),
        axisymmetric_loop=axisymmetric_twin(name, stackup, loop, present)
        if asked and not reason and isinstance(loop, SameLayerLoop)
        else None,
        no_axisymmetric_view=reason,
    )


def _ring_stretch(table: SegmentTable, described: RingTable, stackup: Stackup) -> _Stretch:
    ring = RingLoop(
        radius=described.radius,
        layer=described.layer,
        width=described.width,
        wire=described.wire,
        height=described.height,
    )
    if described.copper_thickness is not None:
        stackup = _with_thickness(stackup, described.layer, described.copper_thickness)
    for layer in table.planes:
        stackup.heights(layer)
    discs = [
        _build_disc(layer, table.planes[layer], ring)
        for layer in stackup.copper_names
        if layer in table.planes and table.planes[layer].tie is not Tie.ABSENT
    ]
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
    if table.tie is Tie.STITCHED:
        raise GeometryError(
            f"plane {layer!r} is stitched; a disc under a ring closes on itself whatever it is tied to: write "
            'tie = "floating"'
        )
    if table.width is not None or table.edge_distance is not None:
        raise GeometryError(f"plane {layer!r} under a ring is a disc: give its radius or its overhang, and no width")
    outer = ring.radius + max(ring.width, ring.wire) / 2
    return Disc(
        layer=layer,
        radius=table.radius if table.radius is not None else outer + (table.overhang or 0.0),
        hole=table.hole,
        slots=tuple(AnnularSlot(radius=slot.position, width=slot.width) for slot in table.slots),
    )


def _written_stretch(table: SegmentTable, scenario: ScenarioTable) -> _Stretch:
    copper = _build_copper(table.copper)
    regions = tuple(_build_region(region, copper) for region in table.region)
    usual = "return" if table.view is View.SECTION else ""
    listed = tuple(
        CurrentLoop(
            name=current.name,
            go_group=current.go,
            return_group=usual if current.back is None else current.back,
        )
        for current in table.current
    )
    main = CurrentLoop(return_group=usual)
    own = () if any(loop.go_group == main.go_group for loop in listed) else (main,)
    section = CrossSection(
        name=table.name,
        regions=regions,
        loops=own + listed,
        dielectrics=tuple(_build_dielectric(dielectric) for dielectric in table.dielectric),
        view=table.view,
    )
    if table.view is View.AXISYMMETRIC:
        return _Stretch(section=section, length=1.0, axisymmetric_loop=_written_round(section))
    if table.length is None or not table.length > 0:
        raise GeometryError(f"length is {table.length} m; it must be above zero")
    return _Stretch(
        section=section,
        length=table.length,
        no_axisymmetric_view=_WRITTEN_OUT if scenario.analysis.axisymmetric_view else "",
    )


def _build_dielectric(table: DielectricTable) -> Dielectric:
    return Dielectric(
        name=table.name,
        outline=Rectangle(left=table.left, right=table.right, bottom=table.bottom, top=table.top),
        relative_permittivity=table.relative_permittivity,
    )


def _written_round(section: CrossSection) -> AxisymmetricLoop:
    """A written-out round section; the radius of its loop is that of the driven copper's middle."""
    driven = [region.outline.bounds for region in section.regions if region.group == section.loops[0].go_group]
    left, right = min(box[0] for box in driven), max(box[2] for box in driven)
    return AxisymmetricLoop(section=section, radius=(left + right) / 2)


def _find_stackup(table: SegmentTable, scenario: ScenarioTable) -> Stackup:
    copper = _build_copper(table.copper)
    if table.stackup in scenario.stackups:
        return build_stackup(table.stackup, scenario.stackups[table.stackup], copper)
    return named_stackup(table.stackup, copper)


def _build_copper(table: CopperTable) -> Conductor:
    at_reference = replace(COPPER, conductivity=table.conductivity)
    return at_reference if table.temperature == 20 else at_reference.at_temperature(table.temperature)


def _with_thickness(stackup: Stackup, name: str, thickness: float) -> Stackup:
    layers = tuple(
        replace(layer, thickness=thickness) if isinstance(layer, CopperLayer) and layer.name == name else layer
        for layer in stackup.layers
    )
    return replace(stackup, layers=layers)


def _build_loop(table: SameLayerTable | NextLayerTable | ThroughBoardTable, stackup: Stackup) -> Loop:
    return_width = table.width if table.return_width is None else table.return_width
    if isinstance(table, SameLayerTable):
        return SameLayerLoop(
            width=table.width,
            return_width=return_width,
            gap=table.gap,
            length=table.length,
            layer=table.layer,
            sidewall_angle=table.sidewall_angle,
        )
    if isinstance(table, ThroughBoardTable):
        return ThroughBoardLoop(
            width=table.width,
            return_width=return_width,
            length=table.length,
            sidewall_angle=table.sidewall_angle,
        )
    return NextLayerLoop(
        width=table.width,
        return_width=return_width,
        length=table.length,
        layer=table.layer,
        return_layer=table.return_layer or _layer_below(stackup, table.layer),
        sidewall_angle=table.sidewall_angle,
    )


def _layer_below(stackup: Stackup, layer: str) -> str:
    stackup.heights(layer)
    names = stackup.copper_names
    position = names.index(layer)
    if position + 1 == len(names):
        raise GeometryError(f"layer {layer!r} is the last of construction {stackup.name!r}; name a return_layer")
    return names[position + 1]


def _build_planes(tables: dict[str, PlaneTable], stackup: Stackup, loop: Loop) -> list[Plane]:
    """Planes from the top of the board to its bottom."""
    for layer in tables:
        stackup.heights(layer)
    ordered = [layer for layer in stackup.copper_names if layer in tables]
    return [_build_plane(layer, tables[layer], loop) for layer in ordered]


def _build_plane(layer: str, table: PlaneTable, loop: Loop) -> Plane:
    if table.radius is not None or table.hole:
        raise GeometryError(f"plane {layer!r} has a radius or a hole; only discs under a loop of kind 'ring' have them")
    width = table.width
    if table.overhang is not None:
        width = loop_span(loop) + 2 * table.overhang
    return Plane(
        layer=layer,
        tie=table.tie,
        width=loop_span(loop) if width is None else width,
        edge_distance=math.inf if table.edge_distance is None else table.edge_distance,
        slots=tuple(Slot(position=slot.position, width=slot.width, bonded=slot.bonded) for slot in table.slots),
    )


def _build_region(table: RegionTable, copper: Conductor) -> Region:
    material = copper
    if table.conductivity is not None:
        material = Conductor(name=f"metal of {table.name}", conductivity=table.conductivity)
    try:
        outline = _build_outline(table)
    except GeometryError as error:
        raise GeometryError(f"region {table.name!r}: {error}") from error
    return Region(name=table.name, outline=outline, role=table.role, material=material, group=table.group)


def _build_outline(table: RegionTable) -> Outline:
    values = table.model_dump(exclude_none=True)
    if table.shape == "rectangle":
        return Rectangle(**{side: values[side] for side in ("left", "right", "bottom", "top")})
    if table.shape == "polygon":
        return Polygon(vertices=tuple(values["vertices"]))
    if table.shape == "circle":
        return Circle(centre=values["centre"], radius=values["radius"])
    return Ring(centre=values["centre"], inner_radius=values["inner_radius"], outer_radius=values["outer_radius"])
