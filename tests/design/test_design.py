"""The search as a whole: the same answer each time, resumed where it stopped."""

from dataclasses import asdict, replace

import pytest
from typer.testing import CliRunner

import squeeze
from squeeze import cli
from squeeze.design import design_blocks, jobs, load_models
from squeeze.design.answer import DesignFigures
from squeeze.design.certified.certify import certify
from squeeze.design.search import search
from squeeze.mold.tables.design import DesignTable
from squeeze.study import MemoryStore

EGG = {
    "title": "egg",
    "length_mm": 90,
    "rubber": {"shore_a": 30},
    "block": {"shape": "rectangle", "width_mm": 90, "height_mm": 50},
    "cavity": [{"name": "egg", "shape": "oval", "width_mm": 44, "height_mm": 30}],
    "cut": [{"name": "through", "path_mm": [[-45, 0], [45, 0]]}],
    "band": [{"stock": "64", "count": 4}],
    "resin": {"head_mm": 40},
}
ROUND = {"outlines": ["round"], "cradle": False}
FIGURES = DesignFigures(
    0.0, None, 12, 4, 3.0, 0.0, 0.05, 0.01, "Clean", 12, 12, 12, 3.2, 10.0, 90.0, 5.0, False
)


@pytest.fixture
def egg():
    return squeeze.mold_of(EGG)


@pytest.fixture(autouse=True)
def _a_few_blocks(monkeypatch):
    """Let a search compute ten blocks of a kind: these tests ask how it goes, not how far."""
    monkeypatch.setattr(search, "FOR_EACH", 5)


@pytest.fixture
def known(monkeypatch):
    """Stand made-up figures in for certificates: these tests are about the search."""
    calls = []

    def made_up(mold, wishes):
        calls.append(mold)
        bands = sum(band.strands for band in mold.band)
        wide = mold.block.diameter_mm or mold.block.width_mm
        return replace(FIGURES, rubber_g=wide**2, bands=bands, margin=2.0 + bands)

    monkeypatch.setattr(jobs, "certify", made_up)
    return calls


def told(answer):
    return [(each.name, each.say, each.figures, each.mold) for each in answer.designs]


@pytest.mark.slow
def test_the_same_file_gives_the_same_blocks(egg, known):
    one, two = (design_blocks(egg, ROUND, workers=0) for _ in range(2))
    assert told(one) == told(two)
    assert one.designs
    assert one.tried > 0
    assert one.is_complete
    assert {each.mold.block.shape for each in one.designs} == {"round"}
    assert "We would pour this one" in one.designs[0].say


@pytest.mark.slow
def test_a_search_that_was_stopped_goes_on_where_it_was(egg, known):
    store = MemoryStore()

    def stop(what, share=None):
        if "2 blocks computed in full" in what:
            raise KeyboardInterrupt

    first = design_blocks(egg, ROUND, workers=0, store=store, progress=stop)
    assert not first.is_complete
    assert first.designs, "what was computed in full is named"
    calls = len(known)
    again = design_blocks(egg, ROUND, workers=0, store=store)
    resumed = len(known) - calls
    fresh = design_blocks(egg, ROUND, workers=0)
    assert told(again) == told(fresh)
    assert calls > 0
    assert resumed == len(known) - calls - resumed - calls, "nothing is computed twice"


@pytest.mark.slow
def test_what_fits_no_pot_is_refused_with_the_bore_that_would_do(egg, known):
    small = egg.model_copy(
        update={"pot": squeeze.mold_of(EGG | {"pot": {"bore_mm": 50, "depth_mm": 200}}).pot}
    )
    answer = design_blocks(small, ROUND, workers=0)
    assert answer.designs == ()
    assert answer.refusal.limit == "pot"
    bore = float(answer.refusal.change.split()[3])
    wider = squeeze.mold_of(EGG | {"pot": {"bore_mm": bore, "depth_mm": 200}, "design": ROUND})
    found = design_blocks(wider, workers=0)
    assert found.designs
    assert answer.refusal.say == "No block that seals goes into a bore of 50 mm."


def test_the_command_leaves_with_words_when_a_wish_is_wrong(tmp_path):
    path = tmp_path / "egg.toml"
    path.write_text(squeeze.mold.dump(squeeze.mold_of(EGG)) + "\n[design]\ndesigns = 12\n")
    done = CliRunner().invoke(cli.app, ["design", str(path)])
    assert done.exit_code == 2
    assert "allowed is a number from 3 to 6" in done.output
    assert not (tmp_path / "egg-design").exists()


@pytest.mark.slow(minutes=True)
def test_on_the_barrels_no_block_is_worse_than_a_file_in_everything(monkeypatch):
    monkeypatch.undo()  # the whole search
    answer = design_blocks(load_models("studies/barrels/barrels.toml"))
    assert 3 <= len(answer.designs) <= 6
    files = ("barrels", "barrels-beveled", "barrels-round")
    molds = [squeeze.load(f"studies/barrels/{name}.toml") for name in files]
    for other in (certify(mold, DesignTable()) for mold in molds):
        for each in answer.designs:
            pairs = zip(each.figures.costs(), other.costs(), strict=True)
            assert any(own < theirs for own, theirs in pairs), (each.name, asdict(other))


@pytest.mark.slow
def test_a_certificate_agrees_with_the_verdict_of_the_same_file():
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    figures = certify(mold, DesignTable())
    block = squeeze.Block(mold)
    closing = block.close(deformation="auto")
    varied = squeeze.uncertainty(block, closing)
    assert figures.grade == squeeze.judge(closing, mold=mold).grade
    assert figures.seals_in == varied.seals_in
    assert figures.margin <= varied.range_of("margin").low + 1e-9
    assert figures.wall_mm == pytest.approx(8.1, abs=0.2)
