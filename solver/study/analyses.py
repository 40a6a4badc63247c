"""The analyses of a study, in the order in which they conclude. A further analysis is its own room and a line here."""

from __future__ import annotations

from typing import Any

from solver.measurement.comparison import MEASUREMENT
from solver.study.budgets import BUDGETS
from solver.study.figures_of_merit import MEASURED
from solver.study.summary import SUMMARY
from solver.study.view_comparison import VIEWS
from solver.variant.analysis import Analysis

ANALYSES: tuple[Analysis[Any], ...] = (*MEASURED, VIEWS, MEASUREMENT, BUDGETS, SUMMARY)
