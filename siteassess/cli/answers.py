"""How the quick sums answer: one JSON object, or the same as aligned text."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any, cast

import click
from click.decorators import FC

from siteassess.cli.shared import LANGUAGE, give, json_switch, measured, names_for_a_shell, told_language
from siteassess.reference.findings import word
from siteassess.reference.languages import languages
from siteassess.reference.measures import Measures
from siteassess.reference.texts import marked
from siteassess.units import quantity, show

# key ending: unit shown
UNIT_BY_ENDING = {
    "_m_s": "m/s", "_kg_m": "kg/m", "_nm": "kN m", "_n": "kN", "_pa": "kPa", "_m": "m", "_deg": "degrees", "_kg": "kg",
}
FOR_PROGRAMS = ("helps", "works")  # of `quick tight`: in words its notes tell them
AS_GIVEN = ("species", "edge_distance_m")  # what nobody gave is no "cannot say": what is taken for it is told elsewhere
STRAINED = {"_n": "force", "_nm": "moment", "_pa": "pressure"}  # which no reading gives to a thousandth


webbing_for_a_shell = names_for_a_shell("reference.webbing.class_names")


def answers_sum(sum_of: Callable[..., dict[str, Any]]) -> Callable[..., None]:
    """`--lang` and `--json` of a sum; what it answers is printed with the cautions every result carries.

    Parameters
    ----------
    sum_of : what works it out, from the values of its own options; it stays on the command as `__wrapped__`

    Returns
    -------
    The function of the command. Sentences are codes: JSON tells them in English, the text in the language asked for.
    """

    @functools.wraps(sum_of)
    def command(*, as_json: bool, **values: Any) -> None:
        language = click.get_current_context().ensure_object(dict)[LANGUAGE]
        found = sum_of(**values)
        give(as_json, lambda: sum_as_json(found), sum_as_text(found, language))

    lang = click.option("--lang", type=click.Choice(languages()), default="en", show_default=True, expose_value=False,
                        callback=told_language, is_eager=True, help="Language; JSON stays English.")  # fmt: skip
    return lang(json_switch(command))


def trunk_size(what: str) -> Callable[[FC], FC]:
    """`--diameter` of a trunk, or `--girth` in its stead; the sum is asked for the diameter [m].

    Parameters
    ----------
    what : where on the trunk it is
    """

    def option(sum_of: FC) -> FC:
        @functools.wraps(sum_of)
        def by_diameter(*, diameter: float | None, girth: float | None, **values: Any) -> Any:
            if (diameter is None) == (girth is None):
                from siteassess.reference.findings import worded

                raise click.UsageError(worded("option-diameter-or-girth"))
            return sum_of(diameter=diameter if girth is None else girth / math.pi, **values)

        thick = measured("--diameter", "length", f"Trunk diameter {what}.", usual_unit="cm", low=0.03, high=5)
        return thick(measured("--girth", "length", "Instead of --diameter: girth there.", usual_unit="cm",
                              low=0.1, high=15)(by_diameter))  # type: ignore[return-value] # the same but for a girth

    return option


def sum_as_json(found: Mapping[str, Any]) -> dict[str, Any]:
    """What `--json` prints of a sum.

    Parameters
    ----------
    found : values by name, as a sum answers them

    Returns
    -------
    The same with codes in English, each beside what it is made of, and the cautions.
    """
    from siteassess.reference.texts import cautions

    return cast("dict[str, Any]", _in_english({**found, "cautions": list(cautions())}))


def sum_as_text(found: Mapping[str, Any], language: str = "en") -> Iterator[str]:
    """The same as aligned lines.

    Parameters
    ----------
    found, language : as in `sum_as_json`; what it is told in
    """
    from siteassess.reference.texts import cautions

    told = {name: value for name, value in found.items()
            if name not in FOR_PROGRAMS and (value is not None or name not in AS_GIVEN)}  # fmt: skip
    return _Told(language).lines({**told, "cautions": list(cautions(language))})


def _in_english(value: Any) -> Any:
    """Every code in English under its own name, and beside it what it is made of."""
    if isinstance(value, Mapping):
        told: dict[str, Any] = {}
        for name, one in value.items():
            codes = _codes(one)
            if not name.endswith("_codes"):
                told[name] = _in_english(one)
            if codes:
                from siteassess.papers.as_json import jsonable

                told[name if name.endswith("_codes") else f"{name}_codes"] = jsonable(codes)
        return told
    if isinstance(value, (list, tuple)):
        return [_in_english(one) for one in value]
    if hasattr(value, "in_words"):
        return value.in_words()
    return value.as_dict() if hasattr(value, "as_dict") else value


def _codes(value: Any) -> Any:
    """A code, or a list of codes alone; None for all else."""
    several = value if isinstance(value, (list, tuple)) else [value]
    return value if several and all(hasattr(one, "in_words") for one in several) else None


class _Told:
    """An answer as aligned lines in a language."""

    def __init__(self, language: str):
        from siteassess.papers.language import words_in

        self.language, self.texts = language, words_in(language).texts

    def lines(self, values: Mapping[str, Any], indent: str = "") -> Iterator[str]:
        colon = self.texts["colon"]
        for key, value in values.items():
            name, text = self._row(key, value)
            if isinstance(value, Mapping):
                yield f"{indent}{name}{colon}"
                yield from self.lines(value, indent + "  ")
            elif isinstance(value, (list, tuple)):
                if value:
                    yield f"{indent}{name}{colon}"
                yield from (f"{indent}  - {self._item(item)}" for item in value)
            else:
                yield f"{indent}{name + colon:<28} {text}"

    def _row(self, key: str, value: Any) -> tuple[str, str]:
        for ending, unit in UNIT_BY_ENDING.items():
            if key.endswith(ending):
                name = self._name(key.removesuffix(ending))
                if _nothing(value):
                    return name, self._word("cannot say")
                if ending not in STRAINED:
                    return name, f"{self._marked(_figures(value))} {self._word(unit)}"
                beside = f" ({quantity(value, 'lbf', 'force', 3)})" if ending == "_n" else ""
                return name, self._marked(f"{quantity(value, unit, STRAINED[ending], 3)}{beside}")
        if _nothing(value):
            return self._name(key), self._word("cannot say")
        if isinstance(value, bool):
            return self._name(key), self._word("yes" if value else "no")
        if key == "use":
            return self._name(key), Measures(self.language).share(value)
        if isinstance(value, float):
            return self._name(key), self._marked(_figures(value))
        if hasattr(value, "in_words"):
            return self._name(key), value.in_words(self.language)
        of_its_own = f"quick {key.replace('_', ' ')}-{value}"
        return self._name(key), self.texts.get(of_its_own) or self._word(str(value))

    def _name(self, key: str) -> str:
        name = key.replace("_", " ")
        return self.texts.get(f"quick {name}", name)

    def _word(self, english: str) -> str:
        return word(english, self.language)

    def _marked(self, number: str) -> str:
        return marked(number, self.language)

    def _item(self, item: Any) -> str:
        if hasattr(item, "named"):
            name, value = item.named.in_words(self.language), item.told.in_words(self.language)
            between, colon = (self.texts[key] for key in ("between", "colon"))
            return f"{name}{colon} {value}{between}{self._word(item.flag)}{colon} {item.source}"
        return item.in_words(self.language) if hasattr(item, "in_words") else str(item)


def _figures(value: float) -> str:
    """Four figures without an exponent, all of them before the point where there are more."""
    shown = show(value, "~4")
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and not math.isfinite(value))


def number(value: Any) -> float | None:
    """A plain float, None for not-a-number."""
    value = float(value)
    return value if math.isfinite(value) else None
