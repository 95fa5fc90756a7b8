"""Own earlier values, found by small deformation: `squeeze.close` keeps to it."""

import pytest

from squeeze.solve import close as linear_close


@pytest.fixture(autouse=True, scope="module")
def small_deformation():
    """Let `squeeze.close` keep to small deformation."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(linear_close.__kwdefaults__, "deformation", "small")
        yield
