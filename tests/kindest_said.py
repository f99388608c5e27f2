"""What was withheld of a record, said at its kindest: does a word hang on it? `from kindest_said import ...`.

The tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
from collections.abc import Callable

from parks import SECTORS, SIGNS
from withheld import OF_AN_END
from worse_pairs import Pair, judged


def unsettled(pair: Pair, what, where, before, after) -> bool:
    return (what == "word" and (before, after) == ("leave it", "cannot say")
            and pair.worse.removeprefix("withheld: ") in KINDEST_SAID and not _exceeded_at_its_kindest(pair, where))


def _exceeded_at_its_kindest(pair: Pair, where: str) -> bool:
    """Whether the place is left with what was withheld at its kindest, said in the record."""
    name = pair.worse.removeprefix("withheld: ")
    for kind in KINDEST_SAID[name]:
        made = copy.deepcopy(pair.made)
        line = made["lines"][0]
        for part in (line["a"], line["b"]) if name in OF_AN_END else (*made["anchors"], line):
            before, after = _twin(part, pair.made), _twin(part, pair.changed)
            if before is not None and before != after:
                kind(part)
        answer = judged(made)
        word = answer and (answer.verdict if where == "line" else answer.anchors["AB".index(where)].verdict)
        if word not in (None, "leave it"):
            return False
    return True


def _twin(part: dict, made: dict) -> dict | None:
    """The part of another record that stands where this one stands."""
    line = made["lines"][0]
    known = {**{tree["code"]: tree for tree in made["anchors"]}, "L1": line}
    known |= {"at " + line[end]["anchor"]: line[end] for end in "ab"}
    return known.get(part.get("code") or part.get("id") or "at " + part.get("anchor", ""))


def _ground(name: str, value: str) -> Callable[[dict], None]:
    return lambda tree: tree.setdefault("ground", {}).__setitem__(name, value)


KINDEST_SAID: dict[str, tuple[Callable[[dict], None], ...]] = {
    "lean": (lambda tree: tree.update(lean="0 deg"),),
    "roots": (lambda tree: tree.update(roots=dict.fromkeys(SECTORS, "covered")),),
    "hard_edge_near": (lambda tree: tree.update(hard_edge_near="no", hard_edges=[]),),
    "stems": (lambda tree: tree.update(stems="single"),),
    "signs": (lambda tree: tree.update(signs=dict.fromkeys(SIGNS, "no")),),
    "ground slope": (_ground("slope", "0 deg"),),
    "ground bank_distance": (_ground("bank_distance", "100 m"),),  # far beyond any root plate
    "ground": (lambda tree: tree.update(ground={"slope": "0 deg", "shallow": "no", "wetness": "wet"}),),
    "standing of the line": (lambda line: line.update(standing={"tension": "0.5 kN", "how": "load cell"}),),
    "webbing of the line": (lambda line: line["webbing"].update(stiffness="45 kN"),),
    "webbing stiffness": (lambda line: line["webbing"].update(stiffness="45 kN"),),
    "tie_height": tuple(lambda end, tie=tie: end.update(tie_height=f"{tie} m") for tie in (0.3, 0.8, 1.2, 1.8)),
    "opening": (lambda tree: tree["hollow"].update(opening="0 deg"),),
    "sound wall": (lambda tree: tree.pop("hollow"),),
}
"""By what was withheld: how a record says the same thing at its kindest."""
