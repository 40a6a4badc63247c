"""Fabrication files with random faults are read or refused with a reason; nothing else ever happens."""

import random

import pytest

from geometries.fabrication.drill import read_excellon
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.example_board import NAME, example_files
from geometries.fabrication.gerber_reading import read_gerber
from geometries.fabrication.job import read_job

MUTANTS = 150
SIGNS = "0123456789.,-+*%XYIJDGMTFSLRABP$()x/\n \\u{}"
EVERYTHING = (
    "%FSLAX46Y46*%%MOMM*%%AMa*$3=$1x2-1*21,1,$3,$2,0,0,0*5,1,6,0,0,$1,0*7,0,0,3,2,.2,0*4,1,3,0,0,2,0,2,1,0,0,90*%"
    "%ADD10a,2X0.5*%%ADD11C,1*%%ADD12O,1X2X.3*%%ADD13P,1X5X3*%D10*X0Y0D03*D11*X0Y0D02*G75*G03*"
    "X1000000Y1000000I500000J500000D01*%LR45*%%LMX*%%LS2*%D12*X4Y5D03*%ABD20*%D11*X0Y0D03*%AB*%D20*X7Y7D03*"
    "%SRX2Y3I5J6*%D11*X0Y0D03*%SR*%G36*X0Y0D02*X5Y0D01*X5Y5D01*X0Y0D01*G37*M02*\n"
)


def mutated(text, dice):
    """The text with a few signs replaced, left out, put in, repeated or cut off."""
    signs = list(text)
    for _ in range(dice.randint(1, 4)):
        place, kind = dice.randrange(len(signs)), dice.random()
        if kind < 0.4:
            signs[place] = dice.choice(SIGNS)
        elif kind < 0.6:
            del signs[place : place + dice.randint(1, 12)]
        elif kind < 0.8:
            signs[place:place] = dice.choices(SIGNS, k=dice.randint(1, 5))
        elif kind < 0.9:
            signs[place:place] = signs[: dice.randint(1, 40)]
        else:
            del signs[place:]
        signs = signs or ["x"]
    return "".join(signs)


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (read_gerber, EVERYTHING),
        (read_gerber, example_files()[f"{NAME}-L1.gbr"]),
        (read_excellon, example_files()[f"{NAME}-plated.drl"]),
        (read_job, example_files()[f"{NAME}.gbrjob"]),
    ],
    ids=["every command", "layer", "drill", "job"],
)
def test_faults_are_refused_with_the_files_name(read, text):
    dice = random.Random(text)
    refusals = []
    for _ in range(MUTANTS):
        try:
            read("lamp.gbr", mutated(text, dice))
        except FabricationError as reason:
            refusals.append(str(reason))
    assert len(refusals) > 0
    assert all(reason.startswith("lamp.gbr") for reason in refusals)
