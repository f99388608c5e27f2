"""What the field form keeps and takes: keystrokes, photos without their place, positions, what was taken away."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from form_browser import add, field, js, needs_browser, open_form, press, screen, settle, type_in
from form_filling import one_tree, put_quantity, unfold
from form_fixtures import open_record, saved

from siteassess.errors import FaultyInput
from siteassess.records.reading import read_text
from siteassess.reference.locate import shipped

pytestmark = needs_browser
PARK = shipped("examples") / "brindlewick" / "park.yaml"


def test_bearing_and_distance_of_a_pair_stand_beside_the_tape(form):
    open_record(form, PARK)
    screen(form, "lines")
    unfold(form, "lines.0")
    settle(form)
    said = form.find_element("css selector", "details[data-path='lines.0'] .panel").text
    # by the program's own geodesic the pair lies 43.4 m apart at 061 degrees
    assert "43.4 m" in said and "061° from A to B, 241° back" in said
    assert "The tape reads 0.5 m" in said and "compass (magnetic north) points 3° left" in said


def test_the_phones_position_is_taken_where_it_is_given_and_its_refusal_is_said(form):
    screen(form, "anchors")
    add(form, "tree")
    form.execute_script("""navigator.geolocation.watchPosition = (take) => { setTimeout(() => {
        for (let i = 0; i < 10; i += 1) take({ coords: { latitude: 54.5 + i * 1e-6, longitude: 2.5, accuracy: 6 } });
        }, 20); return 1; };""")
    press(form, "fieldset[data-path='anchors.0.position'] > button")
    settle(form)
    assert js(form, "f.record().anchors[0].position.fixes") == [
        {"lat": "54.5000045", "lon": "2.5000000", "accuracy": "6 m", "accuracy_means": "95 %", "how": "phone"}
    ]
    form.execute_script("""navigator.geolocation.watchPosition = (take, fail) => {
        setTimeout(() => fail({ code: 1 }), 20); return 1; };""")
    press(form, "fieldset[data-path='anchors.0.position'] > button")
    settle(form)
    said = form.find_element("css selector", "fieldset[data-path='anchors.0.position'] > [role=status]").text
    assert "refused" in said


def photo_with_a_position(path: Path) -> Path:
    """A picture whose data name the place it was taken at."""
    image = pytest.importorskip("PIL.Image", reason="comes with matplotlib")
    picture = image.new("RGB", (2400, 1200), (40, 90, 40))
    data = picture.getexif()
    data[0x010E] = "SECRETPLACE"
    data[0x8825] = {1: "N", 2: (54.0, 30.0, 0.0), 3: "E", 4: (2.0, 30.0, 0.0)}
    picture.save(path, exif=data)
    assert b"SECRETPLACE" in path.read_bytes()
    return path


def test_a_photo_loses_its_position_and_lies_beside_the_record(form, downloads, tmp_path):
    from PIL import Image

    one_tree(form)
    put_quantity(form, "anchors.0.trunk.0.girth", "150 cm")
    picker = form.find_elements("css selector", "fieldset[data-path='anchors.0.photos'] input[type=file]")
    assert [one.get_attribute("capture") for one in picker] == ["environment", None]
    picker[1].send_keys(str(photo_with_a_position(tmp_path / "IMG_1.jpg")))
    for _ in range(40):
        settle(form)
        if js(form, "f.record().anchors[0].photos ?? null"):
            break
    assert js(form, "f.record().anchors[0].photos") == [{"path": "photos/T1-1.jpg"}]
    with zipfile.ZipFile(saved(form, downloads, "#save-all")) as archive:
        assert archive.namelist() == ["record.yaml", "photos/T1-1.jpg"]
        assert read_text(archive.read("record.yaml").decode()).anchors[0].photos[0].path == "photos/T1-1.jpg"
        picture = archive.read("photos/T1-1.jpg")
    assert b"SECRETPLACE" not in picture and b"Exif" not in picture
    opened = Image.open(io.BytesIO(picture))
    assert opened.size == (2000, 1000) and not dict(opened.getexif())


def test_every_keystroke_is_kept(form, forms):
    type_in(form, "site.name", "Otter Me")
    settle(form)
    form.execute_script("window.onbeforeunload = null")
    open_form(form, forms["de"])  # the same record, in another language
    assert field(form, "site.name").get_attribute("value") == "Otter Me"


def test_without_a_base_it_keeps_in_local_storage_and_without_that_it_warns(browser, forms):
    gone = {
        "local": "Object.defineProperty(window, 'indexedDB', { value: undefined });",
        "none": "Object.defineProperty(window, 'indexedDB', { value: undefined });"
                "Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } });",
    }  # fmt: skip
    for how, source in gone.items():
        told = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": source})
        try:
            open_form(browser, forms["en"])
            kept = browser.find_element("id", "kept")
            if how == "none":
                assert "keeps nothing" in kept.text and "warns" in kept.get_attribute("class")
                continue
            type_in(browser, "site.name", "Local Mead")
            settle(browser)
            open_form(browser, forms["en"])
            assert field(browser, "site.name").get_attribute("value") == "Local Mead"
            browser.execute_script("localStorage.clear()")
        finally:
            browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", told)


def test_closing_asks_first_until_the_person_has_seen_the_file(form, downloads):
    leaves = "const e = new Event('beforeunload', { cancelable: true }); dispatchEvent(e); return !e.defaultPrevented;"
    assert form.execute_script(leaves)
    type_in(form, "site.name", "Otter Mead")
    assert not form.execute_script(leaves)
    saved(form, downloads)
    settle(form)
    assert not form.execute_script(leaves)  # no page can see whether a file arrived
    press(form, "#it-arrived")
    assert form.execute_script(leaves)


def test_what_was_taken_away_can_be_put_back(form):
    one_tree(form)
    press(form, "details[data-path='anchors.0'] > .body > button.remove")
    assert js(form, "f.record().anchors.length") == 0
    press(form, "#undo button")
    assert js(form, "f.record().anchors[0].height") == "17 m"


def test_a_file_that_is_no_record_is_refused_and_nothing_is_lost(form, tmp_path):
    type_in(form, "site.name", "Otter Mead")
    bad = tmp_path / "bad.yaml"
    bad.write_text("siteassess_record: 1\nsite: {name: x, nmae: y}\n", encoding="utf-8")
    open_record(form, bad)
    assert 'Line 2: the form has no field "nmae"' in form.find_element("id", "handed").text
    assert js(form, "f.record().site.name") == "Otter Mead"
    with pytest.raises(FaultyInput):
        read_text(bad.read_text(encoding="utf-8"))
