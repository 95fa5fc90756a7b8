"""What the table [design] takes, and a file without a block."""

import pytest

from squeeze.design.models.read import has_block, load_models, models_mold
from squeeze.mold import BadInput

MODELS = """
length_mm = 90

[rubber]
shore_a = 25

[[cavity]]
name = "left"
shape = "round"
diameter_mm = 18
centre_mm = [-15, 0]

[[band]]
stock = "64"
count = 6
"""


def written(tmp_path, more=""):
    path = tmp_path / "models.toml"
    path.write_text(MODELS + more, encoding="utf-8")
    return path


def test_a_file_may_leave_its_block_out(tmp_path):
    mold = load_models(written(tmp_path))
    assert not has_block(mold)
    assert mold.cavity[0].name == "left"


def test_a_metre_wide_block_is_the_files_own():
    """What stands in for a missing block is one that no file gives."""
    data = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "round", "diameter_mm": 1000},
        "cavity": [{"shape": "round", "diameter_mm": 20}],
    }
    assert has_block(models_mold(data))
    assert not has_block(models_mold({key: data[key] for key in data if key != "block"}))


def test_a_file_with_a_block_keeps_it():
    assert has_block(load_models("studies/barrels/barrels.toml"))


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ('outlines = ["oblong"]', '"oblong" is not known; allowed are round, square, rectangle'),
        ("outlines = []", "give a list of round, square"),
        ('outlines = ["round", "round"]', "name each once"),
        ("least_wall_mm = 0.2", "0.2 mm is out of range; allowed is a number from 1 to 200 mm"),
        ("least_margin = 1", "allowed is a number from 2 to 50"),
        ("designs = 9", "allowed is a number from 3 to 6"),
        ('band_stock = ["65"]', '"65" is not known'),
        ('cut = "given"', "needs a cut"),
        ('arrange = "free"\ncut = "given"', "models take their cut along"),
        ('cradle = false\ncradle_material = "MDF"', "together with cradle = false"),
        ("wall_mm = 3", "wall_mm"),
    ],
)
def test_a_wrong_wish_is_answered_with_its_line(tmp_path, wish, said):
    path = written(tmp_path, f"\n[design]\n{wish}\n")
    with pytest.raises(BadInput) as told:
        load_models(path)
    (line,) = str(told.value).splitlines()[:1]
    assert said in str(told.value)
    assert "models.toml:" in line


def test_without_models_there_is_nothing_to_design(tmp_path):
    path = tmp_path / "none.toml"
    path.write_text("length_mm = 90\n[rubber]\nshore_a = 25\n", encoding="utf-8")
    with pytest.raises(BadInput, match="nothing to pour a block about"):
        load_models(path)


def test_sizes_may_be_numbers():
    mold = models_mold(
        {
            "length_mm": 90,
            "rubber": {"shore_a": 25},
            "cavity": [{"shape": "round", "diameter_mm": 9}],
            "design": {"band_stock": [64, "84"]},
        }
    )
    assert mold.design.band_stock == ("64", "84")
