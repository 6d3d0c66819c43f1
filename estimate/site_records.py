"""The records of a site folder: what `site.toml` may hold, as frozen dataclasses in SI.

Coordinates (route points, stations of drains and valves) and elevations stay in the survey's own unit and
datum until the ground is known; everything else is SI. A field's `Quantity` mark names its kind and the unit
that a bare number has under `units = "US"` or `"SI"`.
"""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

from estimate.price.book import PriceBook


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a field as a quantity: its `kind` for `terrain.units.parse` and the bare unit of each system."""

    kind: str
    us: str
    si: str

    def __get_pydantic_json_schema__(self, core_schema: object, handler: object) -> dict[str, object]:
        """Return the JSON Schema of a number with or without its unit (shape none, unit none)."""
        bare = f'{self.us} under units = "US", {self.si} under "SI"' if self.us else "without a unit"
        says = f"a number ({bare}) or text with its unit"
        return {"anyOf": [{"type": "number"}, {"type": "string"}], "description": says}


Size = Annotated[float, Quantity("length", "in", "mm")]
"""A small length such as a width, cover or wall thickness [m]; bare inches or millimetres."""
Length = Annotated[float, Quantity("length", "ft", "m")]
"""A length, depth or head [m]; bare feet or metres."""
Flow = Annotated[float, Quantity("flow", "gal/min", "L/s")]
"""A flow [m3/s]; bare US gallons a minute or litres a second."""
Pressure = Annotated[float, Quantity("pressure", "psi", "kPa")]
"""A pressure [Pa]; bare psi or kilopascal."""
Temperature = Annotated[float, Quantity("temperature", "degF", "degC")]
"""A temperature [degrees Celsius]; bare Fahrenheit or Celsius."""
Ratio = Annotated[float, Quantity("ratio", "", "")]
"""A ratio of two lengths [m/m]; a bare number, or text such as "1/8 in/ft", "1 %" or "1.5:1"."""


@dataclass(frozen=True, slots=True)
class Elevation:
    """An elevation in the survey's datum: `number` in `unit`, or in the survey's own unit where it is empty."""

    number: float
    unit: str = ""


Station = float
"""A distance along the route in plan, in the survey's own horizontal unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyPart:
    """The survey file, the user's word on its units [names], and its accuracy [m]."""

    file: str
    horizontal_unit: str = ""
    vertical_unit: str = ""
    keep: Literal["ground", "all"] = "ground"
    accuracy: Size | None = None
    common_error: Size = 0.0
    benchmark: Elevation | None = None
    ribbon_half_width: Length = 3.048


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePart:
    """Way points as (easting, northing) pairs in the survey's unit, and the structure the first one stands at."""

    points: tuple[tuple[float, float], ...]
    starts_at: Literal["lower", "upper"] = "lower"


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPart:
    """One trench or pit wall: `slope` run to rise [H:V, 0 = vertical] above a vertical `rise` [m]."""

    slope: Ratio = 0.0
    rise: Size = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PitPart:
    """A rectangular pit about a structure: plan size [m], floor elevation, walls, heading of its length."""

    length: Length
    width: Length
    floor: Elevation
    wall: WallPart = WallPart()
    heading: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StructurePart:
    """The structure at one end of the line: levels, port and own pit, elevations in the survey's datum.

    `water_level` is the normal level, or the lip of a free outfall; `port_elevation` is the inside bottom of the
    pipe where it passes the wall; `end_elevation` the inside bottom where it ends inside (pump outlet, spout).
    """

    name: str
    water_level: Elevation
    low_level: Elevation | None = None
    winter_level: Elevation | Literal["empty"] | None = None
    port_elevation: Elevation | None = None
    end_elevation: Elevation | None = None
    check_valve: bool = False
    pit: PitPart | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PipePart:
    """The pipe by `kind` and nominal `size` from the table, or an own one by its measured diameters [m]."""

    kind: str
    size: str
    bore: Size | None = None
    outside: Size | None = None
    rating: Pressure | None = None
    stick: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrenchPart:
    """Width of the tool in use [m], depth rule [m, m/m], walls seen along increasing station, intervals [m]."""

    cover: Size
    width: Size = 0.3048
    bedding: Size = 0.0
    least_fall: Ratio = 1.0 / 96.0
    greatest_depth: Length | None = None
    left_wall: WallPart = WallPart()
    right_wall: WallPart = WallPart()
    interval: Length = 3.048
    low_point_threshold: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilPart:
    """What is dug: the soil's row in the table, topsoil thickness [m], bedding material and truck by name."""

    kind: str = "common earth"
    topsoil: Size = 0.0
    bedding_material: str = "sand"
    truck: str = "tandem dump truck"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainPart:
    """A drain the user wants at a station [survey unit]."""

    station: Station
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValvePart:
    """A valve that holds water in winter at a station [survey unit]: a check valve, or one that is kept shut."""

    station: Station
    kind: Literal["check", "shut"]
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpPart:
    """The pump's curve as (flow [m3/s], head [m]) pairs in order of flow."""

    curve: tuple[tuple[Flow, Length], ...]
    name: str = "pump"


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPart:
    """Flow wanted [m3/s], water temperature [degrees Celsius], fittings by name and count, their table."""

    flow: Flow | None = None
    temperature: Temperature = 10.0
    fittings: dict[str, int] = field(default_factory=dict)
    fitting_table: str = "Crane"


@dataclass(frozen=True, slots=True, kw_only=True)
class PricePart:
    """The price book's file in the site folder; empty takes the shipped example book."""

    book: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteFile:
    """All that `site.toml` may hold; sizes in SI, coordinates and elevations in the survey's own unit."""

    title: str
    units: Literal["US", "SI"]
    survey: SurveyPart
    route: RoutePart
    lower: StructurePart
    upper: StructurePart
    pipe: PipePart
    trench: TrenchPart
    pump: PumpPart | None = None
    soil: SoilPart = SoilPart()
    water: WaterPart = field(default_factory=WaterPart)
    price: PricePart = PricePart()
    drain: tuple[DrainPart, ...] = ()
    valve: tuple[ValvePart, ...] = ()


@dataclass(frozen=True, slots=True)
class Site:
    """A checked site: its folder, its records, its price book, and the keys [names] left to their default.

    `example` is true where route and survey file are still those of the template of a new site.
    """

    folder: Path
    file: SiteFile
    book: PriceBook
    defaults: tuple[str, ...] = ()
    example: bool = False
