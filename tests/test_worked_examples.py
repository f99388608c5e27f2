"""The worked examples in the docstrings of two rooms."""

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest

import siteassess.mechanics
import siteassess.places

ROOMS = (siteassess.mechanics, siteassess.places)
MODULES = [importlib.import_module(f"{room.__name__}.{found.name}")
           for room in ROOMS for found in pkgutil.iter_modules(room.__path__)]  # fmt: skip
# Examples whose outcome others printed; more is better, fewer is a loss.
PUBLISHED = 64
READ_IN = ("padding.rub_shear_use", "rootzone.bs5837_radius")  # what goes in was read, what comes out is by hand


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.removeprefix("siteassess."))
def test_the_worked_examples_come_out(module):
    assert doctest.testmod(module).failed == 0


def test_every_worked_example_says_whose_number_it_is():
    told = [(found.name, found.docstring.split("Examples\n", 1)[1]) for module in MODULES
            for found in doctest.DocTestFinder().find(module) if found.examples]  # fmt: skip
    for room in ROOMS:
        assert sum(name.startswith(room.__name__) for name, _ in told) > 30
    assert len(told) > 60
    marks = ("by hand", "read)", "table of", "public data", "]_")
    nameless = [name for name, words in told if not any(mark in words.lower() for mark in marks)]
    assert nameless == ["siteassess.mechanics.arrays.broadcast"]  # shows shapes


def test_the_worked_examples_on_published_numbers_name_where_they_are_from():
    """The others are sums by hand. A reference has its source listed in the file."""
    told = {found.name: found.docstring.split("Examples\n", 1)[1] for module in MODULES
            for found in doctest.DocTestFinder().find(module) if found.examples}  # fmt: skip
    published = [name for name, example in told.items() if not name.endswith(READ_IN)
                 and any(mark in example for mark in ("read)", "public data", "any table of", "]_"))]
    assert len(published) == PUBLISHED
    for name, example in told.items():
        module = inspect.getsource(importlib.import_module(re.match(r"siteassess\.\w+\.\w+", name)[0]))
        assert all(re.search(rf"^ *({number}\.|\[{number}\]) \w", module, re.MULTILINE)
                   for number in re.findall(r"\[(\d+)\]_", example)), name  # fmt: skip
