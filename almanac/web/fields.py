"""The fields of one event's form, filled with what was asked for, each with its unit and what is wrong in it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, Literal, assert_never

from almanac.actions.request import Request
from almanac.faults import Fact
from almanac.nursery.events import EVENTS, STAGES, Event
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.units import named_unit
from almanac.words.faults import page_text
from almanac.words.sentences import where_kept

Name = Literal["about", "count", "stage", "bin", "value", "refers", "on", "note"]
Shape = Literal["text", "count", "quantity", "day", "choice"]


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field: `post` is the name it is sent by, `unit` that of a bare number in it, `why` what is wrong."""

    name: Name
    post: str
    shape: Shape
    label: str
    value: str = ""
    unit: str = ""
    options: tuple[tuple[str, str], ...] = ()
    must: bool = False
    why: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Group:
    """Events of one kind, to choose from; `plain` are those whose name says all."""

    title: str
    plain: bool
    events: tuple[Event, ...]


# By field, the kinds of refusal that are about it; of the others the form says what is wrong above all fields.
_ABOUT_FIELD: Final[Mapping[Name, tuple[str, ...]]] = {
    "about": (
        "no_lot", "no_lot_yet", "lot_closed", "not_a_lot", "needs_lot", "needs_variety", "needs_lot_or_bin",
        "needs_crop", "no_variety", "no_crop", "before_its_start", "none_in_stage", "none_in_store",
        "nothing_rooting", "nothing_to_cut_up", "sign_of_none", "job_of_none", "only_old_wood", "count_of_several",
        "count_of_several_or_all", "lot_exists", "protected_not_sold",
    ),
    "count": (
        "needs_count", "form_count", "count_zero", "count_too_large", "sign_of_too_many", "too_few",
        "too_few_of_number", "cut_up_to_fewer", "sold_beyond_order", "promised_away", "less_sure",
    ),
    "stage": (
        "no_stage", "stage_in_doubt", "takes_from_other", "counted_without_stage", "job_of_other_stage",
        "order_of_other_form",
    ),
    "bin": ("needs_bin", "no_bin", "bin_full", "no_bin_has_room", "no_shelter", "bin_without_lots"),
    "value": (
        "needs_value", "no_such_value", "not_a_quantity", "no_unit", "other_unit", "quantity_out_of_range",
        "no_method", "mother_unknown", "counted_without_reason", "planned_backwards", "planned_too_far",
    ),
    "refers": (
        "needs_other_lot", "order_unknown", "order_for_other_number", "order_placed_later", "cannot_be_joined",
        "needs_paper_of_order", "unlawful",
    ),
    "on": ("to_come", "not_a_day_to_log", "not_a_date", "year_out_of_range", "contradicts_later"),
    "note": ("form_too_long",),
}  # fmt: skip
FIELD_OF: Final[Mapping[str, Name]] = {kind: name for name, kinds in _ABOUT_FIELD.items() for kind in kinds}
# What one who knows better may log all the same.
INSISTED: Final = ("bin_full", "no_bin_has_room", "promised_away", "less_sure")
_TITLES: Final = {
    "new": "New, or to come",
    "sign": "Seen on the cuttings",
    "trouble": "Trouble",
    "job": "Done",
    "move": "Moved on",
    "gone": "Gone, or counted anew",
    "bin": "The bin and its kit",
    "crop": "Seen outdoors, on the mother plants",
}
_VALUES: Final = {
    "taken": "From which mother plant",
    "received": "What came",
    "stuck": "Rooted in what",
    "kept": "Where it stands",
    "died": "Of what",
    "counted": "Why it is another count",
    "all_clear": "Which trouble is over",
    "treated": "Product and rate, as on its label",
    "weighed": "Weight",
    "temperature": "Temperature in the mix",
    "mat": "Mat",
    "air": "Air round the tops",
    "lamp": "Lamp, each day",
    "planned": "Day to stick them",
}


def groups() -> list[Group]:
    """All events, to choose one to log."""
    found: dict[str, list[Event]] = {name: [] for name in _TITLES}
    for event in EVENTS.values():
        if event.name != "void":
            found[_group(event)].append(event)
    return [
        Group(title=title, plain=name in ("sign", "trouble", "job"), events=tuple(found[name]))
        for name, title in _TITLES.items()
    ]


def why_by_field(fact: Fact, event: Event) -> tuple[dict[Name, tuple[str, ...]], tuple[str, ...]]:
    """What is wrong, by the field it is about; and what is about none that the event has."""
    facts = fact.values["facts"] if fact.kind == "several" else (fact,)
    assert isinstance(facts, tuple)
    there = set(_names(event))
    by_field: dict[Name, tuple[str, ...]] = {}
    rest: tuple[str, ...] = ()
    for each in facts:
        name = FIELD_OF.get(each.kind)
        if name in there and name is not None:
            by_field[name] = (*by_field.get(name, ()), page_text(each))
        else:
            rest = (*rest, page_text(each))
    return by_field, rest


def fields_of(
    event: Event, nursery: Nursery, asked: Request, why: Mapping[Name, Sequence[str]], count_said: str = ""
) -> list[Field]:
    """The fields that an event has, and none besides.

    Args:
        event: what is logged
        nursery: its bins, lots and varieties
        asked: what the fields hold
        why: what is wrong, by field
        count_said: a count as it was typed, where it could not be read
    """
    made = {
        "about": _about,
        "count": lambda *_: _count(event, count_said or ("" if asked.count is None else str(asked.count))),
        "stage": _stage,
        "bin": _bin,
        "value": _value,
        "refers": _refers,
        "on": lambda *_: Field(name="on", post="on", shape="day", label="Day", value=_day(nursery, asked), must=True),
        "note": lambda *_: Field(name="note", post="note", shape="text", label="Note", value=asked.note),
    }
    found = [made[name](event, nursery, asked) for name in _names(event)]
    return [Field(**{**field.__dict__, "why": tuple(why.get(field.name, ()))}) for field in found]


def _names(event: Event) -> Iterator[Name]:
    if event.target != "bin":
        yield "about"
    if event.count != "no":
        yield "count"
    if event.kind != "sign" and (len(event.takes_from) > 1 or event.name in ("taken", "received")):
        yield "stage"
    if event.bin != "no" or event.target in ("bin", "lots_or_bin"):
        yield "bin"
    if event.value != "no":
        yield "value"
    if event.name in ("joined", "sold"):
        yield "refers"
    yield "on"
    yield "note"


def _about(event: Event, nursery: Nursery, asked: Request) -> Field:
    said = " ".join(asked.about)
    if event.target == "crop":
        crops = dict.fromkeys(variety.crop for variety in nursery.varieties.values())
        options = (("", ""), *((crop, nursery.book.crops[crop].title) for crop in crops))
        return Field(name="about", post="about", shape="choice", label="Crop", value=said, options=options, must=True)
    words = {
        "variety": "Number of the variety",
        "lot": "Lot, such as 7a",
        "lots": "Lot, or several: 7a 7b",
        "lots_or_bin": "Lot, or several: 7a 7b; or the bin below",
    }
    must = event.target != "lots_or_bin"
    told = words[event.target] if event.name != "stuck" else "Lot; or a number, for its soundest wood"
    return Field(name="about", post="about", shape="text", label=told, value=said or asked.variety, must=must)


def _count(event: Event, said: str) -> Field:
    told = "How many"
    if event.kind == "sign":
        told = "On how many, if counted"
    elif event.name == "gnats":
        told = "Gnats on the card, if counted"
    elif event.count == "may":
        told = "How many; empty means all"
    elif event.name in ("counted", "cut_up"):
        told = "How many there are now"
    return Field(name="count", post="count.any", shape="count", label=told, value=said, must=event.count == "must")


def _stage(event: Event, nursery: Nursery, asked: Request) -> Field:
    if event.name in ("taken", "received"):
        told, first, stages = "Where they go", "into the cold store", STAGES[1:]
    else:
        told, first, stages = "From where", "where they all are", event.takes_from
    options = (("", first), *((stage, where_kept(stage)) for stage in stages))
    return Field(name="stage", post="stage.any", shape="choice", label=told, value=asked.stage, options=options)


def _bin(event: Event, nursery: Nursery, asked: Request) -> Field:
    bins = nursery.settings.all_bins
    names = {item.name: item.name if bins else item.title for item in nursery.settings.places}
    told, first, more = "Into bin" if bins else "Into", "where room is", [("none", "stands in no bin")]
    if event.name == "brought_in":
        told, first, more = "Into which shelter", "", []
        names = {item.name: item.name for item in nursery.settings.shelter}
    elif event.target in ("bin", "lots_or_bin"):
        told, first, more = "Or the whole bin" if bins else "Or all of", "no, the lots named", []
        if event.target == "bin":
            told, first = "Bin" if bins else "Of", ""
    elif event.bin == "must":
        first, more = "", []
    known = {name.lower(): name for name in names}
    said = known.get(asked.bin.lower(), asked.bin)
    options = (("", first), *names.items(), *more)
    if said and said not in dict(options):
        options = (*options, (said, said))
    must = event.bin == "must" or event.target == "bin"
    return Field(name="bin", post="bin.any", shape="choice", label=told, value=said, options=options, must=must)


def _value(event: Event, nursery: Nursery, asked: Request) -> Field:
    told, must = _VALUES.get(event.name, "Value"), event.value == "must"
    shape: Shape = "text"
    options: tuple[tuple[str, str], ...] = ()
    unit = named_unit(event.value_kind, nursery.units)
    match event.value_kind:
        case "temperature" | "hours" | "mass":
            shape, told = "quantity", f"{told} (or off)" if event.words else told
        case "words":
            shape, options = "choice", (("", "not said"), *((word, word.replace("_", " ")) for word in event.words))
        case "method":
            methods = nursery.book.methods
            usual = f"as usual: {methods[nursery.settings.nursery.method].title.lower()}"
            shape, options = "choice", (("", usual), *((each.id, each.title) for each in methods.values()))
        case "date":
            shape = "day"
        case "text":
            pass
        case _:
            assert_never(event.value_kind)
    return Field(
        name="value",
        post="value.any",
        shape=shape,
        label=told,
        value=asked.value,
        unit=unit,
        options=options,
        must=must,
    )


def _refers(event: Event, nursery: Nursery, asked: Request) -> Field:
    if event.name == "joined":
        return Field(name="refers", post="refers", shape="text", label="The other lot", value=asked.refers, must=True)
    orders = [order.id for order in nursery.orders.values() if order.open]
    options = (("", "no order"), *((name, f"order {name}") for name in orders))
    if asked.refers and asked.refers not in orders:
        options = (*options, (asked.refers, asked.refers))
    told = "For which order"
    return Field(name="refers", post="refers", shape="choice", label=told, value=asked.refers, options=options)


def _day(nursery: Nursery, asked: Request) -> str:
    return nursery.as_of.isoformat() if asked.on == "today" else asked.on


def _group(event: Event) -> str:
    if event.target == "crop":
        return "crop"
    if event.target == "variety":
        return "new"
    if event.kind in ("sign", "trouble", "job"):
        return event.kind
    if event.target == "bin":
        return "bin"
    return "gone" if event.to == "gone" or event.name == "counted" else "move"
