"""Strike rates as a table, how many cuttings to stick in words a grower follows, and both as JSON. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from almanac.forecast.outcomes import AIMS, Outcome, held_back
from almanac.forecast.strike import NumberToStick, Rate, RatePart, Rates
from almanac.nursery.nursery import Nursery
from almanac.terminal.encoded import Shape
from almanac.terminal.table import clipped, paragraph, paragraphs, table
from almanac.words.dates import day, winter
from almanac.words.lots import named
from almanac.words.sentences import percent, percent_asked, so_many

_HEADER = ("", " lots", "stuck", "", "  share", "    range", " next lot")
_NAME = 24


def strike_text(rates: Rates, known: Sequence[Outcome], nursery: Nursery, asked: RatePart) -> str:
    """What is known, in a line; the shares by crop and method, variety and season; what is left out and why.

    A part without settled lots has a line only where it is the variety asked for; a whole without any, one sentence.
    """
    as_of = nursery.as_of
    wholes = list(dict.fromkeys(part.whole for part in rates))
    lines = paragraph(f"Strike rate on {day(as_of)} {as_of.year}: {_known(rates, known)}")
    told = [whole for whole in wholes if any(rates[whole][aim].lots for aim in AIMS)]
    for whole in told:
        lines += ["", *_section(whole, rates, nursery, asked)]
    others = [f"- {_by_the_rule(whole, rates, nursery)}" for whole in wholes if whole not in told]
    lines += ["", *paragraphs(others)] if others else []
    lines += ["", *_left_out(known)]
    if told:
        lines += ["", *paragraph(_HOW_TO_READ)]
    return "\n".join(lines).rstrip() + "\n"


_HOW_TO_READ = (
    "Rooted: potted of the cuttings stuck; finished: ready to plant or sell; both of lots that are settled. The share "
    "that finishes is learned as that which roots times what comes through the pots, each as soon as it is known. "
    "Range: where the share over many lots lies, in 80 cases of 100. Next lot: where that of a single lot lies."
)


def _known(rates: Rates, known: Sequence[Outcome]) -> str:
    """`26 of 39 cuttings rooted (3 lots), 16 of 20 finished (2 lots).`"""
    wholes = dict.fromkeys(part.whole for part in rates)
    told: list[str] = []
    for aim in AIMS:
        found = [rates[whole][aim] for whole in wholes]
        lots, of, struck = (sum(values) for values in zip(*((r.lots, r.of, r.struck) for r in found), strict=True))
        if lots:
            told.append(f"{struck} of {of} {'' if told else 'cuttings '}{aim} ({so_many(lots, 'lot')})")
    if told:
        return f"{', '.join(told)}."
    none = "no lot is settled" if known else "none of these cuttings has been stuck"
    return f"{none} yet, so the shares are the rule's."


def _by_the_rule(whole: RatePart, rates: Rates, nursery: Nursery) -> str:
    """What stands for a crop of which no lot is settled."""
    rule = nursery.book.crops[whole.crop].strike
    shares = f"{percent(rule.rooted)} root and {percent(rule.finished)} finish"
    next_lot = _range(rates[whole]["finished"].next_range)
    return (
        f"{_title(whole, nursery)}: none settled; by the rule {shares}, of a single lot {next_lot}. "
        f"{nursery.book.sources[rule.source]}."
    )


def _section(whole: RatePart, rates: Rates, nursery: Nursery, asked: RatePart) -> list[str]:
    rule = nursery.book.crops[whole.crop].strike_by(whole.method)
    lines = paragraph(_title(whole, nursery))
    rows: list[tuple[str, ...]] = []
    for aim in AIMS:
        if not rates[whole][aim].lots:
            continue
        rows.append((aim.capitalize(), *_HEADER[1:3], f"{aim:>8}", *_HEADER[4:]))
        for part, found in rates.items():
            if part.whole == whole and (part == whole or found[aim].lots or "" != part.number == asked.number):
                rows.append(_row(f"  {_name(part, nursery)}", found[aim]))
    lines += table(rows, indent=2)
    none = [f"None has {aim} yet." for aim in AIMS if not rates[whole][aim].lots]
    told = f"The rule for {whole.crop}: {percent(rule.rooted)} root, {percent(rule.finished)} finish"
    told = " ".join([*none, f"{told}. It counts like one big lot. {nursery.book.sources[rule.source]}."])
    return [*lines, *paragraph(told, 2)]


def _row(name: str, found: Rate) -> tuple[str, ...]:
    return (
        name,
        f"{found.lots:>5}",
        f"{found.of:>5}",
        f"{found.struck:>8}",
        f"{percent(found.mean):>7}",
        f"{_range(found.mean_range):>9}",
        f"{_range(found.next_range):>9}",
    )


def _title(whole: RatePart, nursery: Nursery) -> str:
    crop = nursery.book.crops[whole.crop].title
    return f"{crop}, {nursery.book.methods[whole.method].title.lower() if whole.method else 'every method'}"


def _name(part: RatePart, nursery: Nursery) -> str:
    if part.number:
        return clipped(f"{part.number} {nursery.varieties[part.number].name}", _NAME)
    return f"winter {winter(part.season)}" if part.season else "all lots"


def _left_out(known: Sequence[Outcome]) -> list[str]:
    """Why the counts above are not those of every cutting ever stuck."""
    told = []
    for counts, words in (
        ({o.lots[0]: o.rooting for o in known}, "may still be potted; their lots are open"),
        ({o.lots[0]: o.in_pots for o in known}, "in pots and not yet finished; their lots are open for that share"),
        ({o.lots[0]: o.taken for o in known}, "sold, given, planted or kept out of the bag"),
        ({o.lots[0]: o.missing for o in known}, "missing at a stocktake"),
    ):
        some = {lot: count for lot, count in counts.items() if count}
        if some:
            lots = named([f"{lot} ({count})" for lot, count in some.items()], 8)
            told.append(f"- {sum(some.values())} {words}: {lots}.")
    early = held_back(known)
    if early:
        told.append(
            f"- Nothing came of {named([o.lots[0] for o in early], 8)}, but lots stuck with them are not decided; they "
            "count once those are, or the dead would count first."
        )
    kin = [f"{', '.join(o.lots[1:])} with {o.lots[0]}" for o in known if len(o.lots) > 1]
    if kin:
        told.append(f"- Restuck or joined, and counted once: {'; '.join(kin)}.")
    return paragraphs(["Left out, and why", *told] if told else [])


def strike_json(rates: Rates, known: Sequence[Outcome], nursery: Nursery) -> dict[str, Any]:
    """The same as one object.

    `rates`: one for each line, with `crop`, `method` (null: every one), `variety` and `season` (null: all), and for
    `rooted` and `finished` each: `prior`, `concentration`, `lots`, `of`, `struck`, `mean`, `low`, `high`,
    `next_concentration`, `next_low`, `next_high`. `outcomes`: one for each lot with those restuck or joined, in
    cuttings.
    """
    return {
        "as_of": nursery.as_of,
        "rates": [{**_PART(part), **{aim: _RATE(found[aim]) for aim in AIMS}} for part, found in rates.items()],
        "outcomes": _OUTCOME(known),
    }


_PART = Shape(
    RatePart,
    "crop method? variety=number? season",
    season=lambda part: winter(part.season) if part.season else None,
)
_RATE = Shape(
    Rate,
    "prior concentration lots of struck mean low high next_concentration next_low next_high",
    low=lambda rate: rate.mean_range[0],
    high=lambda rate: rate.mean_range[1],
    next_concentration=lambda rate: rate.in_doubt(),
    next_low=lambda rate: rate.next_range[0],
    next_high=lambda rate: rate.next_range[1],
)
_OUTCOME = Shape(
    Outcome,
    "lots variety=number crop method stuck_on stuck taken missing dead rooting rooted in_pots finished settled",
    settled=lambda outcome: {aim: outcome.settled(aim) for aim in AIMS},
)


def sticking_text(found: NumberToStick, nursery: Nursery) -> str:
    """How many cuttings to stick, and why so many."""
    lines = paragraph(
        f"Stick {so_many(found.cuttings, 'cutting')} of {_of_what(found.part, nursery)} to have "
        f"{so_many(found.plants, 'plant')} ready to plant or sell with a chance of {percent_asked(found.chance)}."
    )
    return "\n".join([*lines, "", *paragraphs(arithmetic(found, nursery), lead="- ")]) + "\n"


def arithmetic(found: NumberToStick, nursery: Nursery) -> list[str]:
    """The steps from the rule and the grower's lots to the number."""
    part, own, rule = found.part, found.rate, found.rule
    told = [
        f"The rule for {part.crop}: {percent(rule.finished)} of the cuttings stuck finish "
        f"({nursery.book.sources[rule.source]}). It counts like one big lot."
    ]
    if own.made_of and any(part.lots for part in own.made_of):
        rooted, through = own.made_of
        told.append(
            f"Each learned where it settles: {percent(rooted.mean)} root ({rooted.struck} of {rooted.of} in "
            f"{so_many(rooted.lots, 'settled lot')}), and of those {percent(through.mean)} come through the "
            f"pots ({through.struck} of {through.of} in {so_many(through.lots, 'settled lot')})."
        )
    if own.others is not None and own.others.lots:
        told.append(
            f"Your other varieties: {_seen(own.others)}. That makes {percent(own.prior)} to expect of a new one."
        )
    whose = f"Your lots of number {part.number}" if part.number else f"Your lots of {part.crop}"
    if own.lots:
        told.append(
            f"{whose}: {_seen(own)}. That makes {percent(own.mean)}, in 80 cases of 100 {_span(own.mean_range)}."
        )
    elif own.made_of and own.made_of[0].lots:
        told.append(
            f"{whose}: none has finished yet; by those potted it is {percent(own.mean)}, in 80 cases of 100 "
            f"{_span(own.mean_range)}."
        )
    else:
        told.append(f"{whose}: none is settled yet, so it stays at {percent(own.mean)}.")
    if found.waiting:
        told.append(f"Not counted, as not settled: {named(found.waiting, 8)}.")
    told.append(
        f"At {percent(own.mean)}, {so_many(found.bare, 'cutting')} would give {so_many(found.plants, 'plant')} on "
        f"average, and at least so many in {found.bare_chance * 100:.0f} lots of 100. Lots differ, and that figure is "
        f"itself not sure: of ten, eight lie {_span(own.next_range)}."
    )
    told.append(
        f"With {so_many(found.cuttings, 'cutting')} in one lot, {found.plants} or more come in at least "
        f"{found.chance * 100:.10g} lots of 100; on average it is {found.cuttings * own.mean:.0f}."
    )
    if part.number and nursery.varieties[part.number].protected:
        told.append(nursery.book.cautions["protected"].short)
    return told


def sticking_json(found: NumberToStick, nursery: Nursery) -> dict[str, Any]:
    """The same as one object; `rate` has the keys of `rates` of the table."""
    return {"as_of": nursery.as_of, **_STICKING(found), "arithmetic": arithmetic(found, nursery)}


_STICKING = Shape(
    NumberToStick, "crop=part.crop method=part.method variety=part.number? plants chance cuttings rate", rate=_RATE
)


def _of_what(part: RatePart, nursery: Nursery) -> str:
    method = nursery.book.methods[part.method].title.lower()
    if not part.number:
        return f"{part.crop} ({method})"
    return f"number {part.number}, {nursery.varieties[part.number].name} ({part.crop}, {method}),"


def _seen(found: Rate) -> str:
    return f"{found.struck} of {found.of} cuttings finished, in {so_many(found.lots, 'settled lot')}"


def _range(ends: tuple[float, float]) -> str:
    return f"{ends[0] * 100:.0f}–{ends[1]:.0%}"


def _span(ends: tuple[float, float]) -> str:
    return f"between {ends[0] * 100:.0f} and {percent(ends[1])}"
