"""Which measured thickness is believed of a sheet that is sold as another: one rule for stocks, shop files and calibration."""

from __future__ import annotations

import math

from panelwright.plates.errors import SizeError
from panelwright.plates.tolerances import ROUNDING

__all__ = ["believed_range", "require_believed"]


def believed_range(nominal: float) -> tuple[float, float]:
    """(Least, most) measured thickness in mm that a sheet sold as `nominal` mm may have.

    The widest tolerance of sheet on sale is that of cast acrylic, ±(0.4 + 0.1·t) mm (ISO 7823-1); a twentieth of a millimetre
    is added for the caliper, and a quarter of the nominal thickness is believed in any case (common practice, no source).

    >>> believed_range(2), believed_range(12)
    ((1.35, 2.65), (9.0, 15.0))
    """
    reach = max(0.25 * nominal, 0.1 * nominal + 0.45)
    return (nominal - reach, nominal + reach)


def require_believed(measured: float, nominal: float, what: str) -> None:
    """Raise `SizeError` for a thickness in mm outside `believed_range`, saying what was probably meant; `what` names it.

    >>> require_believed(0.196, 5, "thickness")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: thickness is 0.196 mm where 5 mm is nominal, 96 % off; perhaps it is in inches, which \
is 4.9784 mm; measure again, in mm, or mend the nominal thickness: from 3.75 to 6.25 mm is believed
    """
    least, most = believed_range(nominal)
    if least - ROUNDING <= measured <= most + ROUNDING:
        return
    slips = (
        (10.0, f"a decimal point slipped, and {measured / 10:g} mm was meant"),
        (0.1, f"a decimal point slipped, and {measured * 10:g} mm was meant"),
        (1 / 25.4, f"it is in inches, which is {measured * 25.4:g} mm"),
    )
    meant = min(slips, key=lambda slip: abs(math.log(measured / slip[0] / nominal)))
    guess = f"; perhaps {meant[1]}" if nominal / 2 <= measured / meant[0] <= 2 * nominal else ""
    off = f", {100 * abs(measured / nominal - 1):.0f} % off{guess}"
    raise SizeError(
        f"{what} is {measured:g} mm where {nominal:g} mm is nominal{off}; measure again, in mm, or mend the nominal thickness: "
        f"from {least:g} to {most:g} mm is believed",
        value=measured,
        limit=(least, most),
    )
