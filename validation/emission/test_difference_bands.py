"""A switch of 20 % in any input moves no difference of two boards by more than its stated band, in 95 of 100 cases.

Source: none beside the model; it is the model's own bands that are put to the test, by changing what it was told. Base
cases are built-in pairs with all of their electrical inputs drawn at random between 0.6 and 1.6 times theirs. One
input, electrical or of the boards' geometry, is then switched by a factor of 1.2 up or down on both boards alike; the
change of the highest line from the one board to the other, of the loop alone and of all sources together, is set
against the band that was stated before the switch.

    python -m validation.emission.test_difference_bands 1000 1

draws a thousand of them with the seed 1, and reports after every fifty (some forty minutes of processor time); the test
draws fewer, of electrical inputs, which need no further field solution.
"""

import math
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache

from geometries.errors import GeometryError
from geometries.files.reading import builtin_text, describe
from geometries.operation.emission import Emission
from geometries.study.build import build_scenario
from geometries.study.description import Description
from geometries.study.keys import KeyPath, numeric_keys, value_at, with_values
from geometries.study.scenario import Scenario, Variant
from solver.emission.comparison import compare_emission, product_of
from solver.study.figures_of_merit import figure_named, needs_of
from solver.study.points import few_frequencies
from solver.variant.results import VariantResult
from solver.variant.solve import solve_variant

Pair = tuple[str, str, str]
PAIRS: tuple[Pair, ...] = (
    ("two-inner-layers", "two layers", "two inner layers more"),
    ("irrigation-controller", "2 layers, one end", "4 layers, both ends"),
)
SWITCH = 1.2
ELECTRICAL = ("emission", "switching")
NO_INPUTS = {
    *("emission.distance", "emission.band", "emission.highest_frequency"),
    *("switching.voltage_rating", "switching.derating"),
    *("emission.rise_time", "emission.fall_time", "emission.frequency"),
}
"""Where is looked, what the product has to keep, and what follows the switching edge and moves with it."""
DRAWS_PER_BASE = 50


UNMOVED = 1e-9
LOOP, SUM = "loop alone", "all sources"


@cache
def solved(variant: Variant, analysis: object, needs: frozenset) -> VariantResult:
    return solve_variant(variant, few_frequencies(analysis), needs)


def results_of(scenario: Scenario) -> list[VariantResult]:
    """Fields do not depend on what drives them: solved once for all draws that share their copper."""
    needs = needs_of([figure_named("product_emission", scenario, where="check")], scenario)
    alone = [replace(each, steps=(), switching=None, price=None, note="") for each in scenario.variants]
    return [solved(each, scenario.analysis, needs) for each in alone]


def loop_alone(emission: Emission) -> Emission:
    return replace(emission, node=None, cable=None)


def emissions(scenario: Scenario) -> dict[str, Emission]:
    """The loop alone, and all sources together."""
    return {LOOP: replace(scenario.emission, node=None, cable=None), SUM: scenario.emission}


def stated(scenario: Scenario) -> dict[str, tuple[float, float]]:
    """Both changes with their bands, as a comparison states them."""
    found = {}
    for name, emission in emissions(scenario).items():
        comparison = compare_emission(emission, results_of(scenario), scenario.reference)
        change = comparison.product.predictions[-1].sum_change
        found[name] = change.change, change.band
    return found


def changes(scenario: Scenario) -> dict[str, float]:
    """Both changes alone."""
    found = {}
    for name, emission in emissions(scenario).items():
        before, after = (product_of(emission, result).highest.level for result in results_of(scenario))
        found[name] = after - before
    return found


def described(name: str, before: str, after: str) -> Description:
    """The pair alone, flat on its table so that the change of the highest line is one number."""
    text = (
        builtin_text(name)
        .replace('orientation = "flat"\n', "")
        .replace("[emission]\n", '[emission]\norientation = "flat"\n')
    )
    description = describe(text)
    variants = tuple(each for each in description.variant if each.name in (before, after))
    return replace(description, variant=variants, reference=before, budgets={}, tolerance=None)


def inputs(description: Description) -> dict[str, list[KeyPath]]:
    """Numeric keys by their text, each with its way in every variant; absent and zero values do not switch."""
    found: dict[str, list[KeyPath]] = {}
    for variant in description.variant:
        for path in numeric_keys(description, variant.name):
            if (
                path.text.split(".")[0] != "analysis"
                and path.text not in NO_INPUTS
                and value_at(description, path.steps)
            ):
                ways = found.setdefault(path.text, [])
                ways += [path] if path.steps not in [each.steps for each in ways] else []
    return found


def drawn(description: Description, rng: random.Random) -> Description:
    """The pair with every electrical input between 0.6 and 1.6 times its own."""
    for text, paths in inputs(description).items():
        if electrical(text):
            description = (
                switched(description, paths, math.exp(rng.uniform(math.log(0.6), math.log(1.6)))) or description
            )
    return description


def switched(description: Description, paths: list[KeyPath], factor: float) -> Description | None:
    """With one input multiplied in all variants; None where the input cannot take the value."""
    try:
        changed = with_values(description, {path: value_at(description, path.steps) * factor for path in paths})
        build_scenario(changed)
    except GeometryError:
        return None
    return changed


def electrical(text: str) -> bool:
    """Whether an input drives the copper, and is none of its dimensions."""
    return text.split(".")[0] in ELECTRICAL


def moved(
    count: int, seed: int, pairs: Sequence[Pair] = PAIRS, wanted: Callable[[str], object] = bool
) -> Iterator[tuple[str, str, float]]:
    """Of every draw: the input, which difference, and by how many bands it moved; what moves nothing does not count."""
    rng, found = random.Random(seed), 0
    while found < count:
        base = drawn(described(*rng.choice(pairs)), rng)
        before = stated(build_scenario(base))
        for _ in range(min(DRAWS_PER_BASE, count)):
            text, paths = rng.choice([item for item in inputs(base).items() if wanted(item[0])])
            after = switched(base, paths, rng.choice([SWITCH, 1 / SWITCH]))
            if after is None:
                continue
            now = changes(build_scenario(after))
            steps = {name: abs(now[name] - before[name][0]) / before[name][1] for name in now}
            if max(steps.values()) < UNMOVED:
                continue
            found += 1
            for name, bands in steps.items():
                yield text, name, bands


def test_a_switch_of_20_percent_stays_within_the_band_in_95_of_100_cases():
    found = [bands for _, _, bands in moved(40, seed=15, pairs=PAIRS[:1], wanted=electrical)]
    assert sum(bands <= 1 for bands in found) / len(found) >= 0.95


def report(found: Sequence[tuple[str, str, float]]) -> Iterator[str]:
    """How many differences stayed within their bands, and which inputs moved those that did not."""
    for name in (LOOP, SUM):
        bands = sorted(each[2] for each in found if each[1] == name)
        within = 100 * sum(each <= 1 for each in bands) / len(bands)
        most = bands[int(0.95 * len(bands))]
        yield f"{name}: {len(bands)} draws, {within:.1f} % within the band; 95 % within {most:.2f} bands"
    yield f"beyond: {Counter((text, name) for text, name, bands in found if bands > 1).most_common()}"


def main(count: int, seed: int) -> None:
    """Tell of every fiftieth draw, and of all at the end."""
    found: list[tuple[str, str, float]] = []
    for each in moved(count, seed):
        found.append(each)
        if len(found) % (2 * DRAWS_PER_BASE) == 0:
            tell(found)
    tell(found)


def tell(found: Sequence[tuple[str, str, float]]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in report(found))
    sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
