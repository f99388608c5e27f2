"""What the tests of the group's page share."""

import pytest


@pytest.fixture
def group(tmp_path):
    """A group with nobody's work in it yet; see `served_group`."""
    from served_group import Group

    made = Group(tmp_path)
    yield made
    made.accounts.close()
