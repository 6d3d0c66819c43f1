"""Fresh water between freezing and boiling: density and viscosity by temperature."""

import math

from terrain.errors import InputError


def density(celsius: float) -> float:
    """Return the density of fresh water [kg/m3] at `celsius` [degrees C] and one atmosphere.

    Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97; valid 0 to 100 degrees C, which is checked.

    Raises:
        InputError: the temperature is outside 0 to 100 degrees C.

    >>> round(density(4.0), 2)
    999.97
    """
    t = _checked(celsius)
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return above / (1.0 + 16.879850e-3 * t)


def kinematic_viscosity(celsius: float) -> float:
    """Return the kinematic viscosity of fresh water [m2/s] at `celsius` [degrees C].

    Source: J. Kestin, M. Sokolov, W. A. Wakeham, J. Phys. Chem. Ref. Data 7 (1978) 941, dynamic viscosity
    relative to 1.002 mPa s at 20 degrees C, over the density of Kell; valid 0 to 100 degrees C, checked.

    Raises:
        InputError: the temperature is outside 0 to 100 degrees C.

    >>> round(kinematic_viscosity(10.0) * 1e6, 3)
    1.307
    """
    t = _checked(celsius)
    below = 20.0 - t
    exponent = below / (t + 96.0) * (1.2364 - 1.37e-3 * below + 5.7e-6 * below**2)
    return float(1.002e-3 * math.pow(10.0, exponent) / density(t))


def _checked(celsius: float) -> float:
    """Return the temperature [degrees C] when water is liquid there."""
    if not 0.0 <= celsius <= 100.0:
        raise InputError(
            "water temperature",
            f"{celsius:g} degrees C",
            "0 to 100 degrees C",
            "give the temperature of the water as it flows; is the number Fahrenheit?",
        )
    return celsius
