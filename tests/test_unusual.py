import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import builtin_scenario_names, builtin_text, describe, parse_scenario, read_scenario
from geometries.study.unusual import unusual_values
from solver.study.warnings import unusual_warnings

TEXT = builtin_text("orchard-pump")


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_nothing_in_a_built_in_scenario_is_unusual(name):
    assert unusual_values(describe(builtin_text(name))) == ()


def test_an_unusual_value_that_all_variants_inherit_is_named_once_with_its_table():
    found = unusual_values(describe(TEXT.replace('width = "3 mm"', 'width = "5 um"')))
    assert [each.partition(";")[0] for each in found] == ["loop: width is 5 µm"]


def test_an_unusual_value_becomes_a_numbered_warning():
    warnings = unusual_warnings(parse_scenario(TEXT.replace("3 ns", "30 ns")))
    assert [each.code for each in warnings] == ["W-UNUSUAL"]
    assert warnings[0].text.startswith("switching: edge_time is 30 ns; it usually lies between 200 ps and 10 ns")


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ('width = "3 mm"', 'width = "300 m"', "width is .*; values accepted lie between"),
        ('width = "3 mm"', 'width = "-3 mm"', "width is −3 mm; it cannot be negative"),
        ('edge_time = "3 ns"', 'edge_time = "3 s"', "edge_time is 3 s; values accepted"),
        ('edge_time = "3 ns"', 'edge_time = "1,5 ns"', "holds a comma"),
    ],
)
def test_a_value_far_outside_is_refused_with_line_and_key(old, new, reason):
    with pytest.raises(ScenarioError, match=rf"line \d+: .*{reason}"):
        parse_scenario(TEXT.replace(old, new))


@pytest.mark.parametrize("value", ["1e12", "inf", "nan", "-4.4", "0.44", '"4.4"', "true", "9" * 400])
def test_a_permittivity_that_is_none_is_refused_even_in_a_board_that_no_variant_uses(value):
    board = (
        f'[stackups.spare]\nlayers = [{{ dielectric = "D", thickness = "1 mm", relative_permittivity = {value} }}]\n'
    )
    with pytest.raises(ScenarioError, match=r"stackups spare .*relative_permittivity"):
        parse_scenario(TEXT + board)


@pytest.mark.parametrize("sign", ["\\u0000", "\\u001b[31m", "\\u007f", "\\u202e", "\\u009b"])
def test_a_name_with_a_control_character_is_refused(sign):
    with pytest.raises(ScenarioError, match="holds a control character"):
        parse_scenario(TEXT.replace('name = "both ends"', f'name = "a{sign}b"'))


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "9" * 5000,
        "a = 2024-99-99",
        "[" + ".".join(["a"] * 5000) + "]",
        "\0",
        "a = '\x1b'",
    ],
    ids=["deep", "long integer", "no date", "deep table", "zero", "escape"],
)
def test_a_file_that_no_scenario_can_be_is_refused_in_one_short_line(text):
    with pytest.raises(ScenarioError) as refusal:
        parse_scenario(text)
    assert str(refusal.value).isprintable()
    assert len(str(refusal.value)) < 400


def test_a_limits_file_outside_the_folder_is_refused_unless_it_is_allowed(tmp_path):
    (tmp_path / "own.csv").write_text("from,to,level\n30 MHz,1 GHz,40\n")
    folder = tmp_path / "scenario"
    folder.mkdir()
    text = builtin_text("irrigation-controller")
    line = next(each for each in text.splitlines() if each.startswith("limits"))
    path = folder / "board.toml"
    path.write_text(text.replace(line, f'{line}\nlimits_file = "../own.csv"'))
    with pytest.raises(ScenarioError, match="outside the scenario's folder"):
        read_scenario(path)
    assert read_scenario(path, allow_outside=True).title
