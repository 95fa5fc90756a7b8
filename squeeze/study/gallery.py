"""The studies that come with the program: where they are, and a copy to change."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
ENDINGS = (".toml", ".csv", ".md", ".png")
"""What belongs to a study; stores and pictures of one's own do not."""


def shipped(name: str) -> Path:
    """Return a folder that comes with the program, such as ``studies``.

    An installed wheel holds it in ``squeeze/shipped``; in a checkout it stands beside the package
    or under ``docs``.

    Raises
    ------
    FileNotFoundError
        When there is none of that name.
    """
    top = PACKAGE.parent
    for place in (PACKAGE / "shipped" / name, top / name, top / "docs" / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"no folder {name} came with this installation")


def gallery() -> dict[str, Path]:
    """Return the folder of each study and story of the gallery by its name.

    Examples
    --------
    >>> "outlines" in gallery()
    True
    """
    folders = sorted(path.parent for path in shipped("studies").glob("*/*.toml"))
    return {folder.name: folder for folder in folders}


def files_of(folder: Path) -> list[Path]:
    """Return the files of a study that a copy needs, by name.

    Examples
    --------
    >>> [path.name for path in files_of(gallery()["wide"])]
    ['README.md', 'wide-beveled.toml', 'wide-round.toml', 'wide.toml']
    """
    return sorted(path for path in folder.iterdir() if path.suffix in ENDINGS)
