"""What the distribution holds, and where its two import packages come from."""

from __future__ import annotations

import ast
import importlib
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from importlib.metadata import metadata, packages_distributions
from pathlib import Path

import pytest
from hatchling.build import build_wheel

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("solver", "geometries")
SOURCE_FOLDERS = (*PACKAGES, "tests", "validation", "docs")
ALLOWED_AT_TOP = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "Makefile",
    "README.md",
    "docs",
    "geometries",
    "pyproject.toml",
    "solver",
    "tests",
    "validation",
}


def tracked_files() -> list[str]:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("not a git work tree, or no git: what is tracked cannot be told")
    command = ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"]
    listing = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    return [name for name in listing.stdout.split("\0") if name]


def imported_packages(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module.partition(".")[0]


def importers(package: str) -> set[str]:
    """Modules that import the package."""
    paths = [path for folder in SOURCE_FOLDERS for path in (ROOT / folder).rglob("*.py")]
    found = [path.relative_to(ROOT) for path in paths if package in imported_packages(path)]
    return {path.with_suffix("").as_posix() for path in found}


@pytest.mark.parametrize("package", PACKAGES)
def test_import_package_lies_in_this_tree(package: str) -> None:
    assert list(importlib.import_module(package).__path__) == [str(ROOT / package)]


@pytest.mark.parametrize("package", PACKAGES)
def test_no_other_distribution_offers_the_import_package(package: str) -> None:
    # An editable install lists no modules of its own, so nobody at all is named there.
    assert set(packages_distributions().get(package, [])) <= {"copperfield"}


def test_distribution_may_not_be_uploaded() -> None:
    assert "Private :: Do Not Upload" in metadata("copperfield").get_all("Classifier", [])


def test_wheel_holds_every_file_of_the_two_packages_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    wheel = zipfile.ZipFile(tmp_path / build_wheel(str(tmp_path)))
    packed = {name for name in wheel.namelist() if ".dist-info/" not in name}
    on_disk = {
        path.relative_to(ROOT).as_posix()
        for package in PACKAGES
        for path in (ROOT / package).rglob("*")
        if path.is_file() and path.suffix != ".pyc"
    }
    assert packed == on_disk


def test_tests_are_flat_and_shadow_no_package() -> None:
    assert not list((ROOT / "tests").rglob("__init__.py"))
    assert not (ROOT / "tests" / "solver").exists()
    assert not (ROOT / "tests" / "geometries").exists()


def test_top_level_holds_only_the_agreed_entries() -> None:
    assert {name.partition("/")[0] for name in tracked_files()} <= ALLOWED_AT_TOP


@pytest.mark.parametrize(
    ("package", "only_importer"),
    [("gmsh", "solver/section/mesh"), ("meshio", "solver/section/mesh"), ("matplotlib", "solver/figures")],
)
def test_package_is_imported_in_one_place_only(package: str, only_importer: str) -> None:
    found = importers(package)
    assert found
    assert all(f"{name}/".startswith(f"{only_importer}/") for name in found)
