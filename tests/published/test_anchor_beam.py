"""A tapered trunk as a cantilever against a general finite-element library (PyNite, test extra)."""

import numpy as np
import pytest

from siteassess.mechanics import section, stem

Pynite = pytest.importorskip("Pynite")

TIE, BASE, TOP, ELASTICITY, PULL = 2.0, 0.40, 0.34, 8.6e9, 5_000.0
PIECES = 40


@pytest.fixture(scope="module")
def cantilever():
    model = Pynite.FEModel3D()
    shear = ELASTICITY / 16
    model.add_material("wood", ELASTICITY, shear, 0.3, 850.0)
    heights = np.linspace(0.0, TIE, PIECES + 1)
    for i, z in enumerate(heights):
        model.add_node(f"N{i}", z, 0.0, 0.0)
    for i, z in enumerate((heights[:-1] + heights[1:]) / 2):
        d = BASE + (TOP - BASE) * z / TIE
        inertia = np.pi / 64 * d**4
        model.add_section(f"S{i}", np.pi / 4 * d**2, inertia, inertia, 2 * inertia)
        model.add_member(f"M{i}", f"N{i}", f"N{i + 1}", "wood", f"S{i}")
    model.def_support("N0", True, True, True, True, True, True)
    model.add_node_load(f"N{PIECES}", "FY", PULL)
    model.analyze(check_statics=False)
    return model, heights


def test_moment_and_stress_along_the_trunk(cantilever):
    model, heights = cantilever
    d = BASE + (TOP - BASE) * heights[:-1] / TIE
    ours = stem.bending_demand(PULL, TIE, heights[:-1])
    computed = [abs(model.members[f"M{i}"].moment("Mz", 0.0, "Combo 1")) for i in range(PIECES)]
    np.testing.assert_allclose(ours, computed, rtol=1e-9, atol=1e-6)
    stress = np.array(computed) / section.solid_modulus(d)
    # This trunk tapers too little for the stress to peak above the ground.
    assert np.argmax(stress) == 0
