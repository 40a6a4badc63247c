"""The two real boards beside this file, each read once; where they come from stands in README.md."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from geometries.fabrication.board import Board
from geometries.fabrication.reading import read_board


@cache
def _read(name: str) -> Board:
    return read_board(Path(__file__).parent / f"{name}.zip")


@pytest.fixture(scope="session")
def real_board():
    """Function from a board's name to the board."""
    return _read
