"""A folder is replaced whole or stays as it was; nothing is written through a link, and nothing is left behind."""

import os
import signal
import subprocess
import sys

import pytest

from solver.errors import ReportError
from solver.runs import folders
from solver.runs.folders import place_file, replaced_folder, require_folder, staging_folder

FILES = {"list.json": "new", "figures/a.svg": "new"}


def fill(folder, content):
    for name in FILES:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(content)


def replace(folder):
    require_folder(folder, FILES)
    with replaced_folder(folder, last="list.json") as fresh:
        fill(fresh, "new")


def contents(folder):
    return {path.relative_to(folder).as_posix(): path.read_text() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(params=["beside", "within"])
def folder(request, tmp_path, monkeypatch):
    """An older folder of ours that can be replaced, or one that is a mount point."""
    target = tmp_path / "report"
    fill(target, "old")
    (target / "figures" / "gone.svg").write_text("old")
    if request.param == "within":
        monkeypatch.setattr(folders.os.path, "ismount", lambda path: path == target)
    return target


def names_of(folder):
    return {*FILES, "figures/gone.svg"}


def test_the_new_folder_takes_the_place_of_the_old_one_and_leaves_nothing_beside(folder):
    require_folder(folder, names_of(folder))
    with replaced_folder(folder, last="list.json") as fresh:
        fill(fresh, "new")
    assert contents(folder) == FILES
    assert os.listdir(folder.parent) == ["report"]
    assert sorted(os.listdir(folder)) == ["figures", "list.json"]


def test_a_failure_while_writing_leaves_the_old_folder_as_it_was(folder):
    before = contents(folder)

    def write():
        with replaced_folder(folder, last="list.json") as fresh:
            fill(fresh, "new")
            raise RuntimeError("stopped")

    with pytest.raises(RuntimeError, match="stopped"):
        write()
    assert contents(folder) == before
    assert os.listdir(folder.parent) == ["report"]


def test_a_mount_point_itself_is_never_moved(tmp_path, monkeypatch):
    monkeypatch.setattr(folders.os.path, "ismount", lambda path: path == tmp_path)
    inode = tmp_path.stat().st_ino
    with replaced_folder(tmp_path, last="list.json") as fresh:
        fill(fresh, "new")
    assert tmp_path.stat().st_ino == inode
    assert contents(tmp_path) == FILES


def test_the_listing_file_is_moved_last(folder, monkeypatch):
    moved = []
    true_replace = os.replace
    monkeypatch.setattr(folders.os, "replace", lambda old, new: (moved.append(new.name), true_replace(old, new)))
    with replaced_folder(folder, last="list.json") as fresh:
        fill(fresh, "new")
    assert moved in ([], ["a.svg", "list.json"])


def test_a_name_of_255_characters_is_written(tmp_path):
    target = tmp_path / ("r" * 255)
    replace(target)
    replace(target)
    assert contents(target) == FILES


def test_a_folder_with_foreign_files_is_refused_and_left_alone(folder):
    (folder / "thesis.txt").write_text("mine")
    before = contents(folder)
    with pytest.raises(ReportError, match=r"not of an earlier run \(thesis.txt\)"):
        require_folder(folder, names_of(folder))
    assert contents(folder) == before


def test_a_folder_planted_as_a_link_in_the_target_is_refused(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    for path in (folder / "figures").iterdir():
        path.unlink()
    (folder / "figures").rmdir()
    (folder / "figures").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(ReportError, match=r"\(figures\)"):
        require_folder(folder, names_of(folder))


def test_a_file_planted_as_a_link_is_replaced_and_its_target_left_alone(folder, tmp_path):
    (tmp_path / "precious").write_text("precious")
    (folder / "list.json").unlink()
    (folder / "list.json").symlink_to(tmp_path / "precious")
    with replaced_folder(folder, last="list.json") as fresh:
        fill(fresh, "new")
    assert (tmp_path / "precious").read_text() == "precious"
    assert contents(folder) == FILES


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "report").write_text("mine")
    with pytest.raises(ReportError, match="it is a file"):
        require_folder(tmp_path / "report", FILES)


def test_a_nearly_full_disk_is_refused_before_the_computation(tmp_path, monkeypatch):
    monkeypatch.setattr(folders, "LEAST_SPACE", 10**18)
    with pytest.raises(ReportError, match=r"MB are free on its disk; at least"):
        require_folder(tmp_path / "report", FILES)
    assert os.listdir(tmp_path) == []


KILLED = """
import os, signal, sys
from pathlib import Path
from solver.runs import folders
target = Path(sys.argv[1])
with folders.replaced_folder(target, last="list.json") as fresh:
    (fresh / "list.json").write_text("half")
    if sys.argv[2] == "aside":
        target.rename(target.parent / folders._random_name(target, "old"))
    print("ready", flush=True)
    signal.pause()
"""


@pytest.fixture
def killed(folder):
    """What runs leave that are killed while they write, or between the two steps of taking a place."""

    def run(moment):
        child = subprocess.Popen([sys.executable, "-c", KILLED, str(folder), moment], stdout=subprocess.PIPE)
        assert child.stdout is not None
        assert child.stdout.readline() == b"ready\n"
        return child

    children = []
    yield lambda moment: children.append(run(moment)) or children[-1]
    for child in children:
        child.kill()
        child.wait()
        child.stdout.close()


@pytest.mark.parametrize("moment", ["writing", "aside"])
def test_the_next_run_removes_or_puts_back_what_a_killed_one_left(folder, killed, moment):
    before = contents(folder)
    child = killed(moment)
    child.send_signal(signal.SIGKILL)
    child.wait()
    require_folder(folder, names_of(folder))
    assert contents(folder) == before
    assert os.listdir(folder.parent) == ["report"]


def test_a_folder_that_another_run_works_in_is_left_alone(tmp_path, killed, folder):
    killed("writing")
    require_folder(folder, names_of(folder))
    assert any(name.endswith(".new") for name in os.listdir(folder.parent))


def test_a_planted_link_of_such_a_name_is_neither_followed_nor_removed(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "precious").write_text("precious")
    planted = folder.parent / folders._random_name(folder, "new")
    planted.symlink_to(tmp_path / "elsewhere")
    require_folder(folder, names_of(folder))
    assert (tmp_path / "elsewhere" / "precious").read_text() == "precious"
    assert planted.is_symlink()


def test_staged_files_take_their_places_and_the_stage_goes(folder):
    with staging_folder(folder) as stage:
        (stage / "a").write_text("new")
        place_file(stage / "a", folder / "figures" / "a.svg")
    assert contents(folder)["figures/a.svg"] == "new"
    assert not [name for name in os.listdir(folder) if name.startswith(".")]


def test_nothing_is_placed_through_a_folder_that_is_a_link(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (folder / "maps").symlink_to(tmp_path / "elsewhere")
    with staging_folder(folder) as stage:
        (stage / "a").write_text("new")
        with pytest.raises(ReportError, match="is a link"):
            place_file(stage / "a", folder / "maps" / "a.svg")
    assert os.listdir(tmp_path / "elsewhere") == []
