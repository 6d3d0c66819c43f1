"""The exact sizes of the US units in which the trade's tables are printed, in SI."""

INCH = 0.0254
"""One international inch [m]."""
FOOT = 0.3048
"""One international foot [m]."""
YARD3 = 0.9144**3
"""One cubic yard [m3]."""
GALLON = 231 * INCH**3
"""One US gallon [m3]."""
GALLON_PER_MINUTE = GALLON / 60.0
"""One US gallon a minute [m3/s]."""
POUND = 0.45359237
"""One avoirdupois pound [kg]."""
POUND_PER_FOOT3 = POUND / FOOT**3
"""One pound per cubic foot [kg/m3]."""
PSI = POUND * 9.80665 / INCH**2
"""One pound-force per square inch [Pa]."""
GRAVITY = 9.80665
"""Standard gravity [m/s2]."""
