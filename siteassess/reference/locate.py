"""Where the shipped folders lie: in the installed package, or beside it in a checkout.

The wheel carries data/, maps/ and examples/ inside the package; an editable install does not, so the look-up
tries the package first and the checkout second.
"""

from __future__ import annotations

import shlex
import sys
from functools import cache
from importlib import metadata
from pathlib import Path

from siteassess.errors import SiteassessError

_PACKAGE = Path(__file__).resolve().parent.parent


@cache
def shipped(folder: str) -> Path:
    """Path of a folder that ships with the package: 'data', 'maps' or 'examples'.

    Parameters
    ----------
    folder : its name

    Raises
    ------
    SiteassessError : if neither the package nor a checkout beside it holds the folder
    """
    for parent in (_PACKAGE, _PACKAGE.parent):
        if (parent / folder).is_dir():
            return parent / folder
    raise SiteassessError(f"the folder '{folder}' is missing from this installation: install the package again")


def data_folder() -> Path:
    """Folder of the reference tables."""
    return shipped("data")


def install_command(extra: str) -> str:
    """What to type for the libraries of an extra: these by name, since where siteassess was installed from may be gone.

    Parameters
    ----------
    extra : its name
    """
    mark = f"; extra == '{extra}'"
    try:
        wanted = metadata.requires("siteassess") or []
    except metadata.PackageNotFoundError:  # run from a folder that nothing installed
        wanted = []
    named = [one.replace('"', "'").removesuffix(mark) for one in wanted if one.replace('"', "'").endswith(mark)]
    return shlex.join([sys.executable, "-m", "pip", "install", *(named or [f"siteassess[{extra}]"])])
