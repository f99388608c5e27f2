"""Files are written whole or not at all, a silent pipe is given up, and a record opens only what is its own."""

import os
import resource
import subprocess
import sys
import textwrap
import threading

import pytest

from siteassess.records.files import beside, read_at_most, write_whole

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="limits and pipes of a POSIX system")


def test_text_and_bytes_replace_what_was_there(tmp_path):
    path = tmp_path / "paper.html"
    assert write_whole("one\r\ntwo\n", path) == path
    assert path.read_bytes() == b"one\r\ntwo\n"
    write_whole(b"\x00\xff", path)
    assert path.read_bytes() == b"\x00\xff"
    assert [p.name for p in tmp_path.iterdir()] == ["paper.html"]


def test_rights_and_links_are_kept(tmp_path):
    path, link = tmp_path / "there" / "paper.html", tmp_path / "link.html"
    path.parent.mkdir()
    path.write_text("old")
    path.chmod(0o640)
    link.symlink_to(path)
    write_whole("new", link)
    assert link.is_symlink() and path.read_text() == "new" and path.stat().st_mode & 0o777 == 0o640


def test_full_disk_leaves_the_old_paper_and_names_the_file(tmp_path):
    """A limit on file size stands in for a full disk: writing fails half way, with an error of the system."""
    path = tmp_path / "paper.html"
    path.write_text("the old paper")
    script = textwrap.dedent(f"""
        import resource, signal
        from siteassess.records.files import write_whole
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, {resource.RLIM_INFINITY}))
        try:
            write_whole("x" * 100_000, {str(path)!r})
        except OSError as error:
            print(error.filename)
    """)
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == str(path)
    assert path.read_text() == "the old paper"
    assert [p.name for p in tmp_path.iterdir()] == ["paper.html"]


@pytest.mark.parametrize("command", ["map", "plan", "report"])
def test_papers_survive_a_full_disk(tmp_path, command):
    """The same for whole commands: the old paper is there still, the message names the file, no traceback."""
    from siteassess.reference.locate import shipped

    record = tmp_path / "park.yaml"
    record.write_text((shipped("examples") / "brindlewick" / "park.yaml").read_text(encoding="utf-8"))
    ending = "svg" if command == "plan" else "html"
    out = tmp_path / f"out.{ending}"
    out.write_text("the old paper")
    limited = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY));"
        "from siteassess.cli import main; main(sys.argv[1:])"
    )
    told = subprocess.run(
        [sys.executable, "-c", limited, command, str(record), "--out", str(out)], capture_output=True, text=True
    )
    assert told.returncode == 1 and "Traceback" not in told.stderr
    assert str(out) in told.stderr
    assert out.read_text() == "the old paper"


def test_a_folder_is_no_file_to_write(tmp_path):
    with pytest.raises(OSError) as told:
        write_whole("x", tmp_path)
    assert told.value.filename == str(tmp_path)


def test_a_silent_pipe_is_given_up(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(TimeoutError):
        read_at_most(pipe, 100, patience_s=0.2)


def test_a_pipe_that_is_written_to_slowly_is_read_whole(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def write():
        with open(pipe, "wb") as out:
            for part in (b"one ", b"two ", b"three"):
                out.write(part)
                out.flush()
                threading.Event().wait(0.05)

    writer = threading.Thread(target=write)
    writer.start()
    assert read_at_most(pipe, 100, patience_s=5.0) == b"one two three"
    writer.join()


def test_check_on_a_silent_pipe_ends_in_words(tmp_path, monkeypatch):
    from siteassess.errors import FaultyInput
    from siteassess.records import files
    from siteassess.records.loading import load_record

    pipe = tmp_path / "park.yaml"
    os.mkfifo(pipe)
    monkeypatch.setattr(files.read_at_most, "__defaults__", (0.2,))
    with pytest.raises(FaultyInput, match="pipe that says nothing"):
        load_record(pipe)


def test_a_record_opens_nothing_outside_its_folder(tmp_path):
    home, outside = tmp_path / "home", tmp_path / "secret.geojson"
    (home / "maps").mkdir(parents=True)
    outside.write_text("{}")
    (home / "maps" / "paths.geojson").write_text("{}")
    (home / "link.geojson").symlink_to(outside)
    (home / "folder").symlink_to(tmp_path)
    assert beside(home, "maps/paths.geojson") == home / "maps" / "paths.geojson"
    for named in ("link.geojson", "folder/secret.geojson", "../secret.geojson", str(outside), "."):
        assert beside(home, named) is None, named


def test_a_map_file_behind_a_link_is_refused(tmp_path):
    from siteassess.advice.surroundings import with_surroundings
    from siteassess.errors import FaultyInput
    from siteassess.records.loading import load_record
    from siteassess.records.site import SurroundingsFile
    from siteassess.reference.locate import shipped

    outside = tmp_path / "outside.geojson"
    outside.write_text('{"type": "FeatureCollection", "features": []}')
    home = tmp_path / "home"
    home.mkdir()
    (home / "paths.geojson").symlink_to(outside)
    record = load_record(shipped("examples") / "brindlewick" / "park.yaml")
    site = record.site.model_copy(update={"surroundings_files": (SurroundingsFile(file="paths.geojson"),)})
    with pytest.raises(FaultyInput, match="no link that leads out"):
        with_surroundings(record.model_copy(update={"site": site}), home)


def test_a_ring_of_links_is_refused_in_words(tmp_path):
    ring = tmp_path / "ring.html"
    ring.symlink_to(ring)
    for target in (ring, ring / "paper.html"):
        with pytest.raises(OSError) as told:
            write_whole("text", target)
        assert told.value.filename == str(target)
    assert beside(tmp_path, "ring.html") is None
