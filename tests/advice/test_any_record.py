"""Any record the schema allows is assessed without a traceback, and its answer is plain JSON."""

from __future__ import annotations

import json

from hypothesis import HealthCheck, given, settings
from strategies import records

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS
from siteassess.papers.as_json import to_dict


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(records())
def test_any_record_is_assessed_and_answers_plain_json(record):
    # rules typed at random are refused with their faults elsewhere
    site = record.site.model_copy(update={"rules": None, "rule_set": None})
    found = assess(record.model_copy(update={"site": site}))
    json.dumps(to_dict(found), allow_nan=False)
    for line in found.lines:
        assert line.verdict in VERDICTS
        for end in line.anchors:
            assert all(limit.use is None or limit.use >= 0 for limit in end.limits)
            assert end.verdict != "suits if" or end.conditions
