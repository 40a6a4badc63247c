"""A worked example, cell by cell, as in a notebook: two boards for a loop, then the gap of its tracks (invented data).

Run it as it is, or open it in an editor that knows ``# %%`` cells. In a notebook, ``%load_ext solver.report.notebook``
lets every result show itself; here :func:`solver.notebook_view` does.
"""

# %% Describe: one loop of 6 mm on the top layer, without and with ground below it.
from geometries import read_scenario
from geometries.files.sweep_reading import parse_sweep
from solver import notebook_view, run_study, run_sweep

TEXT = """
title = "Is a ground layer below the loop worth its vias?"
stackup = "2L-0.8"
loop = { kind = "same-layer", width = "2 mm", gap = "1 mm", length = "6 mm", land = "1 mm" }
analysis = { frequencies = ["1 MHz", "100 MHz"], report_frequency = "100 MHz", tolerance = "1 %" }

[[variant]]
name = "no ground"

[[variant]]
name = "ground"
planes.L2 = { tie = "both ends", width = "20 mm" }
"""

# %% Solve both, and look.
study = run_study(read_scenario(TEXT), workers=1)
study_view = notebook_view(study)

# %% One figure, with its uncertainty.
before, after = (study.reading(name, "loop_inductance") for name in ("no ground", "ground"))
saved = 1 - after.value / before.value

# %% Move the gap.
SWEPT = (
    TEXT
    + """
[sweep]
variant = "no ground"
vary = [{ key = "loop.gap", values = ["0.5 mm", "1 mm", "2 mm"] }]
figures = ["loop_inductance"]
"""
)
sweep = run_sweep(parse_sweep(SWEPT), workers=1)
sweep_view = notebook_view(sweep)
