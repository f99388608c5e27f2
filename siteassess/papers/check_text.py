"""What `siteassess check` prints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from siteassess.advice.check import Checked, PairCheck
from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import word
from siteassess.reference.measures import Measures, known, lat_long
from siteassess.reference.pages import plain

HEADS = ("pair", "for", "position", "tape", "bearing", "compass", "level")
NO_CELL = "-"
NAME_AT_MOST = 24


def check_text(name: str, found: Checked, language: str = "en") -> str:
    """The check of a record as lines of text: doubtful readings, a table of all pairs, and how they fit together.

    Parameters
    ----------
    name : of the record's file
    found : as `advice.check` finds it
    language : to tell it in
    """
    t, name, doubtful = words_in(language), plain(name), len(found.warnings)
    counted = t("chk-doubtful", count=doubtful) if doubtful else ""
    lines = [t("chk-readable", name=name) + counted]
    for warning in found.warnings:
        at = f"{name}:{warning.line}: " if warning.line else ""
        lines.append(f"  {at}{t('chk-doubt', says=plain(warning.sentence(language)))}")
    if not found.warnings:
        lines.append(f"  {t('chk-no-doubt')}")
    if found.pairs:
        heads = tuple(t(f"chk-{head}") for head in HEADS)
        lines += ["", *_table([heads, *(_row(pair, Measures(t.language), t) for pair in found.pairs)])]
        lines.append(t("chk-columns"))
    lines += _once(((t("chk-from-to", a=pair.a, b=pair.b), _said(pair, language)) for pair in found.pairs), t)
    lines += _together(found, Measures(t.language), t)
    lines += [plain(one.told.in_words(language)) for one in found.still_missing]
    lines += _once(((f"{t('pack-line')} {line}", (plain(finding.in_words(language)),))
                   for line, around in found.around.items() for finding in around.findings), t)  # fmt: skip
    lines += [t("chk-note", says=plain(one.in_words(language))) for one in found.notes]
    return "\n".join(lines) + "\n"


def _row(pair: PairCheck, m: Measures, t: Words) -> tuple[str, ...]:
    g, read = pair.geometry, pair.read
    dial = " / ".join(m.bearing(one.bearing_deg) if one else NO_CELL for one in (read.out, read.back))
    north = next((sighting.north for _, _, sighting in read.sightings), None)
    return (
        t("chk-from-to", a=pair.a, b=pair.b), read.source.in_words(t.language)[:NAME_AT_MOST],
        *(m.length(length) if known(length) else NO_CELL for length in (g.distance_m, g.taped_m)),
        m.bearing(g.bearing_true_deg) if known(g.bearing_true_deg) else NO_CELL,
        f"{dial} {word(north, t.language)}" if north else NO_CELL, word(g.level, t.language),
    )  # fmt: skip


def _table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    wide = [max(len(plain(row[k])) for row in rows) for k in range(len(HEADS))]
    for row in rows:
        yield "  ".join(plain(cell).ljust(width) for cell, width in zip(row, wide)).rstrip()


def _said(pair: PairCheck, language: str) -> tuple[str, ...]:
    """What stands behind the word in the table; of a pair that agrees the table says enough."""
    g = pair.geometry
    if g.level == "agrees":
        return ()
    return tuple(plain(one.in_words(language)) for one in (g.told, *g.notes))


def _once(told: Iterable[tuple[str, tuple[str, ...]]], t: Words) -> Iterator[str]:
    """What is said of pairs or lines, each once, behind all it is said of."""
    of: dict[tuple[str, ...], list[str]] = {}
    for whose, says in told:
        of.setdefault(says, []).append(plain(whose))
    for (first, *more), names in ((says, names) for says, names in of.items() if says):
        yield f"  {', '.join(dict.fromkeys(names))}{t('colon')} {first}"
        yield from (f"    {one}" for one in more)


def _together(found: Checked, m: Measures, t: Words) -> Iterator[str]:
    told = (*found.together.told, *(one.told for one in found.triangles), *(one.told for one in found.traverses))
    if told:
        yield t("chk-together")
    yield from (f"  {plain(one.in_words(t.language))}" for one in told)
    better = found.together.better_places
    if not better:
        return
    yield f"  {t('chk-places')}"
    for code in found.places.codes:
        anchor = better.get(code)
        if anchor is None or not known(anchor.position.latitude_deg):
            continue
        at, ellipse = anchor.position, anchor.ellipse.at_95_percent()
        yield "  " + t(
            "chk-place", code=plain(code), at=lat_long(at.latitude_deg, at.longitude_deg),
            along=m.length(ellipse.semi_major_m), toward=m.bearing(ellipse.major_bearing_deg),
            across=m.length(ellipse.semi_minor_m),
        )  # fmt: skip
