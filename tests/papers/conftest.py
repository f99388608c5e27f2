"""Fixtures of the papers' tests: assessments built by hand, and the field form in a browser."""

from __future__ import annotations

import pytest
from closed_browser import offline, pages  # noqa: F401  (with the network closed)
from form_fixtures import browser, downloads, form, forms, stage  # noqa: F401  (of the field form's tests)
from hand_built import HOSTILE, build_assessment

from siteassess.advice.results import Assessment
from siteassess.reference.pages import _templates


@pytest.fixture(scope="session", autouse=True)
def no_none_is_printed():
    """What is not known is said in words or left to be filled in: a template that prints None fails its test."""
    templates = _templates()
    usual = templates.finalize
    templates.finalize = lambda value: usual(_printed(value))
    templates.cache.clear()
    yield
    templates.finalize = usual
    templates.cache.clear()


def _printed(value):
    assert value is not None, "a template printed None"
    return value


@pytest.fixture
def make_assessment():
    """Builder of assessments; see `build_assessment`."""
    return build_assessment


@pytest.fixture(scope="session")
def assessment() -> Assessment:
    return build_assessment()


@pytest.fixture(scope="session")
def hostile_assessment() -> Assessment:
    return build_assessment(text=lambda text: f"{text} {HOSTILE}")
