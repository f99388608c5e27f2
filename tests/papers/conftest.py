"""Fixtures of the papers' tests: assessments built by hand, and the field form in a browser."""

from __future__ import annotations

import pytest
from form_fixtures import browser, downloads, form, forms, stage  # noqa: F401  (of the field form's tests)
from hand_built import HOSTILE, build_assessment

from siteassess.advice.results import Assessment


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
