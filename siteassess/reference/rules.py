"""Land managers' rule sets: one format, read and checked; whether a clause is met is judged elsewhere.

The shipped sets are dated templates compiled from public pages. Each one says to check the current text, and a
clause that was seen in someone else's account is marked second hand. A thing a set does not mention is not
mentioned: silence is never a permission.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, model_validator
from pydantic_core import ErrorDetails

from siteassess.errors import Fault, FaultyInput, UnknownName
from siteassess.reference.faults import of_model
from siteassess.reference.findings import worded
from siteassess.reference.languages import load_yaml
from siteassess.reference.locate import data_folder
from siteassess.reference.tables import Flag
from siteassess.units import si_factor

RuleText = Annotated[str, Field(min_length=1, max_length=400)]
RuleName = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]*$", max_length=60)]
ConditionText = Annotated[
    RuleText | None, Field(description="Condition in words; present means a person must say whether it holds")
]
RuleUse = Literal["slackline", "hammock", "tightrope", "any line"]
LengthUnit = Literal["m", "cm", "mm", "ft", "in"]
Operator = Literal[">=", ">", "<=", "<"]
Crossed = Literal["path", "worn track", "road", "railway", "water"]
Month = Annotated[int, Field(ge=1, le=12)]
RulesStatus = Literal[
    "allowed with conditions", "named trees and posts only", "named places only", "posts only", "approval needed",
    "written permission needed", "prohibited", "guidance", "superseded",
]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Length(_Part):
    """A length as printed."""

    value: Annotated[float, Field(gt=0, lt=10000)]
    unit: LengthUnit

    @property
    def metres(self) -> float:
        return self.value * si_factor("length", self.unit)


class ReadingHeight(_Part):
    """Where a size is read: at the attachment, at mid-span (loaded or not said), or a height above ground."""

    place: Literal["attachment", "mid-span", "ground up"]
    height: Length | None = None
    loaded: bool | None = Field(None, description="With a person on the line; absent where not said")


class _Clause(_Part):
    id: RuleName = Field(description="Unique in the set")
    uses: tuple[RuleUse, ...] = Field((), description="Uses it holds for; empty means all uses of the set")
    second_hand: bool = Field(False, description="Seen in someone else's account")
    note: RuleText | None = None

    def holds_for(self, use_words: Collection[str]) -> bool:
        """Whether it holds for a use, by what rules may call it."""
        return not self.uses or any(use in use_words for use in self.uses)


class SizeClause(_Clause):
    """A size with a limit."""

    kind: Literal[
        "trunk diameter", "trunk girth", "attach height", "line height", "span", "line length", "strap width",
        "pad thickness", "pad width", "distance", "clear stem", "crown base", "tree height",
    ]
    operator: Operator
    value: Annotated[float, Field(gt=0, lt=10000)]
    unit: Literal[LengthUnit, "sling widths"]
    measured_at: ReadingHeight | None = None
    distance_to: RuleText | None = Field(None, description="For a distance: what to keep away from")
    when: ConditionText = None

    @model_validator(mode="after")
    def _keeps_away_from_something(self) -> SizeClause:
        if self.kind == "distance" and self.distance_to is None:
            raise ValueError(worded("want-distance-to"))
        return self

    @property
    def value_m(self) -> float | None:
        """The limit [m]; None where it counts in sling widths."""
        return None if self.unit == "sling widths" else self.value * si_factor("length", self.unit)

    @property
    def measured_at_m(self) -> float | None:
        """Height of the reading above ground [m]; None at the attachment or where not said."""
        return self.measured_at.height.metres if self.measured_at and self.measured_at.height else None


class CountClause(_Clause):
    """A number of people or lines with a limit."""

    kind: Literal["people on the line", "lines per tree"]
    operator: Operator
    value: Annotated[int, Field(ge=0, le=1000)]


class ThingClause(_Clause):
    """A thing that is required or barred."""

    kind: Literal[
        "padding", "pad all round", "permit", "flags", "someone in attendance", "take down daily", "named tree",
        "rough bark", "thick bark", "trees", "heritage trees", "conifers", "choker", "rope", "smooth bark",
        "living tree",
    ]
    asks: Literal["required", "barred"]
    when: ConditionText = None
    over: Length | None = Field(None, description="Holds only for lines longer than this")


class ListClause(_Clause):
    """Named genera, species, places, objects or materials."""

    kind: Literal["genera", "species", "places", "objects", "pad materials"]
    asks: Literal["barred", "preferred", "only"]
    names: Annotated[tuple[RuleText, ...], Field(min_length=1)]
    crosses: tuple[Crossed, ...] = Field((), description="For places: marked things that no line may cross")
    all_but_trees: bool = Field(False, description="For objects: whatever is no tree is one of them")
    unnamed_trees: bool = Field(False, description="For objects: a tree that the manager has not named is one of them")


class MonthsClause(_Clause):
    """Months that are closed or call for care."""

    kind: Literal["months"]
    asks: Literal["closed", "care"]
    months: Annotated[tuple[Month, ...], Field(min_length=1)]


class ClockEvent(_Part):
    """An hour of the day by its event."""

    event: Literal["sunrise", "sunset", "dawn", "dusk", "park opening", "park closing"]
    offset_min: int = Field(0, ge=-720, le=720, description="Minutes after the event; negative before it")


class HoursClause(_Clause):
    """Hours in which a line may hang."""

    kind: Literal["hours"]
    start: ClockEvent
    end: ClockEvent


class LookClause(_Clause):
    """A demand that only a person on the spot can answer."""

    kind: Literal["look"]
    wording: RuleText


RuleClause = Annotated[
    SizeClause | CountClause | ThingClause | ListClause | MonthsClause | HoursClause | LookClause,
    Field(discriminator="kind"),
]


class RuleSource(_Part):
    title: RuleText
    dated: Annotated[str, Field(pattern=r"^\d{4}(-\d{2}){0,2}$")] | None = Field(
        None, description="Date the rule's own text bears; absent where it bears none, or none was seen",
    )
    url: Annotated[str, Field(pattern=r"^https?://", max_length=300)] | None = None


class RuleSet(_Part):
    """A land manager's rules for lines on trees."""

    format: Literal["land-managers-rules/1"]
    id: RuleName
    place: RuleText
    country: Annotated[str, Field(pattern=r"^[A-Z]{2}$")]
    status: RulesStatus
    uses: Annotated[tuple[RuleUse, ...], Field(min_length=1)]
    source: RuleSource
    flag: Flag
    second_hand: bool = False
    as_of: Annotated[str, Field(pattern=r"^\d{4}-\d{2}$")] = Field(description="Year and month of compiling")
    check_current_text: RuleText
    excerpt_note: RuleText | None = Field(None, description="What of the source was seen and what was not")
    clauses: tuple[RuleClause, ...] = ()


@cache
def rule_ids() -> tuple[str, ...]:
    """Ids of the shipped rule sets, in alphabetical order."""
    return tuple(sorted(path.stem for path in (data_folder() / "rules").glob("*.yaml")))


@cache
def rule_set(rule_id: str) -> RuleSet:
    """A shipped rule set by its id.

    Parameters
    ----------
    rule_id : name of its file without the ending

    Raises
    ------
    UnknownName : if no shipped set has the id
    """
    if rule_id not in rule_ids():
        raise UnknownName(worded("no-such-rule-set", name=rule_id))
    return read_rule_set(load_yaml(data_folder() / "rules" / f"{rule_id}.yaml"), rule_id)


def read_rule_set(
    content: object, name: str, line_of: Callable[[tuple[Any, ...]], int] = lambda path: 0, above: str = ""
) -> RuleSet:
    """Check the plain content of a rule set, a user's own or a shipped one.

    Parameters
    ----------
    content : as loaded from YAML or JSON
    name : what to call it in the faults
    line_of : line that a path of keys and indices stands on, where the reader kept lines
    above : what stands before every field's name in the faults

    Raises
    ------
    FaultyInput : with all faults at once
    """
    try:
        found = TypeAdapter(RuleSet).validate_python(content)
    except ValidationError as faulty:
        raise FaultyInput(name, (_fault(error, line_of, above) for error in faulty.errors())) from None
    if repeated := _repeated_ids(found, line_of, above):
        raise FaultyInput(name, repeated)
    return found


def _repeated_ids(rules: RuleSet, line_of: Callable[[tuple[Any, ...]], int], above: str) -> list[Fault]:
    """Two clauses of one id: an answer could not name which of them it means."""
    ids = [clause.id for clause in rules.clauses]
    return [
        Fault(line_of(("clauses", at, "id")), f"{above}clauses.{at}.id", repr(name), worded("want-own-id"))
        for at, name in enumerate(ids) if name in ids[:at]
    ]


def _fault(error: ErrorDetails, line_of: Callable[[tuple[Any, ...]], int], above: str) -> Fault:
    # the kind that chose the form of a clause is no key of the file
    steps = [part for at, part in enumerate(error["loc"]) if not (at == 2 and error["loc"][0] == "clauses")]
    field = above + ".".join(str(part) for part in steps) if steps else worded("the-rule-set", above=above)
    return of_model(error, field, line_of(tuple(steps)), of_clause=steps[:1] == ["clauses"])
