"""Every row of every table: a known source, a known flag, numbers in order, and nothing parsed by accident."""

import math
import re

import pytest

from siteassess.errors import SiteassessError, UnknownName
from siteassess.reference import tables
from siteassess.reference.tables import FLAGS, document, is_number_column, rows, table_names

OF_WORDS = ("plain_words", "map_tags", "crossing_advice")  # without a number
CSV_TABLES = [name for name in table_names() if hasattr(rows(name)[0], "_fields")]
YAML_TABLES = [name for name in table_names() if name not in CSV_TABLES]


def sources():
    return {entry["id"]: entry for entry in rows("sources")}


def parts(value):
    """All mappings inside a YAML table."""
    if hasattr(value, "items"):
        yield value
        for inner in value.values():
            yield from parts(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from parts(inner)


def test_there_are_the_tables_the_design_names():
    wanted = {"wood_green", "bark", "species", "webbing", "constants", "warning_signs", "pads", "wraps", "sheaves",
              "knots", "seasons", "rootzones", "sources", "texts"}  # fmt: skip
    assert wanted <= set(table_names())


@pytest.mark.parametrize("name", CSV_TABLES)
def test_csv_row_has_a_known_source_and_flag(name):
    for row in rows(name):
        numbers = [cell for column, cell in row._asdict().items() if is_number_column(column) and cell is not None]
        if name == "bark" and row.thickness_share is None:  # no thickness known: nothing to source
            assert not row.source and not row.flag and row.form_source in sources() and row.form_flag in FLAGS
            continue
        assert row.source in sources(), row
        assert row.flag in FLAGS, row
        assert numbers or name in (
            "species", "bark_forms", "anchorage_studies", "webbing_curves", "gear", *OF_WORDS), row


@pytest.mark.parametrize("name", YAML_TABLES)
def test_yaml_part_with_a_number_has_a_known_source_and_flag(name):
    if name == "sources":
        return
    for part in parts(document(name)):
        if "weight" in part:
            continue  # an answer, of a row that names its source
        cells = (cell for name, cell in part.items() if name != "rank")  # an order is no figure
        has_number = any(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in cells)
        if has_number or "source" in part:
            assert part.get("source") in sources(), part
            assert part.get("flag") in FLAGS, part


@pytest.mark.parametrize("name", CSV_TABLES)
def test_low_value_high_are_in_order(name):
    for row in rows(name):
        cells = row._asdict()
        for column, low in cells.items():
            curved = column.startswith("thickness_") and cells.get("thickness_constant_mm")  # then the share is a slope
            if not re.search(r"(^|_)low($|_)", column) or low is None or curved:
                continue
            high = cells.get(column.replace("low", "high"))
            names = (column.replace("low", "value"), column.replace("low_", ""), column.replace("_low", ""))
            value = next((cells[name] for name in names if cells.get(name) is not None and name != column), None)
            assert high is None or low <= high, row
            assert value is None or low <= value, row
            assert value is None or high is None or value <= high, row


@pytest.mark.parametrize("name", CSV_TABLES)
def test_number_columns_hold_plausible_finite_numbers_and_text_columns_no_numbers(name):
    texts_that_may_be_numbers = {"trees", "regions", "study", "year"}
    for row in rows(name):
        for column, cell in row._asdict().items():
            if is_number_column(column):
                assert cell is None or math.isfinite(cell), (column, row)
                if column.endswith("share") and cell is not None:
                    assert 0.0 < cell <= 1.0, (column, row)
            elif column not in texts_that_may_be_numbers:
                assert not re.fullmatch(r"-?\d+(\.\d+)?", cell), (column, row)


def test_ids_are_unique():
    for name in ("wood_green", "bark"):
        ids = [row.id for row in rows(name)]
        assert len(ids) == len(set(ids))
    names = [row.scientific_name for row in rows("species")]
    assert len(names) == len(set(names))


def test_every_source_says_who_or_what_and_is_cited_in_one_line():
    for entry in rows("sources"):
        assert entry["title"] and not any("\n" in str(text) for text in entry.values())
    assert sources()["detter-2023"]["doi"] == "10.3390/f14030533"


def test_no_row_is_second_hand_without_saying_so():
    # the source is a transcript or a copy: the note must tell
    for name, sid in (("wood_green", "wood-properties-transcript"), ("soil_bulk_density", "nrcs-soil-quality")):
        for row in rows(name):
            if row.source == sid:
                assert "second hand" in row.note


def test_rows_are_frozen_and_loaded_once():
    assert rows("bark") is rows("bark")
    with pytest.raises(AttributeError):
        rows("bark")[0].form = "smooth"
    with pytest.raises(TypeError):
        rows("pads")[0]["thickness_mm"] = 1


def test_unknown_table_names_the_others():
    with pytest.raises(UnknownName, match="wood_green"):
        rows("wood")


def test_a_broken_cell_is_named_with_its_line(tmp_path, monkeypatch):
    (tmp_path / "broken.csv").write_text("id,width_mm,source,flag\na,12,x,read\nb,twelve,x,read\n", encoding="utf-8")
    monkeypatch.setattr(tables, "data_folder", lambda: tmp_path)
    with pytest.raises(SiteassessError, match="broken, line 3"):
        tables.rows.__wrapped__("broken")


def test_an_empty_cell_is_none_never_zero():
    palm = next(row for row in rows("bark") if row.id == "phoenix-canariensis")
    assert palm.thickness_share is None
