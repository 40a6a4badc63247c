"""The parts of a report, in the order of the page. A further analysis is shown by its own module and a line here."""

from __future__ import annotations

from solver.report.budgets_part import BUDGETS_PART
from solver.report.couplings_part import COUPLINGS
from solver.report.emission_part import EMISSION_PART
from solver.report.loop_part import BENEFIT, CHECKS, COMPARISON, FIELD, FREQUENCY
from solver.report.measurement_part import MEASUREMENT_PART
from solver.report.part import Part
from solver.report.pickup_part import PICKUP_PART
from solver.report.product_part import PRODUCT_PART
from solver.report.summary_part import SUMMARY_PART
from solver.report.switching_part import SWITCHING_PART
from solver.report.variants_part import INPUTS, VARIANTS
from solver.report.views_part import VIEWS_PART
from solver.report.whole_loop_part import WHOLE_LOOP_PART
from solver.study.results import StudyResult

PARTS: tuple[Part, ...] = (
    SUMMARY_PART,
    WHOLE_LOOP_PART,
    COMPARISON,
    CHECKS,
    BENEFIT,
    FREQUENCY,
    FIELD,
    VIEWS_PART,
    SWITCHING_PART,
    EMISSION_PART,
    PRODUCT_PART,
    MEASUREMENT_PART,
    BUDGETS_PART,
    PICKUP_PART,
    COUPLINGS,
    VARIANTS,
    INPUTS,
)


def shown_parts(study: StudyResult) -> tuple[Part, ...]:
    """The parts for which a study has something to show."""
    return tuple(part for part in PARTS if part.shown(study) is not None)
