"""What a blocked impedance assumes and where it ends."""
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.skin import Permeability
from halfroll.motor.types import Assembly
def verdicts_of(assembly: Assembly, permeability: Permeability, frequency_hz: FloatArray, error: float) -> tuple[Verdict, ...]:
    return ()
