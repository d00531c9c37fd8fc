"""How it comes out of the printer: in the window, inside the sheet, large enough, and black on white."""

from ctypes import byref, c_uint
from dataclasses import dataclass, replace

import pypdfium2
import pytest
from pypdfium2 import raw

from thenar.documents.letters import Contact, Measure, PersonalIdentity, Recipient, StaffIdentity
from thenar.documents.typeset import LETTER_POINTS, adjustment_letter_pdf, care_plan_pdf

MM = 25.4 / 72  # a point in millimetres
LONG_NAME = "Maximiliana Theodora Åsa-Şebnem Wiśniewska-Brzęczyszczykiewicz"


@dataclass(frozen=True)
class Glyph:
    """One printed character: where it is on the sheet [mm from top left], how large [pt], how dark."""

    text: str
    left: float
    right: float
    top: float
    bottom: float
    points: float
    grey: float


def glyphs(pdf: bytes) -> list[Glyph]:
    found: list[Glyph] = []
    for page in pypdfium2.PdfDocument(pdf):
        text, height = page.get_textpage(), page.get_height()
        for place in range(text.count_chars()):
            if raw.FPDFText_IsGenerated(text, place) or not text.get_text_range(place, 1).strip():
                continue
            left, bottom, right, top = text.get_charbox(place)
            found.append(
                Glyph(
                    text.get_text_range(place, 1),
                    left * MM,
                    right * MM,
                    (height - top) * MM,
                    (height - bottom) * MM,
                    _points(text, place),
                    _grey(text, place),
                )
            )
    return found


def _points(text: pypdfium2.PdfTextPage, place: int) -> float:
    matrix = raw.FS_MATRIX()
    assert raw.FPDFText_GetMatrix(text, place, byref(matrix))
    return raw.FPDFText_GetFontSize(text, place) * abs(matrix.d)


def _grey(text: pypdfium2.PdfTextPage, place: int) -> float:
    red, green, blue, alpha = c_uint(), c_uint(), c_uint(), c_uint()
    assert raw.FPDFText_GetFillColor(text, place, byref(red), byref(green), byref(blue), byref(alpha))
    return (0.2126 * red.value + 0.7152 * green.value + 0.0722 * blue.value) / 255


@pytest.fixture
def longest_letter(make_letter):
    return make_letter(
        worker=StaffIdentity(LONG_NAME, "204417"),
        recipient=Recipient(
            "Hannah Okonkwo", "Ward manager", ("Acute Medicine", "Harbour Building", "Quay Road", "Saltmere")
        ),
        measures=(Measure("Tasks that need gloves for more than 15 minutes are shared among the team."),) * 8,
        contact=Contact(
            "Occupational Health and Wellbeing, Saltmere Hospitals",
            "01632 960 114, extension 40021",
            "occupational.health.and.wellbeing@sal.example",
        ),
        reference="W" * 12,
        signed_by=LONG_NAME,
    )


def test_the_recipient_stands_in_the_window_however_the_sheet_slides(longest_letter):
    # BS 4264: on a 110 x 220 mm envelope the window is 35 x 90 mm, 20 mm from the left and 18 mm from the
    # bottom (from memory). The sheet, folded to 99 x 210 mm, can slide 11 mm down and 10 mm across, which
    # leaves 57 to 81 mm from its top and 20 to 100 mm from its left always in view.
    there = [
        glyph
        for glyph in glyphs(adjustment_letter_pdf(longest_letter))
        if 50 < glyph.top < 88 and glyph.left < 110
    ]
    assert "".join(glyph.text for glyph in there).startswith("HannahOkonkwoWardmanagerAcuteMedicine")
    assert "".join(glyph.text for glyph in there).endswith("Saltmere")
    assert min(glyph.top for glyph in there) >= 57
    assert max(glyph.bottom for glyph in there) <= 81
    assert min(glyph.left for glyph in there) >= 20
    assert max(glyph.right for glyph in there) <= 100


def test_nothing_runs_over_the_edge_of_the_sheet(longest_letter, make_plan):
    plan = make_plan(worker=PersonalIdentity(LONG_NAME, make_plan().made_on), contact=longest_letter.contact)
    for pdf in (
        adjustment_letter_pdf(longest_letter, demo=True),
        care_plan_pdf(plan, demo=True),
        care_plan_pdf(replace(plan, large_print=True), demo=True),
    ):
        for glyph in glyphs(pdf):
            assert glyph.left > 21
            assert glyph.right < 192.5  # the text ends 18 mm before the edge
            assert glyph.top > 15
            assert glyph.bottom < 290


def test_nothing_from_the_main_column_runs_into_the_margin_of_reasons(longest_letter, make_plan):
    for pdf in (adjustment_letter_pdf(longest_letter), care_plan_pdf(make_plan())):
        crossing = [glyph for glyph in glyphs(pdf) if glyph.left < 147.5 < glyph.right and glyph.top < 276]
        assert crossing == []


def test_large_print_has_nothing_under_16_points(make_plan):
    sizes = {
        round(glyph.points, 2) for glyph in glyphs(care_plan_pdf(make_plan(large_print=True), demo=True))
    }
    assert min(sizes) >= 16
    # The same measure sees the small type of an ordinary plan.
    assert min(round(glyph.points, 2) for glyph in glyphs(care_plan_pdf(make_plan()))) == 8


def test_a_short_letter_takes_the_largest_type_and_a_long_one_a_smaller(make_letter, longest_letter):
    def type_of_measures(letter) -> float:
        first = letter.measures[0].text.replace(" ", "")
        printed = glyphs(adjustment_letter_pdf(letter))
        place = "".join(glyph.text for glyph in printed).index(first)
        return round(printed[place].points, 2)

    assert type_of_measures(make_letter()) == float(LETTER_POINTS[0])
    assert float(LETTER_POINTS[-1]) <= type_of_measures(longest_letter) < float(LETTER_POINTS[0])


def test_all_text_is_dark_enough_for_a_black_and_white_printer(longest_letter, make_plan):
    for pdf in (adjustment_letter_pdf(longest_letter, demo=True), care_plan_pdf(make_plan(), demo=True)):
        assert max(glyph.grey for glyph in glyphs(pdf)) < 0.3


def test_the_sheet_is_a4(make_letter, make_plan):
    for pdf in (adjustment_letter_pdf(make_letter()), care_plan_pdf(make_plan())):
        for page in pypdfium2.PdfDocument(pdf):
            assert (round(page.get_width() * MM), round(page.get_height() * MM)) == (210, 297)
