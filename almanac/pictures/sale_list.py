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
from almanac.nursery.settings import Sale
from almanac.plan.wood.forsale import Offer
from almanac.words.dates import month_in_full
from almanac.words.for_sale import price_of

COLUMNS = ("number", "name", "crop", "dormant_cuttings", "price_cutting", "rooted_plants", "price_plant", "as_of")
LAST = ("law", "currency")  # came later: a list is known by the columns before it
MARK = '<meta name="generator" content="stickdate, list for buyers">'
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
header { padding-bottom: .9rem; border-bottom: 1px solid #d9ded6; }
h1 { margin: 0; font-size: 1.6rem; line-height: 1.2; letter-spacing: -.01em; color: #24502c; overflow-wrap: anywhere; }
.own { margin: .35rem 0 0; overflow-wrap: anywhere; }
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
.what i { display: block; color: #4c574c; font-size: .85rem; }
.left, .each { padding-left: .75rem; text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
.each { max-width: 8rem; white-space: normal; }
.left { width: 4rem; }
.each { width: 5.5rem; }
@media (min-width: 30rem) { .left, .each { width: 7rem; } }
.terms { margin: .3rem 0 0; padding-left: 1.1rem; }
.terms li { margin: .2rem 0; overflow-wrap: anywhere; }
.notes { margin-top: 1.75rem; padding-top: .6rem; border-top: 1px solid #d9ded6; font-size: .9rem; color: #4c574c; }
.notes p { margin: .4rem 0; }
@media print { body { max-width: none; padding: 0; font-size: 11pt; } tr { break-inside: avoid; }
  h2 { break-after: avoid; } }
"""


def sale_csv(
    found: Sequence[Offer], titles: Mapping[str, str], as_of: date, laws: Mapping[str, str], currency: str = ""
) -> str:
    """A line for each variety with anything free.

    Args:
        found: all that is sold
        titles: of crops, by id
        as_of: the day it holds for
        laws: where plants of a crop may not go, or not without papers, by its id
        currency: of the prices, empty where the nursery does not say
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
        text += [laws.get(variety.crop, ""), currency if any(prices) else ""]
        writer.writerow([formula_safe(str(each)) for each in text])
    return buffer.getvalue()


def formula_safe(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def sale_page(
    found: Sequence[Offer],
    titles: Mapping[str, str],
    name: str,
    as_of: date,
    laws: Mapping[str, str],
    sale: Sale | None = None,
) -> str:
    """One page that needs nothing but itself.

    Args:
        found: all that is sold
        titles: of crops, by id
        name: the nursery's
        as_of: the day it holds for
        laws: where plants of a crop may not go, or not without papers, by its id
        sale: what the grower says of the list: heading, place, contact, currency, terms
    """
    said = sale or Sale()
    day = f"{as_of.day} {month_in_full(as_of)} {as_of.year}"
    sections = [
        _section(form, [offer for offer in found if offer.form == form and offer.free], titles, said.currency)
        for form in FORMS
    ]
    body = "".join(sections) or "<p>Nothing is for sale on this day.</p>\n"
    own = "".join(f'<p class="own">{escape(text)}</p>\n' for text in (said.place, said.contact) if text)
    crops = dict.fromkeys(offer.variety.crop for offer in found if offer.free and laws.get(offer.variety.crop))
    told = "".join(f"<p>{escape(titles[crop])}: {escape(laws[crop])}</p>\n" for crop in crops)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
{MARK}
<title>{escape(said.heading or name)}: for sale, {day}</title>
<style>{_STYLE}</style>
</head>
<body>
<header>
<h1>{escape(said.heading or name)}</h1>
{own}<p class="day">For sale on {day}. {_ASK}</p>
</header>
{body}{_terms(said.terms)}<div class="notes">
<p>{_BORDERS}</p>
{told}</div>
</body>
</html>
"""


def _terms(terms: Sequence[str]) -> str:
    """The grower's own terms; nothing where there are none."""
    items = "".join(f"<li>{escape(each)}</li>\n" for each in terms if each.strip())
    return f'<h2>Terms</h2>\n<ul class="terms">\n{items}</ul>\n' if items else ""


def _section(form: Form, found: Sequence[Offer], titles: Mapping[str, str], currency: str) -> str:
    if not found:
        return ""
    head, told = _HEADS[form]
    priced = any(price_of(offer) for offer in found)
    rows = "".join(_row(offer, titles, currency, priced=priced) for offer in found)
    each = '<th class="each">Each</th>' if priced else ""
    return f"""<h2>{head}</h2>
<p>{told}</p>
<table>
<thead><tr><th class="no">No.</th><th>Variety</th><th class="left">Stock</th>{each}</tr></thead>
<tbody>
{rows}</tbody>
</table>
"""


def _row(offer: Offer, titles: Mapping[str, str], currency: str, *, priced: bool) -> str:
    variety = offer.variety
    crop = escape(titles[variety.crop])
    what = f"<b>{escape(variety.name)}</b><span>{crop}</span>" if variety.name else f"<b>{crop}</b>"
    if variety.licence:
        what += f"<i>Protected variety, sold under licence {escape(variety.licence)}</i>"
    each = f'<td class="each">{escape(_sum(price_of(offer), currency)) or "ask"}</td>' if priced else ""
    number = f'<td class="no">{variety.number}</td>'
    return f'<tr>{number}<td class="what">{what}</td><td class="left">{offer.free}</td>{each}</tr>\n'


def _sum(price: str, currency: str) -> str:
    """A price with its money: a sign stands before it, a code after it; one that has its own keeps it."""
    if not price or not currency or any(not (sign.isdigit() or sign in ".,") for sign in price):
        return price
    return f"{currency}{price}" if len(currency) == 1 else f"{price} {currency}"
