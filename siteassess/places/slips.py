"""The usual slips of the pen in field notes, each as a way to read the same note differently."""

from __future__ import annotations

import math


def minutes_typed_as_decimals(degrees: float) -> float:
    """The angle meant where 40 deg 47.123 min was typed as 40.47123; NaN where no such reading exists [deg].

    Parameters
    ----------
    degrees : as typed [deg]

    Examples
    --------
    30 minutes are half a degree, and there are no 75, by hand:

    >>> round(minutes_typed_as_decimals(-40.30), 9), minutes_typed_as_decimals(40.75)
    (-40.5, nan)
    """
    whole, minutes = _split(degrees, 100.0)
    return math.nan if minutes >= 60.0 else math.copysign(whole + minutes / 60.0, degrees)


def seconds_typed_as_decimals(degrees: float) -> float:
    """The angle meant where 40 deg 47 min 12.3 s was typed as 40.47123; NaN where no such reading exists [deg].

    Parameters
    ----------
    degrees : as typed [deg]

    Examples
    --------
    30 minutes and 36 seconds are 0.51 degrees, by hand:

    >>> round(seconds_typed_as_decimals(40.3036), 9)
    40.51
    """
    whole, minutes = _split(degrees, 100.0)
    minutes_whole = math.floor(minutes + 1e-9)
    seconds = max(0.0, (minutes - minutes_whole) * 100.0)
    if minutes_whole >= 60 or seconds >= 60.0:
        return math.nan
    return math.copysign(whole + minutes_whole / 60.0 + seconds / 3600.0, degrees)


def decimals_typed_as_minutes(degrees: float) -> float:
    """The angle meant where 40.47123 deg was typed as 40 deg 47.123 min [deg].

    Parameters
    ----------
    degrees : as read from the minutes [deg]

    Examples
    --------
    40 deg 30 min, read as 40.5, was 40.30, by hand:

    >>> round(decimals_typed_as_minutes(40.5), 9)
    40.3
    """
    whole, minutes = _split(degrees, 60.0)
    return math.copysign(whole + minutes / 100.0, degrees)


def _split(degrees: float, parts: float) -> tuple[float, float]:
    whole = math.floor(abs(degrees))
    return whole, (abs(degrees) - whole) * parts
