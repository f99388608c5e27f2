"""Webbing classes, texts and the shipped folders."""

import pytest

from siteassess.errors import SiteassessError, UnknownName
from siteassess.reference import locate
from siteassess.reference.constants import constants
from siteassess.reference.languages import languages
from siteassess.reference.tables import rows
from siteassess.reference.texts import cautions, text
from siteassess.reference.webbing import tension_strain, webbing_class


@pytest.mark.parametrize("asked, name", [
    ("nylon", "nylon"), ("Polyamide", "nylon"), ("PES", "polyester"), ("polyester 50mm", "polyester 50 mm"),
    ("HMPE", "high-modulus polyethylene"), ("high modulus polyethylene", "high-modulus polyethylene"),
    ("aramid hybrid", "aramid hybrid"),
])  # fmt: skip
def test_classes_by_plain_names(asked, name):
    assert webbing_class(asked).name == name


def test_unknown_class_names_them_all_and_the_near_ones_first():
    with pytest.raises(UnknownName, match="there is: polyester.*, nylon"):
        webbing_class("polyestre")
    with pytest.raises(UnknownName, match="nylon"):
        webbing_class("string")


def test_stiffer_fibres_have_more_stiffness_and_ranges_are_whole():
    by_name = {row.name: row for row in rows("webbing")}
    assert by_name["nylon"].ea_kn < by_name["polyester"].ea_kn < by_name["high-modulus polyethylene"].ea_kn
    for row in by_name.values():
        assert row.ea_low_kn <= row.ea_kn <= row.ea_high_kn
        assert row.mass_low_g_per_m <= row.mass_g_per_m <= row.mass_high_g_per_m


def test_no_other_name_means_two_classes():
    seen = [name.casefold() for row in rows("webbing") for name in (row.name, *row.other_names.split(";"))]
    assert len(seen) == len(set(seen))


def test_curves_rise_from_zero_and_agree_with_the_stiffness():
    for name in ("nylon", "polyester"):
        points = tension_strain(name)
        assert points[0] == (0.0, 0.0)
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in zip(points, points[1:], strict=False))
        tension, strain = points[-1]
        assert tension / strain == pytest.approx(webbing_class(name).ea_kn * 1e3, rel=0.01)
    assert tension_strain("aramid hybrid") == ()


def test_cautions_stand_in_every_language_and_never_promise():
    said = cautions()
    assert len(said) >= 5 and any("not an inspection" in line for line in said)
    for language in languages():
        assert len(cautions(language)) == len(said)
        assert {*said, text("old-copy")} == {*cautions(on="copy")} and len(cautions(language, "desk survey")) == 6
        every = [line for on in ("result", "copy", "desk survey", "head") for line in cautions(language, on)]
        assert not any("safe" in line.casefold().split() for line in every)
    with pytest.raises(UnknownName, match="stands on"):
        cautions(on="no such paper")
    with pytest.raises(UnknownName, match="en"):
        cautions("xx")
    with pytest.raises(UnknownName):
        text("no such text")
    assert text("leave it") == "leave it"


def test_stop_signs_are_the_ten_of_the_record_and_each_says_what_to_do():
    pytest.importorskip("pydantic")
    from siteassess.records.anchor import Signs, SofterSigns

    by_kind = {kind: {row["id"] for row in rows("warning_signs") if row["kind"] == kind} for kind in ("stop", "soft")}
    assert by_kind["stop"] == set(Signs.model_fields)
    assert by_kind["soft"] == set(SofterSigns.model_fields)
    assert all(row["do"] and row["ask"].endswith("?") for row in rows("warning_signs"))


def test_every_bark_form_of_a_record_has_a_row():
    from typing import get_args

    from siteassess.records.anchor import BarkForm

    named = {word for row in rows("bark_forms") for word in row.record_words.split(";") if word}
    assert named == set(get_args(BarkForm))


def test_every_wetness_of_a_record_has_a_soil_factor():
    from typing import get_args

    from siteassess.advice.tree_inputs import SOIL_STATE
    from siteassess.records.anchor import Wetness

    assert {SOIL_STATE[word] for word in get_args(Wetness)} == set(constants("soil"))


def test_folders_are_found_in_the_package_first(tmp_path, monkeypatch):
    inside, beside = tmp_path / "siteassess" / "data", tmp_path / "data"
    beside.mkdir(parents=True)
    monkeypatch.setattr(locate, "_PACKAGE", tmp_path / "siteassess")
    assert locate.shipped.__wrapped__("data") == beside
    inside.mkdir(parents=True)
    assert locate.shipped.__wrapped__("data") == inside
    with pytest.raises(SiteassessError, match="maps"):
        locate.shipped.__wrapped__("maps")
