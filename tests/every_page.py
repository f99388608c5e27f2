"""Every page the program writes, from the invented park of the examples and a register that holds it."""

from __future__ import annotations

from pathlib import Path

import yaml

from siteassess.cli import main
from siteassess.register import actions
from siteassess.register.store import Store

PARK = Path(__file__).parents[1] / "examples" / "brindlewick" / "park.yaml"


def write_pages(folder: Path, language: str = "en") -> dict[str, Path]:
    """Every page by its name, in one language.

    Parameters
    ----------
    folder : to write into
    language : of the papers
    """

    def run(*args: object) -> None:
        try:
            main([str(arg) for arg in args])
        except SystemExit as ended:
            assert ended.code in (0, None), args

    said = ("--lang", language)
    run("assess", PARK, "--out", folder / "all", *said)
    run("pack", PARK, "--out", folder / "pack.html", *said)
    for kind in ("request", "card", "incident"):
        run("report", PARK, "--kind", kind, "--out", folder / f"{kind}.html", *said)
    made = yaml.safe_load(PARK.read_text(encoding="utf-8"))
    register, by = folder / "list.gpkg", actions.By("Ada", "invented")
    with Store.create(register, title="Invented", who="Ada", licence="none") as store:
        with store.change() as writer:
            names = actions.add_record(writer, made, by)
        with store.change() as writer:
            actions.log(writer, names["anchor T1"], {"what": "event", "event": "damage", "date": "2026-05-01",
                                                     "notes": "bark rubbed, invented"}, by)  # fmt: skip
    for kind in ("care", "year"):
        run("report", register, "--kind", kind, "--year", "2026", "--out", folder / f"{kind}.html", *said)
    run("register", "export", register, folder / "copy.html", "--layer", "officer", "--on", "2026-05-03", *said)
    pages = sorted([*folder.glob("*.html"), *(folder / "all").glob("*.html")])
    return {page.stem: page for page in pages}

