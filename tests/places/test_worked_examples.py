"""The worked examples in the docstrings of the room, and what every docstring of a function tells."""

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest

import siteassess.places

MODULES = [importlib.import_module(f"siteassess.places.{found.name}")
           for found in pkgutil.iter_modules(siteassess.places.__path__)]  # fmt: skip
FUNCTIONS = [function for module in MODULES for name, function in inspect.getmembers(module, inspect.isroutine)
             if function.__module__ == module.__name__ and not name.startswith("_")]  # fmt: skip


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.split(".")[-1])
def test_the_worked_examples_come_out(module):
    assert doctest.testmod(module).failed == 0


def test_every_worked_example_says_whose_number_it_is():
    told = [(found.name, found.docstring.split("Examples\n", 1)[1]) for module in MODULES
            for found in doctest.DocTestFinder().find(module) if found.examples]  # fmt: skip
    assert len(told) > 28
    assert [name for name, words in told if not any(mark in words.lower() for mark in ("by hand", "]_"))] == []


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_every_function_tells_its_parameters_and_its_errors(function):
    told, parameters = inspect.getdoc(function) or "", inspect.signature(function).parameters
    assert "Parameters\n---" in told
    assert all(re.search(rf"\b{parameter}\b", told) for parameter in parameters)
    assert "raise " not in inspect.getsource(inspect.unwrap(function)) or "Raises\n---" in told
