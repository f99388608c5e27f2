"""The packing list on paper: one page of boxes to tick, as HTML or plain text."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from siteassess.advice.packing import PackItem, totals
from siteassess.advice.stock import Stock
from siteassess.papers.language import Words, words_in
from siteassess.papers.pages import paper
from siteassess.papers.terminal import finish
from siteassess.records.files import write_whole
from siteassess.reference.findings import Said, in_words, said
from siteassess.reference.pages import part, plain
from siteassess.reference.texts import cautions

IN_ALL = {
    "sling_pieces": "slings-in-all", "rope_pieces": "ropes-in-all", "link_pieces": "links-in-all",
    "rigging_pieces": "rigging-in-all", "pad_pieces": "pads-in-all", "slat_pieces": "slats-in-all",
    "tie_pieces": "cords-in-all", "ground_pieces": "mats-in-all", "sign_pieces": "signs-in-all",
}


def packing_text(
    title: str, items: Sequence[PackItem], left_out: Sequence[str], stock: Sequence[Stock] = (),
    notes: Sequence[Said] = (), *, language: str = "en", ascii_only: bool = False,
) -> str:
    """The list in plain text, a box before each row; with the group's gear beside it where `stock` is given.

    Parameters
    ----------
    title : of the list
    items : what to pack
    left_out : ids of lines that were left out
    stock : how much of it is there, where the group's gear is known
    notes : what to know before packing, from `advice.packing.packing_notes`; they stand above the rows
    language : to tell it in
    ascii_only : whether other letters are spelled out
    """
    t = words_in(language)
    rows = [plain(row.told().in_words(language)) for row in stock or items]
    lines = [t.with_colon("pack-title", title=plain(title))]
    lines += [f"  ! {plain(says)}" for says in in_words(notes, language)]
    lines += [f"  [ ] {row}" for row in rows or [t("pack-nothing")]]
    lines.append(f"{t.with_colon('pack-in-all')} {totals_words(items, language)}")
    lines += _left(t, left_out)
    lines += [f"- {caution}" for caution in cautions(language)]
    return finish("\n".join(lines), ascii_only)


def _left(t: Words, left_out: Sequence[str]) -> list[str]:
    return [t("pack-left", lines=plain(", ".join(left_out)))] if left_out else []


def totals_words(items: Sequence[PackItem], language: str = "en") -> str:
    """Pieces by kind, total length and area, in words."""
    summed = totals(items)
    told = [said(IN_ALL[key], count=count) for key, count in summed.items() if key in IN_ALL]
    told += [said("sling-length-in-all", length=summed["sling_total_m"]),
             said("pad-area-in-all", area=summed["pad_total_m2"])]
    return ", ".join(in_words(told, language))


def write_packing(
    path: str | Path, title: str, items: Sequence[PackItem], left_out: Sequence[str], stock: Sequence[Stock] = (),
    notes: Sequence[Said] = (), language: str = "en",
) -> Path:
    """Write the list as one page of HTML, or as plain text by the ending of its name.

    Parameters
    ----------
    path : whose ending names the form
    title, items, left_out, stock, notes, language : as for `packing_text`

    Returns
    -------
    The path written.
    """
    form = packing_page if Path(path).suffix.lower() in (".html", ".htm") else packing_text
    return write_whole(form(title, items, left_out, stock, notes, language=language), path)


def packing_page(
    title: str, items: Sequence[PackItem], left_out: Sequence[str], stock: Sequence[Stock] = (),
    notes: Sequence[Said] = (), *, language: str = "en",
) -> str:
    """The list as HTML with a print style; nothing is loaded from elsewhere."""
    t = words_in(language)
    return paper(
        "packing", part("packing.css"),
        title=t("pack-title", title=plain(title)), t=t, language=language, items=items,
        beside={row.item: row for row in stock}, left_out=_left(t, left_out), totals=totals_words(items, language),
        notes=in_words(notes, language), cautions=cautions(language),
    )
