"""A bench sheet as one HTML page that asks for nothing from outside, for a screen or a printer."""

from __future__ import annotations

from html import escape

from squeeze.show.paper import PAPERS
from squeeze.show.sheet.contents import Sheet
from squeeze.show.sheet.parts import Grid, Part, Row
from squeeze.show.sheet.picture import DrawnLine, Picture, Word, scale_of
from squeeze.show.sheet.word_places import words_apart

WIDE_MM = 92.0

STYLE = """
@page { size: PAPER; margin: 10mm }
body { font: 9pt/1.25 sans-serif; color: #000; background: #fff }
body { max-width: 190mm; margin: 6mm auto; padding: 0 3mm }
p { margin: 1mm 0 }
h1 { font-size: 15pt; margin: 0 }
h2 { font-size: 11pt; margin: 2mm 0 1mm; border-bottom: 0.35mm solid #000; break-after: avoid }
.from { font-size: 7.5pt; margin: 0 0 2mm }
.head { font-weight: bold; font-size: 10pt; margin: 1mm 0; white-space: pre-line }
main { columns: 2; column-gap: 5mm }
dl { display: grid; grid-template-columns: 22mm 1fr; gap: 0.5mm 1mm; margin: 0.5mm 0 }
dl { break-inside: avoid }
dt { font-weight: bold }
dd { margin: 0 }
table { border-collapse: collapse; width: 100%; margin: 1mm 0; break-inside: avoid }
th { border-bottom: 0.15mm solid #000 }
th, td { text-align: right; padding: 0 0.5mm }
th:first-child, td:first-child { text-align: left }
figure { margin: 1mm 0; text-align: center; break-inside: avoid }
figcaption { font-size: 8pt }
svg { max-width: 100% }
.bar { width: 100mm; height: 2mm; margin-top: 4mm; box-sizing: border-box }
.bar { border: solid #000; border-width: 0 0.3mm 0.5mm }
.cautions { font-size: 7.5pt; break-inside: avoid }
@media print { body { margin: 0 auto; padding: 0 } .bar { margin-top: 2mm } }
@media (max-width: 170mm) { main { columns: 1 } }
"""


def as_html(sheet: Sheet, paper: str = "a4") -> str:
    """Return a bench sheet as an HTML page with the same contents as the PDF.

    Parameters
    ----------
    sheet : Sheet
    paper : str
        "a4" or "letter": what it is printed on.
    """
    wide, high = PAPERS[paper]
    style = STYLE.replace("PAPER", f"{wide:g}mm {high:g}mm")
    steps = "".join(
        f"<section><h2>{number} {escape(step.name)}</h2>{''.join(map(_part, step.parts))}</section>"
        for number, step in enumerate(sheet.steps, start=1)
    )
    advice = "".join(f"<p>{escape(say)}</p>" for say in sheet.advice)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Bench sheet: {escape(sheet.title)}</title><style>{style}</style></head>\n<body>"
        f'<h1>{escape(sheet.title)}</h1><p class="from">{escape(sheet.made_by)}</p>'
        f'<p class="head">{escape(sheet.head)}</p>{advice}<main>{steps}</main>'
        '<div class="bar"></div><p>Print at 100 %: this bar is 100 mm long.</p>'
        f'<p class="cautions">{escape(sheet.cautions)}</p></body></html>\n'
    )


def _part(part: Part) -> str:
    if isinstance(part, Row):
        return f"<dl><dt>{escape(part.label)}</dt><dd>{escape(part.say)}</dd></dl>"
    if isinstance(part, Grid):
        heads = "".join(f"<th>{escape(head)}</th>" for head in part.heads)
        rows = "".join(
            f"<tr>{''.join(f'<td>{escape(say)}</td>' for say in row)}</tr>" for row in part.rows
        )
        return f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"
    return _picture(part)


def _picture(picture: Picture) -> str:
    scale = scale_of(picture, WIDE_MM, picture.most_high_mm)
    x0, y0, x1, y1 = picture.box
    room = picture.room_mm
    wide, high = (x1 - x0) / scale + 2 * room, (y1 - y0) / scale + 2 * room

    def on_paper(x: float, y: float) -> tuple[float, float]:
        return (x - x0) / scale + room, (y1 - y) / scale + room

    drawn = "".join(
        _stroke(stroke, [on_paper(*p) for p in stroke.points]) for stroke in picture.strokes
    )
    words = "".join(_word(word, on_paper(*word.at)) for word in words_apart(picture, scale))
    in_words = "true size" if scale == 1 else f"1 : {scale:.3g}"
    caption = escape(picture.caption.format(scale=in_words))
    return (
        f'<figure><svg role="img" aria-label="{caption}" width="{wide:.2f}mm" height="{high:.2f}mm"'
        f' viewBox="0 0 {wide:.2f} {high:.2f}">{drawn}{words}</svg>'
        f"<figcaption>{caption}</figcaption></figure>"
    )


def _grey(grey: float | None) -> str:
    return "none" if grey is None else "#" + 3 * f"{round(255 * grey):02x}"


def _stroke(stroke: DrawnLine, points: list[tuple[float, float]]) -> str:
    kind = "polygon" if stroke.closed else "polyline"
    places = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
    dash = " ".join(f"{mm:g}" for mm in stroke.dash_mm)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<{kind} points="{places}" fill="{_grey(stroke.fill)}" stroke="{_grey(stroke.line)}"'
        f' stroke-width="{stroke.width_mm:g}"{dashed}/>'
    )


def _word(word: Word, at: tuple[float, float]) -> str:
    x, y = at[0] + word.shift_mm[0], at[1] - word.shift_mm[1]
    ring = ""
    if word.ringed:
        radius = max(1.6, 0.55 + 0.85 * len(word.say))
        ring = (
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="#fff" stroke="#000"'
            ' stroke-width="0.2"/>'
        )
    return (
        f'{ring}<text x="{x:.2f}" y="{y + 1.0:.2f}" font-size="2.9" font-weight="bold"'
        f' font-family="sans-serif" text-anchor="middle">{escape(word.say)}</text>'
    )
