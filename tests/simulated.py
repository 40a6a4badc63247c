"""A written circuit run by ngspice, where it is installed, and the tables that it prints."""

import shutil
import subprocess

import numpy as np
import pytest


def run_ngspice(folder, deck):
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed, so the decks cannot be run; .ci/circuit-simulator installs it as root")
    command = ["ngspice", "-b", deck]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "error" not in (done.stdout + done.stderr).lower()
    assert "singular" not in (done.stdout + done.stderr).lower()
    return done.stdout


def table(output, heading):
    """Rows of numbers of the tables whose column headings start with `heading`, ordered by the second column."""
    rows, inside = {}, False
    for line in output.splitlines():
        cells = line.replace(",", " ").split()
        if cells[:1] == ["Index"]:
            inside = cells[1] == heading[0] and cells[2 : 1 + len(heading)] == list(heading[1:])
        elif inside and cells and cells[0].isdigit():
            rows[int(cells[0])] = [float(cell) for cell in cells[1:]]
    return np.array([rows[index] for index in sorted(rows)])
