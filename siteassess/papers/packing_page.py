"""The packing list on paper: one page of boxes to tick, as HTML or plain text."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from siteassess.advice.owned import Stock
from siteassess.advice.packing import PackItem, totals
from siteassess.papers.look import SURVEY_NOT_INSPECTION, plain
from siteassess.papers.pages import paper
from siteassess.papers.terminal import finish
from siteassess.records.files import write_whole
from siteassess.reference.pages import part
from siteassess.reference.texts import cautions

PLURAL = {
    "sling_pieces": "slings", "rope_pieces": "ropes", "link_pieces": "links",
    "rigging_pieces": "rings, ratchets, locks and pulleys", "pad_pieces": "pads",
    "slat_pieces": "slats", "tie_pieces": "cords", "ground_pieces": "mats", "sign_pieces": "flags and notices",
}  # fmt: skip


def packing_text(
    title: str, items: Sequence[PackItem], left_out: Sequence[str], stock: Sequence[Stock] = (),
    notes: Sequence[str] = (), *, ascii_only: bool = False,
) -> str:  # fmt: skip
    """The list in plain text, a box before each row; with the group's gear beside it where `stock` is given.

    `notes` are what to know before packing, from `advice.packing.packing_notes`; they stand above the rows.
    """
    rows = [plain(row.sentence()) for row in stock] or [plain(item.sentence()) for item in items]
    lines = [f"To bring for {plain(title)}:", *(f"  ! {plain(says)}" for says in notes)]
    lines += [f"  [ ] {row}" for row in rows or ["nothing: no line is left to rig"]]
    lines.append(f"In all: {totals_words(items)}")
    if left_out:
        lines.append(f"Nothing is listed for lines we say to leave: {', '.join(left_out)}")
    lines += [f"- {caution}" for caution in cautions()]
    return finish("\n".join(lines), ascii_only)


def totals_words(items: Sequence[PackItem]) -> str:
    """Pieces by kind, total length and area, in words."""
    summed = totals(items)
    pieces = [f"{count:g} {PLURAL[key]}" for key, count in summed.items() if key in PLURAL]
    long, wide = summed["sling_total_m"], summed["pad_total_m2"]
    return ", ".join([*pieces, f"{long:.1f} m of sling or rope", f"{wide:.2f} m2 of pad"])


def write_packing(path: str | Path, title: str, items, left_out, stock=(), notes=()) -> Path:
    """Write the list as one page of HTML, or as plain text by the ending of its name.

    Returns
    -------
    The path written.
    """
    form = packing_page if Path(path).suffix.lower() in (".html", ".htm") else packing_text
    return write_whole(form(title, items, left_out, stock, notes), path)


def packing_page(title: str, items, left_out, stock=(), notes=()) -> str:
    """The list as HTML with a print style; nothing is loaded from elsewhere."""
    beside = {row.item: row for row in stock}
    return paper(
        "packing", part("packing.css"),
        title=f"To bring for {title}", items=items, beside=beside, left_out=left_out, totals=totals_words(items),
        notes=notes, cautions=cautions(), not_an_inspection=SURVEY_NOT_INSPECTION,
    )  # fmt: skip
