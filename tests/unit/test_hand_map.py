"""The hand map: its regions, their words, and the drawing that pages and documents share."""

import re
import tomllib
from importlib.resources import files
from xml.etree import ElementTree

import pytest
from django.template import Context, Engine

from thenar.documents.hand_map import draw_hands, hand_map_svg
from thenar.skin.hand_map import (
    AREAS,
    REGIONS,
    Part,
    UnknownRegion,
    areas_marked,
    describe,
    read_marks,
    region,
    regions_of,
)

SVG = "{http://www.w3.org/2000/svg}"
STYLE = files("thenar.screens").joinpath("static/thenar/hand-map.css").read_text(encoding="utf-8")
PATHS = files("thenar.documents").joinpath("hand_paths.toml").read_text(encoding="utf-8")


def test_every_region_has_an_id_of_its_own():
    assert len({one.id for one in REGIONS}) == len(REGIONS)


def test_each_side_of_each_hand_has_five_tips_five_fingers_four_webs_a_middle_and_a_wrist():
    # 5 + 5 + 4 + 1 + 1 = 16 parts on each of 2 sides of 2 hands = 64
    assert len(REGIONS) == 64
    for hand in ("left", "right"):
        for side, middle in (("palm", Part.PALM), ("back", Part.BACK)):
            parts = [one.part for one in regions_of(hand, side)]
            counts = [parts.count(p) for p in (Part.TIP, Part.FINGER, Part.WEB, middle, Part.WRIST)]
            assert counts == [5, 5, 4, 1, 1]


def test_an_id_says_hand_side_and_shape():
    for one in REGIONS:
        assert one.id == f"{one.hand}-{one.side}-{one.shape}"
        assert region(one.id) is one


def test_both_hands_have_the_same_parts():
    for side in ("palm", "back"):
        left, right = regions_of("left", side), regions_of("right", side)
        assert [(a.shape, a.part, a.finger, a.area, a.label) for a in left] == [
            (b.shape, b.part, b.finger, b.area, b.label) for b in right
        ]


def test_the_regions_cover_all_five_scored_areas():
    assert areas_marked(REGIONS) == AREAS == ("fingertips", "fingers", "palms", "backs", "wrists")


def test_webs_count_towards_the_fingers():
    webs = [one for one in REGIONS if one.part is Part.WEB]
    assert {one.area for one in webs} == {"fingers"}


@pytest.mark.parametrize(
    ("region_id", "area"),
    [
        ("left-palm-thumb-tip", "fingertips"),
        ("right-back-little-finger", "fingers"),
        ("right-palm-hand", "palms"),
        ("left-back-hand", "backs"),
        ("left-palm-wrist", "wrists"),
        ("right-back-wrist", "wrists"),
    ],
)
def test_a_mark_counts_towards_the_area_it_lies_in(region_id, area):
    assert areas_marked(read_marks([region_id])) == (area,)


def test_marks_read_as_a_plain_sentence():
    marks = read_marks(["left-back-wrist", "right-palm-web-index-middle", "right-palm-index-tip"])
    assert describe(marks) == (
        "Left back: wrist; right palm side: index fingertip, web between index and middle."
    )


def test_no_marks_read_as_nothing_marked():
    assert describe(read_marks([])) == "Nothing is marked."


def test_a_mark_given_twice_is_one_mark():
    assert len(read_marks(["left-back-hand", "left-back-hand"])) == 1


def test_the_order_in_which_marks_come_does_not_matter():
    ids = ["right-palm-wrist", "left-back-hand", "left-palm-ring-tip"]
    assert read_marks(ids) == read_marks(reversed(ids))


@pytest.mark.parametrize("wrong", ["", "left-palm", "left-palm-index", "up-palm-wrist", "LEFT-PALM-WRIST"])
def test_an_unknown_region_is_refused_and_named(wrong):
    with pytest.raises(UnknownRegion) as caught:
        read_marks(["left-palm-wrist", wrong])
    assert repr(wrong) in caught.value.what
    assert caught.value.todo


def test_every_region_has_a_closed_shape_and_no_shape_is_left_over():
    paths = tomllib.loads(PATHS)
    for side in ("palm", "back"):
        shapes = paths[side]["regions"]
        assert set(shapes) == {one.shape for one in regions_of("left", side)}
        assert all(d.startswith("M") and d.endswith("z") and d.count("M") == 1 for d in shapes.values())


def test_the_regions_tile_the_hand():
    # Every inner border is walked once by each neighbour in opposite directions, so the signed areas of the
    # regions add up to the area inside the outer edge. The outer edge is what remains of all pieces after
    # those that cancel: here taken from the path data, start and end point of each piece.
    for side in ("palm", "back"):
        pieces = [p for d in tomllib.loads(PATHS)[side]["regions"].values() for p in _pieces(d)]
        ends = {(start, end) for start, end in pieces}
        assert len(ends) == len(pieces)
        outer = [(start, end) for start, end in pieces if (end, start) not in ends]
        follows = dict(outer)
        assert len(follows) == len(outer)
        here, seen = outer[0][0], 0
        while seen == 0 or here != outer[0][0]:
            here, seen = follows[here], seen + 1
        assert seen == len(outer)  # one single ring, so no gap inside


def _pieces(path: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", path)]
    here, rest, found = (numbers[0], numbers[1]), numbers[2:], []
    assert len(rest) % 6 == 0
    for k in range(0, len(rest), 6):
        there = (round(here[0] + rest[k + 4], 1), round(here[1] + rest[k + 5], 1))
        found.append((here, there))
        here = there
    return found


def test_the_thumb_is_where_ones_own_thumb_is():
    # Held out in front: the backs have their thumbs towards each other, the palms away from each other.
    mirrored = {drawing.key: bool(drawing.transform) for drawing in draw_hands([])}
    assert mirrored == {"left-back": True, "right-back": False, "left-palm": False, "right-palm": True}
    for side in ("palm", "back"):  # the masters themselves have the thumb at the left of the little finger
        shapes = tomllib.loads(PATHS)[side]["regions"]
        assert _pieces(shapes["thumb-tip"])[0][0][0] < _pieces(shapes["little-tip"])[0][0][0]


def test_the_picture_has_a_path_for_each_region_and_marks_only_the_marked():
    marked = {"left-palm-index-tip", "right-back-hand"}
    tree = ElementTree.fromstring(hand_map_svg(frozenset(marked)))
    shapes = [path for path in tree.iter(f"{SVG}path") if path.get("data-region")]
    assert {path.get("data-region") for path in shapes} == {one.id for one in REGIONS}
    assert len(shapes) == len(REGIONS)
    assert {path.get("data-region") for path in shapes if path.get("fill") != "none"} == marked
    assert {path.get("data-region") for path in shapes if path.get("data-marked") == "yes"} == marked


def test_marks_are_hatched_so_that_they_show_without_colour():
    tree = ElementTree.fromstring(hand_map_svg(frozenset({"left-palm-index-tip", "left-palm-wrist"})))
    (clip,) = tree.iter(f"{SVG}clipPath")
    (left_palm,) = (hand for hand in draw_hands([]) if hand.key == "left-palm")
    paths = {spot.region.id: spot.path for spot in left_palm.spots}
    assert [path.get("d") for path in clip] == [paths["left-palm-index-tip"], paths["left-palm-wrist"]]
    hatched = [group for group in tree.iter(f"{SVG}g") if group.get("clip-path")]
    assert [group.get("clip-path") for group in hatched] == [f"url(#{clip.get('id')})"]


def test_the_picture_stands_alone_and_says_its_marks_in_words():
    text = hand_map_svg(frozenset({"left-palm-wrist"}))
    tree = ElementTree.fromstring(text)
    assert tree.findtext(f"{SVG}desc") == "Left palm side: wrist."
    assert "style" not in text
    assert "class=" not in text
    assert "var(" not in text


def test_the_picture_refuses_an_unknown_region():
    with pytest.raises(UnknownRegion):
        hand_map_svg(frozenset({"left-palm-elbow"}))


def test_the_style_sheet_fills_every_region_when_its_box_is_ticked():
    for one in REGIONS:
        assert f'[value="{one.id}"]:checked) [data-region="{one.id}"]' in STYLE


def _page(**context: object) -> str:
    engine = Engine(
        dirs=[str(files("thenar.screens").joinpath("templates"))],
        libraries={"hand_map": "thenar.screens.templatetags.hand_map"},
    )
    source = "{% load hand_map %}{% hand_map marked=marked mode=mode name='places' uid='one' fold=fold %}"
    return engine.from_string(source).render(Context({"fold": False, **context}))


@pytest.mark.parametrize("fold", [False, True])
def test_choosing_offers_a_named_check_box_for_every_region_and_ticks_the_marked(fold):
    page = _page(marked={"left-back-wrist"}, mode="choose", fold=fold)
    boxes = re.findall(
        r'<input type="checkbox" name="places" value="([^"]+)" id="one-([^"]+)"( checked)?>', page
    )
    assert [value for value, _, _ in boxes] == [one.id for one in REGIONS]
    assert all(value == own for value, own, _ in boxes)
    assert [value for value, _, ticked in boxes if ticked] == ["left-back-wrist"]


def test_every_shape_lies_in_a_label_of_its_own_check_box():
    page = _page(marked=(), mode="choose")
    assert re.findall(r'for="one-([^"]+)" data-region="([^"]+)"', page) == [(r.id, r.id) for r in REGIONS]


def test_showing_draws_the_marks_and_says_them_in_words():
    page = _page(marked=["right-palm-ring-tip"], mode="show")
    assert re.findall(r'data-region="([^"]+)"', page) == ["right-palm-ring-tip"]
    assert page.count('role="img"') == 4
    assert "Marked: ring fingertip." in page
    assert "Right palm side: ring fingertip." in page
    assert "checkbox" not in page


@pytest.mark.parametrize("mode", ["show", "choose"])
def test_the_page_keeps_to_the_content_security_policy_and_uses_each_id_once(mode):
    page = _page(marked=["left-palm-hand"], mode=mode)
    assert not re.search(r"<script|<style|\sstyle=|\son\w+=", page)
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    for target in re.findall(r'(?:href="#|url\(#|for=")([^")]+)', page):
        assert target in ids


def test_an_unticked_part_is_hidden_whole_so_that_a_printed_page_never_shows_it_as_marked():
    # Chromium's PDF output ignores `fill-opacity: 0` on a pattern fill and prints every part as marked.
    rule = re.search(r"\.hand-map__spot path \{([^}]*)\}", STYLE)
    assert rule
    assert re.search(r"^\s*opacity: 0;", rule.group(1), re.MULTILINE)
