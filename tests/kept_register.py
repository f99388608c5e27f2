"""A group's register for the tests of its papers: one line in use, and a care log of two trees."""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable
from pathlib import Path

from parks import data
from PIL import Image

from siteassess.records.record import Record
from siteassess.register import actions
from siteassess.register.store import Store

TODAY = datetime.date(2026, 5, 20)
AWKWARD = "carpet & \"cord\", it's 30 cm"
BY = actions.By("Ada", "for the test")


def picture(colour="green", size=(60, 40)) -> bytes:
    drawn = io.BytesIO()
    place = Image.Exif()
    place[0x010E] = "PLANTED-SECRET"
    place.get_ifd(0x8825)[2] = (54.0, 30.0, 0.0)
    Image.new("RGB", size, colour).save(drawn, "JPEG", exif=place)
    return drawn.getvalue()


def record_values() -> dict:
    return Record.model_validate(data()).model_dump(mode="json", exclude_unset=True)


def kept(path: Path, wrote: Callable[[str], str] = str) -> dict[str, str]:
    """Writes the register and gives the names of its subjects; what people wrote goes through `wrote`."""
    by = actions.By(wrote("Ada"), wrote("for the test"))
    with Store.create(path, title="Invented list", who=by.who, licence="CC BY 4.0") as store:
        with store.change() as writer:
            names = actions.add_record(writer, record_values(), by)
        mark = {"given": True, "name": wrote("the made-up office"), "date": "2026-04-20", "expires": "2026-12-31"}
        for side in ("group", "owner"):
            with store.change() as writer:
                actions.mark(writer, names["site"], {"by": side, **mark}, by)
        steps = ("surveyed", "Ada"), ("second look", "Ben"), ("approved with conditions", "Ada"), ("active", "Ada")
        for to, who in steps:
            with store.change() as writer:
                conditions = wrote("dry ground only") if to == "approved with conditions" else None
                moved = actions.By(wrote(who), wrote("seen"))
                actions.move(writer, names["line L1"], to, moved, on=TODAY, conditions=conditions)
        with store.change() as writer:
            photo = actions.add_photo(writer, names["anchor T1"], picture(), by).body["sha256"]
            use = {"what": "use", "line": names["line L1"], "start": "10:00", "end": "14:00", "pull": "2 kN"}
            entries = [
                ("T1", use | {"date": "2026-05-02", "bark_marks": "polish", "photos": {"before": [photo]}}),
                ("T2", use | {"date": "2026-05-02"}),
                ("T1", use | {"date": "2026-05-03", "padding": wrote(AWKWARD)}),
                ("T1", {"what": "use", "date": "2026-05-04", "line": names["line L1"]}),
                ("T1", use | {"date": "2025-05-02"}),
                ("T1", {"what": "inspection", "date": "2026-05-05", "inspector": wrote("A looker"),
                        "standing": "user of the line", "finding": wrote(AWKWARD), "action": wrote("lay mats"),
                        "next_due": "2027-05-05"}),
                ("T2", {"what": "event", "date": "2026-05-06", "event": "complaint",
                        "notes": wrote("left up at noon")}),
                ("T2", {"what": "rest", "date": "2026-05-07", "until": "2026-06-30"}),
            ]  # fmt: skip
            for code, body in entries:
                actions.log(writer, names[f"anchor {code}"], body, by)
    return names
