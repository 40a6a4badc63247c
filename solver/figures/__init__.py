"""Drawings of a study, as pure functions from values to figures. The only package that imports matplotlib."""

from matplotlib.figure import Figure

from solver.figures.axisymmetric import AxisymmetricCurve, axis_figure, axisymmetric_section_figure, shielding_figure
from solver.figures.charts import benefit_figure, comparison_figure, field_scan_figure, frequency_figure
from solver.figures.cost import cost_figure
from solver.figures.curves import Curve, Panel, curves_figure
from solver.figures.emission import emission_figure
from solver.figures.measurement import impedance_figure, spectrum_figure
from solver.figures.pickup import distance_figure, pickup_figure, pickup_levels_figure
from solver.figures.plan import plan_figure
from solver.figures.section import section_figure
from solver.figures.stack import stack_figure
from solver.figures.style import figure_svg, save_figure
from solver.figures.sweep import sweep_figure
from solver.figures.switching import waveform_figure
from solver.figures.tolerance import histogram_figure, tornado_figure
from solver.figures.whole_loop import placements_figure, sensitivity_figure, whole_loop_figure

__all__ = [
    "AxisymmetricCurve",
    "Curve",
    "Figure",
    "Panel",
    "axis_figure",
    "axisymmetric_section_figure",
    "benefit_figure",
    "comparison_figure",
    "cost_figure",
    "curves_figure",
    "distance_figure",
    "emission_figure",
    "field_scan_figure",
    "figure_svg",
    "frequency_figure",
    "histogram_figure",
    "impedance_figure",
    "pickup_figure",
    "pickup_levels_figure",
    "placements_figure",
    "plan_figure",
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
]
