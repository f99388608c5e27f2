"""A group's register with as many trees as wanted, used in pairs over a year, for the tests of the care sheet."""

from __future__ import annotations

import copy
import datetime
from pathlib import Path

from parks import BASE, _tree

from siteassess.papers.from_register import SiteYear, only_site, site_year
from siteassess.records.record import Record
from siteassess.register import actions
from siteassess.register.store import Store

ON = datetime.date(2026, 11, 30)
BY = actions.By("Ada of the group", "for the test")
LONG = " with many a word behind it that somebody wished to be sure nobody would ever leave out"
KINDS = ("Quercus robur", "Tilia cordata", "Fagus sylvatica", "Acer platanoides", "Platanus")


def park(count: int, long: str = "") -> dict:
    """So many trees, each two of them the ends of a line; `long` goes behind every name and tag."""
    made = copy.deepcopy(BASE)
    made |= {"site": {"name": "Testing Green (invented)" + long, "invented": True, "manager": "An office" + long},
             "anchors": [], "lines": []}  # fmt: skip
    for number in range(count):
        tree = _tree(f"T{number + 1}", 2.5 + number % 2 * 20.0 / 64_790.0)
        tree["position"]["lat"] += number // 2 * 15.0 / 111_200.0
        tree |= {"species": {"name": KINDS[number % len(KINDS)], "certainty": "sure"}, "tag": f"X-{100 + number}{long}"}
        tree["trunk"][0]["girth"] = f"{150 + 7 * number} cm"
        made["anchors"].append(tree)
        if number % 2:
            line = copy.deepcopy(BASE["lines"][0]) | {"id": f"L{number // 2 + 1}"}
            line["a"]["anchor"], line["b"]["anchor"] = f"T{number}", f"T{number + 1}"
            made["lines"].append(line)
    return made


def logged(number: int, line: str | None, long: str = "") -> list[dict]:
    """The year of one tree; the fifth has only been used, the sixth not at all."""
    use = {"what": "use", **({"line": line} if line else {})}
    if number % 10 == 5:
        return []
    uses = [use | {"date": f"2026-0{4 + one // 2}-1{one}", "start": "10:00", "end": "14:00", "pull": "2 kN",
                   "padding": "carpet 30 cm" + long, "tie_height": f"1.{one} m", "sling_width": "75 mm",
                   "bark_marks": "polish" if one else "none", "ground_marks": "flattened"}
            for one in range(number % 4 + 1)]  # fmt: skip
    if number % 10 == 4:
        return [use | {"date": "2026-07-03"}]
    look = {"what": "inspection", "date": "2026-08-04", "inspector": "Ben" + long, "standing": "group coordinator",
            "finding": "roots covered, bark polished" + long, "action": "lay mulch 2 m round" + long,
            "action_due": "2026-09-01", "next_due": "2027-04-01"}  # fmt: skip
    mark = {"what": "marks", "date": "2026-08-01", "bark_marks": "dent", "mark_size": "4 cm",
            "notes": "south side" + long}  # fmt: skip
    entries = [*uses, look | ({"action_done": "2026-08-20"} if number % 2 else {})]
    if number % 3 == 0:
        entries += [mark, {"what": "event", "date": "2026-07-20", "event": "storm", "notes": "a limb came down" + long},
                    {"what": "rest", "date": "2026-08-05", "until": "2027-03-31",
                     "notes": "dent heals" + long}]  # fmt: skip
    if number % 3 == 1:
        entries.append({"what": "event", "date": "2026-09-09", "event": "pruning", "notes": "by the office" + long})
    return entries


def kept_year(path: Path, count: int, long: str = "") -> SiteYear:
    """The register written to a file, and its year read from it."""
    with Store.create(path, title="Invented list", who=BY.who, licence="CC BY 4.0") as store:
        with store.change() as writer:
            record = Record.model_validate(park(count, long)).model_dump(mode="json", exclude_unset=True)
            names = actions.add_record(writer, record, BY)
        with store.change() as writer:
            for number in range(count):
                for body in logged(number, names.get(f"line L{number // 2 + 1}"), long):
                    actions.log(writer, names[f"anchor T{number + 1}"], body, BY)
        return site_year(store, only_site(store, None), 2026, ON)
