"""The rule for units in names: one spelling for each unit, millimetres and litres only at the borders."""

# Words read as units at the end of a name. Compounds go from left to right: pa_v is pascal per volt,
# m_s metre per second, n_a newton per ampere, m3_pa cubic metre per pascal.
SPELLED = "hz 1 m m2 m3 m5 s pa pa2 ohm v v2 w rad deg db sr kg n a h f c j k"
UNITS = frozenset(SPELLED.split())
BORDER_ONLY = frozenset(["mm", "l", "uf"])
BORDERS = frozenset(["reading", "parts", "design", "publish", "app", "export"])
# Spellings that say a unit otherwise than the list does.
MISSPELLED = """
    hertz khz mhz kohm ohms cm um us ms mv mh uh nf pf ml liter liters litre litres meter meters metre metres
    millimetre millimetres inch inches ft feet sec secs second seconds degree degrees radian radians decibel
    decibels volt volts watt watts pascal pascals kelvin gram grams
"""
REFUSED = frozenset(MISSPELLED.split())


def complaint(name: str, *, border: bool) -> str:
    """Say what is wrong with the unit at the end of a public name; nothing if all is well."""
    words = name.lower().split("_")
    tail: list[str] = []
    while len(words) > 1 and words[-1] in UNITS:
        tail.append(words.pop())
    if len(set(tail)) < len(tail):
        return f"{name} names a unit twice"
    last = words[-1] if len(words) > 1 and not tail else ""
    if last in BORDER_ONLY and not border:
        return f"{name}: {last} belongs to the borders; inside the house all is SI"
    if last in REFUSED and words[-2] != "per":  # per_hertz is a word, not the unit of a number
        return f"{name}: {last} is not on the list of units"
    return ""
