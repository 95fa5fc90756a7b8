"""Published values here are those of linear elasticity: `squeeze.close` keeps to it."""

import pytest
from pressed import Pressed

from squeeze.solve import close as linear_close


@pytest.fixture(scope="session")
def pressed() -> type[Pressed]:
    return Pressed


@pytest.fixture(autouse=True, scope="module")
def small_deformation():
    """Let `squeeze.close` keep to small deformation."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(linear_close.__kwdefaults__, "deformation", "small")
        yield
