"""Values that can be bought: the preferred number series."""

import math

from forehear.ground.errors import OutsideValidity

E24 = tuple(
    tenths / 10  # whole tenths, so that each value is the very number its text reads as
    for tenths in (
        10,
        11,
        12,
        13,
        15,
        16,
        18,
        20,
        22,
        24,
        27,
        30,
        33,
        36,
        39,
        43,
        47,
        51,
        56,
        62,
        68,
        75,
        82,
        91,
    )
)
SERIES = {"E6": E24[::4], "E12": E24[::2], "E24": E24}


def preferred_values(series: str) -> tuple[float, ...]:
    """One decade, 1 up to but not including 10, of a preferred number series.

    Parameters
    ----------
    series
        E6, E12 or E24. [-]

    Returns
    -------
    tuple
        Values, rising. [-]

    Source
    ------
    iec-60063, E6, E12 and E24.

    Examples
    --------
    >>> preferred_values("E6")
    (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    """
    if series not in SERIES:
        raise OutsideValidity(f"there is no series {series!r}", cure=f"use one of {', '.join(SERIES)}")
    return SERIES[series]


def nearest_preferred(value: float, series: str) -> float:
    """Preferred value nearest in ratio, in any decade.

    Parameters
    ----------
    value
        Wanted value, above zero. [any]
    series
        E6, E12 or E24. [-]

    Returns
    -------
    float
        The value to buy. [as value]

    Source
    ------
    iec-60063, E6, E12 and E24; nearest in ratio because tolerances are ratios.

    Examples
    --------
    >>> nearest_preferred(5.1e-6, "E12"), nearest_preferred(9.7, "E6")
    (4.7e-06, 10.0)
    """
    if not (math.isfinite(value) and value > 0):
        raise OutsideValidity(f"a part cannot have the value {value!r}", cure="state a value above zero")
    exponent = math.floor(math.log10(value))
    # Text, not a product, makes the decade: 4.7 times 1e-6 is not the number that "4.7e-6" reads as.
    near = [float(f"{step}e{exponent + up}") for step in preferred_values(series) for up in (-1, 0, 1)]
    return min(near, key=lambda preferred: abs(math.log(preferred / value)))


def next_preferred(value: float, series: str) -> float:
    """Next preferred value above one, in any decade.

    Parameters
    ----------
    value
        Value stepped from, above zero; it need not be a preferred one. [any]
    series
        E6, E12 or E24. [-]

    Returns
    -------
    float
        The smallest preferred value that is larger. [as value]

    Source
    ------
    iec-60063, E6, E12 and E24.

    Examples
    --------
    >>> next_preferred(5.6e-6, "E24"), next_preferred(9.1, "E24"), next_preferred(5.0, "E12")
    (6.2e-06, 10.0, 5.6)
    """
    nearest = nearest_preferred(value, series)
    if nearest > value * (1 + 1e-9):
        return nearest
    exponent = math.floor(math.log10(nearest * (1 + 1e-9)))
    above = (float(f"{step}e{exponent + up}") for up in (0, 1) for step in preferred_values(series))
    return next(preferred for preferred in above if preferred > value * (1 + 1e-9))
