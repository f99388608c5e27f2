"""The care sheet: a site's year on one page, ten trees to a page, and nothing lost that has no room on it."""

from __future__ import annotations

import dataclasses
import re
from html import unescape

import pytest
from click.testing import CliRunner
from form_browser import NARROW, needs_browser
from made_year import BY, LONG, ON, kept_year, logged
from printed import pages_of

from siteassess.cli.drawings import report
from siteassess.papers.care_paper import care_log_page
from siteassess.papers.care_sheet import CARE_COLUMNS, TREES_A_PAGE, care_page
from siteassess.papers.from_register import only_site, site_year
from siteassess.papers.handover import manner
from siteassess.papers.language import words_in
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import plain
from siteassess.reference.texts import cautions
from siteassess.register import actions
from siteassess.register.store import Store


@pytest.fixture(scope="module")
def years(tmp_path_factory):
    """Sites of so many trees, with texts as people write them or with long ones."""
    folder, made = tmp_path_factory.mktemp("years"), {}

    def of(count: int, long: str = ""):
        if (count, long) not in made:
            made[count, long] = kept_year(folder / f"{len(made)}.gpkg", count, long)
        return made[count, long]

    return of


def everyone(site):
    """All its trees with entries, for a page on which every tree of the site stands."""
    return tuple(tree if tree.has_entries else dataclasses.replace(tree, events=site.trees[0].events)
                 for tree in site.trees)  # fmt: skip


def spaced(text: str) -> str:
    """With plain spaces, which a page keeps narrow or unbroken before its marks."""
    return re.sub("[\u00a0\u202f]", " ", text)


def table(page: str) -> list[list[str]]:
    """What stands in each cell of each row."""
    rows = re.findall(r"<tr>(<td.*?)</tr>", page)
    return [[" ".join(unescape(re.sub("<[^>]*>", "", cell)).split()) for cell in re.findall("<td.*?</td>", row)]
            for row in rows]  # fmt: skip


def test_a_row_tells_what_was_used_touched_found_and_done_and_whether_it_rests(years):
    site = years(10)
    first, second, *_ = rows = table(care_page(site, manner(made_on=ON)))
    assert len(rows) == 9  # of ten, one has no entry
    assert first == [
        "X-100 (T1) English oak; girth 150 cm; read at 1.3 m, taped (2026-04-18)",
        "L1: 1 use on 1 day, 2026-04-10; 4.0 h in all",
        "carpet 30 cm; sling 75 mm wide; tied at 1.00 m",
        "marks on bark: dent, 4 cm, south side (2026-08-01); marks on the ground: flattened (2026-04-10); "
        "storm 2026-07-20: a limb came down",
        "OPEN: lay mulch 2 m round (due 2026-09-01); rest from 2026-08-05 until 2027-03-31: dent heals",
        "RESTS until 2027-03-31; L1: no (its status is draft)",
        "2026-08-04 Ben (group coordinator): roots covered, bark polished; to be looked at again 2027-04-01; "
        "+1 in the appendix",
    ]
    assert second[1] == "L1: 2 uses on 2 days, 2026-04-10, 2026-04-11; 8.0 h in all"
    assert second[2].endswith("tied at 1.00 m to 1.10 m")
    assert second[4] == "lay mulch 2 m round (done 2026-08-20); pruning 2026-09-09: by the office"
    assert second[5].startswith("no rest is on; L1: no (")


def test_what_nobody_wrote_down_is_told_as_such(years):
    used_only = next(row for row in table(care_page(years(10), manner(made_on=ON))) if "(T5)" in row[0])
    assert used_only[1:3] == ["L3: 1 use on 1 day, 2026-07-03; time not written down",
                              "padding not written down (1 of 1 uses)"]  # fmt: skip
    assert used_only[3] == "marks on bark: nobody looked; marks on the ground: nobody looked"
    assert used_only[4] == "nothing written down"
    assert used_only[6].startswith("no look by itself written down; last entry 2026-07-03")
    untouched = years(10).trees[5]
    (asked,) = table(care_page(years(10), manner(made_on=ON), (untouched,)))
    assert asked[1:3] == ["no use written down", "none"] and asked[4] == "nothing written down"


def test_a_single_tree_on_a_page_is_no_range_of_trees(years):
    site = years(TREES_A_PAGE + 1)
    page = care_page(site, manner("de", made_on=ON), everyone(site))
    assert page.count(f"Baum {TREES_A_PAGE + 1} von {TREES_A_PAGE + 1}") == 2  # head and name of the table
    assert f"Bäume 1 bis {TREES_A_PAGE} von" in page


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_each_language_tells_every_column_and_each_caution_once(years, language):
    t, page = words_in(language), spaced(unescape(care_page(years(10), manner(language, made_on=ON))))
    for key in CARE_COLUMNS:
        assert spaced(t(key, day=ON.isoformat())) in page
    oak = {"en": "English oak", "de": "Stieleiche", "fr": "chêne pédonculé", "es": "roble común"}[language]
    assert oak in page and t.of("group coordinator") in page
    assert {page.count(spaced(says)) for says in cautions(language)} == {1}


def test_an_action_of_an_earlier_year_is_told_until_the_year_it_was_done_in(tmp_path):
    kept_year(tmp_path / "x.gpkg", 2)
    with Store.open(tmp_path / "x.gpkg") as store:
        tree = only_site(store, None)
        site = site_year(store, tree, 2026, ON)
        name = next(row[0] for row in store.db.execute("SELECT subject FROM anchors WHERE code = 'T2'"))
        look = {"what": "inspection", "inspector": "Cy", "standing": "user of the line", "finding": "as before"}
        old = [("2024-05-01", "loosen the old tie", None), ("2025-05-01", "cut the old nail out", "2026-02-02"),
               ("2025-06-01", "water it", "2025-07-01")]  # fmt: skip
        with store.change() as writer:
            for day, action, done in old:
                body = look | {"date": day, "action": action} | ({"action_done": done} if done else {})
                actions.log(writer, name, body, BY)
        site = site_year(store, tree, 2026, ON)
    done = table(care_page(site, manner(made_on=ON), (site.trees[1],)))[0][4]
    assert done.startswith("OPEN: loosen the old tie (due not recorded); ")
    assert "cut the old nail out (done 2026-02-02)" in done and "water it" not in done


def test_what_has_no_room_is_counted_and_stands_in_the_appendix(years):
    site = years(10, LONG)
    page, log = (unescape(made(site, manner(made_on=ON))) for made in (care_page, care_log_page))
    assert page.count("in the appendix") > 20 and "X-100 with many a" in page
    told = " ".join(unescape(re.sub("<[^>]*>", " ", log)).split())
    for number in range(10):
        for body in logged(number, None, LONG):
            for key in ("padding", "finding", "action", "inspector", "notes"):
                assert plain(body.get(key, "")) in told, (number, key)
    assert "L1: no; its status is draft" in told


def test_the_sheet_and_its_log_name_each_other(tmp_path):
    kept_year(tmp_path / "group.gpkg", 2)
    out = tmp_path / "care.html"
    done = CliRunner().invoke(report, [str(tmp_path / "group.gpkg"), "--kind", "care", "--year", "2026",
                                       "--out", str(out)])  # fmt: skip
    assert done.exit_code == 0, done.output
    appendix = tmp_path / "care_appendix.html"
    assert 'href="care_appendix.html"' in out.read_text("utf-8")
    assert 'href="care.html"' in appendix.read_text("utf-8")


# ---- printed, and on a phone

LONG_TEXTS = {"short": "", "long": LONG, "capitals": LONG.upper(), "far east": "漢字" * 60}


@needs_browser
@pytest.mark.parametrize("language", SIDE_BY_SIDE)
@pytest.mark.parametrize("texts", LONG_TEXTS)
def test_ten_trees_are_one_page_however_much_was_written(browser, tmp_path, years, texts, language):
    site = years(10, LONG_TEXTS[texts])
    page = care_page(site, manner(language, made_on=ON), everyone(site), "care_appendix.html")
    assert len(table(page)) == TREES_A_PAGE
    assert pages_of(browser, tmp_path, page) == 1


@needs_browser
@pytest.mark.parametrize(("count", "pages"), [(0, 1), (1, 1), (11, 2), (23, 3)])
def test_more_trees_go_on_further_pages_under_the_same_heads(browser, tmp_path, years, count, pages):
    site = years(count)
    page = care_page(site, manner("de", made_on=ON), everyone(site), "care_appendix.html")
    assert pages_of(browser, tmp_path, page) == pages
    assert page.count("<thead>") == max(1, pages) - (count == 0) and len(table(page)) == count


@needs_browser
@pytest.mark.parametrize("texts", LONG_TEXTS)
def test_on_a_phone_every_cell_has_its_label_and_nothing_is_wider_than_the_screen(browser, tmp_path, years, texts):
    file = tmp_path / "care.html"
    file.write_text(care_page(years(10, LONG_TEXTS[texts]), manner("de", made_on=ON)), encoding="utf-8")
    narrow = {"width": NARROW[0], "height": NARROW[1], "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", narrow)
    try:
        browser.get(file.as_uri())
        assert browser.execute_script("return document.documentElement.scrollWidth") == NARROW[0]
        labels = browser.execute_script(
            "return [...document.querySelectorAll('td')].map(td => getComputedStyle(td, '::before').content)")
        assert labels and all(len(label) > 4 for label in labels)
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
