"""The checker's JSON Schema turned into one for the file as users write it: units, meanings, defaults."""

from dataclasses import fields

from estimate import site_records
from estimate.site_keys import MEANINGS, default_text, hints_of, plain_hint, quantity_of
from estimate.site_records import Elevation

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""The name of the JSON Schema draft."""


def as_written(checked: dict[str, object]) -> dict[str, object]:
    """Return the schema of the written file, made from the schema `checked` of the converted one."""
    definitions = checked["$defs"]
    assert isinstance(definitions, dict)
    records = {name: _record(name, part) for name, part in definitions.items() if name != "Elevation"}
    top = records.pop("SiteFile")
    return {"$schema": DIALECT, "title": "site.toml", **top, "$defs": records}


def _record(name: str, part: dict[str, object]) -> dict[str, object]:
    """Return the schema of one table with the meaning, bare unit and default of each key."""
    record = getattr(site_records, name)
    hints = hints_of(record)
    properties: dict[str, object] = {}
    entries = part["properties"]
    assert isinstance(entries, dict)
    for field in fields(record):
        mark, hint = quantity_of(hints[field.name]), hints[field.name]
        says = MEANINGS[f"{name}.{field.name}"]
        if mark is not None and mark.us:
            says += f'; a bare number is in {mark.us} under units = "US", in {mark.si} under "SI"'
        elif mark is not None:
            says += '; a bare number, or text such as "1/8 in/ft", "1 %" or "1.5:1"'
        elif plain_hint(hint) is Elevation:
            says += "; a bare number is in the survey's own unit"
        default = default_text(field, mark)
        properties[field.name] = {
            "description": says + (f"; default {default}" if default else ""),
            **_cleaned(entries[field.name]),
        }
    kept = {key: value for key, value in part.items() if key in ("type", "required", "additionalProperties")}
    return {**kept, "properties": properties}


def _cleaned(entry: object) -> dict[str, object]:
    """Return `entry` without SI defaults, titles and null, which TOML has not; elevations as they are written."""
    assert isinstance(entry, dict)
    if entry.get("$ref") == "#/$defs/Elevation":
        return {"anyOf": [{"type": "number"}, {"type": "string"}]}
    arms = [arm for arm in entry.get("anyOf", ()) if arm.get("type") != "null"]
    if arms:
        cleaned = [_cleaned(arm) for arm in arms]
        return cleaned[0] if len(cleaned) == 1 else {"anyOf": cleaned}
    kept = {key: value for key, value in entry.items() if key not in ("title", "default", "description")}
    if "items" in kept:
        kept["items"] = _cleaned(kept["items"])
    if "prefixItems" in kept:
        kept["prefixItems"] = [_cleaned(item) for item in kept["prefixItems"]]
    return kept
