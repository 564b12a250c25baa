"""The shipped table of stations against the published figures it was made of."""

from __future__ import annotations

from datetime import date

from almanac.site.stations import station, table_of
from tests.outside.test_frost_records import days_apart, published


def test_the_table_gives_back_the_published_dates() -> None:
    # US Climate Normals 1981-2010, 32 F, 50 % and 90 % columns (NOAA National Centers for Environmental Information).
    for row in published():
        table = table_of(station(row["station"]), southern=False)

        assert days_apart(table.date_for_spring(0.5, 2005), row["last_p50"]) <= 1
        assert days_apart(table.date_for_spring(0.9, 2005), row["last_p90"]) <= 1
        assert days_apart(table.date_for_autumn(0.5, 2005), row["first_p50"]) <= 1
        assert days_apart(table.date_for_autumn(0.9, 2005), row["first_p90"]) <= 1


def test_the_mirrored_ten_percent_date_lies_near_the_published_one() -> None:
    # Lebanon NH, full table of freeze probabilities 1981-2010: 32 F, P10 of the last spring freeze is 24 May
    # (copied with its source in tests/outside/data/ncei_freeze_lebanon_nh.csv).
    table = table_of(station("USW00094765"), southern=False)
    careful = table.date_for_spring(0.1, 2005)

    assert careful is not None
    assert abs((careful - date(2005, 5, 24)).days) <= 4
