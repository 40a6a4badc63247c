"""Values written as JSON come back to the last bit, and text that describes none of them makes nothing."""

import json
import math
import zlib
from dataclasses import dataclass
from enum import Enum

import numpy as np
import pytest

from solver.runs.values import value_of, value_record


class Colour(Enum):
    RED = "r"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle(Shape):
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    shape: Shape
    either: Shape | Other
    perhaps: Circle | None = None
    pair: tuple[int, float] = (1, 0.1)
    several: tuple[Other, ...] = ()
    colour: Colour = Colour.RED
    named: dict[str, float]
    numbers: np.ndarray[tuple[int, ...], np.dtype[np.complex128]]


WHOLE = Whole(
    shape=Circle(name="a", radius=0.1 + 0.2),
    either=Other(count=3),
    several=(Other(count=1), Other(count=2)),
    named={"far": math.inf, "tiny": 5e-324},
    numbers=np.array([[1 / 3 + 2j, np.nan], [-0.0, np.inf]]),
)


def back(value, annotation):
    return value_of(annotation, json.loads(json.dumps(value_record(value), allow_nan=False)))


def test_everything_comes_back_as_it_was():
    found = back(WHOLE, Whole)
    assert found.numbers.tobytes() == WHOLE.numbers.tobytes()
    assert (found.numbers.shape, found.numbers.dtype) == (WHOLE.numbers.shape, WHOLE.numbers.dtype)
    for name in ("shape", "either", "perhaps", "pair", "several", "colour", "named"):
        assert getattr(found, name) == getattr(WHOLE, name)


@pytest.mark.parametrize("number", [math.inf, -math.inf, 0.1, -0.0, 1e-320])
def test_a_number_comes_back_to_the_last_bit(number):
    assert math.copysign(1, back(number, float)) == math.copysign(1, number)
    assert back(number, float) == number


def test_what_is_no_number_comes_back_as_none():
    assert math.isnan(back(math.nan, float))


def test_a_field_that_was_left_out_is_given():
    record = value_record(Circle(name="a", radius=1.0), without=("name",))
    assert value_of(Shape, record, name="b") == Circle(name="b", radius=1.0)


def test_an_object_of_another_kind_is_not_written():
    with pytest.raises(TypeError, match="object has no exact record"):
        value_record((object(),))


def array(**changed):
    return {**value_record(np.arange(3.0)), **changed}


@pytest.mark.parametrize(
    ("annotation", "record"),
    [
        (float, "1.0"),
        (float, True),
        (int, 1.5),
        (str, 3),
        (bool, 1),
        (tuple[int, ...], 3),
        (tuple[int, float], [1]),
        (Colour, "BLUE"),
        (Shape, {"class": "Other", "count": 1}),
        (Shape, {"class": "Circle", "name": "a"}),
        (Shape, {"class": "Circle", "name": "a", "radius": 1.0, "further": 2}),
        (Shape, {"class": "os.system", "name": "a"}),
        (Shape | Other, {"class": "Whole"}),
        (Shape | None, [1]),
        (Shape, None),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(type="O")),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(shape=[4])),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(shape=[2])),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(shape=[10**12])),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(shape=[-3])),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(data="AAAA")),
        (np.ndarray[tuple[int, ...], np.dtype[np.float64]], array(data="?")),
    ],
)
def test_a_record_of_another_kind_makes_nothing(annotation, record):
    with pytest.raises((ArithmeticError, AttributeError, LookupError, TypeError, ValueError, zlib.error)):
        value_of(annotation, record)
