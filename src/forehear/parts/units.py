"""The kinds of values that files hold, with limits beyond which a number can only be a slip of the pen."""

from typing import Annotated, TypeAlias

from forehear.ground.reading import quantities as q
from forehear.ground.reading.sections import Reads, ReadsNumber, ReadsText

Text: TypeAlias = Annotated[str, ReadsText()]
Number: TypeAlias = Annotated[float, ReadsNumber()]
AboveZero: TypeAlias = Annotated[float, ReadsNumber(least=1e-6, most=1e6)]
Price: TypeAlias = Annotated[float, ReadsNumber(least=0.0, most=1e6)]

Size: TypeAlias = Annotated[float, Reads(q.LENGTH, least=1e-4, most=50.0)]
SizeOrZero: TypeAlias = Annotated[float, Reads(q.LENGTH, least=0.0, most=50.0)]
Position: TypeAlias = Annotated[float, Reads(q.LENGTH, least=-500.0, most=500.0)]
Area: TypeAlias = Annotated[float, Reads(q.AREA, least=1e-6, most=1.0)]
Volume: TypeAlias = Annotated[float, Reads(q.VOLUME, least=1e-6, most=10.0)]
Mass: TypeAlias = Annotated[float, Reads(q.MASS, least=1e-6, most=10.0)]
Capacitance: TypeAlias = Annotated[float, Reads(q.CAPACITANCE, least=1e-12, most=1.0)]
Inductance: TypeAlias = Annotated[float, Reads(q.INDUCTANCE, least=1e-9, most=10.0)]
InductanceOrZero: TypeAlias = Annotated[float, Reads(q.INDUCTANCE, least=0.0, most=10.0)]
Resistance: TypeAlias = Annotated[float, Reads(q.RESISTANCE, least=1e-3, most=1e6)]
ResistanceOrZero: TypeAlias = Annotated[float, Reads(q.RESISTANCE, least=0.0, most=1e6)]
Frequency: TypeAlias = Annotated[float, Reads(q.FREQUENCY, least=1.0, most=1e5)]
Compliance: TypeAlias = Annotated[float, Reads(q.COMPLIANCE, least=1e-8, most=1.0)]
MechanicalResistance: TypeAlias = Annotated[float, Reads(q.MECHANICAL_RESISTANCE, least=1e-4, most=1e3)]
ForceFactor: TypeAlias = Annotated[float, Reads(q.FORCE_FACTOR, least=1e-2, most=1e3)]
Power: TypeAlias = Annotated[float, Reads(q.POWER, least=1e-3, most=1e5)]
Voltage: TypeAlias = Annotated[float, Reads(q.VOLTAGE, least=1e-4, most=1e3)]
LevelDb: TypeAlias = Annotated[float, Reads(q.LEVEL, least=0.0, most=150.0)]
Angle: TypeAlias = Annotated[float, Reads(q.ANGLE, least=-6.2832, most=6.2832)]
Temperature: TypeAlias = Annotated[float, Reads(q.TEMPERATURE, least=-20.0, most=50.0)]
Humidity: TypeAlias = Annotated[float, Reads(q.SHARE, least=0.05, most=1.0)]
Tolerance: TypeAlias = Annotated[float, Reads(q.SHARE, least=0.0, most=0.5)]
Pressure: TypeAlias = Annotated[float, Reads(q.PRESSURE, least=50e3, most=110e3)]
RoomSize: TypeAlias = Annotated[float, Reads(q.LENGTH, least=0.5, most=200.0)]
