"""From the models to the block, on the page: blocks that do, with what each costs."""

from __future__ import annotations

from typing import Any

from squeeze.design import design_blocks
from squeeze.mold.progress import Progress
from squeeze.page.answers.closed import mold_in
from squeeze.show.export import finite_or_none


def design(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return blocks about the cavities of the mold in `asked`, as `squeeze design` finds them.

    It is searched in this process alone: whoever waits can stop it, and the section goes on.
    """
    return finite_or_none(design_blocks(mold_in(asked), workers=0, progress=progress).as_data())
