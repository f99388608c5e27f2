"""The table of everyday cases in data/README.md is what the program says."""

import re

import pytest

from siteassess.mechanics.bark import press, reading, reference_pressure
from siteassess.reference.findings import Said
from siteassess.reference.locate import data_folder
from siteassess.reference.species import find_species

TABLE = [
    [cell.strip() for cell in line.strip("|\n ").split("|")]
    for line in (data_folder() / "README.md").read_text(encoding="utf-8").splitlines()
    if re.match(r"\| \d\.\d\d m,", line)
]


def test_there_are_twelve():
    assert len(TABLE) == 12


@pytest.mark.parametrize("line", TABLE, ids=[line[0] for line in TABLE])
def test_case(line):
    diameter, pull, width = (float(number) for number in re.findall(r"[\d.]+", line[0]))
    pressure = press(pull * 1e3, diameter, width / 1e3).pressure_pa
    said = [f"{pressure / 1e3:.0f} kPa"]
    for name in ("Quercus robur", "Fagus sylvatica"):
        bark = find_species(name).bark
        for growing in (False, True):
            use = pressure / reference_pressure(growing, bark.thickness_m(diameter)[0], bark.smooth)
            said.append(f"{use:.2f} {Said(str(reading(use))).in_words()}")
    assert said == line[1:]
