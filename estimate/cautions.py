"""The usual cautions that every document carries; they defer to local codes and licensed practice."""

CAUTIONS = (
    "This is a planning aid. Local codes, permits, the competent person on site and licensed practice decide.",
    "Buried utilities: have all lines located before digging (in the US call 811 some days ahead) and expose them "
    "by hand inside the marked strip. Private ones (yard lights, gas, irrigation, septic) are not marked.",
    "Cave-in: soil can fall in at any depth. From 5 ft (1.5 m) OSHA 29 CFR 1926 Subpart P asks for a protective "
    "system, shallower too where the competent person sees signs of cave-in; other countries have other limits. "
    "Keep spoil and machines at least 2 ft (0.6 m) from the edge; a ladder from 4 ft (1.2 m).",
    "Undermining: do not dig below a 1:1 line from the bottom edge of a footing, wall, patio or pond liner without "
    "an engineer.",
    "Electricity at water: pumps, outlets and conduit near water belong to a licensed electrician (ground-fault "
    "protection, burial depth, bonding).",
    "Stored energy: test plastic lines with water, never with air. Drain by gravity first.",
    "Lifting: pumps, vaults, rock and pipe bundles need the right machine and a clear fall zone.",
)
"""The cautions, most general first; each one sentence or two."""
