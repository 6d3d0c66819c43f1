"""A site folder read: values in every spelling become the right SI numbers, and what was left out is known."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from estimate.plan import load_ground, make_estimate, read_options
from estimate.site import check_site, open_site
from estimate.site_defaults import default_assumptions, odd_values
from estimate.site_records import Elevation, WallPart
from estimate.site_template import new_site, template_text
from terrain.readers import ReadOptions

Change = Callable[..., Path]


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        ('"18 in"', 0.4572),  # an inch is 25.4 mm exactly
        ("18", 0.4572),
        ("18.0", 0.4572),
        ('"18"', 0.4572),
        ('"1.5 ft"', 0.4572),
        ('"1\' 6\\""', 0.4572),
        ("'''1' 6\"'''", 0.4572),
        ('"450 mm"', 0.45),
        ('"0.45 m"', 0.45),
        ('"17-1/2 in"', 0.4445),
    ],
)
def test_a_size_in_any_spelling(changed: Change, written: str, metres: float) -> None:
    site = open_site(changed(('cover = "18 in"', f"cover = {written}")))
    assert site.file.trench.cover == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "fall"),
    [('"1/8 in/ft"', 1 / 96), ('"1 %"', 0.01), ('"0.01"', 0.01), ("0.01", 0.01), ("0", 0.0), ('"1:100"', 0.01)],
)
def test_a_least_fall_in_any_spelling(changed: Change, written: str, fall: float) -> None:
    site = open_site(changed(('#least_fall = "1/8 in/ft"', f"least_fall = {written}")))
    assert site.file.trench.least_fall == pytest.approx(fall, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "elevation"),
    [
        ("101.5", Elevation(101.5)),
        ("101", Elevation(101.0)),
        ('"101.5"', Elevation(101.5)),
        ('"101.5 ft"', Elevation(101.5, "ft")),
        ('"101.5 ftUS"', Elevation(101.5, "ftUS")),
        ('"101.5 US survey feet"', Elevation(101.5, "ftUS")),
        ('"30.4 m"', Elevation(30.4, "m")),
        ('"-2 m"', Elevation(-2.0, "m")),
        ('"101\' 6\\""', Elevation(101.5, "ft")),
    ],
)
def test_an_elevation_keeps_its_number_and_unit(changed: Change, written: str, elevation: Elevation) -> None:
    level = open_site(changed(('water_level = "101.5 ft"', f"water_level = {written}"))).file.lower.water_level
    assert level.unit == elevation.unit
    assert level.number == pytest.approx(elevation.number, rel=1e-15)


def test_bare_numbers_follow_the_units_and_coordinates_do_not(changed: Change) -> None:
    pairs = (
        ('cover = "18 in"', "cover = 18"),
        ('#interval = "10 ft"', "interval = 10"),
        ('#temperature = "50 degF"', "temperature = 50"),
        ('#flow = "30 gal/min"', "flow = 30"),
    )
    us = open_site(changed(*pairs)).file
    si = open_site(changed(*pairs, ('units = "US"', 'units = "SI"'))).file
    assert (us.trench.cover, si.trench.cover) == pytest.approx((0.4572, 0.018), rel=1e-15)
    assert (us.trench.interval, si.trench.interval) == pytest.approx((3.048, 10.0), rel=1e-15)
    assert (us.water.temperature, si.water.temperature) == pytest.approx((10.0, 50.0), abs=1e-12)
    gallon = 231 * 0.0254**3  # the US liquid gallon is 231 cubic inches
    assert us.water.flow == pytest.approx(30 * gallon / 60, rel=1e-14)
    assert si.water.flow == pytest.approx(0.030, rel=1e-14)
    assert us.route == si.route


def test_a_pump_curve_with_and_without_units_is_the_same(changed: Change, yard: Path) -> None:
    with_units = open_site(yard).file.pump
    bare = open_site(
        changed(
            ('["0 gal/min", "24 ft"]', "[0, 24]"),
            ('["20 gal/min", "21 ft"]', "[20, 21.0]"),
            ('["40 gal/min", "15 ft"]', '[40, "180 in"]'),
            ('["55 gal/min", "8 ft"]', '["3300 gal/h", 8]'),
        )
    ).file.pump
    assert with_units is not None
    assert bare is not None
    for ours, theirs in zip(bare.curve, with_units.curve, strict=True):
        assert ours == pytest.approx(theirs, rel=1e-14)


def test_walls_and_tables_written_inline_are_the_same(changed: Change) -> None:
    headed = changed(("#[trench.left_wall]\n#slope = 0", '[trench.left_wall]\nslope = "1.5:1"'))
    wall = open_site(headed).file.trench.left_wall
    inline = changed(('cover = "18 in"', 'cover = "18 in"\nleft_wall = {slope = 1.5, rise = 0}'))
    dotted = open_site(inline).file.trench.left_wall
    inline = changed(('cover = "18 in"', 'cover = "18 in"\nleft_wall.slope = 1.5'))
    assert wall == dotted == open_site(inline).file.trench.left_wall == WallPart(slope=1.5)


def test_what_was_left_out_is_named(changed: Change, yard: Path) -> None:
    left = open_site(yard).defaults
    assert {"trench.width", "soil.kind", "upper.winter_level", "trench.left_wall", "lower.pit"} <= set(left)
    assert not {"trench.cover", "price.book", "lower.pit.length", "survey.file"} & set(left)
    site = open_site(
        changed(
            ('#width = "12 in"', 'width = "8 in"'),
        )
    )
    assert "trench.width" not in site.defaults


def test_a_table_left_out_leaves_all_its_keys_to_default(yard: Path) -> None:
    text = (yard / "site.toml").read_text(encoding="utf-8")
    for table in ("soil", "water", "pump"):
        text = re.sub(rf"(?ms)^\[{table}\].*?(?=^\[|\Z|^# ----)", "", text)
    (yard / "site.toml").write_text(text, encoding="utf-8")
    left = open_site(yard).defaults
    assert {"soil.kind", "soil.topsoil", "water.temperature", "water.fittings", "pump"} <= set(left)
    assert "pump.curve" not in left


def test_assumptions_tell_the_values_in_the_units_of_the_site(changed: Change, yard: Path) -> None:
    us = default_assumptions(open_site(yard))
    assert any("width 12 in" in line for line in us)
    assert any("1/8 in/ft" in line for line in us)
    assert any("50 degF" in line for line in us)
    si = check_site(changed(('units = "US"', 'units = "SI"')))
    assert any("width 304.8 mm" in line for line in si)
    assert any("10 degC" in line for line in si)
    told = check_site(changed(('#width = "12 in"', 'width = "12 in"')))
    assert not any("width" in line for line in told)
    assert any("waterfall stands at its normal level in winter" in line for line in told)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(yard: Path) -> None:
    plain = open_site(yard).file
    text = (yard / "site.toml").read_text(encoding="utf-8")
    (yard / "site.toml").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert open_site(yard).file == plain


def test_a_survey_may_stand_elsewhere(changed: Change, tmp_path: Path) -> None:
    (tmp_path / "scan.csv").write_text("point,northing,easting,elevation\n", encoding="utf-8")
    for name in ("../scan.csv", (tmp_path / "scan.csv").as_posix()):
        assert open_site(changed(('"survey/points.csv"', f'"{name}"'))).file.survey.file == name


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ((('cover = "18 in"', "cover = 18"), ('units = "US"', 'units = "SI"')), "cover is 18 mm"),
        ((('cover = "18 in"', "cover = '18 ft'"),), "which is much"),
        ((('#width = "12 in"', "width = 1"),), "narrower than any tool"),
        ((("109.0 ft", "99.0 ft"), ("#low_level", "#")), "static lift is negative"),
    ],
)
def test_values_that_are_seldom_meant_are_told(
    changed: Change, pairs: tuple[tuple[str, str], ...], words: str
) -> None:
    assert any(words in line for line in check_site(changed(*pairs)))


def test_a_usual_site_has_no_odd_values(changed: Change) -> None:
    assert odd_values(open_site(changed(("[560, 1100]", "[561, 1100]")))) == ()


def test_an_untouched_template_is_told_as_the_example_it_is(yard: Path) -> None:
    (told,) = odd_values(open_site(yard))
    assert "this is still the example yard" in told
    survey = yard / "survey" / "points.csv"
    survey.write_bytes(survey.read_bytes().replace(b"\n", b"\r\n"))  # as an editor may leave it
    assert open_site(yard).example
    survey.write_bytes(survey.read_bytes().replace(b"112.00", b"112.30"))
    assert odd_values(open_site(yard)) == ()


def test_an_untouched_metric_template_is_told_too_and_in_the_estimate(tmp_path: Path) -> None:
    new_site(tmp_path, "SI")
    site = open_site(tmp_path)
    assert any("example yard" in words for words in make_estimate(site, load_ground(site)).warnings)
    (tmp_path / "site.toml").write_text(
        template_text("site.toml", "SI").replace("[168.5, 320.0]", "[169.5, 320.0]"), encoding="utf-8"
    )
    assert not open_site(tmp_path).example


def test_a_site_that_says_no_ribbon_width_reads_as_the_reader_alone_does(yard: Path) -> None:
    assert read_options(open_site(yard).file.survey).ribbon_half_width == ReadOptions().ribbon_half_width
