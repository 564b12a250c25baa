"""What a timer is set to: alone or beside the day, within what plants bear, by the clock."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import example, given, settings
from hypothesis import strategies as st

from almanac.site.lamp import Daylight, Lamp, LightAim, Setting, alone, beside, daylight, fits
from almanac.site.place import Place

LOW = LightAim(aim_mol=4.0, least_mol=4.0, most_mol=10.0, least_h=14.0, most_h=16.0)
HIGH = LightAim(aim_mol=10.0, least_mol=4.0, most_mol=10.0, least_h=14.0, most_h=16.0)
LAMP = Lamp(ppfd=120.0, most_h=16.0, on_h=6.0)
HALF_PIN = 0.25

lamps = st.builds(
    Lamp,
    ppfd=st.floats(5, 900),
    most_h=st.floats(0.5, 24),
    on_h=st.integers(0, 47).map(lambda half: half / 2),
)
doses = st.tuples(st.floats(1, 20), st.floats(1, 20)).map(sorted)
wanted = st.builds(
    lambda doses, raised, dark, least: LightAim(
        aim_mol=doses[1] if raised else doses[0],
        least_mol=doses[0],
        most_mol=doses[1],
        least_h=min(least, 24 - dark),
        most_h=24 - dark,
    ),
    doses,
    st.booleans(),
    st.floats(4, 12),
    st.floats(8, 16),
)
# Clocks far from the sun and clocks that change, in both halves of the year.
zones = st.sampled_from(["UTC", "America/New_York", "Europe/Madrid", "Australia/Sydney", "Asia/Urumqi"])
LONGITUDES = {"UTC": 0, "America/New_York": -79, "Europe/Madrid": -8, "Australia/Sydney": 151, "Asia/Urumqi": 76}
places = st.builds(
    lambda latitude, zone: Place(latitude_deg=latitude, longitude_deg=LONGITUDES[zone], timezone=zone),
    st.integers(-60, 70).map(float),
    zones,
)
days = st.dates(date(2026, 6, 1), date(2028, 6, 1))
shares = st.floats(0.05, 0.9)


def week(place: Place, day: date, share: float, length: int = 14) -> list[Daylight]:
    return [daylight(place, day + timedelta(days=number), share, 0.5) for number in range(length)]


def dark_h(setting: Setting, day: Daylight) -> float:
    """The longest stretch without lamp and sun, by looking at every fifth minute of the clock."""
    lit = []
    for minute in range(0, 24 * 60, 5):
        hour = minute / 60
        sun = (hour - day.rise_h) % 24 <= day.length_h
        lamp = (hour - setting.on_h) % 24 < setting.hours
        lit.append(sun or lamp)
    longest = run = 0
    for bright in lit + lit:
        run = 0 if bright else run + 1
        longest = max(longest, run)
    return min(longest, len(lit)) * 5 / 60


@given(wanted, lamps)
def test_alone_a_lamp_burns_no_longer_than_crop_and_lamp_bear(light: LightAim, lamp: Lamp) -> None:
    setting = alone(light, lamp)

    assert 0 <= setting.hours <= min(light.most_h, lamp.most_h) <= 24
    assert (setting.off_h - setting.on_h) % 24 == setting.hours % 24
    missed = abs(lamp.dose_mol(setting.hours) - light.aim_mol)
    short = lamp.dose_mol(setting.hours) < light.aim_mol
    match setting.limit:
        case "dose":
            at_the_end = setting.hours + HALF_PIN * 2 > min(light.most_h, lamp.most_h)
            assert missed <= lamp.dose_mol(HALF_PIN) + 1e-9 or at_the_end
        case "least_h":
            assert not short
            assert abs(setting.hours - light.least_h) < 0.5
        case "most_h":
            assert short
            assert setting.hours + 0.5 > light.most_h
        case _:
            assert setting.limit == "lamp"
            assert setting.hours + 0.5 > lamp.most_h


@settings(max_examples=300)
@given(wanted, lamps, places, days, shares)
@example(  # polar night, and a lamp that may be on for less than the least hours
    light=LightAim(aim_mol=1.0, least_mol=1.0, most_mol=1.0, least_h=8.0, most_h=20.0),
    lamp=Lamp(ppfd=42.0, most_h=7.0, on_h=0.0),
    place=Place(latitude_deg=69.0, longitude_deg=0.0, timezone="UTC"),
    day=date(2027, 1, 1),
    share=0.5,
)
def test_beside_the_day_a_lamp_leaves_the_dark_that_plants_need_and_its_dose_is_wanted_or_bounded(
    light: LightAim, lamp: Lamp, place: Place, day: date, share: float
) -> None:
    coming = week(place, day, share)
    setting = beside(light, lamp, coming[3], coming)

    assert 0 <= setting.hours <= min(lamp.most_h, 24)
    assert (setting.off_h - setting.on_h) % 24 == setting.hours % 24
    for each in coming:
        if setting.hours:
            assert dark_h(setting, each) >= min(24 - light.most_h, 24 - each.length_h) - 0.2
    natural = coming[3].dose_mol
    gives = natural + lamp.dose_mol(setting.hours)
    if setting.hours:
        # Where a lamp is all the light, the least hours come first, and one that cannot last them is on for all it can.
        all_it_can = setting.limit == "lamp" and not coming[3].length_h and lamp.most_h < light.least_h
        by_hours = setting.limit == "least_h" or all_it_can
        assert by_hours or gives <= light.most_mol + lamp.dose_mol(HALF_PIN) + 1e-9
    match setting.limit:
        case "dose":
            assert abs(gives - light.aim_mol) <= lamp.dose_mol(0.5) + 1e-9
        case "long_day":
            assert (setting.hours, coming[3].length_h >= light.most_h) == (0, True)
        case "enough":
            assert setting.hours == 0
            assert natural >= light.aim_mol
            assert coming[3].length_h >= light.least_h
        case "little":
            assert setting.hours == 0


def test_a_day_longer_than_plants_want_needs_no_lamp() -> None:
    june = week(Place(latitude_deg=60.0, longitude_deg=25.0, timezone="Europe/Helsinki"), date(2027, 6, 14), 0.3)

    assert beside(HIGH, LAMP, june[3], june) == Setting(on_h=6.0, hours=0.0, limit="long_day")


def test_a_start_wished_on_the_hour_is_on_the_hour_wherever_noon_lies() -> None:
    june = week(Place(latitude_deg=-45.0, longitude_deg=0.0, timezone="UTC"), date(2027, 6, 1), 0.5)
    setting = beside(
        LightAim(aim_mol=4.0, least_mol=1.0, most_mol=4.0, least_h=8.0, most_h=20.0),
        Lamp(ppfd=5.0, most_h=1.0, on_h=16.0),
        june[3],
        june,
    )

    assert (setting.on_h, setting.off_h) == (16.0, 17.0)


def test_in_the_polar_night_a_lamp_is_all_the_light_there_is() -> None:
    night = week(Place(latitude_deg=70.0, longitude_deg=25.0, timezone="Europe/Oslo"), date(2027, 12, 14), 0.3)

    assert beside(LOW, LAMP, night[3], night) == alone(LOW, LAMP)


def test_a_dull_day_is_helped_from_morning_on_and_a_short_one_in_the_evening() -> None:
    roanoke = Place(latitude_deg=37.3, longitude_deg=-79.9, timezone="America/New_York")
    january, march = (week(roanoke, date(2027, month, 4), 0.3) for month in (1, 3))

    by_dose, by_length = beside(HIGH, LAMP, january[3], january), beside(LOW, LAMP, march[3], march)

    assert (by_dose.on_h, by_dose.hours, by_dose.limit) == (6.0, 15.0, "dose")
    assert (by_length.on_h, by_length.hours, by_length.limit) == (18.0, 2.5, "least_h")
    assert march[3].dose_mol > LOW.aim_mol


def test_a_setting_that_fits_in_winter_takes_plants_their_dark_in_spring() -> None:
    helsinki = Place(latitude_deg=60.0, longitude_deg=25.0, timezone="Europe/Helsinki")
    night = Setting(on_h=6.0, hours=16.0, limit="dose")

    assert fits(night, HIGH, week(helsinki, date(2027, 1, 4), 0.3))
    assert not fits(night, HIGH, week(helsinki, date(2027, 4, 19), 0.3))
    assert fits(Setting(on_h=6.0, hours=0.0, limit="long_day"), HIGH, week(helsinki, date(2027, 6, 14), 0.3))
