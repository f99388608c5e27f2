"""siteassess: anchor sites for lines between park trees, recorded, judged and mapped.

    import siteassess as sa
    park = sa.read("park.yaml")
    answer = sa.assess(park)
    answer.line("L1").verdict

A name is looked up where it is made once it is asked for, so that the import itself is light.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from siteassess.api import quick
    from siteassess.api.answers import LineAnswer, ParkAnswer, assess
    from siteassess.api.drawings import DrawnSheets, Page, plan, report, site_map
    from siteassess.api.park import ParkCheck, change, check, new_park, read, write
    from siteassess.api.quick import QuickAnswer
    from siteassess.api.sweeps import sweep
    from siteassess.errors import (
        Fault,
        FaultyInput,
        MissingExtra,
        OutsideModel,
        SiteassessError,
        StoreError,
        UnknownName,
    )
    from siteassess.records.record import Record
    from siteassess.reference.schemas import schema

_HOMES = {
    "api": ("quick",),
    "api.answers": ("LineAnswer", "ParkAnswer", "assess"),
    "api.drawings": ("DrawnSheets", "Page", "plan", "report", "site_map"),
    "api.park": ("ParkCheck", "change", "check", "new_park", "read", "write"),
    "api.quick": ("QuickAnswer",),
    "api.sweeps": ("sweep",),
    "errors": ("Fault", "FaultyInput", "MissingExtra", "OutsideModel", "SiteassessError", "StoreError", "UnknownName"),
    "records.record": ("Record",),
    "reference.schemas": ("schema",),
}
__all__ = [
    "DrawnSheets", "Fault", "FaultyInput", "LineAnswer", "MissingExtra", "OutsideModel", "Page", "ParkAnswer",
    "ParkCheck", "QuickAnswer", "Record", "SiteassessError", "StoreError", "UnknownName", "__version__", "assess",
    "change", "check", "new_park", "plan", "quick", "read", "report", "schema", "site_map", "sweep", "write",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    home = next((module for module, names in _HOMES.items() if name in names), None)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    if name == "quick":
        return importlib.import_module(f"{__name__}.api.quick")
    return getattr(importlib.import_module(f"{__name__}.{home}"), name)


def __dir__() -> list[str]:
    return [*__all__]
