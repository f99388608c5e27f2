"""The printable plan: true scale, sheets, labels, and the edges of the world."""

from __future__ import annotations

import dataclasses
import math
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.cli import group
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.papers.language import words_in
from siteassess.papers.plan import draw_plan, write_plan
from siteassess.papers.plan_blocks import _on_sheet
from siteassess.papers.plan_frame import PAPERS_MM, SCALES, Box, View, layout, pick_scale, tiles, with_strip
from siteassess.papers.plan_labels import LabelCrowd, Wanted, place
from siteassess.papers.plan_table import table_rows
from siteassess.papers.scene import Shape, build
from siteassess.reference.locate import shipped

PDFTOPPM = shutil.which("pdftoppm")
DPI = 600


def rendered(pdf, folder, left, foot, width, height, page_height) -> np.ndarray:
    """Part of the first page of a PDF as grey values, row 0 at the top; all lengths in millimetres."""
    from PIL import Image

    pixels = [str(round(mm / 25.4 * DPI)) for mm in (left, page_height - foot - height, width, height)]
    crop = [word for pair in zip(("-x", "-y", "-W", "-H"), pixels) for word in pair]
    command = [PDFTOPPM, "-r", str(DPI), *crop, "-gray", "-f", "1", "-l", "1", "-png", str(pdf), str(folder / "page")]
    subprocess.run(command, check=True)
    (page,) = folder.glob("page*.png")
    return np.asarray(Image.open(page).convert("L"))


@pytest.mark.skipif(PDFTOPPM is None, reason="needs pdftoppm of poppler")
@pytest.mark.parametrize(
    ("paper", "orientation", "scale"), [("A4", "landscape", "1:500"), ("Letter", "portrait", "1\" = 20'")]
)
def test_ten_metres_on_paper_are_ten_metres(tmp_path, make_assessment, paper, orientation, scale):
    """The bar is measured in the rendered page, not in the drawing's own numbers."""
    small = make_assessment(anchors=NEAR, lines=(("L1", "T01", "T02", "suits"),))
    plan = write_plan(small, tmp_path / "p.svg", tmp_path / "p.pdf", paper=paper, orientation=orientation, scale=scale)
    height = PAPERS_MM[paper][1 if orientation == "portrait" else 0]
    left, right, foot = plan.bar_mm
    wanted = 10_000.0 / SCALES[scale]
    assert right - left == pytest.approx(wanted, rel=1e-9)
    # a strip through the middle of the bar, from 2 mm before it
    strip = rendered(plan.pdf, tmp_path, left - 2, foot + 0.8, wanted + 20, 0.2, height)
    dark = strip[strip.shape[0] // 2] < 128
    # every part of the bar is a round number of metres, so 10 m end where dark turns to light or back
    edges = np.flatnonzero(np.diff(dark.astype(int))) + 1
    begins = edges[0]
    assert begins == pytest.approx(2 / 25.4 * DPI, abs=2)
    ends = edges[np.argmin(np.abs(edges - (begins + wanted / 25.4 * DPI)))]
    assert (ends - begins) / DPI * 25.4 == pytest.approx(wanted, rel=0.005)


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="needs pdfinfo of poppler")
def test_pdf_pages_are_the_paper_s_size(tmp_path, assessment):
    plan = write_plan(assessment, tmp_path / "p.svg", tmp_path / "p.pdf", paper="Letter", orientation="landscape")
    told = subprocess.run(["pdfinfo", str(plan.pdf)], check=True, capture_output=True, text=True).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told)
    assert (float(size[1]), float(size[2])) == pytest.approx((11 * 72, 8.5 * 72), abs=0.01)


NEAR = (
    ("T01", "tree", 0, 0, "196 cm", "8 m", "INV-0417", "Quercus robur"),
    ("T02", "tree", 24, 5, "171 cm", "7 m", "INV-0420", "Tilia cordata"),
)


def test_distances_on_the_sheet_are_to_scale(make_assessment):
    scene = build(make_assessment())
    view = View(Box(0, 0, 200, 150), 0.0, 0.0, 500)
    a, b = scene.spot("T01"), scene.spot("T02")
    on_paper = math.hypot(view.x(a.east_m) - view.x(b.east_m), view.y(a.north_m) - view.y(b.north_m))
    assert on_paper == pytest.approx(math.hypot(41, 9) * 1000 / 500, rel=2e-4)  # taped to the centimetre
    assert view.y(b.north_m) > view.y(a.north_m)  # north is up


def test_page_size_and_svg_size_agree(tmp_path, assessment):
    plan = write_plan(assessment, tmp_path / "p.svg", paper="A4", orientation="portrait")
    root = ET.parse(plan.svg[0]).getroot()
    width, height = (float(root.get(side).removesuffix("pt")) / 72 * 25.4 for side in ("width", "height"))
    assert (width, height) == pytest.approx((210, 297), abs=0.01)


def test_same_assessment_same_bytes(tmp_path, assessment):
    one = write_plan(assessment, tmp_path / "a.svg", tmp_path / "a.pdf")
    two = write_plan(assessment, tmp_path / "b.svg", tmp_path / "b.pdf")
    assert one.svg[0].read_bytes() == two.svg[0].read_bytes()
    assert one.pdf.read_bytes() == two.pdf.read_bytes()


def test_hostile_texts_draw_and_are_no_markup(tmp_path, hostile_assessment):
    plan = write_plan(hostile_assessment, tmp_path / "p.svg", tmp_path / "p.pdf")
    root = ET.parse(plan.svg[0]).getroot()
    tags = {element.tag.rsplit("}", 1)[-1] for element in root.iter()}
    assert not tags & {"script", "img", "image", "foreignObject", "a"}
    assert not any(key.startswith("on") for element in root.iter() for key in element.attrib)
    references = [v for e in root.iter() for k, v in e.attrib.items() if k.endswith("href")]
    assert all(reference.startswith("#") for reference in references)


def test_two_hundred_anchors_take_several_sheets_and_every_one_is_in_the_table(tmp_path, make_assessment):
    anchors = tuple(
        (f"T{i:03d}", "tree", 28 * (i % 20), 28 * (i // 20), "180 cm", "6 m", None, "Quercus robur") for i in range(200)
    )
    crowd = make_assessment(anchors=anchors, lines=())
    drawn = draw_plan(crowd, scale="1:2000")
    titles = [sheet.figure.axes[0].texts for sheet in drawn.sheets]
    words = [{text.get_text() for text in texts} for texts in titles]
    assert "Overview of the sheets" in words[0]
    table = " ".join(word for page in words if "Anchor table" in page for word in page)
    assert {code for code, *_ in anchors} <= set(re.findall(r"T\d{3}", table))
    maps = [page for page in words if "Site plan" in page]
    on_maps = {word.split()[0] for page in maps for word in page if re.match(r"T\d{3}", word)}
    assert len(on_maps) == 200  # a label too long for its place is cut to the code
    numbers = [next(w for w in page if re.fullmatch(r"\d+ of \d+", w)) for page in words]
    assert numbers == [f"{i + 1} of {len(words)}" for i in range(len(words))]


def test_the_table_gives_each_end_its_own_bearing(assessment):
    rows = {(row.cells[0], row.cells[2]): row.cells for row in table_rows(assessment, words_in())}
    out, back = rows[("T01", "L1 A")][3:5]
    assert (back, out) == rows[("T02", "L1 B")][3:5]
    assert (int(out[:-1]) - int(back[:-1])) % 360 == 180


@given(
    st.lists(st.tuples(st.floats(2, 98), st.floats(2, 98)), min_size=1, max_size=40),
    st.integers(1, 14),
)
@settings(max_examples=40, deadline=None)
def test_placed_labels_never_overlap_and_none_is_lost(points, length):
    crowd = LabelCrowd(Box(0, 0, 100, 100))
    labels = [Wanted(x, y, "W" * length, 2.5, 1.5, shorter=("W",)) for x, y in points]
    placed, left_out = place(labels, crowd)
    assert len(placed) + len(left_out) == len(labels)
    for i, one in enumerate(placed):
        assert one.box.x >= 0 and one.box.right <= 100 and one.box.y >= 0 and one.box.top <= 100
        for other in placed[i + 1 :]:
            a, b = one.box, other.box
            assert a.right <= b.x or b.right <= a.x or a.top <= b.y or b.top <= a.y


@given(st.floats(5, 900), st.floats(5, 900), st.sampled_from(sorted(SCALES)))
@settings(max_examples=60, deadline=None)
def test_sheets_cover_the_whole_site(wide, tall, scale):
    bounds = (-wide / 2, -tall / 2, wide / 2, tall / 2)
    views = tiles(bounds, Box(10, 10, 180, 130), SCALES[scale])
    for x in np.linspace(bounds[0], bounds[2], 9):
        for y in np.linspace(bounds[1], bounds[3], 9):
            assert any(view.shows(x, y, -1e-6) for view in views)


@given(st.floats(5, 400), st.floats(5, 400), st.booleans())
@settings(max_examples=60, deadline=None)
def test_the_scale_picked_fits_and_the_next_larger_does_not(wide, tall, feet):
    frame, bounds = Box(0, 0, 180, 130), (0, 0, wide, tall)
    name, fits = pick_scale(bounds, frame, None, feet)
    scale = SCALES[name]
    assert feet == ('"' in name)
    if fits:
        assert wide * 1000 / scale <= 180 + 1e-9 and tall * 1000 / scale <= 130 + 1e-9
        larger = [s for n, s in SCALES.items() if ('"' in n) == feet and s < scale]
        assert all(wide * 1000 / s > 180 or tall * 1000 / s > 130 for s in larger)
    else:
        assert wide * 1000 / 1250 > 180 or tall * 1000 / 1250 > 130 - 1e-9 or feet
        frame, _ = with_strip(frame)
        sheets = {s: len(tiles(bounds, frame, s)) for n, s in SCALES.items() if ('"' in n) == feet}
        assert sheets[scale] <= 4 and all(count > 4 for s, count in sheets.items() if s < scale)


@pytest.mark.parametrize("paper, most, overview", [("A3", 1, 0), ("A4", 4, 1), ("Tabloid", 1, 0), ("Letter", 4, 1)])
def test_a_hundred_trees_take_one_large_sheet_or_four(make_assessment, paper, most, overview):
    """A park of 480 m by 290 m, its trees in rows 30 m apart; each stands with its code on a map."""
    anchors = tuple((f"T{i:03d}", "tree", 30.0 * (i % 17), 48.0 * (i // 17), "180 cm", "6 m", None, "Quercus robur")
                    for i in range(100))  # fmt: skip
    lines = tuple((f"L{i}", f"T{i:03d}", f"T{i + 1:03d}", "suits if") for i in range(60) if i % 17 != 16)
    drawn = draw_plan(make_assessment(anchors=anchors, lines=lines), paper=paper, feet=paper in ("Tabloid", "Letter"))
    pages = [[text.get_text() for text in sheet.figure.axes[0].texts] for sheet in drawn.sheets]
    maps = [page for page in pages if "Site plan" in page]
    assert 1 <= len(maps) <= most and sum("Overview of the sheets" in page for page in pages) == overview
    assert len({word.split()[0] for page in maps for word in page if re.match(r"T\d{3}", word)}) == 100


@pytest.mark.parametrize("paper", sorted(PAPERS_MM))
@pytest.mark.parametrize("wide", [True, False])
def test_nothing_on_the_layout_overlaps(paper, wide):
    width, height = PAPERS_MM[paper][::-1] if wide else PAPERS_MM[paper]
    found = layout(width, height, 40.0)
    boxes = [found.map, found.table, *found.columns]
    for i, a in enumerate(boxes):
        assert a.x >= 9 and a.right <= width - 8.9 and a.y >= 8.9 and a.top <= height - 8.9
        for b in boxes[i + 1 :]:
            assert a.right <= b.x or b.right <= a.x or a.top <= b.y or b.top <= a.y
    assert found.map.height > 80 and found.map.width > 100


def test_faults_of_the_options_are_told_together(assessment):
    with pytest.raises(FaultyInput) as told:
        draw_plan(assessment, paper="A0", orientation="slanted")
    assert len(told.value.faults) == 2
    with pytest.raises(FaultyInput, match="1:500"):
        draw_plan(assessment, scale="1:333")


def test_scale_may_be_typed_without_spaces(make_assessment):
    small = make_assessment(anchors=NEAR, lines=())
    assert draw_plan(small, scale="1\"=20'").scale == "1\" = 20'"


ONE = (("T01", "tree", 0, 0, "196 cm", "14 m", "INV-0417", "Quercus robur"),)
AT_ONE_POINT = (*ONE, ("T02", "tree", 0, 0, "171 cm", None, None, "Tilia cordata"))


@pytest.mark.parametrize("anchors", [ONE, AT_ONE_POINT], ids=["one anchor", "two at one point"])
def test_few_anchors_draw(make_assessment, anchors):
    drawn = draw_plan(make_assessment(anchors=anchors, lines=()))
    assert len(drawn.sheets) == 1 and drawn.scale == "1:200"


@pytest.mark.parametrize("origin", [(-16.5, 179.99995), (-33.0, 151.0), (78.2, 15.6), (0.0, 0.0)])
def test_draws_over_the_antimeridian_and_in_either_hemisphere(make_assessment, origin):
    scene = build(make_assessment(origin=origin))
    a, b = scene.spot("T01"), scene.spot("T02")
    assert (b.east_m - a.east_m, b.north_m - a.north_m) == pytest.approx((41, 9), abs=0.02)
    assert len(draw_plan(make_assessment(origin=origin)).sheets) == 1


def test_a_pole_is_refused_in_words(make_assessment):
    with pytest.raises(OutsideModel, match="pole"):
        draw_plan(make_assessment(origin=(89.9, 0.0), anchors=ONE, lines=()))


def test_without_any_position_the_sheet_says_so(make_assessment):
    known = make_assessment(anchors=ONE, lines=())
    record = known.record
    unplaced = record.model_copy(update={"anchors": (record.anchors[0].model_copy(update={"position": None}),)})
    drawn = draw_plan(dataclasses.replace(known, record=unplaced))
    words = " ".join(text.get_text() for text in drawn.sheets[0].axes.texts)
    assert "No position is known" in words and "T01" in words


def words_on(sheet) -> str:
    return " ".join(text.get_text() for text in sheet.axes.texts)


def test_what_finds_no_room_goes_on_a_sheet_of_words(assessment, make_assessment, hostile_assessment):
    """No caution and no emergency line is ever dropped, however long the texts are."""
    for one in (assessment, hostile_assessment):
        drawn = draw_plan(one)
        everything = " ".join(words_on(sheet) for sheet in drawn.sheets).replace(" ", "")
        for caution in one.cautions:
            assert " ".join(caution.split()).replace(" ", "") in everything
        assert one.record.site.emergency.gate.replace(" ", "")[:60] in everything
    assert len(draw_plan(assessment).sheets) == 1
    assert "Emergency and cautions" in words_on(draw_plan(hostile_assessment).sheets[-1])


def test_many_anchors_without_positions_are_all_in_the_table(make_assessment):
    anchors = tuple((f"T{i:03d}", "tree", 5 * i, 0, "180 cm", None, None, "Quercus robur") for i in range(60))
    known = make_assessment(anchors=anchors, lines=())
    bare = tuple(anchor.model_copy(update={"position": None}) for anchor in known.record.anchors)
    drawn = draw_plan(dataclasses.replace(known, record=known.record.model_copy(update={"anchors": bare})))
    everything = " ".join(words_on(sheet) for sheet in drawn.sheets)
    assert all(code in everything for code, *_ in anchors)


def test_the_legend_names_only_what_lies_on_the_sheet():
    view = View(Box(0, 0, 100, 100), 0.0, 0.0, 1000)  # looks 50 m to each side
    thing = lambda closed, *points: Shape(  # noqa: E731
        "path", "", closed, None, *(np.zeros(len(points)),) * 2, *(np.array(axis, float) for axis in zip(*points))
    )
    assert _on_sheet(thing(False, (10, 10)), view)
    assert not _on_sheet(thing(False, (60, 10)), view)
    assert _on_sheet(thing(False, (-500, 0), (500, 0)), view)  # crosses, with no corner on the sheet
    assert not _on_sheet(thing(False, (-500, 60), (500, 60)), view)
    assert _on_sheet(thing(True, (-500, -500), (500, -500), (500, 500), (-500, 500)), view)


def test_no_leader_lies_level_between_two_words():
    """Words on either side of it would read as joined by it."""
    row = [Wanted(10 + 9 * i, 50, f"T{i:03d} cannot say", 2.7, 3.3, shorter=(f"T{i:03d}",)) for i in range(16)]
    boxes = LabelCrowd(Box(0, 0, 180, 100))
    for wanted in row:
        boxes.take(wanted.x - 2.5, wanted.y - 2.5, wanted.x + 2.5, wanted.y + 2.5)
    placed, _ = place(row, boxes)
    far = [label for label in placed if label.leader]
    assert len(far) > 2
    for label in far:
        assert not label.box.y < label.leader[1] < label.box.top, label


@pytest.mark.parametrize("paper, scale", [("A3", "1:"), ("Tabloid", '1" = ')])
def test_the_command_offers_the_large_sheets(tmp_path, paper, scale):
    park = shipped("examples") / "brindlewick" / "park.yaml"
    asked = ["plan", str(park), "--paper", paper, "--out", str(tmp_path / "p.svg")]
    result = CliRunner().invoke(group, asked)
    assert result.exit_code == 0, result.output
    told = (tmp_path / "p.svg").read_text(encoding="utf-8")
    wide = max(PAPERS_MM[paper]) * 72 / 25.4
    assert float(re.search(r'<svg[^>]* width="([\d.]+)pt"', told)[1]) == pytest.approx(wide, abs=1)
    assert scale in result.output
