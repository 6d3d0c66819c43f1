"""What the depth of the dig asks for by the rules; findings only, nothing is ever called safe."""

from estimate.record import Finding
from terrain.units import show

FOOT = 0.3048
"""The international foot [m]."""
LADDER = 4.0 * FOOT
"""Depth [m] from which a ladder or ramp is asked for; OSHA 29 CFR 1926.651(c)(2)."""
PROTECTION = 5.0 * FOOT
"""Depth [m] from which a protective system is asked for; OSHA 29 CFR 1926.652(a)(1)."""
ENGINEER = 20.0 * FOOT
"""Depth [m] beyond which a registered engineer designs the protection; OSHA 29 CFR 1926.652(b)."""


def face_findings(tallest_m: float, place: str, units: str) -> tuple[Finding, ...]:
    """Return what a tallest wall face [m] asks for by OSHA 29 CFR 1926 Subpart P, in `units` US or SI.

    A face lower than the limits yields nothing, which does not make it safe: the competent person decides.

    Source: OSHA 29 CFR 1926.651 and .652; other countries have other limits.

    >>> [finding.code for finding in face_findings(1.3, "station 12", "SI")]
    ['ladder']
    """
    height = show(tallest_m, "length", units)
    found = []
    if tallest_m >= LADDER:
        remedy = "a ladder or ramp within 25 ft (7.6 m) of every worker, 3 ft (0.9 m) above the edge"
        found.append(_finding("ladder", "warning", place, f"the tallest face is {height}, 4 ft or more", remedy))
    if tallest_m >= PROTECTION:
        reason = f"the tallest face is {height}, 5 ft or more: OSHA asks for a protective system"
        remedy = "slope, shore or shield as the competent person decides; without a soil class 1-1/2 to 1"
        found.append(_finding("protective system", "act", place, reason, remedy))
    if tallest_m > ENGINEER:
        reason = f"the tallest face is {height}, over 20 ft"
        found.append(_finding("engineer", "act", place, reason, "have the protection designed by an engineer"))
    return tuple(found)


def _finding(code: str, level: str, place: str, reason: str, remedy: str) -> Finding:
    return Finding(code=code, level=level, where=place, reason=reason, remedy=remedy)
