"""How the quick sums answer: one JSON object, or the same as aligned text."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from siteassess.cli.shared import answer

# key ending: (divide by, unit shown)
ENDINGS = {
    "_m_s": (1.0, "m/s"), "_kg_m": (1.0, "kg/m"), "_nm": (1e3, "kN m"), "_n": (1e3, "kN"), "_pa": (1e3, "kPa"),
    "_m": (1.0, "m"), "_deg": (1.0, "degrees"), "_kg": (1.0, "kg"),
}
STRAINED = ("_n", "_nm", "_pa")  # forces, moments and pressures, which no reading gives to a thousandth

LBF = 4.4482216152605  # [N] exactly


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
    for ending, (factor, unit) in ENDINGS.items():
        if key.endswith(ending):
            name = key.removesuffix(ending).replace("_", " ")
            if _nothing(value):
                return name, "cannot say"
            figures = _three_figures if ending in STRAINED else _figures
            beside = f" ({figures(value / LBF)} lbf)" if ending == "_n" else ""
            return name, f"{figures(value / factor)} {unit}{beside}"
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


def _three_figures(value: float) -> str:
    """No sum of forces here is known to a thousandth, whatever its unit: the rest is rounded away."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = 2 - math.floor(math.log10(abs(value)))
    rounded = f"{round(value, decimals):.{max(0, decimals)}f}"
    return rounded.rstrip("0").rstrip(".") if decimals > 0 else rounded


def _item(item: Any) -> str:
    if isinstance(item, Mapping) and "flag" in item:
        return f"{item['name']}: {item['value']}; {item['flag']}: {item['source']}"
    if isinstance(item, Mapping):
        return "; ".join(f"{name} {text}" for name, text in (_row(key, value) for key, value in item.items()))
    return str(item)


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))


def number(value: Any) -> float | None:
    """A plain float, None for not-a-number."""
    value = float(value)
    return value if math.isfinite(value) else None
