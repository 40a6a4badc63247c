"""A board from its files: the built-in one there and back, and what hostile or faulty sets of files are refused for."""

import json
import re
import zipfile
from dataclasses import replace

import pytest
import shapely

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.fabrication.connectivity import flood, net_differences
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.example_board import NAME, STACKUP, example_files, write_example_board
from geometries.fabrication.reading import read_board
from geometries.fabrication.sources import LARGEST_FILE
from geometries.quantities import MM

TOP = f"{NAME}-L1.gbr"


def written(folder, **changes):
    """The built-in board's files in a folder, some replaced or, if empty, left out; names stand without their start."""
    files = dict(example_files())
    for ending, text in changes.items():
        files[next(name for name in files if ending in name)] = text
    for name, text in files.items():
        if text:
            (folder / name).write_text(text)
    return folder


def test_the_copper_comes_back_with_its_nets(board):
    assert board.net_names == ("+24V", "+5V", "BOOT", "FB", "GND", "SW")


def test_an_area_of_copper_comes_back(board):
    corners = [(20.6, 6.5), (37.2, 6.5), (37.2, 10.5), (20.6, 10.5)]
    drawn = shapely.Polygon([(x * MM, y * MM) for x, y in corners])
    assert board.copper(1, "+5V").intersection(drawn).area == pytest.approx(drawn.area, rel=1e-9)


def test_a_plane_is_cleared_around_other_nets(board):
    gap = board.copper(2, "GND").distance(board.copper(2, "+24V"))
    assert gap == pytest.approx(0.25 * MM, rel=0.02)


def test_the_stack_comes_back(board):
    made = [layer.thickness for layer in STACKUP.layers]
    assert [layer.thickness for layer in board.stack.stackup.layers] == pytest.approx(made, rel=1e-9)


def test_the_outline_comes_back(board):
    assert board.outline.area == pytest.approx(40 * 28 * MM**2, rel=1e-9)


def test_pads_come_back_with_pin_and_function(board):
    found = {(pad.pin, pad.function, pad.net) for pad in board.pads_of("U1")}
    assert ("1", "VIN", "+24V") in found


def test_holes_come_back_at_their_places(board):
    assert min(abs(hole.start[0] - 26.2 * MM) + abs(hole.start[1] - 3.7 * MM) for hole in board.holes) < 1e-7


def test_only_thin_plated_holes_on_several_layers_are_vias(board):
    assert {hole.diameter for hole in board.vias} == {0.3 * MM}


def test_flooding_finds_the_nets_that_are_named(board):
    differences = net_differences(flood(board.layers, board.holes))
    assert (differences.nets, differences.merged, differences.split) == (6, (), ())


def test_flooding_sees_a_missing_via(board):
    # left over: the rest, the piece on top, and the via's pads on both planes
    kept = [hole for hole in board.holes if hole.start != pytest.approx((17 * MM, 12.1 * MM))]
    assert net_differences(flood(board.layers, kept)).split == (("+24V", 4),)


def test_flooding_sees_a_short(board):
    top = board.layers[0]
    bridge = shapely.box(15 * MM, 14.2 * MM, 15.1 * MM, 14.8 * MM)
    shorted = replace(top, nets={**top.nets, "FB": top.nets["FB"].union(bridge)})
    assert net_differences(flood((shorted, *board.layers[1:]), board.holes)).merged == (("+24V", "FB", "GND"),)


def test_a_zip_archive_reads_like_its_folder(board, tmp_path):
    with zipfile.ZipFile(tmp_path / "board.zip", "w") as archive:
        for name, text in example_files().items():
            archive.writestr(f"out/{name}", text)
    assert read_board(tmp_path / "board.zip").layers[0].area == pytest.approx(board.layers[0].area)


def test_an_unknown_net_is_answered_with_the_nearest(board):
    with pytest.raises(FabricationError, match=r"no net '\+24'; did you mean '\+24V'"):
        board.require_net("+24")


def test_an_unknown_part_is_answered_with_the_nearest(board):
    with pytest.raises(FabricationError, match="no part 'U11'; did you mean 'U1'"):
        board.pads_of("U11")


def test_a_given_stackup_replaces_the_files(tmp_path):
    thinner = tuple(
        replace(layer, thickness=0.05 * MM) if isinstance(layer, DielectricLayer) else layer for layer in STACKUP.layers
    )
    board = read_board(written(tmp_path), stackup=Stackup(name="mine", layers=thinner))
    assert board.stack.height(1) - board.stack.height(2) == pytest.approx((0.05 + 0.03) * MM)


def test_a_given_stackup_of_other_layers_is_refused(tmp_path):
    single = Stackup(name="mine", layers=(CopperLayer(name="only", thickness=35e-6),))
    with pytest.raises(FabricationError, match="1 copper layers, but the files have 4"):
        read_board(written(tmp_path), stackup=single)


def test_a_missing_job_file_makes_the_stack_an_assumption(tmp_path):
    board = read_board(written(tmp_path, gbrjob=""))
    assert (board.stack.source, "no file says the construction" in board.stack.assumptions[0]) == ("assumed", True)


def test_thicknesses_that_nobody_chose_are_doubted(tmp_path):
    job = json.loads(example_files()[f"{NAME}.gbrjob"])
    for layer, thickness in zip(job["MaterialStackup"][1::2], (0.1, 1.24, 0.1), strict=True):
        layer["Thickness"] = thickness
    board = read_board(written(tmp_path, gbrjob=json.dumps(job)))
    assert "untouched default" in board.stack.assumptions[0]


def test_a_job_file_that_numbers_layers_otherwise_is_remarked_on(tmp_path):
    job = example_files()[f"{NAME}.gbrjob"].replace("Copper,L2,Inr", "Copper,L7,Inr")
    assert "the files, which are believed" in read_board(written(tmp_path, gbrjob=job)).remarks[0]


def test_an_outline_that_is_missing_is_replaced_with_a_remark(tmp_path):
    assert "outline is missing" in read_board(written(tmp_path, profile="")).remarks[0]


def test_layers_without_attributes_are_taken_by_their_names(tmp_path):
    plain = {f"L{n}.gbr": f"{NAME}{end}" for n, end in {1: ".gtl", 2: ".g2", 3: ".g3", 4: ".gbl"}.items()}
    for name, text in example_files().items():
        if not name.endswith(".gbrjob"):
            target = next((new for old, new in plain.items() if old in name), name)
            (tmp_path / target).write_text(
                "\n".join(line for line in text.splitlines() if "TF.FileF" not in line or "L" not in target)
            )
    for name in plain.values():
        path = tmp_path / name
        path.write_text("\n".join(line for line in path.read_text().splitlines() if "%TF" not in line))
    board = read_board(tmp_path)
    assert [layer.file.removeprefix(NAME) for layer in board.layers] == [".gtl", ".g2", ".g3", ".gbl"]


def without_nets(text):
    return "\n".join(line for line in text.splitlines() if not line.startswith("%TO.N"))


def test_without_names_the_nets_are_found_by_flooding(board, tmp_path):
    files = {f"-L{n}.": without_nets(example_files()[f"{NAME}-L{n}.gbr"]) for n in (1, 2, 3, 4)}
    stripped = read_board(written(tmp_path, **files))
    assert len(stripped.net_names) == len(board.net_names)


def test_without_names_a_point_tells_the_net(board, tmp_path):
    files = {f"-L{n}.": without_nets(example_files()[f"{NAME}-L{n}.gbr"]) for n in (1, 2, 3, 4)}
    stripped = read_board(written(tmp_path, **files))
    net = stripped.net_at((5 * MM, 16.5 * MM), 1)
    assert stripped.copper(1, net).area == pytest.approx(board.copper(1, "+24V").area, rel=1e-9)


def test_a_netlist_names_the_nets(tmp_path):
    files = {f"-L{n}.": without_nets(example_files()[f"{NAME}-L{n}.gbr"]) for n in (1, 2, 3, 4)}
    record = "317+24V              J1    -1          A00X+005000Y+016500X0236Y0000R000S3"
    (tmp_path / "lamp.ipc").write_text(f"P  JOB lamp\nP  UNITS CUST 1\n{record}\n999\n")
    assert "+24V" in read_board(written(tmp_path, **files)).net_names


def test_a_missing_layer_is_named(tmp_path):
    with pytest.raises(FabricationError, match="copper layer L3 of 4 is missing"):
        read_board(written(tmp_path, **{"-L3.": ""}))


def test_a_layer_given_twice_is_refused(tmp_path):
    (tmp_path / "again.gbr").write_text(example_files()[TOP])
    with pytest.raises(FabricationError, match="both are copper layer 1"):
        read_board(written(tmp_path))


def test_a_job_file_of_another_board_is_refused(tmp_path):
    job = json.loads(example_files()[f"{NAME}.gbrjob"])
    job["MaterialStackup"] = job["MaterialStackup"][:3]
    with pytest.raises(FabricationError, match="2 copper layers, but there are files for 4"):
        read_board(written(tmp_path, gbrjob=json.dumps(job)))


def test_a_damaged_job_file_is_named_with_its_line(tmp_path):
    with pytest.raises(FabricationError, match="gbrjob, line 1: not readable as JSON"):
        read_board(written(tmp_path, gbrjob="{"))


def test_a_truncated_layer_is_named(tmp_path):
    with pytest.raises(FabricationError, match=r"L1\.gbr: the file breaks off"):
        read_board(written(tmp_path, **{"-L1.": example_files()[TOP][:2000]}))


def test_a_layer_with_another_origin_is_refused(tmp_path):
    moved = example_files()[f"{NAME}-L2.gbr"].replace("X39500000", "X339500000").replace("X500000Y", "X300500000Y")
    with pytest.raises(FabricationError, match="of its copper lies outside"):
        read_board(written(tmp_path, **{"-L2.": moved}))


def test_a_drill_file_in_another_unit_is_refused(tmp_path):
    inches = example_files()[f"{NAME}-plated.drl"].replace("METRIC", "INCH")
    with pytest.raises(FabricationError, match="holes lie outside the board"):
        read_board(written(tmp_path, **{"-plated": inches}))


def test_a_board_that_is_not_routed_is_refused(tmp_path):
    bare = {}
    for n in (1, 2, 3, 4):
        text = example_files()[f"{NAME}-L{n}.gbr"]
        kept, inside = [], False
        for line in text.splitlines():
            inside = inside or line == "G36*"
            if not inside and not line.endswith("D01*"):
                kept.append(line)
            inside = inside and line != "G37*"
        bare[f"-L{n}."] = "\n".join(kept)
    with pytest.raises(FabricationError, match="not routed"):
        read_board(written(tmp_path, **bare))


def test_a_folder_without_copper_is_refused(tmp_path):
    (tmp_path / "notes.txt").write_text("bread, milk")
    with pytest.raises(FabricationError, match="no Gerber file of a copper layer"):
        read_board(tmp_path)


def test_a_place_that_does_not_exist_is_refused(tmp_path):
    with pytest.raises(FabricationError, match="does not exist"):
        read_board(tmp_path / "nowhere")


def test_a_path_out_of_the_archive_is_refused(tmp_path):
    with zipfile.ZipFile(tmp_path / "board.zip", "w") as archive:
        archive.writestr("../../etc/lamp.gbr", example_files()[TOP])
    with pytest.raises(FabricationError, match="leads out of it"):
        read_board(tmp_path / "board.zip")


def test_a_zip_bomb_is_refused_before_it_is_unpacked(tmp_path):
    with zipfile.ZipFile(tmp_path / "board.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("lamp.gbr", b"G04 0*\n" * (3 * LARGEST_FILE // 7))
    with pytest.raises(FabricationError, match="more than 40 MB"):
        read_board(tmp_path / "board.zip")


def test_a_file_of_200_megabytes_is_refused_without_being_read(tmp_path):
    with (tmp_path / "lamp.gbr").open("wb") as file:
        file.truncate(200 * 10**6)
    with pytest.raises(FabricationError, match="more than 40 MB"):
        read_board(tmp_path)


def test_a_damaged_archive_is_refused(tmp_path):
    (tmp_path / "board.zip").write_bytes(b"PK\x03\x04 not an archive")
    with pytest.raises(FabricationError, match="no readable zip archive"):
        read_board(tmp_path / "board.zip")


def moved(folder, ending, change):
    """The built-in board's files, every x of one of them changed; of drill files [mm], of Gerber files [nm]."""
    write_example_board(folder)
    file = folder / f"{NAME}-{ending}"
    digits = r"(?m)^X([\d.]+)Y"
    shown = "X{:.4f}Y" if ending.endswith("drl") else "X{:.0f}Y"
    file.write_text(re.sub(digits, lambda found: shown.format(change(float(found[1]))), file.read_text()))
    return folder


@pytest.mark.parametrize("layer", [1, 2, 3, 4])
@pytest.mark.parametrize("aside", [1.0, -0.1])
def test_a_layer_aside_is_refused_and_by_how_much(tmp_path, layer, aside):
    said = rf"L{layer}\.gbr: the pads of L{layer} lie \({aside:g}, 0\) mm beside the holes of .*the other layers do not"
    with pytest.raises(FabricationError, match=said):
        read_board(moved(tmp_path, f"L{layer}.gbr", lambda x: x + aside * 1e6))


def test_a_mirrored_layer_is_refused(tmp_path):
    with pytest.raises(FabricationError, match=r"L1\.gbr: the pads of L1 lie mirrored to the holes of"):
        read_board(moved(tmp_path, "L1.gbr", lambda x: 40e6 - x))


def test_a_drill_file_aside_is_refused_and_by_how_much(tmp_path):
    with pytest.raises(FabricationError, match=r"plated\.drl: the pads of all layers lie \(-1, 0\) mm beside"):
        read_board(moved(tmp_path, "plated.drl", lambda x: x + 1))


def test_files_rounded_to_a_coarse_step_are_not_refused(tmp_path):
    assert read_board(moved(tmp_path, "plated.drl", lambda x: x + 0.025)).remarks == ()


def test_a_layer_without_pads_at_its_holes_that_crosses_other_nets_is_refused(tmp_path):
    top = example_files()[TOP]
    bare = re.sub(r"X\d+Y\d+D03\*\n", "", top)
    bridge = "G36*\nX500000Y500000D02*\nX39500000Y500000D01*\nX39500000Y27500000D01*\nX500000Y27500000D01*\nG37*\nM02*"
    with pytest.raises(FabricationError, match="pass through copper of another net, one at"):
        read_board(written(tmp_path, **{"-L1.": bare.replace("M02*", "%TO.N,BOOT*%\n" + bridge)}))


def test_an_outline_aside_is_told(tmp_path):
    board = read_board(moved(tmp_path, "profile.gbr", lambda x: x + 1e6))
    assert "copper of L2 reaches 0.5 mm over the outline" in board.remarks[0]


def test_of_layers_without_any_attribute_every_flash_may_be_a_pad(board, tmp_path):
    kept = r"(?m)^%T[OAD].*\n"
    plain = {f"-L{n}.": re.sub(kept, "", example_files()[f"{NAME}-L{n}.gbr"]) for n in (1, 2, 3, 4)}
    bare = read_board(written(tmp_path, **plain))
    places = {pad.place for pad in bare.pads if pad.layer == 1}
    assert {pad.place for pad in board.pads if pad.layer == 1} <= places
