"""The verdict: ordered objectives, equal within bands, nothing recommended that nobody can build."""

import math

import pytest

from solver.study.decision import Candidate, Figure, Objective, Sense, decide, decision_sentence

EMISSION = Objective(name="emission", unit="dB", sense=Sense.LESS)
VOLTAGE = Objective(name="peak voltage", unit="V", sense=Sense.KEEP_BELOW, limit=40.0)
INDUCTANCE = Objective(name="inductance", unit="nH", sense=Sense.LESS)
PRICE = Objective(name="price", unit="EUR", sense=Sense.LESS)
MARGIN = Objective(name="margin", unit="dB", sense=Sense.MORE)


def board(name, *figures, tied=True):
    return Candidate(name=name, tied=tied, figures=tuple(Figure(value=value, band=band) for value, band in figures))


def test_the_first_objective_decides_where_figures_differ_by_more_than_their_bands():
    decision = decide([board("a", (40, 2), (1, 0)), board("b", (35, 2), (9, 0))], [EMISSION, INDUCTANCE])
    assert decision.recommended == ("b",)
    assert decision.deciding.objective is EMISSION
    assert decision.deciding.bands == pytest.approx(5 / math.hypot(2, 2), rel=1e-12)


def test_figures_closer_than_their_bands_are_equal_and_the_next_objective_decides():
    decision = decide([board("a", (40, 2), (1, 0)), board("b", (38, 2), (9, 0))], [EMISSION, INDUCTANCE])
    assert decision.recommended == ("a",)
    assert decision.deciding.objective is INDUCTANCE


@pytest.mark.parametrize(("gap", "recommended"), [(4.99, ("a", "b")), (5.01, ("b",))])
def test_the_root_of_both_squares_is_the_edge(gap, recommended):
    assert decide([board("a", (40, 3)), board("b", (40 - gap, 4))], [EMISSION]).recommended == recommended


def test_a_figure_exactly_one_band_away_is_still_equal():
    assert decide([board("a", (40, 3)), board("b", (35, 4))], [EMISSION]).recommended == ("a", "b")


def test_what_no_objective_tells_apart_is_undecided():
    decision = decide([board("a", (40, 2)), board("b", (39, 2))], [EMISSION])
    assert decision.recommended == ("a", "b")
    assert decision.deciding is None


def test_a_limit_that_is_kept_is_as_good_as_one_kept_by_far():
    decision = decide([board("a", (20, 0.1), (5, 1)), board("b", (39, 0.1), (1, 1))], [VOLTAGE, INDUCTANCE])
    assert decision.recommended == ("b",)


def test_a_limit_missed_by_more_than_the_band_rules_out_whatever_the_rest_says():
    decision = decide([board("a", (45, 1), (1, 0)), board("b", (30, 1), (9, 0))], [VOLTAGE, INDUCTANCE])
    assert decision.recommended == ("b",)
    assert decision.deciding.gap == 5.0


def test_a_limit_missed_within_the_band_rules_nothing_out():
    # 1.3 dB over a budget of a figure known to 6 dB, with half the inductance.
    budget = Objective(name="emission", unit="dB", sense=Sense.KEEP_BELOW, limit=6.0)
    decision = decide([board("far", (5.0, 6), (2.0, 0.1)), board("near", (7.3, 6), (1.0, 0.1))], [budget, INDUCTANCE])
    assert decision.recommended == ("near",)


def test_a_miss_of_a_limit_is_counted_in_the_bands_of_the_one_that_misses():
    decision = decide([board("a", (43, 2)), board("b", (30, 100))], [VOLTAGE])
    assert decision.recommended == ("b",)
    assert decision.deciding.bands == 1.5


def test_where_all_miss_a_limit_the_least_miss_is_taken():
    assert decide([board("a", (60, 1)), board("b", (50, 1))], [VOLTAGE]).recommended == ("b",)


def test_more_is_better_where_it_is_wanted():
    assert decide([board("a", (3, 1)), board("b", (12, 1))], [MARGIN]).recommended == ("b",)


def test_an_untied_ground_is_never_recommended_however_good_its_figures_are():
    decision = decide([board("floating", (10, 1), tied=False), board("tied", (40, 1))], [EMISSION])
    assert decision.recommended == ("tied",)
    assert decision.studies == ("floating",)


def test_an_untied_ground_does_not_even_set_the_best_figure():
    # Against the floating one at 10 both others would be dropped, or kept, alike; among themselves they differ.
    decision = decide([board("floating", (10, 9), tied=False), board("a", (40, 9)), board("b", (20, 9))], [EMISSION])
    assert decision.recommended == ("b",)


def test_where_nothing_can_be_built_nothing_is_recommended():
    decision = decide([board("floating", (10, 1), tied=False)], [EMISSION])
    assert decision.recommended == ()
    assert decision_sentence(decision) == "No variant can be built: the ground of every one is tied nowhere."


def test_the_deciding_step_is_the_last_that_dropped_a_candidate():
    boards = [
        board("a", (60, 1), (1, 0.1), (5, 0)),
        board("b", (30, 1), (2, 0.1), (5, 0)),
        board("c", (30, 1), (1, 0.1), (5, 0)),
    ]
    decision = decide(boards, [VOLTAGE, INDUCTANCE, PRICE])
    assert decision.recommended == ("c",)
    assert [step.dropped for step in decision.steps] == [("a",), ("b",)]
    assert decision.deciding.objective is INDUCTANCE


def test_the_gap_is_to_the_nearest_of_those_that_were_dropped():
    decision = decide([board("a", (40, 1)), board("b", (30, 1)), board("c", (25, 1))], [EMISSION])
    assert (decision.deciding.best, decision.deciding.gap) == ("c", 5.0)


def test_prices_without_bands_decide_by_any_difference():
    decision = decide([board("a", (1.00, 0)), board("b", (1.01, 0))], [PRICE])
    assert decision.recommended == ("a",)
    assert decision_sentence(decision) == "“a”: price decided."


def test_equal_prices_are_equal():
    assert decide([board("a", (1.0, 0)), board("b", (1.0, 0))], [PRICE]).recommended == ("a", "b")


def test_one_candidate_needs_no_reason():
    assert decision_sentence(decide([board("a", (1.0, 0))], [PRICE])) == "“a”: the only one that can be built."


def test_the_sentence_names_what_decided_and_what_did_not():
    boards = [board("a", (60, 1)), board("b", (30, 1)), board("c", (31, 1))]
    # 30 over the root of 1 + 1.
    expected = (
        "“b” or “c”: emission decided, by 21 times the error band; "
        "between them they are equal within the bands in all that counts."
    )
    assert decision_sentence(decide(boards, [EMISSION])) == expected


def test_the_order_of_candidates_does_not_change_the_verdict():
    boards = [board("a", (40, 2), (3, 0.1)), board("b", (38, 2), (2, 0.1)), board("c", (44, 1), (1, 0.1))]
    forward = decide(boards, [EMISSION, INDUCTANCE])
    assert decide(boards[::-1], [EMISSION, INDUCTANCE]).recommended == forward.recommended == ("b",)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: decide([board("a", (1, 0))], [PRICE, EMISSION]), "“a” has 1 figures for 2 objectives"),
        (lambda: decide([board("a"), board("a")], []), "two candidates have the same name"),
        (lambda: Figure(value=math.nan, band=1.0), "give finite numbers"),
        (lambda: Figure(value=1.0, band=-1.0), "the band zero or more"),
        (
            lambda: Objective(name="V", unit="V", sense=Sense.KEEP_BELOW),
            "V must be kept below inf V; give a finite limit",
        ),
    ],
)
def test_what_cannot_be_judged_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()
