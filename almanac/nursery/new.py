"""From a grower's answers to the text of a new nursery's files, commented and made to be edited by hand. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.nursery.logbook import COLUMNS as LOGBOOK
from almanac.nursery.tables import as_lines
from almanac.nursery.varieties import COLUMNS as VARIETIES
from almanac.plain import dataclass
from almanac.rulebook.schema import FOLDER, NURSERY
from almanac.units import System


@dataclass(frozen=True, kw_only=True)
class Answers:
    """What a new nursery is asked.

    Frost dates are (chance, "MM-DD") pairs; none at all means that it never freezes, unless those of the nearest
    station are wanted. `mat` and `air` are temperatures as files hold them, blank for the usual; varieties are (number,
    name, crop).
    """

    id: str
    name: str
    units: System
    latitude: float
    longitude: float
    timezone: str
    country: str = ""
    region: str = ""
    town: str = ""
    elevation: str = ""
    last_frost: Sequence[tuple[str, str]] = ()
    first_frost: Sequence[tuple[str, str]] = ()
    nearest_station: bool = False
    frost_source: str = ""
    bins: Sequence[str] = ("A",)
    bags: int = 24
    mat: str = ""
    air: str = ""
    varieties: Sequence[tuple[str, str, str]] = ()
    bench_days: Sequence[str] = ("tue", "fri", "sun")
    bench_time: str = ""


def nursery_toml(answers: Answers, usual_mat: str) -> str:
    """The text of `nursery.toml`; `usual_mat` is what the mats are set to to begin with."""
    us = answers.units == "us"
    perlite = '"2 cu ft"' if us else '"40 l"'
    air, freeze, store = ('"66 F"', '"32 F"', '"36 F"') if us else ('"19 C"', '"0 C"', '"2 C"')
    mat = _text(answers.mat or usual_mat)
    air = _text(answers.air) if answers.air else air
    height = (
        f"elevation = {_text(answers.elevation)}"
        if answers.elevation
        else "# elevation = " + ('"1150 ft"' if us else '"350 m"')
    )
    days = ", ".join(_text(day) for day in answers.bench_days)
    time = f"bench_time = {_text(answers.bench_time)}" if answers.bench_time else '# bench_time = "18:30"'
    bins = "\n".join(_bin(name, answers.bags, mat, air) for name in answers.bins)
    return f"""\
#:schema {FOLDER}/{NURSERY}
# A propagation nursery. Edit by hand as you like; `stickdate check` says what is wrong with it.
# Temperatures and lengths carry their unit: "78 F", "25.5 C", "4 in".

[nursery]
id = "{answers.id}"  # made once; the calendar's entries are known by it: never change it
name = {_text(answers.name)}
units = "{answers.units}"  # us | metric: how values are shown

[site]
town = {_text(answers.town)}
latitude = {answers.latitude:g}  # north is positive
longitude = {answers.longitude:g}  # east is positive, so all of America is negative
{height}  # above the sea; the choice of a frost station compares it
timezone = {_text(answers.timezone)}
country = {_text(answers.country)}  # for public holidays, on which no post goes
region = {_text(answers.region)}  # state or province, likewise
# radiation = [12 monthly means, January first, "MJ m-2 d-1"]  # usual sunlight on flat ground; without it, clear sky

# Chances are of the frost still to come: spring "10%" is the date after which one year in ten still has a frost,
# autumn "10%" the date before which one year in ten has already had one. Better than a neighbour's guess: ask your
# weather service or county extension office for the freeze probabilities of the nearest station at your height, or
# for its daily record of lows, which is better still: record = {{ file = "station.csv", unit = "C" }}. Where only mean
# lows are to be had, monthly = {{ lows = [...12, January first, each such as "26 F"...] }} makes an estimate of them.
# `stickdate site` shows what comes of it.
[frost]
accept = 0.10  # the chance of a later frost at which tender plants may go out
{_frost(answers, freeze)}

# One for each bin, shelf or mat: what it holds, what its mat is set to, and the air round the tops.
{bins}
# How cold your store for dormant wood is: by it goes when buds swell there.
# [store]
# temperature = {store}

# The plants you cut wood from, if you like: one that is sheltered is not closed by nights that kill.
# [[mother]]
# variety = "1"
# place = "south wall"
# since = 2019
# sheltered = false
# health = "sound"  # sound | doubtful (nothing of it for sale) | sick (no wood of it)

# Where pots spend the winter; a frame that lets light in is not dark.
# [[shelter]]
# name = "cellar"
# pots = 60
# dark = true

[space]
# pots_under_light = 60
# pots_outside = 200
# light = {{ ppfd = 120, hours = 16 }}  # over the pots: µmol/m²/s at the leaves, hours a day

[week]
bench_days = [{days}]  # the days you usually go through the bags
{time}  # leave out for all-day entries
away = []  # such as [ {{ from = 2027-03-14, to = 2027-03-20 }} ]
post_days = ["mon", "tue", "wed"]
# holidays_off = true  # no round on a public holiday, if it can be
# longest = "4 h"  # how long you work at the bench on a day; a longer round is spread over days

[hardening]
way = "shade"  # shade: all day under cloths, changed by date | hours: into the sun by the clock
nights = "indoors"  # indoors: carried out and in each day | frame | fleece: put out once, shut or covered at night
cloths = []  # the shade cloths at hand, such as [0.7, 0.4]

[weaning]
when = "bag"  # bag: opened by steps in the week before potting up | pot: potted shut, then uncovered by steps

[gnats]
way = "larvicide"  # larvicide | nematodes | drying | traps: against fungus gnats, once bags are open and in pots

[sale]
dormant = true  # you sell dormant cuttings
rooted = true  # you sell rooted plants
# transit_days = 3  # how long your parcels usually travel: none is posted with a public holiday on the way
# On the list for buyers, and how sure plants to come must be to be promised:
# heading = "Figs of our lane"
# place = "At the gate, Saturdays"
# contact = "figs@example.org"
# currency = "$"
# terms = ["Paid on order", "No plants to where the law forbids them"]
# promise_at = 0.8

[calendar]
alarm = "none"  # none | morning | bench

# What you have in hand: `stickdate buy` takes it off. Pieces as a number, volumes with their unit.
[supplies]
# bags = 120
# perlite = {perlite}
"""


def _text(value: str) -> str:
    """A TOML basic string."""
    plain = " ".join("".join(character if character.isprintable() else " " for character in value).split())
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _bin(name: str, bags: int, mat: str, air: str) -> str:
    return f"""\
[[bin]]
name = {_text(name)}
bags = {bags}
mat = {mat}  # what it starts with; log every change: stickdate log mat {name} --value {mat}
# what each crop likes: stickdate rules show fig
air = {air}  # round the tops: measure it; the base falls to it when the mat is off
# light = {{ ppfd = 120, hours = 16 }}  # the lamp: µmol/m²/s at the leaves, the most hours it may burn a day
# beside a window or in a greenhouse also the share of outdoor light that gets there, and when the lamp goes on:
# light = {{ ppfd = 120, hours = 16, where = "window", share = 0.3, on = "06:00" }}
"""


def _frost(answers: Answers, freeze: str) -> str:
    if answers.nearest_station:
        return 'station = "nearest"  # of the station normals that ship; or give dates, record or monthly'
    source = f"source = {_text(answers.frost_source or 'as typed when the nursery was made')}\n"
    if not answers.last_frost and not answers.first_frost:
        return f"{source}dates = {{ never = true }}  # it never freezes here"

    def dates(pairs: Sequence[tuple[str, str]]) -> str:
        return ", ".join(f"{_text(chance)} = {_text(day)}" for chance, day in pairs)

    spring, autumn = dates(answers.last_frost), dates(answers.first_frost)
    return f"{source}dates = {{ threshold = {freeze}, last_spring = {{ {spring} }}, first_autumn = {{ {autumn} }} }}"


def varieties_csv(varieties: Sequence[tuple[str, str, str]] = ()) -> str:
    """The text of a new `varieties.csv`: its header, and the first of them as (number, name, crop)."""
    return as_lines(VARIETIES, VARIETIES, [VARIETIES, *(_variety(*each) for each in varieties)])


def _variety(number: str, name: str, crop: str) -> tuple[str, ...]:
    return (number, name, crop.lower(), *[""] * (len(VARIETIES) - 3))


def logbook_csv() -> str:
    """The header of a new `logbook.csv`."""
    return ",".join(LOGBOOK) + "\n"
