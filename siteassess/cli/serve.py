"""`siteassess serve`: the group's page over one register."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from siteassess.cli.shared import LANGUAGE, language_option, not_blank, note


@click.command("serve")
@click.option("--register", "register_file", type=click.Path(path_type=Path, dir_okay=False), show_default=True,
              default=Path("group.gpkg"), help="Register of the group, begun where there is none.")
@click.option("--title", type=not_blank, help="Name of the group, for a register that is begun.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at; this machine alone.")
@click.option("--port", default=8765, show_default=True, type=click.IntRange(1, 65535), help="Port to listen at.")
@click.option("--https", is_flag=True, help="A proxy before it speaks https: cookies are kept from plain http.")
@language_option
@click.pass_context
def serve(
    ctx: click.Context, register_file: Path, title: str | None, host: str, port: int, https: bool, lang: str
) -> None:
    """The group's page: places, surveys, log and people over one register, for phones and desks.

    Beside the register a file of the group is kept, with its people, surveys that wait and comments. Where nobody has
    come in yet, a one-time address for the coordinator is printed. It runs until it is stopped (Ctrl+C).
    """
    from siteassess.reference.faults import missing_extra
    from siteassess.reference.findings import said

    try:
        import uvicorn

        from siteassess.group.accounts import FIRST_ADDRESS, Accounts
        from siteassess.group.app import group_app
    except ImportError as error:
        if (error.name or "").partition(".")[0] == "siteassess":
            raise
        raise missing_extra("The group's page", "group") from None
    _begin(register_file, title, ctx.obj[LANGUAGE])
    accounts = Accounts(register_file.with_name(f"{register_file.stem}.people.sqlite"))
    at = f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
    note(said("gr-served-at", address=at, file=str(register_file), beside=accounts.path.name).in_words(lang))
    if (word := accounts.first_address()) is not None:
        hours = FIRST_ADDRESS // datetime.timedelta(hours=1)
        note(said("gr-first-address", address=f"{at}/come-in/{word}", hours=hours).in_words(lang))
    try:
        # no log of who asked for what: the addresses name places
        uvicorn.run(group_app(register_file, accounts, https=https), host=host, port=port, log_level="warning",
                    access_log=False, server_header=False, proxy_headers=https)  # fmt: skip
    finally:
        accounts.close()


def _begin(register_file: Path, title: str | None, language: str) -> None:
    """See that the register is there: begin one, or open it once, so that what is wrong with it is told now."""
    from siteassess.errors import StoreError
    from siteassess.papers.language import words_in
    from siteassess.reference.findings import said, worded
    from siteassess.register.store import Store

    if "://" in str(register_file) or str(register_file).startswith("postgres"):
        raise StoreError(worded("gr-file-alone"))
    t = words_in(language)
    if register_file.exists():
        Store.open(register_file).close()
        return
    Store.create(register_file, title=title or t("gp-our-places"), who=t("gp-role-coordinator")).close()
    note(said("gr-register-begun", file=str(register_file)).in_words(language))
