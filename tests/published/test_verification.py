"""docs/verification.md holds the checks of this folder: all of them, in order, and nothing else."""

import verification


def test_the_page_holds_every_check_and_nothing_else():
    checks = [check for name in verification.modules() for check in verification.checks_of(name)]
    rows = verification.rows_of(verification.PAGE.read_text("utf-8"))
    assert [row[:4] for row in rows.values()] == [check.told for check in checks], (
        verification.AGAIN
    )
    assert len(rows) == len(checks)  # no two rows of one name
    assert len(rows) >= 25


def test_every_difference_is_that_of_its_figures():
    for row in verification.rows_of(verification.PAGE.read_text("utf-8")).values():
        published, computed = float(row[3]), float(row[4])
        if published:
            off = 100 * (computed - published) / abs(published)
            digits = 100 * (abs(computed) + abs(published)) / abs(published) * 5e-5 + 0.006
            scaled = abs(float(row[5].split()[0])) <= abs(off) + digits
            assert scaled, row
