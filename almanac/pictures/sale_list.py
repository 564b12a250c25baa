"""The list to send to buyers: what is free, with prices, as a table and as a page for phone and paper. Pure.

It names varieties by number and name, never lots, troubles or what is promised to whom.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import date
from html import escape

from almanac.nursery.order_rows import FORMS, Form
from almanac.plan.wood.forsale import Offer

COLUMNS = ("number", "name", "crop", "dormant_cuttings", "price_cutting", "rooted_plants", "price_plant", "as_of")
LAST = ("law",)  # came later: a list is known by the columns before it
MARK = '<meta name="generator" content="stickdate, list for buyers">'
_HALF = ("January", "February", "March", "April", "May", "June")
_MONTHS = (*_HALF, "July", "August", "September", "October", "November", "December")
_FORMULA = ("=", "+", "-", "@")  # what a spreadsheet would take for one
_HEADS: Mapping[Form, tuple[str, str]] = {
    "dormant": ("Dormant cuttings", "Leafless winter wood, not rooted."),
    "rooted": ("Rooted plants", "Potted, grown on and hardened off."),
}
_ASK = "Counts change from day to day: please ask first."
_BORDERS = (
    "Plants and cuttings sent to another country or state may need papers, or may not be sent there at all: say where "
    "yours would go before you order."
)
_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.25rem 1rem 2rem; max-width: 42rem; background: #fff; color: #1d241d;
  font: 1rem/1.45 system-ui, "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif; }
h1 { margin: 0; font-size: 1.5rem; line-height: 1.2; overflow-wrap: anywhere; }
.day { margin: .25rem 0 0; color: #4c574c; }
h2 { margin: 1.75rem 0 0; font-size: 1.15rem; color: #24502c; }
h2 + p { margin: 0 0 .5rem; color: #4c574c; font-size: .9rem; }
table { width: 100%; border-collapse: collapse; }
th { padding: .3rem 0; border-bottom: 2px solid #24502c; font-size: .8rem; font-weight: 600; text-align: left;
  color: #4c574c; }
td { padding: .6rem 0; border-bottom: 1px solid #d9ded6; vertical-align: top; }
.no { width: 2.8rem; padding-right: .5rem; color: #4c574c; font-variant-numeric: tabular-nums; }
.what { overflow-wrap: anywhere; }
.what b { display: block; font-weight: 600; }
.what span { color: #4c574c; font-size: .9rem; }
.left, .each { padding-left: .75rem; text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
.each { max-width: 8rem; white-space: normal; }
@media (min-width: 30rem) { .left, .each { width: 7rem; } }
.notes { margin-top: 1.75rem; font-size: .9rem; color: #4c574c; }
.notes p { margin: .4rem 0; }
@media print { body { max-width: none; padding: 0; font-size: 11pt; } tr { break-inside: avoid; }
  h2 { break-after: avoid; } }
"""


def sale_csv(found: Sequence[Offer], titles: Mapping[str, str], as_of: date, laws: Mapping[str, str]) -> str:
    """A line for each variety with anything free.

    Args:
        found: all that is sold
        titles: of crops, by id
        as_of: the day it holds for
        laws: where plants of a crop may not go, or not without papers, by its id
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow((*COLUMNS, *LAST))
    by_number: dict[str, dict[Form, Offer]] = {}
    for offer in found:
        if offer.free:
            by_number.setdefault(offer.variety.number, {})[offer.form] = offer
    for forms in by_number.values():
        variety = next(iter(forms.values())).variety
        dormant, rooted = (forms[form].free if form in forms else 0 for form in FORMS)
        prices = variety.price_cutting if dormant else "", variety.price_plant if rooted else ""
        text = [variety.number, variety.name, titles[variety.crop], dormant, prices[0], rooted, prices[1], as_of]
        text.append(laws.get(variety.crop, ""))
        writer.writerow([_cell(str(each)) for each in text])
    return buffer.getvalue()


def _cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def sale_page(
    found: Sequence[Offer], titles: Mapping[str, str], name: str, as_of: date, laws: Mapping[str, str]
) -> str:
    """One page that needs nothing but itself.

    Args:
        found: all that is sold
        titles: of crops, by id
        name: the nursery's
        as_of: the day it holds for
        laws: where plants of a crop may not go, or not without papers, by its id
    """
    day = f"{as_of.day} {_MONTHS[as_of.month - 1]} {as_of.year}"
    sections = [
        _section(form, [offer for offer in found if offer.form == form and offer.free], titles) for form in FORMS
    ]
    body = "".join(sections) or "<p>Nothing is for sale on this day.</p>\n"
    crops = dict.fromkeys(offer.variety.crop for offer in found if offer.free and laws.get(offer.variety.crop))
    told = "".join(f"<p>{escape(titles[crop])}: {escape(laws[crop])}</p>\n" for crop in crops)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
{MARK}
<title>{escape(name)}: for sale, {day}</title>
<style>{_STYLE}</style>
</head>
<body>
<h1>{escape(name)}</h1>
<p class="day">For sale on {day}. {_ASK}</p>
{body}<div class="notes">
<p>{_BORDERS}</p>
{told}</div>
</body>
</html>
"""


def _section(form: Form, found: Sequence[Offer], titles: Mapping[str, str]) -> str:
    if not found:
        return ""
    head, told = _HEADS[form]
    priced = any(_price(offer) for offer in found)
    rows = "".join(_row(offer, titles, priced=priced) for offer in found)
    each = '<th class="each">Each</th>' if priced else ""
    return f"""<h2>{head}</h2>
<p>{told}</p>
<table>
<thead><tr><th class="no">No.</th><th>Variety</th><th class="left">Stock</th>{each}</tr></thead>
<tbody>
{rows}</tbody>
</table>
"""


def _row(offer: Offer, titles: Mapping[str, str], *, priced: bool) -> str:
    variety = offer.variety
    crop = escape(titles[variety.crop])
    what = f"<b>{escape(variety.name)}</b><span>{crop}</span>" if variety.name else f"<b>{crop}</b>"
    each = f'<td class="each">{escape(_price(offer)) or "ask"}</td>' if priced else ""
    number = f'<td class="no">{variety.number}</td>'
    return f'<tr>{number}<td class="what">{what}</td><td class="left">{offer.free}</td>{each}</tr>\n'


def _price(offer: Offer) -> str:
    return offer.variety.price_cutting if offer.form == "dormant" else offer.variety.price_plant
