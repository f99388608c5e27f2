"""What goes into the formulas and what comes out."""

import importlib
import inspect
import pkgutil
from dataclasses import fields, is_dataclass
from typing import get_type_hints

import numpy as np
import pytest

import siteassess.mechanics
from siteassess.mechanics.stretch_table import StretchTable

MODULES = [importlib.import_module(f"siteassess.mechanics.{found.name}")
           for found in pkgutil.iter_modules(siteassess.mechanics.__path__)]  # fmt: skip
TABLE = StretchTable([5e3, 10e3], [0.02, 0.04])
SAID = {"leaf_type": "conifer", "standard": "BS 5837", "wrap": "basket", "quantity": "height", "what": "size",
        "mor_green": 4e7, "link_distance": 2.0, "stiffness": 2e5, "unstretched": 19.0, "span": 20.0, "table": TABLE,
        "section_height": 0.2, "tie_height": 1.2, "tie_heights": [1.2, 1.5], "pulls": [900.0, 1e3], "loads": [800.0],
        "bearings_deg": [10.0, 100.0], "fractions": [0.4], "slat_width": 0.02, "pull_bearings": [10.0, 12.0],
        "sector_lost": [0.1] * 8, "distances": [np.inf] * 8, "digging_distances": [np.inf] * 8,
        "standing": 2e3, "load": 800.0}  # fmt: skip


def returns_arrays(function) -> bool:
    of = get_type_hints(function).get("return")
    return "float64" in str(of) or "int64" in str(of) or is_dataclass(of) and any(
        field.type in ARRAYS for field in fields(of)
    )


ARRAYS = ("Array", "Flags")
PLAIN = ("ArrayLike", "Law", "StretchTable", "float", "int", "str")  # what a formula of plain numbers asks for


def asked(function) -> list[inspect.Parameter]:
    return [parameter for parameter in inspect.signature(function).parameters.values()
            if parameter.default is parameter.empty and parameter.kind is parameter.POSITIONAL_OR_KEYWORD]  # fmt: skip


FORMULAS = [function for module in MODULES for name, function in vars(module).items()
            if inspect.isfunction(function) and function.__module__ == module.__name__ and not name.startswith("_")
            and not name.startswith("taped") and returns_arrays(function)
            and all(parameter.annotation in PLAIN for parameter in asked(function))]  # fmt: skip


def parts(answer):
    if isinstance(answer, tuple):
        return [part for each in answer for part in parts(each)]
    if is_dataclass(answer):
        return [getattr(answer, field.name) for field in fields(answer) if field.type in ARRAYS]
    return [answer]


def test_most_of_the_room_is_formulas():
    assert len(FORMULAS) > 100


@pytest.mark.parametrize("function", FORMULAS, ids=lambda f: f"{f.__module__.split('.')[-1]}.{f.__name__}")
def test_plain_numbers_give_arrays(function):
    given = {parameter.name: SAID.get(parameter.name, 0.5) for parameter in asked(function)}
    for part in parts(function(**given)):
        assert type(part) is np.ndarray and part.dtype.kind in "bfi"
