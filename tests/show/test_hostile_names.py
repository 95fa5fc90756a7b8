"""Names are text everywhere: what they hold breaks no output, and comes out as it went in."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from rich.console import Console

from squeeze.mold import dict_of, dump, mold_of, parse
from squeeze.show.export import as_text
from squeeze.show.figure.closing import figure, save
from squeeze.show.figure.thumbnails import small
from squeeze.show.template.drawing import templates
from squeeze.show.template.pdf import template_pdf
from squeeze.show.template.svg import as_svg
from squeeze.show.text.lands import table
from squeeze.show.text.verdict import castings
from squeeze.solve import Closing
from squeeze.verdict import judge

NAMES = [
    "[bold]x[/]",
    "[/nothing]",
    ":smile:",
    r"$\frac{$",
    "$x_1$ and ^2_3",
    "<b>x</b> & ]]> <!-- --",
    "it's \"5 o'clock\"",
    r"back\slash \n %%d %% {0} %s",
    "\N{HEBREW LETTER ALEF}\N{HEBREW LETTER BET} \N{ARABIC LETTER BEH}",
    "\N{ROCKET}\N{FLEXED BICEPS}\N{EMOJI MODIFIER FITZPATRICK TYPE-4}",
    "\N{CJK UNIFIED IDEOGRAPH-6A21}\N{CJK UNIFIED IDEOGRAPH-5177}",
]
hostile = pytest.mark.parametrize("name", NAMES)


def named(closing: Closing, name: str) -> Closing:
    """Return a closing in which everything that has a name has this one."""
    cuts = tuple(replace(cut, name=name) for cut in closing.section.cuts)
    cavities = tuple(replace(each, name=name) for each in closing.section.cavities)
    return replace(
        closing,
        title=name,
        section=replace(closing.section, cuts=cuts, cavities=cavities),
        lands=tuple(replace(land, cut=name) for land in closing.lands),
        cavities=tuple(replace(each, name=name) for each in closing.cavities),
    )


OF_EACH_KIND = (NAMES[3], NAMES[5])
"""A formula and a tag."""
of_each_kind = pytest.mark.parametrize(
    "name", [pytest.param(n, marks=() if n in OF_EACH_KIND else pytest.mark.slow) for n in NAMES]
)


@of_each_kind
def test_figure_holds_the_name_as_it_stands(gaping, name):
    closing = named(gaping, name)
    drawn = figure(closing, judge(closing), deformed=True)
    stream = io.BytesIO()
    save(drawn, stream, "svg")
    ElementTree.fromstring(stream.getvalue())
    texts = [text.get_text() for ax in drawn.axes for text in ax.texts]
    assert name in texts
    assert name in [text.get_text() for text in drawn.texts]


@of_each_kind
def test_figures_in_other_forms_take_the_name(gaping, name):
    closing = named(gaping, name)
    save(figure(closing, judge(closing), deformed=True), io.BytesIO(), "pdf")
    save(small([(closing, judge(closing))]), io.BytesIO(), "png")


@hostile
@pytest.mark.parametrize("markup", [True, False])
def test_terminal_tables_show_the_name(gaping, name, markup):
    closing = named(gaping, name)
    verdict = judge(closing)
    screen = Console(file=io.StringIO(), width=200, markup=markup)
    screen.print(table(closing, verdict), castings(verdict))
    shown = screen.file.getvalue()  # type: ignore[attr-defined]
    assert f"'{name}'" in shown
    assert f"\n {name}" in shown


@hostile
def test_json_and_mold_file_give_the_name_back(gaping, name):
    closing = named(gaping, name)
    assert json.loads(as_text(closing, judge(closing)))["title"] == name
    mold = cradled(name)
    assert dict_of(parse(dump(mold))) == dict_of(mold)


def cradled(name: str):
    board = {"name": name, "covers": "top", "back": "round", "thickness_mm": 14}
    return mold_of(
        {
            "title": name,
            "length_mm": 140,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
            "cradle": [board | {"material": "plywood"}],
            "band": [{"stock": "64", "count": 3}],
        }
    )


@hostile
def test_templates_show_the_name(name):
    made = templates(cradled(name))
    root = ElementTree.fromstring(as_svg(made[0]))
    assert f"T1 {name} - {name}" in [
        each.text for each in root.iter("{http://www.w3.org/2000/svg}text")
    ]
    read = PdfReader(io.BytesIO(template_pdf(made, "a4"))).pages[0].extract_text()
    if max(name) < "\N{CJK UNIFIED IDEOGRAPH-4E00}" and "\N{HEBREW LETTER ALEF}" not in name:
        assert name in read
    assert template_pdf(made, "a4") == template_pdf(made, "a4")


@hostile
def test_drawings_for_other_programs_show_the_name(name):
    ezdxf = pytest.importorskip("ezdxf")
    from ezdxf.tools.text import plain_text

    from squeeze.show.template.dxf import as_dxf

    drawing = ezdxf.read(io.StringIO(as_dxf(templates(cradled(name))[0])))
    said = [plain_text(text.dxf.text) for text in drawing.modelspace().query("TEXT")]
    assert f"T1 {name} - {name}" in said
