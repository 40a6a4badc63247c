"""Drawings of a study, as pure functions from values to figures. The only package that imports matplotlib.

The names below are loaded when they are first used: who draws nothing does not wait for matplotlib.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from geometries.late_names import names_loaded_late

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from solver.figures.axisymmetric import (
        AxisymmetricCurve,
        axis_figure,
        axisymmetric_section_figure,
        shielding_figure,
    )
    from solver.figures.board import board_figure
    from solver.figures.charts import benefit_figure, comparison_figure, field_scan_figure, frequency_figure
    from solver.figures.cost import cost_figure
    from solver.figures.curves import Curve, Panel, curves_figure
    from solver.figures.described import described_figure, stretches_figure
    from solver.figures.emission import emission_figure, product_figure
    from solver.figures.measurement import impedance_figure, spectrum_figure
    from solver.figures.pickup import distance_figure, pickup_figure, pickup_levels_figure
    from solver.figures.plan import plan_figure
    from solver.figures.section import section_figure
    from solver.figures.short_bars import short_bars_figure
    from solver.figures.stack import stack_figure
    from solver.figures.style import figure_png, figure_svg, save_figure
    from solver.figures.sweep import sweep_figure
    from solver.figures.switching import waveform_figure
    from solver.figures.tolerance import histogram_figure, tornado_figure
    from solver.figures.whole_loop import placements_figure, sensitivity_figure, whole_loop_figure

__all__, __getattr__ = names_loaded_late(__name__, Path(__file__).read_text(encoding="utf-8"))
