"""siteassess register: copies for others, imports, merge, what may be the same trunk."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.register import register
from siteassess.cli.register_task import (
    Task,
    clock_option,
    dry_run_switch,
    needs_who,
    on_option,
    progress,
    set_right_switch,
    store_argument,
    who_option,
    why_option,
    with_task,
)
from siteassess.cli.shared import give, not_blank, note, readers
from siteassess.reference.constants import constant

if TYPE_CHECKING:
    from siteassess.papers.language import Words
    from siteassess.register.alike import MayBeOne
    from siteassess.register.copies import LeftOutOfCopy
    from siteassess.register.crowd import Crowd
    from siteassess.register.fold import Subject
    from siteassess.register.share import Copy


@register.command("export")
@store_argument
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--layer", type=readers, required=True, help="Who will read it.")
@click.option("--site", "sites", multiple=True, help="Only this site; may be repeated.")
@click.option("--licence", help="Licence of this copy; the register's own if not given.")
@click.option("--days", default=int(constant("copy good for")), show_default=True, type=click.IntRange(1, 3660),
              help="Days the copy is good for.")
@click.option(
    "--inventory", type=click.Path(path_type=Path), help="Open tree inventory of the place, held against hidden trees."
)
@click.option("--mapping", help="How to read the inventory, as for `siteassess survey`; recognised if not given.")
@click.option(
    "--park", "parks", type=click.Path(path_type=Path),
    help="Map file with outlines of parks: trees outside a hidden one's park do not count.",
)
@click.option(
    "--fewer-is-right", is_flag=True,
    help="Show also trees that would leave fewer than five for a hidden one that earlier copies told of.",
)
@click.option(
    "--who", type=not_blank, envvar="SITEASSESS_WHO", default="not said", help="Who makes the copy, a name or a role."
)
@with_task(clock_option, on_option, dry_run_switch)
def export(
    task: Task, out: Path, layer: str, sites: tuple[str, ...], licence: str | None, days: int,
    inventory: Path | None, mapping: str | None, parks: Path | None, fewer_is_right: bool,
) -> None:
    """Write a copy for one layer of readers. The ending of OUT names the format:
    .geojson .gpx .kml .csv .gpkg .html .zip (a bundle with photos; for officers with the whole history).

    Of a hidden tree members see its answer under another code, and nothing that would find it. With --inventory they
    also see a cell of the map, its genus and a girth class, each only as far as at least five trees of the inventory
    share them, in all copies laid side by side: the register keeps what each copy for members told. A tree that no
    copy showed yet and that would leave a hidden one fewer than five is left out, and named here; --fewer-is-right
    shows it. Copies made before the register kept this, and by groups whose register was never merged, do not count.

    A park is known by its name, and its outline is on many maps. With --park only trees inside the outline that holds
    the park's shown trees count. Without it, or where no outline holds them, trees within 150 m of them count inside
    and outside: whoever has the outline may then find fewer than five, and export says so.
    """
    from siteassess.papers.copy_page import copy_page
    from siteassess.reference.findings import worded
    from siteassess.register.files import write_copy
    from siteassess.register.hidden import hidden_code
    from siteassess.register.naming import resolve
    from siteassess.register.share import make_copy

    if parks and not inventory:
        raise click.UsageError(worded("rg-park-needs-inventory"))
    t = task.words
    crowd = _crowd(inventory, mapping, parks) if inventory and layer != "officer" else None
    with task.opened() as store:
        chosen = {resolve(store, site, "site") for site in sites} or None
        total = store.db.execute("SELECT count(*) FROM sites").fetchone()[0]
        with progress(t.of("sites"), total) as tick:
            copy = make_copy(store, layer, task.on, licence=licence, sites=chosen, copy_days=days, crowd=crowd,
                             fewer_is_right=fewer_is_right, tick=tick, language=task.lang)
        written = write_copy(store, copy, out, task.dry_run, task.who, lambda made: copy_page(made, task.lang))
    hidden = sum(feature.kind == "anchor" and not feature.exact for feature in copy.features)
    if hidden and crowd is None:
        note(t("li-hidden-alone", count=hidden))
    for text in _beside_earlier_copies(copy, t, crowd is not None, fewer_is_right):
        note(text)
    if copy.no_outline:
        note(_without_outline(copy.no_outline, t, parks))
    names = [path.name for path in written]
    values = {
        "files": names, "layer": layer, "licence": copy.licence, "heads": copy.heads, "features": len(copy.features),
        "copy_valid_until": copy.copy_valid_until, "left_out": [_left_out(one) for one in copy.left_out],
        "too_few": [hidden_code(name) for name in copy.too_few], "no_outline": [site.id for site in copy.no_outline],
    }
    told = {"files": ", ".join(names), "count": len(copy.features), "layer": t.of(layer), "day": copy.copy_valid_until}
    task.answer(values, t("li-exported-dry" if task.dry_run else "li-exported", **told))


def _beside_earlier_copies(copy: Copy, t: Words, with_inventory: bool, fewer_is_right: bool) -> Iterator[str]:
    """What whoever makes a copy has to know of the ones made before, as sentences."""
    from siteassess.register.crowd import LEAST_CANDIDATES
    from siteassess.register.hidden import hidden_code

    for one in map(_left_out, copy.left_out):
        why = "unseen" if one["left"] is None else "few" if one["left"] < LEAST_CANDIDATES else "in-park"
        values = {} if why != "few" else {"left": one["left"]}
        yield t(f"li-left-out-{why}", label=one["label"], name=one["id"][:10], hidden=one["hidden"], **values)
    for name in copy.too_few if with_inventory else ():
        yield t("li-too-few", hidden=hidden_code(name))
    if not copy.memory_whole and with_inventory and not fewer_is_right:
        yield t("li-memory-lost")


def _without_outline(sites: list[Subject], t: Words, parks: Path | None) -> str:
    """What it may mean that no outline of a park was held against what is told of its hidden trees."""
    from siteassess.reference.measures import Measures
    from siteassess.register.crowd import TREE_NEAR_M
    from siteassess.register.standing import label

    named = ", ".join(sorted(map(label, sites))[:5])
    if len(sites) > 5:
        named = t("li-and-more", names=named, count=len(sites) - 5)
    near = Measures(t.language).length(TREE_NEAR_M, 0)
    if parks is None:
        return t("li-no-outlines", names=named, near=near)
    return t("li-no-outline-in", names=named, file=parks.name, near=near)


def _left_out(one: LeftOutOfCopy) -> dict[str, Any]:
    from siteassess.register.hidden import hidden_code
    from siteassess.register.standing import label

    return {"id": one.tree.id, "label": label(one.tree), "hidden": hidden_code(one.hidden), "left": one.left}


def _crowd(inventory: Path, mapping: str | None, parks: Path | None) -> Crowd:
    """The trees of an inventory, to hold hidden ones against, and outlines of the parks."""
    import math

    from siteassess.register.crowd import Crowd, KnownTree
    from siteassess.register.outlines import read_outlines
    from siteassess.register.reading_records import genus
    from siteassess.survey.importing import read_inventory

    outlines = read_outlines(parks) if parks else None
    trees = read_inventory(inventory, mapping).good
    named = {text: genus({"species": {"name": str(text)}}) for text in trees["species"].unique()}
    columns = (trees[name].to_numpy() for name in ("lat_deg", "lon_deg", "species", "diameter_m"))
    known = (
        KnownTree(float(lat), float(lon), named[species], None if math.isnan(thick) else math.pi * float(thick))
        for lat, lon, species, thick in zip(*columns, strict=True)
        if math.isfinite(lat) and math.isfinite(lon)
    )
    return Crowd(known, outlines)


@register.command("import")
@store_argument
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--site", help="Site here that points of another program belong to.")
@click.option(
    "--as", "kind", type=click.Choice(["tree", "other"]), default="other", show_default=True,
    help="What points of another program are taken for.",
)
@set_right_switch
@with_task(on_option, who_option, why_option(), dry_run_switch)
def import_(task: Task, file: Path, site: str | None, kind: str, set_right: bool) -> None:
    """Take in a copy or a bundle. All comes in as drafts; a withdrawal beats what is listed here."""
    from siteassess.register.files import bring_in
    from siteassess.register.naming import resolve

    t = task.words
    with task.opened() as store:
        target = resolve(store, site, "site") if site else None
        with progress(t.of("things")) as tick:
            found = bring_in(store, file, task.by, task.on, target, kind, task.dry_run, tick, set_right)
    lines = [t(f"li-in-{key}", count=len(value) if isinstance(value, (list, dict)) else value)
             for key, value in found.items()]  # fmt: skip
    for left in found.get("left_out", ()):
        note(t("li-left-out", what=task.told(left)))
    for text in found.get("notes", ()):
        note(task.told(text))
    task.answer(found, *lines, task.kept)


@register.command("merge")
@store_argument
@click.argument("other", type=click.Path(path_type=Path))
@set_right_switch
@click.option("--who", type=not_blank, envvar="SITEASSESS_WHO", help="Who sets entries right; needed with --set-right.")
@with_task(why_option("clock", "Why they are set right."), clock_option, dry_run_switch)
def merge(task: Task, other: Path, set_right: bool) -> None:
    """Bring another register or an officers' bundle together with this one; nothing is joined unasked.

    It takes over the other group's approvals and marks: merge with groups you trust, import from others.
    """
    from siteassess.register.alike import alike, proposals
    from siteassess.register.files import merge_file
    from siteassess.register.listing import event_told
    from siteassess.register.merge import conflicts
    from siteassess.register.reasons import sentence

    if set_right and not task.who:
        raise needs_who()
    t = task.words
    with task.opened() as store:
        with progress(t.of("changes")) as tick, store.change(task.dry_run) as writer:
            report = merge_file(store, writer, other, tick, (task.who, task.why) if set_right else None)
            differing, trunks = conflicts(store), proposals(store)
            pairs = [*alike(store, trunks), *trunks]
        heads = store.heads()
    values = {
        "changes_added": report.added, "changes_known": report.known, "photos_added": report.photos,
        "set_right": report.set_right,
        "conflicts": [
            {**vars(one), "what": sentence(one.what), "sides": list(map(event_told, one.sides))} for one in differing
        ],
        "may_be_the_same": list(map(vars, pairs)), "heads": heads,
    }
    counted = {"added": report.added, "photos": report.photos, "known": report.known}
    lines = [t("li-merged", **counted, kept=task.kept)]
    if report.set_right:
        lines.append(t("li-merged-set-right", count=report.set_right, who=task.who))
    for one in differing:
        named = {"kind": t.of(one.kind), "label": one.label, "name": one.subject[:10]}
        lines.append(t("li-copies-differ", **named, what=t.said(one.what)))
    task.answer(values, *lines, *_pairs_told(pairs, t))


@register.command("same")
@store_argument
@with_task()
def same(task: Task) -> None:
    """Parks, lines and trees that may be the same under two names; settle each with `join`."""
    from siteassess.register.alike import alike, proposals

    t = task.words
    with task.opened() as store:
        trees = store.db.execute("SELECT count(*) FROM anchors WHERE kind = 'tree'").fetchone()[0]
        with progress(t.of("trees"), trees) as tick:
            trunks = proposals(store, tick)
        pairs = [*alike(store, trunks), *trunks]
    give(task.as_json, {"may_be_the_same": list(map(vars, pairs))}, _pairs_told(pairs, t))


def _pairs_told(pairs: list[MayBeOne], t: Words) -> Iterator[str]:
    for p in pairs:
        one, other = (f"{name} [{subject[:10]}]" for name, subject in zip(p.labels, (p.a, p.b), strict=True))
        whys = t("between").join(why.in_words(t.language) for why in p.reasons)
        yield t(f"li-may-be-one-{p.kind}", one=one, other=other, whys=whys)
    yield t("li-pairs", count=len(pairs))


@register.command("join")
@store_argument
@click.argument("one")
@click.argument("other")
@click.option("--not-the-same", "apart", is_flag=True, help="They are two: do not propose them again.")
@with_task(who_option, why_option(), dry_run_switch)
def join(task: Task, one: str, other: str, apart: bool) -> None:
    """Say that two things listed are the same, or that they are not."""
    from siteassess.register import actions
    from siteassess.register.naming import resolve

    finding = "not the same" if apart else "the same"
    with task.opened() as store:
        names = resolve(store, one), resolve(store, other)
        with store.change(task.dry_run) as writer:
            event = actions.join(writer, *names, task.by, finding)
    told = task.words("li-joined-apart" if apart else "li-joined", kept=task.kept)
    task.answer({"event": event.name, "finding": finding}, told)
