"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data.

The names below are loaded when they are first used, so that the command line answers at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from geometries.late_names import names_loaded_late

if TYPE_CHECKING:
    from geometries.board.capacitors import Capacitor, ElectrodeBody, LumpedEsl, SwitchPackage, switch_package
    from geometries.board.materials import COPPER, Conductor
    from geometries.board.parts import capacitor_case, via_type
    from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
    from geometries.errors import GeometryError, ScenarioError
    from geometries.files.explore_reading import read_exploration
    from geometries.files.layout_reading import read_plan
    from geometries.files.reading import (
        builtin_scenario_names,
        describe,
        read_builtin_scenario,
        read_scenario,
    )
    from geometries.files.stackups import named_stackup, stackup_names
    from geometries.files.sweep_reading import read_sweep
    from geometries.files.tolerance_reading import read_tolerance
    from geometries.layout.laid_out import LaidOutLoop
    from geometries.layout.layout import (
        CopperSheet,
        EdgeTerminal,
        MirrorPlane,
        PadTerminal,
        PlaneTerminal,
        PlanLayout,
        Port,
        RingPort,
        Via,
        Wall,
    )
    from geometries.layout.placements import FarSide, MirroredPair, Orientation, PlacedLoop, ReturnBelow, SameSide, Site
    from geometries.layout.plan_task import PlanTask
    from geometries.layout.section_plan import SectionPlan, section_plan
    from geometries.operation.budgets import Budget
    from geometries.operation.emission import Cable, Emission
    from geometries.operation.emission import Site as EmissionSite
    from geometries.operation.limits import LimitLine
    from geometries.operation.measurements import Measurement
    from geometries.operation.published_limits import published_limit
    from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
    from geometries.operation.switching import EdgeSpan, Snubber, Switching, SwitchingTolerance
    from geometries.quantities import MHZ, MM, UM
    from geometries.section.analysis import Analysis
    from geometries.section.loops import (
        NextLayerLoop,
        Plane,
        SameLayerLoop,
        Slot,
        ThroughBoardLoop,
        TieVias,
        cross_section,
        tie_row,
    )
    from geometries.section.outline import Circle, Polygon, Rectangle, Ring
    from geometries.section.rings import Disc, RingLoop, ring_section
    from geometries.section.section import CrossSection, CurrentLoop, Region, Role, Tie, View
    from geometries.section.victims import (
        Divider,
        Drive,
        Run,
        SwitchNode,
        Trace,
        Victim,
        VictimSetup,
        loop_edge,
        with_victims,
    )
    from geometries.study.build import build_scenario
    from geometries.study.description import Description
    from geometries.study.explore import Exploration
    from geometries.study.fingerprint import computed_from
    from geometries.study.keys import KeyPath, find_key, with_values
    from geometries.study.scenario import Scenario, Segment, Variant
    from geometries.study.sweep import Sweep, sweep_points, sweep_scenario
    from geometries.study.tolerance import Tolerance, tolerance_scenario

_HOMES = {
    "board.capacitors": ("Capacitor", "ElectrodeBody", "LumpedEsl", "SwitchPackage", "switch_package"),
    "board.materials": ("COPPER", "Conductor"),
    "board.parts": ("capacitor_case", "via_type"),
    "board.stackup": ("CopperLayer", "DielectricLayer", "Stackup"),
    "errors": ("GeometryError", "ScenarioError"),
    "files.layout_reading": ("read_plan",),
    "files.reading": ("builtin_scenario_names", "describe", "read_builtin_scenario", "read_scenario"),
    "files.stackups": ("named_stackup", "stackup_names"),
    "files.explore_reading": ("read_exploration",),
    "files.sweep_reading": ("read_sweep",),
    "files.tolerance_reading": ("read_tolerance",),
    "layout.laid_out": ("LaidOutLoop",),
    "layout.layout": (
        "CopperSheet",
        "EdgeTerminal",
        "MirrorPlane",
        "PadTerminal",
        "PlaneTerminal",
        "PlanLayout",
        "PlaneTerminal",
        "Port",
        "RingPort",
        "Via",
        "Wall",
    ),
    "layout.plan_task": ("PlanTask",),
    "layout.placements": ("FarSide", "MirroredPair", "Orientation", "PlacedLoop", "ReturnBelow", "SameSide", "Site"),
    "operation.budgets": ("Budget",),
    "operation.emission": ("Cable", "Emission", "EmissionSite: Site"),
    "operation.limits": ("LimitLine",),
    "operation.measurements": ("Measurement",),
    "operation.published_limits": ("published_limit",),
    "operation.ring_measurement": ("LoadedRing", "RingMeasurement"),
    "operation.switching": ("EdgeSpan", "Snubber", "Switching", "SwitchingTolerance"),
    "quantities": ("MHZ", "MM", "UM"),
    "layout.section_plan": ("SectionPlan", "section_plan"),
    "section.analysis": ("Analysis",),
    "section.loops": (
        "NextLayerLoop",
        "Plane",
        "SameLayerLoop",
        "Slot",
        "ThroughBoardLoop",
        "TieVias",
        "cross_section",
        "tie_row",
    ),
    "section.outline": ("Circle", "Polygon", "Rectangle", "Ring"),
    "section.rings": ("Disc", "RingLoop", "ring_section"),
    "section.section": ("CrossSection", "CurrentLoop", "Region", "Role", "Tie", "View"),
    "section.victims": (
        "Divider",
        "Drive",
        "Run",
        "SwitchNode",
        "Trace",
        "Victim",
        "VictimSetup",
        "loop_edge",
        "with_victims",
    ),
    "study.build": ("build_scenario",),
    "study.description": ("Description",),
    "study.fingerprint": ("computed_from",),
    "study.keys": ("KeyPath", "find_key", "with_values"),
    "study.explore": ("Exploration",),
    "study.scenario": ("Scenario", "Segment", "Variant"),
    "study.sweep": ("Sweep", "sweep_points", "sweep_scenario"),
    "study.tolerance": ("Tolerance", "tolerance_scenario"),
}
"""Where every public name lives."""

__all__ = [
    "COPPER",
    "MHZ",
    "MM",
    "UM",
    "Analysis",
    "Budget",
    "Cable",
    "Capacitor",
    "Circle",
    "Conductor",
    "CopperLayer",
    "CopperSheet",
    "CrossSection",
    "CurrentLoop",
    "Description",
    "DielectricLayer",
    "Disc",
    "Divider",
    "Drive",
    "EdgeSpan",
    "EdgeTerminal",
    "ElectrodeBody",
    "Emission",
    "EmissionSite",
    "Exploration",
    "FarSide",
    "GeometryError",
    "KeyPath",
    "LaidOutLoop",
    "LimitLine",
    "LoadedRing",
    "LumpedEsl",
    "Measurement",
    "MirrorPlane",
    "MirroredPair",
    "NextLayerLoop",
    "Orientation",
    "PadTerminal",
    "PlacedLoop",
    "PlanLayout",
    "PlanTask",
    "Plane",
    "PlaneTerminal",
    "Polygon",
    "Port",
    "Rectangle",
    "Region",
    "ReturnBelow",
    "Ring",
    "RingLoop",
    "RingMeasurement",
    "RingPort",
    "Role",
    "Run",
    "SameLayerLoop",
    "SameSide",
    "Scenario",
    "ScenarioError",
    "SectionPlan",
    "Segment",
    "Site",
    "Slot",
    "Snubber",
    "Stackup",
    "Sweep",
    "SwitchNode",
    "SwitchPackage",
    "Switching",
    "SwitchingTolerance",
    "ThroughBoardLoop",
    "Tie",
    "TieVias",
    "Tolerance",
    "Trace",
    "Variant",
    "Via",
    "Victim",
    "VictimSetup",
    "View",
    "Wall",
    "build_scenario",
    "builtin_scenario_names",
    "capacitor_case",
    "computed_from",
    "cross_section",
    "describe",
    "find_key",
    "loop_edge",
    "named_stackup",
    "published_limit",
    "read_builtin_scenario",
    "read_exploration",
    "read_plan",
    "read_scenario",
    "read_sweep",
    "read_tolerance",
    "ring_section",
    "section_plan",
    "stackup_names",
    "sweep_points",
    "sweep_scenario",
    "switch_package",
    "tie_row",
    "tolerance_scenario",
    "via_type",
    "with_values",
    "with_victims",
]

__getattr__ = names_loaded_late(__name__, _HOMES)
