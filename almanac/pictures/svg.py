"""A drawing as SVG, with title and description; for a file of its own or inside a page. Pure.

Only presentation attributes are written: pages of ours let no style of their own run.
"""

from __future__ import annotations

from html import escape

from almanac.pictures.drawing import Cells, Drawing, Link, Mark, Words
from almanac.pictures.style import BLACK, PAPER

_FONT = "Arial, 'Liberation Sans', Roboto, Helvetica, sans-serif"


def svg(drawing: Drawing, *, name: str = "picture", inside: bool = False) -> str:
    """The text of an SVG.

    Args:
        drawing: what to draw
        name: what ids in it begin with, so that several stand on one page
        inside: part of a page, as wide as there is room; else a file with its size in millimetres
    """
    size = f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}"'
    if inside:
        head = f'<svg {size} role="group"'
    else:
        size += f' width="{_n(drawing.width)}mm" height="{_n(drawing.height)}mm"'
        head = f'<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" {size} role="img"'
    head += f' aria-labelledby="{name}-title {name}-told" font-family="{_FONT}">'
    told = [f'<title id="{name}-title">{_text(drawing.title)}</title>']
    told += [f'<desc id="{name}-told">{_text(drawing.told)}</desc>']
    ground = f'<rect width="{_n(drawing.width)}" height="{_n(drawing.height)}" fill="{PAPER}"/>'
    return "\n".join([head, *told, ground, *map(_mark, drawing.marks), "</svg>"]) + "\n"


def _mark(mark: Mark) -> str:
    if isinstance(mark, Link):
        field = f'<rect x="{_n(mark.x)}" y="{_n(mark.y)}" width="{_n(mark.width)}" height="{_n(mark.height)}"'
        return f'<a href="{escape(mark.to)}" aria-label="{escape(mark.label)}">{field} fill="transparent"/></a>'
    said = (f' class="{escape(mark.kind)}"' if mark.kind else "") + (
        f' data-about="{escape(mark.about)}"' if mark.about else ""
    )
    if isinstance(mark, Words):
        bold = ' font-weight="700"' if mark.bold else ""
        anchor = f' text-anchor="{mark.anchor}"' if mark.anchor != "start" else ""
        place = f'x="{_n(mark.x)}" y="{_n(mark.y)}" font-size="{_n(mark.size)}" fill="{mark.ink}"'
        return f"<text {place}{bold}{anchor}{said}>{_text(mark.text)}</text>"
    if isinstance(mark, Cells):
        step = mark.cell
        parts = (
            f"M{_n(mark.x + column * step)} {_n(mark.y + row * step)}h{_n(long * step)}v{_n(step)}h{_n(-long * step)}z"
            for row, column, long in mark.runs
        )
        return f'<path d="{"".join(parts)}" fill="{BLACK}"{said}/>'
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in mark.points)
    shape = "polygon" if mark.closed else "polyline"
    ink = f' stroke="{mark.ink}" stroke-width="{_n(mark.width)}"' if mark.ink else ""
    dash = f' stroke-dasharray="{_n(mark.dash[0])} {_n(mark.dash[1])}"' if mark.dash else ""
    return f'<{shape} points="{points}" fill="{mark.fill or "none"}"{ink}{dash}{said}/>'


def _text(text: str) -> str:
    return escape("".join(sign if sign.isprintable() else " " for sign in text), quote=False)


def _n(value: float) -> str:
    """A number with no more digits than anyone sees: hundredths of a millimetre, and one more."""
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"
