"""The papers against the outside world: paper sizes, scales, contrast, the palette."""

from __future__ import annotations

import json

import pytest

from siteassess.papers.plan_frame import PAPERS_MM, SCALES
from siteassess.reference.look import look


def test_paper_sizes():
    """ISO 216: A4 is 210 x 297 mm and A3 its double; ANSI/ASME Y14.1: A is 8.5 x 11 in, B 11 x 17 in. Memory."""
    assert PAPERS_MM["A4"] == (210, 297) and PAPERS_MM["A3"] == (297, 420)
    assert PAPERS_MM["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))
    assert PAPERS_MM["Tabloid"] == pytest.approx((11 * 25.4, 17 * 25.4))


def test_scales_in_feet():
    """One inch to n feet is 1 to 12 n: the foot has twelve inches (NIST SP 811, 2008, B.6)."""
    for name, ratio in SCALES.items():
        if '"' in name:
            assert ratio == 12 * int(name.split("=")[1].strip(" '"))
        else:
            assert ratio == int(name.removeprefix("1:"))


def luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.1 (W3C, 2018), definition of relative luminance. Memory."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_formula_on_known_pairs():
    """WCAG 2.1: black on white is 21 to 1; #767676 on white is the well-known grey at 4.54 to 1. Memory."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_texts_and_outlines_stand_out():
    """WCAG 2.1 success criteria 1.4.6 (7 to 1 for text) and 1.4.11 (3 to 1 for graphics). Memory."""
    colours = look().colours
    for ink in ("ink", "soft_ink"):
        for ground in ("paper", "ground"):
            assert contrast(colours[ink], colours[ground]) >= 7.0
    # fills may be pale, so each verdict's shape is outlined in ink
    for how in look().verdicts.values():
        assert all(part["line"] in ("ink", "soft_ink", "none") for part in look().symbols[how.shape])
        assert look().symbols[how.shape][0]["line"] == "ink"


OKABE_ITO = {"#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"}


def test_verdict_colours_are_okabe_and_ito_s():
    """Okabe and Ito, Color Universal Design (2008): the eight colours, as matplotlib carries them too. Memory."""
    import matplotlib

    carried = {matplotlib.colors.to_hex(c).upper() for c in matplotlib.colormaps["okabe_ito"].colors} if (
        "okabe_ito" in matplotlib.colormaps) else OKABE_ITO  # fmt: skip
    assert {c.upper() for c in OKABE_ITO} == {c.upper() for c in carried}
    assert {how.fill for how in look().verdicts.values() if how.word in ("suits", "suits if", "leave it")} <= OKABE_ITO


def test_no_two_verdicts_share_a_shape_and_none_needs_its_colour():
    shapes = [how.shape for how in look().verdicts.values()]
    assert len(set(shapes)) == len(shapes)
    painted = {shape: json.dumps(look().symbols[shape]) for shape in shapes}
    assert len(set(painted.values())) == len(shapes)
