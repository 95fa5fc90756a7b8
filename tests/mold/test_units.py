"""Lengths and pressures with a unit of their own in a mold file."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import squeeze
from squeeze.mold.file.kept_comments import rewritten
from squeeze.mold.file.mold_file import dict_of, dump, parse
from squeeze.mold.file.units import KPA_PER_PSI, MM_PER_INCH, with_plain_numbers
from squeeze.verdict.words import read_length

INCHES = """length_mm = "5 1/2 in"  # as poured
[rubber]
youngs_modulus_mpa = "87 psi"
[block]
shape = "square"
width_mm = "4 1/2 in"   # the box
bevel_mm = '1/2"'
[[cavity]]
shape = "round"
diameter_mm = "11 mm"
[[cut]]
path_mm = [["-2 1/4 in", 0], [57.15, 0]]
gap_mm = ["1/64 in", 0]
[[band]]
tension_n_per_mm = 0.6
[resin]
pressure_kpa = "1/2 psi"
"""


def test_inches_and_psi_become_mm_and_kpa():
    mold = parse(INCHES)
    assert mold.length_mm == pytest.approx(5.5 * MM_PER_INCH)
    assert mold.block.width_mm == pytest.approx(4.5 * MM_PER_INCH)
    assert mold.block.bevel_mm == pytest.approx(MM_PER_INCH / 2)
    assert mold.cavity[0].diameter_mm == 11
    assert mold.cut[0].path_mm[0] == pytest.approx((-2.25 * MM_PER_INCH, 0))
    assert mold.cut[0].gap_mm == pytest.approx((MM_PER_INCH / 64, 0))
    assert mold.resin.pressure_kpa == pytest.approx(KPA_PER_PSI / 2)
    assert mold.rubber.youngs_modulus_mpa == pytest.approx(87 * KPA_PER_PSI / 1000)


@pytest.mark.parametrize("text", ["4 1/2", "4 1/2 psi", "4 1/2 feet", "1/0 in", "in", "4 1/2 2 in"])
def test_other_text_is_refused_with_its_line_and_what_is_allowed(text):
    with pytest.raises(squeeze.BadInput) as error:
        parse(INCHES.replace("4 1/2 in", text), "box.toml")
    (fault,) = str(error.value).splitlines()
    assert fault.startswith("box.toml:6: block.width_mm: ")
    assert f'"{text}" is not a number' in fault
    assert 'or text with its unit as "4 1/2 in"' in fault


def test_inches_out_of_range_are_refused_in_mm():
    with pytest.raises(squeeze.BadInput, match=r"5080 mm is out of range; .* to 1000 mm"):
        parse(INCHES.replace("4 1/2 in", "200 in"))


def test_a_force_per_mm_is_no_length():
    with pytest.raises(squeeze.BadInput, match="tension_n_per_mm"):
        parse(INCHES.replace("tension_n_per_mm = 0.6", 'tension_n_per_mm = "0.6 in"'))


def test_what_did_not_change_keeps_its_inches():
    mold = parse(INCHES)
    changed = squeeze.mold_of(
        dict_of(mold) | {"block": dict_of(mold)["block"] | {"bevel_mm": 20.0}}
    )
    text = rewritten(INCHES, changed)
    assert text == INCHES.replace("""bevel_mm = '1/2"'""", "bevel_mm = 20.0")
    assert parse(text) == changed
    assert rewritten(INCHES, mold) == INCHES
    assert parse(dump(mold)) == mold


@given(st.integers(0, 40), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_are_exact(whole, part, of):
    """As text with a unit, and as what is typed where inches are asked for."""
    text = f"{whole} {part}/{of}"
    wanted = float((whole + Fraction(part, of)) * Fraction("25.4"))
    assert with_plain_numbers(f"{text} in", "width_mm") == pytest.approx(wanted, abs=1e-8)
    assert read_length(text, inches=True) == pytest.approx(wanted, abs=1e-8)


def test_the_sign_holds_for_the_fraction_too():
    assert with_plain_numbers("-1 1/2 in", "at_mm") == pytest.approx(-1.5 * MM_PER_INCH)
    assert read_length("-1 1/2", inches=True) == pytest.approx(-1.5 * MM_PER_INCH)


@pytest.mark.parametrize(("kind", "home"), [("py", "units.py"), ("js", "units.js")])
def test_the_inch_is_written_once(kind, home):
    """Every other module takes it from there; examples in docstrings may name it."""
    room = Path(squeeze.__file__).parent
    texts = {file: file.read_text("utf-8") for file in room.rglob(f"*.{kind}")}
    written = re.compile(r"^(?! *(?:>>>|\{')).*\b25\.4\b", re.MULTILINE)
    assert [file.name for file, text in texts.items() if written.search(text)] == [home]
