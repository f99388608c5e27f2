"""An invented park and a register of an invented group to try things on."""

from __future__ import annotations

import copy
import datetime
import io

import pytest
from PIL import Image
from tree_inventories import census_trees

from siteassess.errors import SiteassessError
from siteassess.register import actions
from siteassess.register.crowd import Crowd
from siteassess.register.files import bring_in
from siteassess.register.store import Store

TODAY = datetime.date(2026, 5, 1)
_PARK = {
    "siteassess_record": 1,
    "site": {"name": "Larchmere Green", "invented": True, "land_status": "mown amenity", "rule_set": "made up"},
    "survey": {"by": "Ada", "date": "2026-04-18"},
    "anchors": [
        {
            "kind": "tree",
            "code": "T01",
            "position": {"fixes": [{"lat": 50.0, "lon": 8.0, "accuracy": "5 m"}]},
            "species": {"name": "Quercus robur"},
            "trunk": [{"girth": "180 cm", "read_at": "1.3 m"}],
            "ground": {"texture": "loam"},
        },
        {
            "kind": "tree",
            "code": "T02",
            "position": {"fixes": [{"lat": 50.0003, "lon": 8.0, "accuracy": "5 m"}]},
            "species": {"name": "Tilia cordata"},
            "trunk": [{"girth": "63 in", "read_at": "4 ft"}],
            "ground": {"texture": "sand"},
        },
        {
            "kind": "tree",
            "code": "T03",
            "position": {"fixes": [{"lat": 50.0006, "lon": 8.0, "accuracy": "5 m"}]},
            "species": {"name": "Fagus sylvatica"},
            "trunk": [{"girth": "210 cm", "read_at": "1.3 m"}],
            "ground": {"texture": "sand"},
        },
    ],
    "lines": [
        {"id": "L1", "use": "long line", "a": {"anchor": "T01"}, "b": {"anchor": "T02"}, "span": {"taped": "33.4 m"}},
        {"id": "L2", "use": "low line", "a": {"anchor": "T02"}, "b": {"anchor": "T03"}, "span": {"taped": "109 ft"}},
    ],
}


class Group:
    """A register with one park in it and short ways to act on it."""

    today = TODAY

    def __init__(self, store, names):
        self.store, self.names = store, names

    def __getitem__(self, what):
        return self.names[what]

    def by(self, who="Ada", why="for the test"):
        return actions.By(who, why)

    def do(self, action, *args, who="Ada", **kwargs):
        with self.store.change() as writer:
            return action(writer, *args, self.by(who), **kwargs)

    def move(self, subject, to, who="Ada", on=TODAY, **kwargs):
        return self.do(actions.move, subject, to, who=who, on=on, **kwargs)

    def mark(self, subject, by="group", given=True, expires="2026-12-31", **said):
        body = {"by": by, "given": given, "name": "the made-up office", "date": "2026-04-20", **said}
        return self.do(actions.mark, subject, body | ({"expires": expires} if given else {}))

    def log(self, subject, **body):
        return self.do(actions.log, subject, {"date": "2026-05-02", **body})

    def activate(self, line="line L1"):
        for by in ("group", "owner"):
            self.mark(self["site"], by)
        for to, who in (
            ("surveyed", "Ada"),
            ("second look", "Ben"),
            ("approved with conditions", "Ben"),
            ("active", "Ben"),
        ):
            self.move(self[line], to, who)

    def status(self, what, on=TODAY):
        return self.store.standing(self[what], on).status


@pytest.fixture
def park():
    return copy.deepcopy(_PARK)


@pytest.fixture
def new_group(tmp_path, park):
    """Makes a group's register with the park, or without one."""
    made = []

    def make(name="group", record=park):
        store = Store.create(tmp_path / f"{name}.gpkg", title=f"Invented {name}", who="Ada")
        # the disk is not waited for here: the kills, the full disk and the bench do wait
        store.db.execute("PRAGMA synchronous = OFF")
        made.append(store)
        names = {}
        if record is not None:
            with store.change() as writer:
                names = actions.add_record(writer, copy.deepcopy(record), actions.By("Ada", "first survey"))
        return Group(store, names)

    yield make
    for store in made:
        store.close()


@pytest.fixture
def group(new_group):
    return new_group()


@pytest.fixture
def picture():
    """Bytes of a small picture, with Exif holding a position and a secret where asked."""

    def make(kind="JPEG", secret=None, up=1, colour=(30, 120, 40)):
        image = Image.new("RGB", (48, 32), colour)
        for x in range(16):
            image.putpixel((x, 3), (250, 10, 10))
        exif = Image.Exif()
        exif[0x0112] = up
        if secret:
            exif[0x010E] = secret
            gps = exif.get_ifd(0x8825)
            gps[1], gps[2], gps[3], gps[4] = "N", (50.0, 7.0, 33.0), "E", (8.0, 9.0, 11.0)
            gps[29] = secret
        out = io.BytesIO()
        image.save(out, kind, exif=exif)
        return out.getvalue()

    return make


@pytest.fixture
def today():
    return TODAY


@pytest.fixture
def refused(group, tmp_path):
    """Brings a file in, wants it refused with a reason and nothing changed."""

    def check(name, data, reason):
        path = tmp_path / name
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        before, folder = group.store.count(), sorted(tmp_path.rglob("*"))
        with pytest.raises(SiteassessError) as error:
            bring_in(group.store, path, group.by(), group.today, site=group["site"])
        assert reason in str(error.value), str(error.value)
        assert group.store.count() == before and sorted(tmp_path.rglob("*")) == folder

    return check


@pytest.fixture(scope="session")
def census():
    return census_trees()


@pytest.fixture(scope="session")
def crowd(census):
    return Crowd(census)
