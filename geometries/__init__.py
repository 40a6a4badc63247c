"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data.

The names below are loaded when they are first used, so that the command line answers at once.
"""

from __future__ import annotations

from pathlib import Path
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

__all__, __getattr__ = names_loaded_late(__name__, Path(__file__).read_text(encoding="utf-8"))
