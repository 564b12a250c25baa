"""The light of lamps and of days against published doses."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from almanac.nursery.events import EVENTS
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.light import Lamps
from almanac.site.lamp import Lamp, daylight
from almanac.site.light import clear_day
from almanac.site.place import Place

SEATTLE = Place(latitude_deg=47.6, longitude_deg=-122.3, timezone="America/Los_Angeles")
MIDDLE_OF_THE_STATES = Place(latitude_deg=40.0, longitude_deg=-95.0, timezone="America/Chicago")


@pytest.mark.parametrize(
    ("ppfd", "hours", "mol", "to"),
    [
        # Owen and Lopez 2019, HortScience 54(4):684-691, abstract: cuttings under 60 µmol for 16 h, 3.4 mol.
        (60.0, 16.0, 3.4, 0.06),
        # Faust, Light Management, as a meter maker quotes it: 38.1 µmol for 12 h, 1.6 mol.
        (38.1, 12.0, 1.6, 0.05),
        # Hort Americas, note on converting PPFD: 1 µmol all day and night, 0.0864 mol.
        (1.0, 24.0, 0.0864, 0.00005),
    ],
)
def test_a_lamps_dose_is_as_published(ppfd: float, hours: float, mol: float, to: float) -> None:
    lamp = Lamp(ppfd=ppfd, most_h=24.0, on_h=6.0)

    assert lamp.dose_mol(hours) == pytest.approx(mol, abs=to)
    assert lamp.hours_for(lamp.dose_mol(hours)) == pytest.approx(hours)


def usual(place: Place, day: date, share: float = 1.0) -> float:
    """The usual light of a place without monthly means, by the shipped rules' share of a clear sky [mol]."""
    book, _ = load_rules(None, set(EVENTS))
    assert book is not None
    return daylight(place, day, share, book.programme(Lamps).usual_share).dose_mol


def test_the_usual_light_of_a_place_without_means_lies_among_the_published_maps() -> None:
    # Monthly maps after Korczynski, Logan and Faust 2002: Seattle in January 5 to 10 mol.
    assert 5 <= usual(SEATTLE, date(2027, 1, 15)) <= 10
    # Torres and Lopez, Purdue Extension HO-238-W: outdoors 5 to 60 over places and seasons.
    year = [usual(MIDDLE_OF_THE_STATES, date(2027, 1, 1) + timedelta(days=number)) for number in range(365)]
    assert 5 <= min(year) < max(year) <= 60


def test_behind_glass_light_is_as_much_less_as_published() -> None:
    # Purdue HO-238-W: 1 to 30 mol in greenhouses.
    year = [usual(MIDDLE_OF_THE_STATES, date(2027, 1, 1) + timedelta(days=number), 0.6) for number in range(365)]

    assert 1 <= min(year) < max(year) <= 30


def test_a_sunny_summer_day_gives_what_is_published() -> None:
    # Hort Americas: 50 to 60 mol on sunny summer days without shade; a clear sky is a bound, so up to a twentieth more.
    for latitude in (30.0, 40.0, 50.0):
        dose = clear_day(Place(latitude_deg=latitude, longitude_deg=0.0, timezone="UTC"), date(2027, 7, 1)).dli_mol

        assert 50 <= dose <= 63, latitude
