"""Puts changed code in the place of a module that is loaded, in a process that is thrown away afterwards."""

from __future__ import annotations

import contextlib
import importlib.abc
import importlib.util
import inspect
import sys
import types
from pathlib import Path

import numpy as np

# helpers of the tests, loaded with what they import
OURS = {path.stem for path in Path(__file__).parents[1].glob("*.py")}


class _Instead(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module its changed code."""

    def __init__(self, name: str, path: Path, code):
        self.name, self.path, self.code = name, path, code

    def find_spec(self, name, path, target=None):
        return importlib.util.spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def exec_module(self, module):
        exec(self.code, module.__dict__)


def put_in(name: str, path: Path, code) -> None:
    """The changed code into the functions that are loaded; where it changes more than functions, all is loaded anew."""
    changed_module, as_it_is = types.ModuleType(name), False
    changed_module.__file__ = str(path)
    with contextlib.suppress(Exception):  # what does not even load shows that below
        exec(code, changed_module.__dict__)
        as_it_is = all(_took_over(getattr(sys.modules[name], key, None), new, name)
                       for key, new in vars(changed_module).items() if not key.startswith("__"))  # fmt: skip
    if not as_it_is:
        for loaded in [one for one in sys.modules if one.split(".")[0] == "siteassess" or one in OURS]:
            del sys.modules[loaded]
        sys.meta_path.insert(0, _Instead(name, path, code))
        return
    for module in [module for key, module in sys.modules.items() if key.split(".")[0] == "siteassess"]:
        for kept in vars(module).values():
            if hasattr(kept, "cache_clear"):
                kept.cache_clear()


def _took_over(old, new, name: str) -> bool:
    """Whether what was loaded is now as the changed one: functions by their code, anything else by being equal."""
    if isinstance(new, (staticmethod, classmethod)):
        return _took_over(old.__func__, new.__func__, name)
    if isinstance(new, property):
        return _took_over(old.fget, new.fget, name)
    if getattr(new, "__module__", None) != name or old is None:
        with contextlib.suppress(Exception):
            return old is new or bool(np.all(old == new))
        return False
    if isinstance(new, type):
        mine = {key: one for key, one in vars(new).items() if key in vars(old)}
        return all(_took_over(vars(old)[key], one, name) for key, one in mine.items()
                   if callable(one) or isinstance(one, (staticmethod, classmethod, property)))  # fmt: skip
    old, new = inspect.unwrap(old), inspect.unwrap(new)
    if not isinstance(new, types.FunctionType):
        return False
    if new.__code__.co_freevars != old.__code__.co_freevars:
        return False
    old.__code__, old.__defaults__, old.__kwdefaults__ = new.__code__, new.__defaults__, new.__kwdefaults__
    return True
