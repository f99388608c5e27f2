"""Which region of the table of seasons a site lies in, by what its record says."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.advice.regions import lies_in


@pytest.mark.parametrize(("region", "name", "country", "lies"), [
    ("Texas", "Texas Strasse Park", "DE", False), ("Europe", "Europe Plaza", "US", False),
    ("Texas", "Texas Strasse Park", "US", True), ("Europe", "Europe Plaza", "FR", True),
    ("Texas", "Texas Strasse Park", None, True), ("Texas", "Mill Green", None, None),
    ("Texas", "Mill Green", "US", None),
])  # fmt: skip
def test_a_site_named_after_a_region_lies_not_there_if_its_country_is_anothers(region, name, country, lies):
    site = record().site.model_copy(update={"name": name, "country": country, "region": None, "manager": None})
    assert lies_in(region, site, math.nan, math.nan) is lies


@pytest.mark.parametrize("named, lies", [
    ("temperate, as in Europe", None), ("Munich Township", None), ("Germany", None), ("Texas hill country", False),
    ("", None),
])  # fmt: skip
def test_a_word_of_another_country_takes_back_no_region_of_this_one(named, lies):
    """Oak wilt in Michigan: a site of the United States whose words name no other of its states may lie there."""
    site = record().site.model_copy(update={"name": "Common", "country": "US", "region": named, "manager": None})
    assert lies_in("Michigan", site, math.nan, math.nan) is lies
