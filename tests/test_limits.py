"""Limits of emission: lines, and the reader of a user's own."""

import math
from pathlib import Path

import pytest

from geometries.errors import ScenarioError
from geometries.operation.limits import LimitBand, LimitLine, read_limits
from geometries.operation.published_limits import published_limit


def written(folder: Path, text: str) -> Path:
    path = folder / "own.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_of_limits_is_read_band_by_band(tmp_path: Path) -> None:
    path = written(tmp_path, "# mine\nfrom,to,level,detector\n30 MHz,230 MHz,34,average\n230 MHz,1 GHz,41,average\n")
    line = read_limits(path, 3.0)
    assert (line.name, line.distance, line.level(100e6), line.level(500e6)) == ("own", 3.0, 34.0, 41.0)


def test_bands_come_in_order_and_detectors_are_quasi_peak_unless_said(tmp_path: Path) -> None:
    line = read_limits(written(tmp_path, "from,to,level\n230 MHz,1 GHz,41\n30 MHz,230 MHz,34\n"), 3.0)
    assert [(band.start, band.detector) for band in line.bands] == [(30e6, "quasi-peak"), (230e6, "quasi-peak")]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"own\.csv: no limits in it; write from,to,level"),
        ("from,to,level\n", "no limits in it"),
        ("from,to\n30 MHz,1 GHz\n", r"line 1: the headings must be from, to, level"),
        ("from,to,level\n30 MHz,1 GHz\n", r"line 2: 2 entries under 3 headings"),
        ("from,to,level\n30 MHz,1 GHz,forty\n", 'line 2: level is "forty"; write a number in dBµV/m'),
        ("from,to,level\n30,1 GHz,40\n", r'line 2: from = "30" has no unit'),
        ("from,to,level\n1 GHz,30 MHz,40\n", r"line 2: a limit goes from 1e\+09 to 3e\+07 Hz; write 0 < from < to"),
        ("from,to,level,detector\n30 MHz,1 GHz,40,qp\n", r"line 2: detector is 'qp'; it is one of quasi-peak, average"),
        ("from,to,level\n30 MHz,1 GHz,4000\n", r"line 2: a limit is 4000 dBµV/m; allowed"),
        ("from,to,level\n30 MHz,1 GHz,nan\n", 'line 2: level is "nan"; write'),
    ],
)
def test_a_bad_file_says_what_and_where(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        read_limits(written(tmp_path, text), 3.0)


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="there is no such file of limits; check the path"):
        read_limits(tmp_path / "none.csv", 3.0)


def test_a_file_in_another_encoding_says_so(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    path.write_bytes(b"from,to,level\n\xff\n")
    with pytest.raises(ScenarioError, match="not a text file in UTF-8"):
        read_limits(path, 3.0)


def test_between_bands_there_is_no_limit() -> None:
    line = LimitLine(
        name="gap",
        distance=3.0,
        bands=(LimitBand(start=1e6, stop=2e6, level=30), LimitBand(start=3e6, stop=4e6, level=40)),
        source="invented",
    )
    assert math.isinf(line.level(2.5e6))
    assert line.breakpoints == (1e6, 2e6, 3e6, 4e6)


def test_an_unknown_limit_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ScenarioError, match="no limit is called 'CISPR 11'; known are CISPR 32 class A, "):
        published_limit("CISPR 11", 3.0)


def test_another_distance_is_refused() -> None:
    with pytest.raises(ScenarioError, match="the distance is 5 m; published limits are known at 3 m and 10 m"):
        published_limit("CISPR 32 class B", 5.0)


def test_a_conversion_of_distance_is_said_in_the_source() -> None:
    source = published_limit("FCC 15.109 class B", 10.0).source
    assert source.endswith(r"converted to 10 m by 20 dB per decade (-10.46 dB)")


def test_a_sloping_band_is_straight_over_the_logarithm_of_frequency() -> None:
    band = LimitBand(start=30e6, stop=300e6, level=40.0, slope=-10.0)
    assert band.level_at(math.sqrt(30e6 * 300e6)) == pytest.approx(35.0, rel=1e-12)


def test_a_sloping_limit_is_converted_as_a_whole() -> None:
    near, far = (published_limit("CISPR 32 class B, anechoic room", distance) for distance in (3.0, 10.0))
    assert near.level(100e6) - far.level(100e6) == pytest.approx(10.0, rel=1e-12)


def test_a_limit_of_vehicles_is_not_converted_to_another_distance() -> None:
    with pytest.raises(ScenarioError, match="CISPR 25 class 5 is measured at 1 m, not at 3 m; set the distance to it"):
        published_limit("CISPR 25 class 5", 3.0)


def test_between_the_services_of_a_vehicle_nothing_is_limited() -> None:
    assert math.isinf(published_limit("CISPR 25 class 5", 1.0).level(265e6))


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_each_class_of_vehicle_components_is_6_db_tighter_than_the_one_before(number: int) -> None:
    loose, tight = (published_limit(f"CISPR 25 class {each}", 1.0) for each in (number, number + 1))
    assert loose.level(100e6) - tight.level(100e6) == pytest.approx(6.0, rel=1e-12)
