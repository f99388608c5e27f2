"""Which ends of judged records the wind alone decides."""

from __future__ import annotations

from siteassess.advice.assess import assess
from siteassess.advice.verdict import worst


def ends_and_those_decided_by_wind(records) -> tuple[int, list]:
    """How many ends could be summed in full, and those of them whose word would be another without the wind."""
    count, by_wind = 0, []
    for made in records:
        for end in assess(made).lines[0].anchors:
            if end.kind != "tree" or end.take_down_wind_m_s is None or end.evidence.missing:
                continue
            count += 1
            if worst(f.effect for f in end.findings if not f.about.startswith("wind")) != end.verdict:
                by_wind.append(end)
    return count, by_wind
