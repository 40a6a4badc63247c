"""Drawings of a study, as pure functions from values to figures. The only package that imports matplotlib."""

from matplotlib.figure import Figure

from solver.figures.bench import impedance_figure, spectrum_figure
from solver.figures.charts import comparison_figure, field_line_figure, frequency_figure, worth_figure
from solver.figures.cost import cost_figure
from solver.figures.curves import Curve, Panel, curves_figure
from solver.figures.emission import emission_figure
from solver.figures.pickup import distance_figure, hearing_figure, pickup_figure
from solver.figures.pickup_sweep import pickup_sweep_figure
from solver.figures.plan import plan_figure
from solver.figures.round import RoundCurve, axis_figure, round_section_figure, shielding_figure
from solver.figures.section import section_figure
from solver.figures.stack import stack_figure
from solver.figures.style import figure_svg, save_figure
from solver.figures.sweep import sweep_figure
from solver.figures.switching import waveform_figure
from solver.figures.tolerance import histogram_figure, tornado_figure
from solver.figures.whole_loop import placements_figure, sensitivity_figure, whole_loop_figure

__all__ = [
    "Curve",
    "Figure",
    "Panel",
    "RoundCurve",
    "axis_figure",
    "comparison_figure",
    "cost_figure",
    "curves_figure",
    "distance_figure",
    "emission_figure",
    "field_line_figure",
    "figure_svg",
    "frequency_figure",
    "hearing_figure",
    "histogram_figure",
    "impedance_figure",
    "pickup_figure",
    "pickup_sweep_figure",
    "placements_figure",
    "plan_figure",
    "round_section_figure",
    "save_figure",
    "section_figure",
    "sensitivity_figure",
    "shielding_figure",
    "spectrum_figure",
    "stack_figure",
    "sweep_figure",
    "tornado_figure",
    "waveform_figure",
    "whole_loop_figure",
    "worth_figure",
]
