"""Marks out and in as Web Annotations: nothing lost, nothing strange let in."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases.annotations import CONTEXT, annotation, mark_from

NUMBER = st.floats(0, 12000, allow_nan=False, width=32)
POINTS = {ShapeType.LINE: (2, 2), ShapeType.POLYLINE: (2, 9), ShapeType.POLYGON: (3, 9), ShapeType.FREEHAND: (3, 30)}


@st.composite
def marks(draw):
    kind = draw(st.sampled_from(sorted(POINTS)))
    least, most = POINTS[kind]
    points = draw(st.lists(st.tuples(NUMBER, NUMBER), min_size=least, max_size=most))
    readings = draw(
        st.lists(st.builds(Reading, st.just("length"), NUMBER, st.just("mm"), NUMBER, st.text()), max_size=2)
    )
    return Mark(
        draw(st.from_regex("[a-z0-9-]{1,20}", fullmatch=True)),
        draw(st.from_regex("[0-9a-f]{64}", fullmatch=True)),
        draw(st.sampled_from(Component)),
        draw(st.sampled_from(Category)),
        Shape.of(kind.value, points),
        tuple(readings),
        draw(st.text(max_size=30)),
        draw(st.text("abc 1", max_size=5)),
    )


@given(marks())
def test_a_mark_comes_back_as_it_left(mark):
    assert mark_from(json.loads(json.dumps(annotation(mark)))) == mark


def test_a_box_leaves_as_a_media_fragment():
    mark = Mark("m", "0" * 64, Component.WEBBING, Category.CUT, Shape.of("box", [[30, 45], [20, 20]]))
    data = annotation(mark)
    assert data["@context"] == CONTEXT
    # The form of Media Fragments URI 1.0, section 4.2.2 (spatial dimension): x, y, width, height.
    assert data["target"]["selector"]["value"] == "xywh=pixel:20,20,10,25"
    assert mark_from(data).shape.bounds() == mark.shape.bounds()


@pytest.mark.parametrize(
    "harm",
    [
        lambda d: d.pop("target"),
        lambda d: d.update(body=[]),
        lambda d: d["body"].__setitem__(0, {"purpose": "classifying", "value": "smudge"}),
        lambda d: d["target"].update(selector={"type": "SvgSelector", "value": "<svg"}),
        lambda d: d["target"].update(selector={"type": "SvgSelector", "value": "<!DOCTYPE x><svg><line/></svg>"}),
        lambda d: d["target"].update(selector={"type": "SvgSelector", "value": "<svg><circle r='1'/></svg>"}),
        lambda d: d["target"].update(selector={"type": "SvgSelector", "value": "<svg><polygon points='1,2 3'/></svg>"}),
        lambda d: d["target"].update(selector={"type": "FragmentSelector", "value": "t=10"}),
        lambda d: d["target"].update(selector={"type": "SvgSelector", "value": "<svg></svg>"}),
    ],
)
def test_an_annotation_of_another_form_is_refused(harm):
    data = annotation(Mark("m", "0" * 64, Component.ROPE, Category.CUT, Shape.of("line", [[1, 2], [3, 4]])))
    harm(data)
    with pytest.raises(BadInput):
        mark_from(data)
