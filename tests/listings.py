"""What a register's lists are made of, built by hand: every kind of thing they may have to say, in no file."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from types import SimpleNamespace

from siteassess.papers.copy_page import copy_page
from siteassess.papers.ical import calendar
from siteassess.papers.language import words_in
from siteassess.papers.register_text import due_text, list_text, rota_text, show_text
from siteassess.reference.tables import rows
from siteassess.register import csvw
from siteassess.register.care import UseSum
from siteassess.register.columns import described as described
from siteassess.register.due import Due
from siteassess.register.fold import Trigger
from siteassess.register.girths import GirthReading
from siteassess.register.listing import Details, Listed
from siteassess.register.reasons import Reason, reason, sentence
from siteassess.register.rota import Rota, Turn
from siteassess.register.share import Copy, Shared
from siteassess.register.standing import MarkNow

DAY = datetime.date(2026, 5, 20)
IN_FORCE = reason("mark-in-force", by="group", day="2026-12-31")
REFUSED = reason("mark-refused", by="owner")
MARKS = [REFUSED, reason("mark-missing", by="group"),
         *(reason(f"mark-{how}", by="owner", day="2026-06-01")
           for how in ("in-force", "ended", "doubted", "ahead", "too-long"))]  # fmt: skip
CLOSED = (reason("status", word="resting"), reason("rest", part="T2", day="2026-06-30"))
NAME = "a1b2c3d4e5" * 6
Wrote = Callable[[str], str]


def every_reason() -> list[Reason]:
    """A reason of each code in the table, with words of its tables and names that are no words."""
    words = {"word": "resting", "words": ("active", "resting"), "by": "owner", "kind": "join", "sign": "fresh lean",
             "wetness": "wet", "day": "2026-05-01", "start": "03-01", "end": "07-31", "days": 365, "count": 2,
             "until": "2026-06-01", "part": "T1", "parts": "T1, T2", "name": "99", "names": "98, 99", "why": "97",
             "says": "96", "whys": CLOSED}  # fmt: skip
    told = []
    for code in (row["key"] for row in rows("register_texts") if row["group"] == "reason"):
        what = reason("mark-twice", by="group") if code == "due-settle" else "new survey"
        told.append(Reason(code, tuple({**words, "what": what}.items())))
    return told


def listed(wrote: Wrote = str) -> list[Listed]:
    """A park, a tree and two lines."""
    def one(kind: str, label: str, word: str, status: str, why: tuple[Reason, ...], **more) -> Listed:
        marks = {"group": IN_FORCE, "owner": REFUSED}
        told = reason("as-of", day=DAY, whys=why)
        return Listed(kind, label, NAME, word, more.get("until"), told, why, marks, more.get("conditions", ()), status,
                      more.get("status_until"), more.get("marks_until"), why[:1], 0, {})

    return [
        one("site", wrote("Green"), "no", "draft", (reason("park-alone"),)),
        one("anchor", "T1", "no", "withdrawn", (REFUSED,), marks_until="2026-12-31"),
        one("line", "L1", "no", "resting", CLOSED, marks_until="2026-12-31", status_until="2026-06-30",
            conditions=(wrote("dry ground only"), reason("condition-of-part", part="T2", says=wrote("wide slings")))),
        one("line", "L2", "yes with conditions", "active", (reason("look-again"),), until="2026-07-30"),
    ]  # fmt: skip


def shown(wrote: Wrote = str) -> list[Details]:
    """A line with all that may be told of one, and a tree with nothing but its girths."""
    def event(**body):
        return SimpleNamespace(who=wrote("Ada"), recorded="2026-05-02T09:00Z", name=NAME, body=body)

    mark = MarkNow("owner", (event(name=wrote("office"), role=wrote("clerk"), date="2026-02-01", expires=None),), True)
    girths = [GirthReading(1.8, 1.3, "2026-04-18", "2026-05-01", NAME, 1, {}),
              GirthReading(1.8, None, None, "2026-05-01", NAME, 1, {}),
              GirthReading(0.6, 1.3, "2026-04-18", "2026-05-01", NAME, 3, {})]  # fmt: skip
    news = tuple((Trigger(NAME, "storm", "2026-05-01"), told) for told in (
        reason("news-logged", what="storm", day="2026-05-01", part="T1"),
        reason("news-logged", what="marks", day="2026-05-01", part="T1"),
        reason("news-survey", part="T1", day="2026-05-02"),
        reason("news-elsewhere", name=NAME[:10]),
    ))  # fmt: skip
    _, tree, line, _ = listed(wrote)
    conflicts = ((reason("mark-twice", by="group"), (event(), event())),)
    return [
        Details(line, DAY, "active", ("active", "withdrawn"), news, (mark,), conflicts, (NAME,), {}, (), {}),
        Details(tree, DAY, "withdrawn", ("draft", "archived"), (), (), (), (), {}, tuple(girths), {}),
    ]


def due_items(wrote: Wrote = str) -> list[Due]:
    """What is overdue and what is not, with reasons, with what somebody wrote, and with neither."""
    may = {"may_rig_now": "no", "may_rig_why": reason("as-of", day=DAY, whys=CLOSED)}
    there = ("L1", wrote("Green"), NAME)
    return [
        Due("2026-05-05", reason("due-action"), "anchor", "T1", wrote("Green"), NAME, wrote=wrote("lay mats")),
        Due("2026-05-20", reason("due-review"), "line", *there, CLOSED, **may),
        Due("2026-06-30", reason("due-mark-ends", by="owner"), "line", *there, **may),
    ]


def rota_of_three() -> Rota:
    """A line whose turn it is, one that waits and one that is closed, and a tree nobody used."""
    def turn(label: str, advice: str, *why: Reason) -> Turn:
        return Turn(NAME, label, advice, "no", None, why, 0.0, 0)

    def use(uses: int, load: float) -> UseSum:
        return UseSum(NAME, uses, 0, 1.0, load, 0.0, None, None)

    soft = reason("ground-soft", wetness="wet", parts="T1, T2")
    return Rota(
        (turn("L1", "next", reason("look-again")), turn("L2", "wait", soft), turn("L3", "not now", *CLOSED)),
        (("T1", use(3, 16.0), 0.67), ("T2", use(0, 0.0), None)),
    )


def copied(wrote: Wrote = str, language: str = "en") -> Copy:
    """A copy with an open line, a closed one and a tree of each class of girth whose place is kept back."""
    copy = Copy(wrote("Invented list"), "members", "CC BY 4.0", "2026-05-20", "2026-08-18", (NAME,), language=language)
    park = Shared("site", "s", "s", wrote("Green"), "s", "closed for a season", {"invented": True}, [(2.5, 54.5)],
                  status_until="2026-06-30", why=reason("as-of", day=DAY, whys=(reason("park-alone"),)))  # fmt: skip
    told = {"why": reason("as-of", day=DAY, whys=CLOSED), "marks": {"group": IN_FORCE, "owner": REFUSED}}
    of_line = {"use": "low line", "span": {"taped": "20 m"}}
    yes = {"may_rig_now": "yes with conditions", "is_open": True,
           "conditions_told": (wrote("dry ground"), reason("more-kept", count=2))}  # fmt: skip
    copy.features = [
        park,
        Shared("line", "l", "s", "Green", "L1", "active", of_line, **told, **yes),
        Shared("line", "m", "s", "Green", "L2", "draft", {"use": "high line"}, **told),
        Shared("anchor", "a", "s", "Green", "T1", "draft", {"kind": "boulder"}, [(2.5, 54.5)], **told),
        Shared("anchor", "b", "s", "Green", "T2", "draft",
               {"kind": "tree", "trunk": [{"girth": "180 cm", "read_at": "1.3 m"}]}, **told),
        *(Shared("anchor", name, "s", "Green", f"H{at}", "draft", {"kind": "tree"}, [(2.5, 54.5)], exact=False,
                 girth_class=name, **told)
          for at, name in enumerate(("under 0.6 m", "0.6 m to under 1.2 m", "1.8 m and more"))),
    ]  # fmt: skip
    return copy


def told(language: str = "en", wrote: Wrote = str) -> list[str]:
    """All of it but the copy, as the commands print it; of the calendar what a reader sees."""
    t = words_in(language)
    stamp = datetime.datetime(2026, 5, 20, tzinfo=datetime.UTC)
    title = t("li-calendar", register=wrote("group"))
    entries = calendar(due_items(wrote), stamp, title, language).replace("\r\n ", "").splitlines()
    return [
        *list_text(listed(wrote), DAY, language),
        *(line for one in shown(wrote) for line in show_text(one, language)),
        *due_text(due_items(wrote), DAY, 60, language), *rota_text(rota_of_three(), language),
        *(text for name, _, text in (line.partition(":") for line in entries)
          if name in ("NAME", "SUMMARY", "DESCRIPTION")),
        *(t.mark(mark) for mark in MARKS), *of_a_copy(language, wrote),
    ]  # fmt: skip


def of_a_copy(language: str = "en", wrote: Wrote = str) -> list[str]:
    """What a copy says of itself and of each thing in it, and what its columns mean."""
    copy = copied(wrote, language)
    meant = (sentence(Reason(name), language, group="column") for name in csvw.ALL_COLUMNS)
    return [copy.in_words(), *(described(one, copy) for one in copy.features), *meant]


def page(language: str = "en", wrote: Wrote = str) -> str:
    """The copy's page."""
    return copy_page(copied(wrote, language), language)
