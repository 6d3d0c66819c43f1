"""The whole trip: from a site's survey to the ground, and from site and ground to the estimate."""

import math
from dataclasses import replace

from estimate.dig.account import RULES, account_of, dig_record
from estimate.dig.findings import dig_findings
from estimate.dig.trench import open_trench
from estimate.parts import Told, gathered, lift_part, pipe_line, pipe_of, price_part, summit_of, unpriced_findings
from estimate.profile.line import design_line
from estimate.profile.winter import what_stays_full
from estimate.record import Estimate
from estimate.route.gaps import gap_findings
from estimate.route.line import lay_route
from estimate.site_defaults import default_assumptions, odd_values
from estimate.site_records import Site, SurveyPart
from estimate.water.line import system_of, water_of
from terrain.accuracy import typical_accuracy
from terrain.cache import cached_ground
from terrain.ground import Ground
from terrain.readers import ReadOptions
from terrain.units import length_unit, show
from terrain.watch import SILENT, Watch


def load_ground(site: Site, watch: Watch = SILENT) -> Ground:
    """Return the ground of the site's survey; the only slow step, and the only one whose result is kept.

    Raises:
        SurveyError: the survey cannot be read or makes no surface.
        UnitsError: its units are missing, unknown or contradict each other.
        StorageError: its file cannot be opened.
        Cancelled: by `watch`.
    """
    part = site.file.survey
    ground = cached_ground(site.folder / part.file, read_options(part), watch)
    if not math.isnan(ground.accuracy):
        return ground
    typical = typical_accuracy(ground.kind)
    text = show(typical.sigma, "length", site.file.units)
    assumed = f"one elevation is good to {text} (one sigma); {typical.source}"
    return replace(ground, accuracy=typical.sigma, assumptions=(*ground.assumptions, assumed))


def read_options(part: SurveyPart) -> ReadOptions:
    """Return what the site says to the reader of its survey.

    Raises:
        UnitsError: a unit's name is unknown.
    """
    return ReadOptions(
        horizontal_unit=length_unit(part.horizontal_unit) if part.horizontal_unit else None,
        vertical_unit=length_unit(part.vertical_unit) if part.vertical_unit else None,
        keep=part.keep,
        ribbon_half_width=part.ribbon_half_width,
        accuracy=math.nan if part.accuracy is None else part.accuracy,
    )


def make_estimate(site: Site, ground: Ground, watch: Watch = SILENT) -> Estimate:
    """Return the estimate of a site on its ground: the whole trip, without files, clock or state.

    Raises:
        InputError: the site asks for something that has no meaning on this ground.
        Cancelled: by `watch`.
    """
    file = site.file
    pipe = pipe_of(file.pipe)
    route = lay_route(file, ground, watch)
    line = design_line(file, ground, route, pipe)
    winter = what_stays_full(file, ground, route, line, pipe)
    trench = open_trench(file, ground, line, watch, surface=True)
    account = account_of(file, ground, trench, pipe)
    dig = dig_record(file, ground, line, trench, account)
    lift = lift_part(line)
    pipeline = pipe_line(file, pipe, route, line)
    system = system_of(file, lift.static_m, pipe, pipeline)
    water, water_findings = water_of(file, system, pipe, summit_of(line, ground, lift))
    price = price_part(file, site.book, account, line, pipeline, len(winter.drains), dig.area_m2)
    dug = dig_findings(file, ground, line, trench, dig, pipe)
    findings = (*gap_findings(ground, route, file.units), *line.findings, *winter.findings, *dug)
    findings += (*water_findings, *unpriced_findings(price))
    assumptions = (*ground.assumptions, *default_assumptions(site), *line.assumptions, *winter.assumptions, *RULES)
    told = Told((*ground.warnings, *odd_values(site)), findings, assumptions)
    return gathered(site, ground, told, route, line, winter, lift, dig, pipeline, water, price)
