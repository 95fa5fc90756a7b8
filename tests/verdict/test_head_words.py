"""How sure a grade is, what the symptom is, and what holds a loose piece: made-up figures."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.geometry.loop import polygon_loop
from squeeze.solve.outcome import Outcome
from squeeze.verdict.figures import NO_FIGURES, Figures
from squeeze.verdict.head import Head, certainty, said_in_inches, symptom, unusable
from squeeze.verdict.head import head as head_module
from squeeze.verdict.uncertainty import PULL, STIFFNESS, Uncertainty, Variation
from squeeze.verdict.unheld import direction_word, only_cradles, say_unheld

CLEAN = Head(
    "Clean", "Clean: every land seals.", "Clean", "There is nothing to mend.", "", (), True
)


def figures(grade: str, gap_mm: float = 0.0) -> Figures:
    solved = grade not in ("Comes apart", "No answer")
    given = {"grade": grade, "seals": grade in ("Clean", "Fine line", "Flash"), "closes": False}
    return Figures(solved, dict(NO_FIGURES.values) | given | {"largest_gap_mm": gap_mm})


def varied(grade_of, film_limit_mm=None, left_out=0, given="Clean") -> Uncertainty:
    """Return twelve variations; `grade_of(stiffness, friction, pull)` is a grade or figures."""
    found = []
    for case in product(STIFFNESS, ("low", "high"), PULL):
        grade = grade_of(*case)
        found.append(Variation(*case, figures(grade) if isinstance(grade, str) else grade))
    return Uncertainty(
        figures(given), tuple(found), (), (), film_limit_mm=film_limit_mm, left_out=left_out
    )


def sure(grade_of, head=CLEAN, **more) -> Head:
    return certainty.with_variations(head, varied(grade_of, **more), inches=False)


def slack(stiffness, friction, pull) -> bool:
    return pull == PULL[0]


def test_where_all_variations_are_alike_the_grade_stands():
    found = sure(lambda *_: "Clean")
    assert found.good
    assert found.do == CLEAN.do
    assert found.sure == "The same in all 12 variations of rubber, friction and bands."
    fine = sure(lambda k, f, p: "Fine line" if k == 1 else "Clean")
    assert fine.sure == found.sure  # a fine line counts as clean
    assert fine.good


def test_what_some_variations_do_is_told_with_what_they_have_in_common():
    found = sure(lambda *case: "Leaks" if slack(*case) else "Clean")
    assert not found.good
    assert found.grade == "Clean"
    assert found.do == "Pull a little harder: with slack bands it no longer holds."
    assert found.sure == (
        "How sure: the same in 6 of 12 variations of rubber, friction and bands; it leaks in 6,"
        " with slack bands."
    )


def test_the_worst_of_several_others_is_named():
    def grade(k, f, p):
        if p != PULL[0]:
            return "Clean"
        return "Leaks" if k == STIFFNESS[0] else "Flash"

    found = sure(grade)
    assert "the same in 6 of 12" in found.sure
    assert found.sure.endswith("it leaks in 2 of the 6 others, with slack bands.")
    nothing = sure(lambda k, f, p: "Flash" if (k, p) in ((0.75, 0.8), (1.25, 1.2)) else "Clean")
    assert nothing.sure.endswith("it flashes in 4.")
    assert nothing.do == "Leave more margin: pull a little harder, or bevel more."


@pytest.mark.parametrize(
    ("is_bad", "do"),
    [
        (lambda k, f, p: p == PULL[1], "Do not pull harder: with tight bands it gets worse."),
        (lambda k, f, p: k == STIFFNESS[0], "with softer rubber it no longer holds."),
        (lambda k, f, p: k == STIFFNESS[2], "with stiffer rubber it no longer holds."),
        (lambda k, f, p: f == "low" and p == PULL[0], "Pull a little harder: with slack bands"),
        (lambda k, f, p: f == "low" and k == 1, "Do not count on grip: keep release agent"),
        (lambda k, f, p: f == "high" and k == 1, "Let the faces slide: talc"),
    ],
)
def test_what_the_bad_variations_share_says_what_to_do(is_bad, do):
    found = sure(lambda *case: "Flash" if is_bad(*case) else "Clean")
    assert do in found.do
    assert not found.good


def test_what_to_do_stays_where_the_grade_is_bad_already():
    leaks = Head("Leaks", "Leaks: x.", "Leaks", "Bevel it.", "", (), False)
    found = sure(lambda *case: "Clean" if slack(*case) else "Leaks", head=leaks)
    assert found.do == "Bevel it."
    assert found.sure.startswith("How sure: the same in 6 of 12")
    assert "it is clean in 6, with slack bands" in found.sure
    assert not sure(lambda *_: "Clean", head=leaks).good


def test_variations_without_an_answer_take_a_good_grade_away():
    found = sure(lambda *case: "Comes apart" if slack(*case) else "Clean")
    assert found.grade == "Comes apart"
    assert found.say == (
        "Comes apart in 6 of 12 variations, those with slack bands. As given: Clean: every land"
        " seals."
    )
    assert found.do.startswith("Press on every piece")
    assert not found.good
    leaks = Head("Leaks", "Leaks: x.", "Leaks", "Bevel it.", "", (), False)
    assert sure(lambda *case: "Comes apart" if slack(*case) else "Leaks", head=leaks).grade == (
        "Leaks"
    )
    one = sure(lambda k, f, p: "No answer" if (k, p) in ((0.75, 0.8), (1, 1.2)) else "Clean")
    assert one.say.startswith("Comes apart in 4 of 12 variations. As given")


def test_variations_that_were_left_out_are_told():
    found = sure(lambda *_: "Clean", left_out=1)
    assert found.sure.endswith("1 more was not computed: this block takes too long.")
    some = sure(lambda *case: "Leaks" if slack(*case) else "Clean", left_out=2)
    assert some.sure.endswith("it leaks in 6. 2 more were not computed: this block takes too long.")
    none = certainty.with_variations(CLEAN, Uncertainty(figures("Clean"), (), (), ()), False)
    assert none.sure == squeeze.verdict.uncertainty.NOT_ONE
    assert none.good


def test_a_doubt_comes_before_the_variations_and_a_film_after():
    doubtful = Head("Clean", "Clean: x.", "Clean", "", "Not sure: y.", (), False)
    found = sure(lambda *_: "Clean", head=doubtful, film_limit_mm=0.123)
    assert found.sure == (
        "Not sure: y. The same in all 12 variations of rubber, friction and bands. The film may be"
        " 0.12 mm thick before a land leaks."
    )
    most = sure(lambda *_: "Clean", film_limit_mm=2.0)
    assert most.sure.endswith("No film up to 2.0 mm makes a land leak.")


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (
            "Clean",
            "Flash",
            "is clean when the faces are slippery (release agent, talc); it flashes",
        ),
        ("Leaks", "Clean", "leaks when the faces are slippery (release agent, talc); it is clean"),
        ("Clean", figures("Leaks", 0.049), "it is shut, but not sealed, when they grip"),
        ("Clean", figures("Leaks", 0.05), "it leaks when they grip"),
    ],
)
def test_friction_decides_where_both_sides_have_nothing_in_common(low, high, said):
    found = sure(lambda k, f, p: low if f == "low" else high)
    assert found.sure.startswith("Friction decides: it ")
    assert said in found.sure


def test_friction_does_not_decide_where_both_sides_hold_the_same():
    found = sure(lambda k, f, p: "Leaks" if f == "low" or k == 1 else "Clean")
    assert found.sure.startswith("How sure: ")
    worst = sure(lambda k, f, p: ("Leaks" if k == 1 else "Flash") if f == "low" else "Clean")
    assert "it leaks when the faces are slippery" in worst.sure


# lines


def test_a_good_head_has_two_lines_and_another_three():
    good = Head("Clean", "say", "", "do", "sure", (), True)
    assert good.lines == ("say", "do sure")
    assert Head("Clean", "say", "", "", "", (), True).lines == ("say",)
    assert Head("Leaks", "say", "", "do", "sure", (), False).lines == ("say", "do", "sure")
    assert Head("Leaks", "say", "", "do", "", (), False).lines == ("say", "do")


def test_a_head_in_inches_has_all_its_sentences_in_inches():
    head = Head("Leaks", "25.4 mm", "50.8 mm", "76.2 mm", "12.7 mm", (), False)
    found = said_in_inches(head)
    said = [found.say, found.brief, found.do, found.sure]
    assert said == ["1.00 in", "2.00 in", "3.00 in", "0.500 in"]


# symptoms


def casting(name, thick, deep=1.0, grade="flash"):
    return SimpleNamespace(cavity=name, thickness_mm=thick, reach_mm=deep, grade=grade)


def flash(*castings, to_clean_mm=None, parting_line_mm=None):
    return SimpleNamespace(
        castings=castings, to_clean_mm=to_clean_mm, parting_line_mm=parting_line_mm
    )


def stepped(closed, *steps):
    cavities = tuple(
        replace(each, step_mm=step) for each, step in zip(closed.cavities, steps, strict=True)
    )
    return replace(closed, cavities=cavities)


def seal(*barriers, weakest=None, needed=2.0):
    leaks = tuple(SimpleNamespace(barrier_kpa=each) for each in barriers)
    return SimpleNamespace(leaks=leaks, needed_kpa=needed, weakest=weakest, unreached=(), locked=())


def told(grade, closing, *, of=None, found=None, lands=(), inches=False) -> str:
    return symptom.symptom(
        grade, closing, of or seal(), found or flash(casting("a", 0.0)), lands, inches
    )


@pytest.mark.parametrize(
    ("thick", "steps", "said"),
    [
        (0.03, (0.0, 0.0), "'b' carries a line 0.03 mm thick at a parting line. Every land seals."),
        (0.01, (0.0, 0.0), "'b' carries a line 0.01 mm thick at a parting line. Every land seals."),
        (0.009, (0.0, 0.06), "'barrel 2' has a step of 0.06 mm at its parting line. Every land"),
        (0.0, (0.05, 0.04), "'barrel 1' has a step of 0.05 mm at its parting line. Every land"),
        (0.03, (0.06, 0.1), "'b' carries a line 0.03 mm thick at a parting line, and 'barrel 2'"),
    ],
)
def test_a_fine_line_is_flash_or_a_step_or_both(closed, thick, steps, said):
    lines = flash(casting("a", 0.001), casting("b", thick))
    found = told("Fine line", stepped(closed, *steps), found=lines)
    assert found.startswith(said)
    assert ("step" in found) == (max(steps) >= 0.05)


def test_flash_is_told_of_the_thickest_with_what_has_to_be_cleaned():
    lines = flash(casting("a", 0.06, 9.0), casting("b", 0.2, 3.0, "heavy flash"))
    said = told("Flash", None, found=lines)
    assert said == "'b' carries heavy flash, 0.20 mm thick and 3.0 mm deep. Every land seals."
    lines.to_clean_mm, lines.parting_line_mm = 120.0, 200.0
    assert "deep; 120 mm of 200 mm of parting line need cleaning. Every" in told(
        "Flash", None, found=lines
    )


def test_a_clean_block_is_told_by_its_weakest_barrier(closed, made_up):
    weakest = SimpleNamespace(margin=2.34)
    of = seal(weakest=weakest)
    assert told("Clean", closed, of=of) == (
        "every land seals at 2.3 times the resin's pressure or more, and none stands open at a"
        " cavity."
    )
    assert told("Clean", closed).startswith("every land seals, and none")
    solid = made_up(centres_mm=()).closing()
    assert (
        told("Clean", solid, of=of) == "the land holds at 2.3 times the resin's pressure or more."
    )


def test_faces_that_are_shut_but_press_too_little_are_told_by_their_pressure(closed):
    first, second, _ = closed.lands
    of = seal(1.2, 1.5)
    assert told("Leaks", closed, of=of, lands=[first]) == (
        "1 of 3 lands lets resin through: it is shut, but presses 1.50 kPa where 2.00 kPa is"
        " needed."
    )
    assert told("Leaks", closed, of=of, lands=[first, second]) == (
        "2 of 3 lands let resin through: they are shut, but press 1.50 kPa where 2.00 kPa is"
        " needed."
    )


def test_faces_that_gape_are_told_by_the_widest_place(made_up):
    """A hairline, 0.01 mm, counts as open."""
    gaping = made_up(gap=lambda x: np.where(np.abs(x) < 3, 0.01, 0.0)).closing()
    said = told("Leaks", gaping, of=seal(0.0), lands=[gaping.lands[1]])
    assert said.startswith("1 of 3 lands lets resin through, up to 0.01 mm open midway between")
    under = made_up(gap=lambda x: np.where(np.abs(x) < 3, 0.0099, 0.0)).closing()
    assert "shut, but" in told("Leaks", under, of=seal(0.0), lands=[under.lands[1]])


def test_lands_in_trouble_are_those_that_leak_or_stand_open_at_a_cavity(made_up):
    """At x = 25 the second cavity ends: a land that opens at the outside alone makes no flash."""
    closing = made_up(gap=lambda x: np.where((x > 24) & (x < 27) | (x < -58), 0.06, 0.0)).closing()
    leaky = SimpleNamespace(leaky=(False, True, False))
    assert symptom.troubled_lands("Leaks", closing, leaky) == [closing.lands[1]]
    for grade in ("Flash", "Fine line"):
        assert symptom.troubled_lands(grade, closing, leaky) == [closing.lands[2]]
    assert symptom.troubled_lands("Clean", closing, leaky) == []
    assert symptom._flash_mm(closing.lands[2], closing) == 0.06
    assert symptom._flash_mm(closing.lands[0], closing) == 0.0


def test_a_land_that_meets_no_casting_has_no_flash(made_up):
    solid = made_up(centres_mm=(), gap=lambda x: np.where(x < -58, 0.3, 0.0)).closing()
    assert symptom._flash_mm(solid.lands[0], solid) == 0.0


def test_the_error_of_a_gap_is_that_of_its_land(gaping):
    lands = [SimpleNamespace(gap_mm=each) for each in (0.0, 0.02, 0.0)]
    known = replace(gaping, errors=SimpleNamespace(lands=lands))
    assert symptom.gap_with_error(known.lands[1], known, False) == "1.0 mm"
    lands[1].gap_mm = 0.2
    assert symptom.gap_with_error(known.lands[1], known, False) == "1.0 mm ± 0.2"
    assert symptom.gap_with_error(gaping.lands[1], gaping, False) == "1.0 mm"


# what cannot be opened, and what comes apart

BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [
        {"name": "low", "path_mm": [[-50, -20], [0, -20], [0, 0]]},
    ],
}


def shut(unreached=(), locked=(), cuts=BLOCK["cut"], inches=False):
    section = section_of(squeeze.mold_of(BLOCK | {"cut": cuts}))
    of = SimpleNamespace(unreached=unreached, locked=locked)
    return unusable.say_shut_in(SimpleNamespace(section=section), of, None, inches)


def test_cavities_that_no_cut_reaches_are_named():
    say, do = shut(unreached=("rod",))
    assert say.startswith("no cut reaches 'rod', so nothing can be poured in")
    assert do == "Lead a cut from the outside through it."
    say, do = shut(unreached=("a", "b", "c"))
    assert "'a', 'b' or 'c'" in say
    assert do.endswith("through each of them.")


def test_the_cut_that_is_the_least_short_is_named_with_where_it_would_come_out():
    cuts = [
        {"name": "far", "path_mm": [[0, 0], [0, 30]]},
        {"name": "near", "path_mm": [[-44, 0], [46, 0]]},
    ]
    say, do = shut(locked=("rod",), cuts=cuts)
    assert say == (
        "the cut 'near' ends in rubber, 4.0 mm short of the outside, and no other cut leads out of"
        " 'rod'."
    )
    assert do == (
        "Carry the cut 'near' on to the outside: begin its path at [-50, 0] mm and end its path at"
        " [50, 0] mm."
    )
    assert "[1.969, 0] in." in shut(locked=("rod",), cuts=cuts, inches=True)[1]
    say, do = shut(locked=("rod",))
    assert (say, do) == (
        "the cuts of 'rod' do not lead to the outside.",
        "Lead a cut to the outside.",
    )


def apart(closing, causes=()):
    return unusable.say_apart(closing, causes, False)


def test_faces_far_apart_are_told_by_the_widest_land(made_up, monkeypatch):
    monkeypatch.setattr(unusable, "resin_lifts", lambda closing: 0.0)
    closing = made_up(gap=lambda x: np.where(np.abs(x) < 3, 9.0, 7.0)).closing()
    say, do = apart(closing)
    assert say == "the faces stand 9.0 mm apart."
    assert do == "Press the pieces together with bands or a clamp."
    monkeypatch.setattr(unusable, "resin_lifts", lambda closing: 0.1)
    assert apart(closing)[0].endswith("apart. The resin pushes them apart.")
    cause = SimpleNamespace(why="Nothing presses.", do="Put on bands.")
    assert apart(closing, [cause]) == (
        "nothing presses. The faces stand 9.0 mm apart.", "Put on bands.",
    )  # fmt: skip


def piece(middle, goes, turns=0, area=100.0):
    return SimpleNamespace(middle_mm=middle, goes=goes, turns=turns, area_mm2=area)


def cradle_piece(name, half=5.0, at=(0.0, 40.0)):
    x, y = at
    loop = polygon_loop([(x - half, y - half), (x + half, y - half), (x + half, y + half),
                         (x - half, y + half)])  # fmt: skip
    return SimpleNamespace(name=name, loop=loop)


def test_pieces_that_nothing_holds_are_told_with_where_they_go():
    held = piece((0, 0), None)
    assert say_unheld([held]) == "A piece of the block is held by nothing and will shift."
    one = piece((12.4, -30.0), (0.0, -1.0), 1)
    assert say_unheld([held, one]) == (
        "The piece round x = 12 mm, y = -30 mm is held by nothing and will shift downward and turn"
        " counter-clockwise."
    )
    turns = piece((1, 2), (0.0, 0.0), -1)
    assert say_unheld([turns]).endswith("will turn clockwise.")
    still = piece((1, 2), (0.0, 0.0), 0)
    assert say_unheld([still, one]).startswith("The piece round x = 1 mm, y = 2 mm is held by")
    assert "will shift; the piece round" in say_unheld([still, one])


def test_a_piece_of_a_cradle_is_known_by_its_area_and_place():
    """A hundred mm2 about (0, 40); a fiftieth more or less is the mesh's doing."""
    cradles = [cradle_piece("big", 20.0), cradle_piece("top board")]
    for area, known in ((100.0, True), (101.9, True), (98.1, True), (102.5, False), (97.5, False)):
        said = say_unheld([piece((0, 40), (1.0, 0.0), area=area)], cradles=cradles)
        assert ("The cradle piece 'top board' is held by nothing" in said) is known
    away = say_unheld([piece((0, 30), (1.0, 0.0))], cradles=cradles)
    assert away.startswith("The piece round")


def test_only_pieces_of_a_cradle_are_loose_where_no_rubber_is():
    def closing(*pieces):
        return SimpleNamespace(
            trust=SimpleNamespace(pieces=pieces),
            section=SimpleNamespace(cradles=[cradle_piece("top board")]),
        )

    board, rubber = piece((0, 40), (1.0, 0.0)), piece((0, 0), (1.0, 0.0), area=900.0)
    held = piece((0, 0), None, area=900.0)
    assert only_cradles(closing(board, held))
    assert not only_cradles(closing(board, rubber))
    assert not only_cradles(closing(held))


@pytest.mark.parametrize(
    ("degrees", "word"),
    [(0, "to the right"), (22, "to the right"), (23, "up and to the right"), (90, "upward"),
     (135, "up and to the left"), (180, "to the left"), (-135, "down and to the left"),
     (-90, "downward"), (-45, "down and to the right"), (-22, "to the right")],
)  # fmt: skip
def test_directions_are_named_by_eighths(degrees, word):
    angle = np.radians(degrees)
    assert direction_word((float(np.cos(angle)), float(np.sin(angle)))) == word


# parts of the head


@pytest.mark.parametrize(
    ("outcome", "is_large", "solved", "is_said"),
    [
        (None, False, Outcome.CONVERGED, False),
        (Outcome.NOT_SETTLED, False, Outcome.CONVERGED, True),
        (Outcome.CONVERGED, True, Outcome.CONVERGED, False),
        (Outcome.NOT_SETTLED, False, Outcome.STEP_LIMIT, False),
    ],
)
def test_an_answer_that_large_deformation_does_not_confirm_is_not_sure(
    outcome, is_large, solved, is_said
):
    how = SimpleNamespace(outcome=outcome, is_large=is_large, share=0.31)
    said = head_module._unconfirmed(SimpleNamespace(deformation=how, outcome=solved))
    assert bool(said) is is_said
    if is_said:
        assert said.startswith("Not sure: at large deformation the calculation reached only 31 % ")


@pytest.mark.parametrize(
    ("gap_mm", "kpa", "is_told"), [(0.01, 0.0, True), (0.009, 0.51, True), (0.009, 0.5, False)]
)
def test_other_states_are_told_from_a_hairline_or_a_twentieth_of_the_pressure_on(
    monkeypatch, gap_mm, kpa, is_told
):
    monkeypatch.setattr(head_module, "states_apart", lambda closing: (gap_mm, kpa))
    monkeypatch.setattr(head_module, "several_states", lambda closing: "several")
    lands = tuple(SimpleNamespace(pressure_kpa=np.array(each)) for each in ([1.0, 10.0], [4.0]))
    assert head_module._other_states(SimpleNamespace(lands=lands)) == "several" * is_told
