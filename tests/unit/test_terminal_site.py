"""What must hold of the screen of a site: what comes first, what is said where no date exists, how wide it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from almanac.faults import Fact
from almanac.nursery.nursery import Nursery
from almanac.site.freeze_year import Curve
from almanac.site.frost import FrostTable, from_published
from almanac.site.monthly import from_monthly
from almanac.site.nights import Nights
from almanac.site.sun import CIVIL_TWILIGHT_DEG, HORIZON_DEG
from almanac.terminal.site import long_enough, site_json, site_text
from tests.nurseries import FROST_ALL_SUMMER, NO_FROST, bench
from tests.saying import as_json

TODAY = date(2027, 2, 24)


def screen(nursery: Nursery, accept: float = 0.10) -> str:
    """The screen as one line, to look for sentences in."""
    return " ".join(site_text(nursery, accept).split())


def rare_frost() -> FrostTable:
    """Frost in six years of ten, an invented record; southern California has such places."""
    return FrostTable(
        threshold_c=0.0,
        southern=False,
        source="an invented record",
        estimate=True,
        spring=Curve(((150, 0.6), (180, 0.3), (210, 0.05))),
        autumn=Curve(((100, 0.05), (130, 0.3), (160, 0.6))),
        frost_free_share=0.4,
        notes=(Fact("dates_mirrored"),),
    )


def test_the_screen_fits_a_terminal(tmp_path: Path) -> None:
    lines = site_text(bench(tmp_path, "", TODAY), 0.025).splitlines()

    assert max(map(len, lines)) <= 80
    assert len(lines) <= 40


def test_frost_dates_stand_under_their_chances_and_name_their_source(tmp_path: Path) -> None:
    told = site_text(bench(tmp_path, "", TODAY), 0.10)

    assert "From: as typed by the grower." in told
    assert "  Chance of frost        90%    75%     50%     25%     10%     5%\n" in told
    assert "  Spring: to come after  4 Apr  11 Apr  17 Apr  24 Apr  30 Apr  4 May\n" in told


def test_days_left_are_counted_to_the_accepted_risk(tmp_path: Path) -> None:
    # 24 February to 30 April: 4 + 31 + 30 days.
    told = screen(bench(tmp_path, "", TODAY))

    assert "You accept 10%: from 30 Apr, in 65 days (today >99%), until 5 Oct, 158 days later." in told


def test_another_accepted_risk_moves_the_date(tmp_path: Path) -> None:
    told = screen(bench(tmp_path, "", TODAY), 0.5)

    assert "You accept 50%: from 17 Apr, in 52 days" in told


def test_in_summer_it_says_until_when_frost_is_no_likelier(tmp_path: Path) -> None:
    told = screen(bench(tmp_path, "", date(2027, 7, 1)))

    assert "frost is no likelier than that today, and until 5 Oct, 96 days from now." in told


def test_in_autumn_it_counts_to_the_next_spring(tmp_path: Path) -> None:
    told = screen(bench(tmp_path, "", date(2027, 12, 1)))

    assert "You accept 10%: from 30 Apr 2028, in 151 days" in told


def test_where_it_never_freezes_there_is_nothing_to_wait_for(tmp_path: Path) -> None:
    told = screen(bench(tmp_path, "", TODAY, frost=NO_FROST))

    assert "It does not freeze here: there is no frost to wait for." in told
    assert "You accept" not in told


def test_where_it_freezes_in_every_month_no_date_is_made_up(tmp_path: Path) -> None:
    told = screen(bench(tmp_path, "", TODAY, frost=FROST_ALL_SUMMER), 0.05)

    assert "The chance of a later frost is never as low as the 5% you accept." in told


def test_where_it_seldom_freezes_whether_comes_before_when(tmp_path: Path) -> None:
    nursery = replace(bench(tmp_path, "", TODAY), nights=Nights(rare_frost(), 37.0))

    told = screen(nursery)

    assert "It freezes in 60% of years; in 40% there is no such night." in told
    assert told.index("It freezes in") < told.index("Chance of frost")
    assert "(an estimate)" in told
    assert "–: no date has that chance." in told
    assert "- 10% dates are mirrored from the 50 and 90% ones" in told


def test_json_has_null_for_a_chance_that_is_never_reached(tmp_path: Path) -> None:
    nursery = replace(bench(tmp_path, "", TODAY), nights=Nights(rare_frost(), 37.0))

    frost = as_json(site_json(nursery, 0.10, every_day=False))["frost"]

    assert frost["last_spring"]["90"] is None
    assert frost["last_spring"]["10"] is not None
    assert frost["frost_free_share"] == 0.4
    assert frost["estimate"] is True
    assert frost["notes"] == ["10% dates are mirrored from the 50 and 90% ones"]


def test_the_length_of_the_season_is_told_where_a_record_tells_it(tmp_path: Path) -> None:
    # Eleven seasons of 150 to 250 days: the sixth is the middle one; 10 and 90 % lie at the places 1.6 and 10.4.
    table = replace(rare_frost(), seasons_days=tuple(range(150, 251, 10)))
    nursery = replace(bench(tmp_path, "", TODAY), nights=Nights(table, 37.0))

    assert "Days without frost: 156 or more in nine years of ten, 200 in five, 244 in one." in screen(nursery)
    assert max(map(len, site_text(nursery, 0.10).splitlines())) <= 80
    found = as_json(site_json(nursery, 0.10, every_day=False))["frost"]["season_days"]
    assert found == {"10": 244, "50": 200, "90": 156}


def test_no_length_of_the_season_is_made_up_from_published_dates(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", TODAY)

    assert "Days without frost" not in screen(nursery)
    assert as_json(site_json(nursery, 0.10, every_day=False))["frost"]["season_days"] is None


def test_a_table_from_monthly_lows_says_that_it_is_an_estimate_and_how_far_off(tmp_path: Path) -> None:
    lows = [-4.0, -3.0, 1.0, 6.0, 11.0, 16.0, 18.5, 17.5, 13.5, 7.0, 2.0, -2.0]
    nursery = replace(
        bench(tmp_path, "", TODAY), nights=Nights(from_monthly(lows, 0.0, southern=False, source="invented"), 37.0)
    )

    told = screen(nursery)

    assert "Frost: nights at or below 0 °C (an estimate). From: invented." in told
    assert "- worked out from twelve monthly mean lows" in told
    assert "days in the mean" in told
    assert "It freezes in" not in told
    assert max(map(len, site_text(nursery, 0.10).splitlines())) <= 80


def test_an_estimate_for_a_mild_place_says_first_whether_it_freezes_at_all(tmp_path: Path) -> None:
    lows = [6.0, 6.5, 8.0, 9.0, 11.5, 14.0, 15.5, 15.5, 14.0, 11.0, 8.5, 6.5]
    nursery = replace(
        bench(tmp_path, "", TODAY), nights=Nights(from_monthly(lows, 0.0, southern=False, source="invented"), 37.0)
    )

    told = screen(nursery)

    assert told.index("It freezes in") < told.index("Chance of frost") < told.index("no frost in about")
    assert max(map(len, site_text(nursery, 0.10).splitlines())) <= 80


def test_json_lists_half_months_or_every_day(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", TODAY)

    some, every = (as_json(site_json(nursery, 0.10, every_day=whole))["days"] for whole in (False, True))

    assert [day["date"][5:] for day in some[:3]] == ["01-01", "01-16", "02-01"]
    assert (len(some), len(every)) == (24, 365)
    assert some[0] == every[0]
    assert every[0]["sunrise"].endswith("-05:00")
    assert every[180]["sunset"].endswith("-04:00")
    assert every[0]["dli_usual_mol"] is None


def test_in_the_polar_night_no_time_of_sunrise_is_made_up(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", TODAY, latitude=75.0)

    first = as_json(site_json(nursery, 0.10, every_day=False))["days"][0]

    assert (first["sunrise"], first["sunset"], first["day_length_h"], first["dli_clear_mol"]) == (None, None, 0.0, 0.0)
    assert "1 Jan      –     –   0.0" in site_text(nursery, 0.10)


def test_it_is_said_that_no_day_is_as_long_as_a_fig_wants_its_light(tmp_path: Path) -> None:
    # 37 degrees: the longest day has about 14 h 44 min (US Naval Observatory, duration of daylight, from memory).
    assert "Fig wants 16 h of light: no day is so long, 14.7 h at most, 15.8 h with twilight." in screen(
        bench(tmp_path, "", TODAY)
    )


def test_light_is_told_of_the_crops_grown_alone_and_of_those_alike_at_once(tmp_path: Path) -> None:
    varieties = "number,name,crop\n1,One,fig\n2,Two,mulberry\n3,Three,willow\n"
    none, two = (
        site_text(bench(tmp_path / name, log, TODAY, varieties=varieties), 0.10)
        for name, log in (("none", ""), ("two", "2027-01-05 taken 1 --count 9\n2027-01-05 taken 2 --count 9"))
    )
    nothing = site_text(bench(tmp_path / "nothing", "", TODAY, varieties="number,name,crop\n"), 0.10)

    assert [each.count(" h of light: ") for each in (nothing, none, two)] == [0, 1, 1]
    assert "Fig and mulberry want 16 h of light" in " ".join(two.split())
    assert "illow" not in two


def test_twilight_alone_may_make_the_day_long_enough(tmp_path: Path) -> None:
    # 42 degrees: 15 h 15 min at most from sunrise to sunset, more than 16 h with twilight.
    told = screen(bench(tmp_path, "", TODAY, latitude=42.0))

    assert "the day is so long never from sunrise to sunset, from 2" in told


def test_in_the_north_summer_days_are_long_enough_by_both_ways_to_count(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", TODAY, latitude=60.0)

    sun = long_enough(nursery, 16.0, HORIZON_DEG)
    twilight = long_enough(nursery, 16.0, CIVIL_TWILIGHT_DEG)

    assert sun is not None
    assert twilight is not None
    assert sun[1] is not None
    assert twilight[1] is not None
    assert twilight[0] < sun[0] < date(2027, 6, 21) < sun[1] < twilight[1]


@pytest.mark.parametrize("hours", [0.0, 9.0])
def test_a_day_length_that_every_day_has_is_had_all_year(tmp_path: Path, hours: float) -> None:
    assert long_enough(bench(tmp_path, "", TODAY), hours, HORIZON_DEG) == (TODAY, None)


def test_holidays_are_those_of_the_weeks_in_which_cuttings_are_sent(tmp_path: Path) -> None:
    # The rules offer dormant cuttings from 11 to 69 days after the shortest day: in the north January and February.
    told = site_text(bench(tmp_path, "", date(2027, 1, 4)), 0.10)

    assert "No post on public holidays while you may be sending (4 Jan to 28 Feb" in told
    assert "Mon 18 Jan  Martin Luther King Jr. Day" in told
    assert "Thanksgiving" not in told
    spring = screen(bench(tmp_path / "spring", "", date(2027, 1, 4))).partition("while you may be sending (")[2]
    assert spring.partition(")")[0].count(" to ") == 2  # two windows of rooted plants overlap: told as one


def test_who_sells_nothing_is_told_the_next_holidays(tmp_path: Path) -> None:
    told = site_text(bench(tmp_path, "", TODAY, sale="dormant = false\nrooted = false"), 0.10)

    assert "Next public holidays:" in told
    assert "Mon 31 May  Memorial Day" in told


def test_without_a_country_no_holiday_is_made_up(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", TODAY, country="")

    assert "Public holidays are not known: [site] names no country." in screen(nursery)
    assert as_json(site_json(nursery, 0.10, every_day=False))["holidays"] == []


def test_southern_seasons_are_those_of_the_south(tmp_path: Path) -> None:
    frost = from_published(0.0, {0.5: (10, 17)}, {0.5: (4, 18)}, southern=True, source="invented")
    place = replace(bench(tmp_path, "", TODAY).place, latitude_deg=-37.3)
    nursery = replace(bench(tmp_path, "", TODAY), nights=Nights(frost, place.latitude_deg), place=place)

    found = as_json(site_json(nursery, 0.10, every_day=False))

    assert (found["shortest_day"], found["longest_day"]) == ("2027-06-21", "2027-12-21")
    assert found["frost"]["days_left"] == 0
    assert "2027-03-01" < found["frost"]["safe_until"] < "2027-04-18"
