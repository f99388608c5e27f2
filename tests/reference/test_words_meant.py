"""Words of another language that would mean another thing than the English one: each was read so once."""

from __future__ import annotations

import re

import pytest

from siteassess.reference.languages import TABLES, _texts
from siteassess.reference.tables import document

TEXTS = [text for name in TABLES for _, text in _texts(document(name))]

# by English wording, and language: what reads as something else there, and why
MEANT = [
    (r"\bto be sure\b", "es", r"\bfallar\b", "that the webbing does not give way"),
    (r"\bstem\b.*\bfork\b|\bfork\b.*\bstem\b", "fr", r"\bbranche", "a branch, where a stem is meant"),
    (r"\bstem\b.*\bfork\b|\bfork\b.*\bstem\b", "es", r"\bpie\b", "the foot of a tree"),
    (r"^(?!.*webbing).*\btap(e|ed|es)\b", "es", r"\bcintas?\b(?! métrica)", "a webbing"),
    (r"^(?!.*webbing).*\btap(e|ed|es)\b", "de", r"\bBand(e?s)?\b", "a webbing"),
    (r"\bboulder\b", "es", r"\broca suelta\b", "another word than elsewhere: a loose stone"),
    (r"of its place\b", "de", r"an seinem Ort", "of a sling, which is no neuter"),
    (r"^(bought|improvised)$", "es", r"[oa]do$", "of a mat, which is feminine"),
    (r"^not recorded$", "fr", r"non noté", "of an insurance, too"),
    (r"degrees true", "es", r"verdadero", "degrees have the plural"),
    (r"a unit of", "fr", r"unité de \{", "de inclinaison"),
    (r"higher or lower than the ground", "de", r"neben dem", "beside it"),
    (r"\bstop sign\b", "de", r"\bHalt", "a sign at a road"),
]


@pytest.mark.parametrize("english, language, wrong, why", MEANT)
def test_no_wording_means_another_thing_in_another_language(english, language, wrong, why):
    meant = [one for one in TEXTS if re.search(english, one["en"], re.IGNORECASE)]
    assert meant
    assert [one[language] for one in meant if re.search(wrong, one[language], re.IGNORECASE)] == [], why
