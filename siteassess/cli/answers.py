"""How the quick sums answer: one JSON object, or the same as aligned text."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from siteassess.cli.shared import answer
from siteassess.units import quantity

# key ending: unit shown
ENDINGS = {
    "_m_s": "m/s", "_kg_m": "kg/m", "_nm": "kN m", "_n": "kN", "_pa": "kPa", "_m": "m", "_deg": "degrees", "_kg": "kg",
}
STRAINED = {"_n": "force", "_nm": "moment", "_pa": "pressure"}  # which no reading gives to a thousandth


def answer_sum(values: Mapping[str, Any], as_json: bool) -> None:
    """Print the answer of one sum, with the cautions every result carries."""
    from siteassess.reference.texts import cautions

    values = {**values, "cautions": list(cautions())}
    answer(as_json, values, _lines(values))


def _lines(values: Mapping[str, Any], indent: str = "") -> list[str]:
    lines = []
    for key, value in values.items():
        name, text = _row(key, value)
        if isinstance(value, Mapping):
            lines += [f"{indent}{name}:", *_lines(value, indent + "  ")]
        elif isinstance(value, (list, tuple)):
            if value:
                lines += [f"{indent}{name}:", *(f"{indent}  - {_item(item)}" for item in value)]
        else:
            lines.append(f"{indent}{name + ':':<28} {text}")
    return lines


def _row(key: str, value: Any) -> tuple[str, str]:
    for ending, unit in ENDINGS.items():
        if key.endswith(ending):
            name = key.removesuffix(ending).replace("_", " ")
            if _nothing(value):
                return name, "cannot say"
            if ending not in STRAINED:
                return name, f"{_figures(value)} {unit}"
            beside = f" ({quantity(value, 'lbf', 'force', 3)})" if ending == "_n" else ""
            return name, f"{quantity(value, unit, STRAINED[ending], 3)}{beside}"
    if _nothing(value):
        return key.replace("_", " "), "cannot say"
    if isinstance(value, bool):
        return key.replace("_", " "), "yes" if value else "no"
    return key.replace("_", " "), _figures(value) if isinstance(value, float) else str(value)


def _figures(value: float) -> str:
    """Four figures without an exponent, all of them before the point where there are more."""
    if value == 0:
        return "0"
    decimals = max(0, 3 - math.floor(math.log10(abs(value))))
    return f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.1f}"


def _item(item: Any) -> str:
    if isinstance(item, Mapping) and "flag" in item:
        return f"{item['name']}: {item['value']}; {item['flag']}: {item['source']}"
    if isinstance(item, Mapping):
        return "; ".join(f"{name} {text}" for name, text in (_row(key, value) for key, value in item.items()))
    return str(item)


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and not math.isfinite(value))


def number(value: Any) -> float | None:
    """A plain float, None for not-a-number."""
    value = float(value)
    return value if math.isfinite(value) else None
