"""What is done with the hand on the section itself."""

from __future__ import annotations


def test_a_cut_is_drawn_follows_the_outline_and_no_handle_covers_another(opened) -> None:
    page = opened()
    box = page.locator("#section").bounding_box()
    page.check("#draw-cut")
    scale = page.evaluate("document.querySelector('#section').getScreenCTM().a")
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(middle[0] - 66 * scale, middle[1] + 20 * scale)
    page.mouse.down()
    page.mouse.move(middle[0], middle[1] + 20 * scale, steps=4)
    page.mouse.move(middle[0] + 66 * scale, middle[1] + 20 * scale, steps=4)
    page.mouse.up()
    page.answered()
    cuts = page.kept()["cut"]
    assert [cut["name"] for cut in cuts][1:] == ["cut 2"]
    (x0, y0), (x1, y1) = cuts[1]["path_mm"]
    assert (x0 < -60, x1 > 60, y0 == y1, abs(y0 + 20) < 1.5) == (True, True, True, True)
    assert not page.is_checked("#draw-cut")
    page.click("#undo")
    page.fill("#field-block-width-mm", "100")
    assert page.kept()["cut"][0]["path_mm"] == [[-50, 33.33], [50, 33.33]]
    page.click("#undo")
    assert page.kept()["cut"][0]["path_mm"] == [[-60, 40], [60, 40]]
    page.fill(
        "#field-block-bevel-mm", "35"
    )  # the corners are cut off, and the cut's ends with them
    assert page.kept()["cut"][0]["path_mm"] == [[-45, 40], [45, 40]]
    ends = [page.locator("#section .handle.cut").nth(k).bounding_box() for k in (0, 1)]
    bevel = page.locator("#section .handle.bevel").bounding_box()
    assert all(abs(bevel["y"] - end["y"]) > 16 for end in ends), "the bevel's point lies on a cut"
    page.fill("#field-rubber-shore-a", "21")  # what follows is another step: the ends lie on flats
    page.fill("#field-block-bevel-mm", "10")
    assert page.kept()["cut"][0]["path_mm"] == [[-60, 40], [60, 40]]
    for _ in range(3):
        page.click("#undo")
    assert page.kept()["block"]["bevel_mm"] == 3
    page.fill("[aria-label='y of point 1'] >> nth=0", "0")
    page.fill("[aria-label='y of point 2'] >> nth=0", "0")
    page.answered()
    apart = page.evaluate(
        """() => { const handles = [...document.querySelectorAll('#section .handle')];
            const middles = handles.map((node) => {
              const { x, y, width, height } = node.querySelector('.grip').getBoundingClientRect();
              return [x + width / 2, y + height / 2, node.getAttribute('class')]; });
            return Math.min(...middles.flatMap(([x, y, kind], i) => middles.slice(i + 1)
              .filter((other) => kind.includes('side') || other[2].includes('side'))
              .map((other) => Math.hypot(x - other[0], y - other[1])))); }"""
    )
    assert apart > 16


def test_key_and_difference_stay_in_view_and_on_a_phone_the_verdict(opened) -> None:
    page = opened((1440, 900))
    page.settled()
    key = page.locator("#legend").bounding_box()
    assert key["y"] + key["height"] <= 900
    note = page.locator("#scale-note").bounding_box()
    assert note["y"] >= key["y"] + key["height"] - 1, "the key covers the note below it"
    page.click("#pin")
    page.fill("#field-block-bevel-mm", "35")
    page.settled()  # the words of the last answer are the longest
    for name in ("#legend", "#say", "#difference", "#swap", "#unpin"):
        box = page.locator(name).bounding_box()
        assert box["y"] + box["height"] <= 900, name
    phone = opened((390, 844))
    phone.evaluate(
        "document.querySelector('#field-block-bevel-mm').scrollIntoView({ block: 'end' })"
    )
    phone.drawn()
    box = phone.locator("#say").bounding_box()
    assert 0 <= box["y"] < 80
    field = phone.locator("#field-block-bevel-mm").bounding_box()
    picture = phone.locator("#section").bounding_box()
    assert field["y"] >= picture["y"] + picture["height"] - 1
