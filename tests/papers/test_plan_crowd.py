"""The plan of a crowd: a hundred anchors and sixty lines on one A3 or four A4, in words that can be read."""

from __future__ import annotations

import dataclasses
import functools
import re

import pytest
from crowded_park import crowd

from siteassess.advice.assess import assess
from siteassess.papers import plan, plan_ground, plan_insets
from siteassess.papers.drawing import POINTS_PER_MM, Sheet, text_width
from siteassess.papers.language import cautions, words_in
from siteassess.papers.plan import DrawnPlan, draw_plan
from siteassess.papers.plan_frame import TEXT, Box, View
from siteassess.papers.plan_ground import SYMBOL_MM
from siteassess.papers.plan_table import end_table, line_table, table_rows
from siteassess.papers.scene import build
from siteassess.records.loading import load_record
from siteassess.reference.locate import shipped
from siteassess.units import FOOT_M

LANGUAGES = ("en", "de", "fr", "es")
LEAST_POINTS = 6.5


@functools.cache
def judged():
    """With the cautions that a judgement has."""
    return dataclasses.replace(crowd(), cautions=cautions("en"))


@functools.cache
def drawn(paper: str, language: str) -> DrawnPlan:
    return draw_plan(judged(), paper=paper, language=language)


def texts(sheet: Sheet) -> list[str]:
    return [text.get_text() for text in sheet.axes.texts]


def together(sheet: Sheet) -> str:
    return "".join(texts(sheet)).replace(" ", "")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper, most", [("A3", 1), ("A4", 4)])
def test_a_hundred_anchors_and_sixty_lines_take_one_large_sheet_or_four(paper, most, language):
    """With the table of anchors on them, the cautions on each, and no word smaller than can be read."""
    found = drawn(paper, language)
    assert len(found.sheets) == most
    for sheet in found.sheets:
        for caution in cautions(language):
            assert " ".join(caution.split()).replace(" ", "") in together(sheet)
        assert min(text.get_fontsize() for text in sheet.axes.texts) >= LEAST_POINTS


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper, most", [("A3", 6), ("A4", 14)])
def test_what_a_crowd_has_no_room_for_is_few_and_each_is_listed_with_its_place(paper, most, language):
    """A label finds its place on a map or in an inset, else its name stands with metres east and north by the ticks."""
    found = drawn(paper, language)
    assert found.labels_left_out <= most
    told = {word.split()[0].rstrip(";,") for sheet in found.sheets for word in texts(sheet) if word.strip()}
    listed = {name for sheet in found.sheets
              for name in re.findall(r"([TL]\d+)[+-]\d+[+-]\d+", together(sheet))}  # fmt: skip
    names = {anchor.code for anchor in judged().record.anchors} | {line.id for line in judged().lines}
    assert names <= told | listed
    every_sheet = " ".join(together(sheet) for sheet in found.sheets)
    assert all(anchor.code in every_sheet for anchor in judged().record.anchors)


@pytest.mark.parametrize("paper", ["A3", "A4"])
def test_no_label_and_no_inset_lies_on_a_symbol(monkeypatch, paper):
    seen, insets = [], []
    labelled, draw_inset = plan_ground.labelled, plan_insets.draw_inset

    def watched(view, scene, taken, *more):
        placed, left = labelled(view, scene, taken, *more)
        seen.append((view, scene, taken, placed))
        return placed, left

    def watched_inset(sheet, inset, view, *more):
        insets.append((inset, view, more[0]))
        return draw_inset(sheet, inset, view, *more)

    monkeypatch.setattr(plan_ground, "labelled", watched)
    monkeypatch.setattr(plan, "draw_inset", watched_inset)
    draw_plan(judged(), paper=paper)
    assert seen and insets
    for view, scene, taken, placed in seen:
        symbols = symbols_of(view, scene)
        for label in placed:
            assert not [box for box in (*symbols, *taken) if overlap(label.box, box)], label.text
    for inset, view, scene in insets:
        assert not [box for box in symbols_of(view, scene) if overlap(inset.box, box)]
        assert not [other for other, sheet, _ in insets
                    if other is not inset and sheet is view and overlap(inset.box, other.box)]  # fmt: skip
        # the caption tells the scale that it is drawn in
        assert inset.view.scale == plan_insets.SCALES[inset.name] < view.scale


def symbols_of(view, scene) -> list[Box]:
    half = SYMBOL_MM / 2
    at = [(view.x(spot.east_m), view.y(spot.north_m)) for spot in scene.spots if plan_ground.drawn_in(view, spot)]
    return [Box(x - half, y - half, SYMBOL_MM, SYMBOL_MM) for x, y in at]


def overlap(a: Box, b: Box) -> bool:
    return a.x < b.right and b.x < a.right and a.y < b.top and b.y < a.top


def test_the_bar_of_an_inset_is_as_long_as_its_metres():
    found = draw_plan(judged(), paper="A3")
    captions = [word for word in texts(found.sheets[0]) if re.match(r"[A-D] 1:\d+", word)]
    assert captions
    for caption in captions:
        at = next(t for t in found.sheets[0].axes.texts if t.get_text() == caption).get_position()
        bars = [patch for patch in found.sheets[0].axes.patches
                if getattr(patch, "get_height", lambda: 0)() == pytest.approx(plan_insets.BAR_MM)]  # fmt: skip
        bar = min((b for b in bars if abs(b.get_y() - at[1]) < 1 and b.get_x() > at[0]), key=lambda b: b.get_x())
        metres = next(t.get_text() for t in found.sheets[0].axes.texts
                      if t.get_text().endswith(" m") and abs(t.get_position()[1] - bar.get_y()) < 0.5
                      and 0 < t.get_position()[0] - bar.get_x() - bar.get_width() < 2)  # fmt: skip
        wanted = float(metres.removesuffix(" m")) * 1000 / int(caption.split(":")[1])
        assert bar.get_width() == pytest.approx(wanted)


def an_inset(wide: float, name: str) -> plan_insets.Inset:
    box = Box(20.0, 20.0, wide, 60.0)
    return plan_insets.Inset("A", box, View(box, 0.0, 0.0, plan_insets.SCALES[name]), name)


@pytest.mark.parametrize("wide, name, told", [(30, "1:1000", "5 m"), (30, "1:200", "1 m"), (60, "1:1000", "20 m"),
                                              (34, "1\" = 100'", "20 ft"), (60, "1\" = 100'", "100 ft")])  # fmt: skip
def test_the_bar_of_an_inset_is_the_longest_beside_its_name_in_the_unit_of_the_sheet(wide, name, told):
    inset, sheet, feet = an_inset(wide, name), Sheet(200, 200), "'" in name
    assert plan_insets.inset_bar(inset, feet)[0] == told
    plan_insets.draw_inset(sheet, inset, inset.view, build(judged()), errors=False, feet=feet)
    (bar,) = [patch for patch in sheet.axes.patches
              if getattr(patch, "get_height", lambda: 0)() == pytest.approx(plan_insets.BAR_MM)]  # fmt: skip
    count, unit = told.split()
    assert bar.get_width() == pytest.approx(int(count) * (FOOT_M if unit == "ft" else 1) * inset.view.per_metre)
    at = next(text.get_position()[0] for text in sheet.axes.texts if text.get_text() == told)
    after_name = 20 + 1.5 + text_width(inset.caption, TEXT, bold=True)
    assert after_name + 2 < bar.get_x() and at + text_width(told, TEXT) < inset.box.right - 1
    assert 0.5 < at - bar.get_x() - bar.get_width() < 1.5


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_cell_of_a_long_table_is_cut_and_every_fact_of_each_end_is_in_it(language):
    words = words_in(language)
    table = line_table(judged(), words)
    for paper in ("A3", "A4"):
        pages = [texts(sheet) for sheet in drawn(paper, language).sheets]
        told = [word for page in pages if any(word.startswith("A-B:") for word in page) for word in page]
        assert all(told.count(cell) >= 1 for row in table.rows for cell in row.cells)
    by_line = {row.cells[0]: row for row in table.rows}
    for row in end_table(judged(), words).rows:
        code, tag, line, out, back, span, tie, _ = row.cells
        if line == "-":
            assert any(f"{code} ({tag})" in names for _, _, names in table.alone)
            continue
        whole = by_line[line.split()[0]]
        first = 1 if line.endswith("A") else 4
        assert whole.cells[first : first + 3] == (code, tag, tie)
        assert whole.cells[7:] == ((out, back, span) if first == 1 else (back, out, span))
        assert dict(whole.signs)[first] == row.signs[0][1]
    assert len(table_rows(judged(), words)) == 2 * len(table.rows) + sum(len(names) for _, _, names in table.alone)


def test_points_are_measured_as_they_are_drawn():
    """The least size is one of the drawing in points, as a printer counts them."""
    sheet = Sheet(50, 50)
    sheet.text(1, 1, "a", LEAST_POINTS / POINTS_PER_MM)
    assert sheet.axes.texts[0].get_fontsize() == pytest.approx(LEAST_POINTS)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_a_small_site_takes_one_sheet_with_every_caution_in_every_language(language, orientation):
    """Two sheets it was in German, French and Spanish, the cautions on the last, the legend beyond the paper's foot."""
    park = assess(load_record(shipped("examples") / "brindlewick" / "park.yaml"))
    (sheet,) = draw_plan(park, language=language, orientation=orientation).sheets
    for told in (*cautions(language), park.record.site.emergency.access, words_in(language)("says cannot say")):
        assert "".join(told.split()) in together(sheet)
    for text in sheet.axes.texts:
        x, y = text.get_position()
        assert 5 < x < sheet.width_mm - 5 and 9 < y < sheet.height_mm - 5, text.get_text()
