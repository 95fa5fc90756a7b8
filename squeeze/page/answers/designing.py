"""From the models to the block, on the page: blocks that do, with what each costs."""

from __future__ import annotations

from typing import Any

from squeeze.design import design_blocks
from squeeze.mold.progress import Progress
from squeeze.page.answers.closed import mold_in
from squeeze.show.export import finite_or_none
from squeeze.verdict.words import in_inches


def design(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return blocks about the cavities of the mold in `asked`, as `squeeze design` finds them.

    It is searched in this process alone: whoever waits can stop it, and the section goes on.
    """
    found = design_blocks(mold_in(asked), workers=0, progress=progress).as_data()
    return finite_or_none(_in_inches(found) if asked.get("inches") is True else found)


def _in_inches(part: Any) -> Any:
    """Return what was found with all its sentences in inches; molds are data and stay."""
    if isinstance(part, dict):
        return {key: each if key == "mold" else _in_inches(each) for key, each in part.items()}
    if isinstance(part, list | tuple):
        return [_in_inches(each) for each in part]
    return in_inches(part) if isinstance(part, str) else part
