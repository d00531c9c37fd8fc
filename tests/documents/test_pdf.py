"""The PDFs: tagged, complete, one page where promised, and safe from what is typed into them."""

import re
from concurrent.futures import ThreadPoolExecutor

import pytest

from thenar.documents.clinical_words import clinical_words_in
from thenar.documents.letters import (
    MOST_MEASURES,
    Contact,
    Measure,
    PlanLine,
    PlanSection,
    Recipient,
    StaffIdentity,
)
from thenar.documents.typeset import (
    AddressTooLong,
    LetterTooLong,
    NoShapeForCharacter,
    adjustment_letter_pdf,
    care_plan_pdf,
)
from thenar.knowledge import load

pytestmark = pytest.mark.slow

LONG_NAME = "Maximiliana Theodora Åsa-Şebnem Wiśniewska-Brzęczyszczykiewicz"
MARKUP = (
    '#read("/etc/passwd")',
    "$x$",
    "*bold*",
    "@ref",
    "<b>",
    "_it_",
    "// no",
    "\\ #panic()",
    "{{ SECRET_KEY }}",
)


@pytest.fixture(params=["letter", "plan", "large print"])
def any_pdf(request, make_letter, make_plan):
    if request.param == "letter":
        return adjustment_letter_pdf(make_letter(), demo=True)
    return care_plan_pdf(make_plan(large_print=request.param == "large print"), demo=True)


# ---- What every PDF has


def test_a_pdf_is_tagged_and_says_so(any_pdf, read_pdf):
    root = read_pdf(any_pdf).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is not None
    assert bool(root["/MarkInfo"]["/Marked"])
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en-GB"
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])
    # ISO 14289-1 section 5: the identifier that makes a file claim PDF/UA-1.
    assert re.search(rb"pdfuaid:part>\s*1\s*<", root["/Metadata"].get_data())


def test_headings_and_lists_are_tagged_as_such(any_pdf, read_pdf):
    tags = _tags(read_pdf(any_pdf).trailer["/Root"]["/StructTreeRoot"])
    assert tags.count("/H1") == 1
    assert {"/H2", "/L", "/LI", "/LBody"} <= set(tags)


def _tags(node) -> list[str]:
    found = []
    for child in _children(node):
        if "/S" in child:
            found.append(child["/S"])
        found += _tags(child)
    return found


def _children(node) -> list:
    kids = node.get("/K", [])
    kids = kids if isinstance(kids, list) else [kids]
    return [kid for kid in (one.get_object() for one in kids) if isinstance(kid, dict) and "/S" in kid]


def test_the_title_and_what_surrounds_it_hold_no_clinical_word(any_pdf, read_pdf):
    reader = read_pdf(any_pdf)
    told = " ".join(str(value) for value in reader.metadata.values())
    assert reader.metadata.title.startswith(("Adjustment to work, reference ", "Your plan, reference "))
    assert clinical_words_in(told) == ()
    assert "Wiśniewska" not in told  # a window title shows on a shared screen


def test_only_shipped_typefaces_are_used_and_all_are_inside_the_file(any_pdf, read_pdf):
    fonts = [
        font.get_object()["/DescendantFonts"][0].get_object()
        for page in read_pdf(any_pdf).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        assert "AtkinsonHyperlegibleNext" in font["/BaseFont"]
        assert {"/FontFile2", "/FontFile3"} & set(font["/FontDescriptor"])


def test_every_sheet_has_two_identifiers_the_reference_and_page_n_of_m(make_letter, make_plan, words_of):
    [sheet] = words_of(adjustment_letter_pdf(make_letter()))
    assert "Aleksandra Wiśniewska, staff number 204417" in sheet
    assert "Reference 7K2M-9QX4-TB" in sheet
    assert "Page 1 of 1" in sheet
    for large_print in (False, True):
        sheets = words_of(care_plan_pdf(make_plan(large_print=large_print)))
        assert len(sheets) > 1
        for number, sheet in enumerate(sheets, start=1):
            assert "Aleksandra Wiśniewska, born 2 March 1984" in sheet
            assert "Reference PLAN-4TZ8" in sheet
            assert f"Page {number} of {len(sheets)}" in sheet


def test_only_a_demo_says_that_saltmere_is_invented(make_letter, make_plan, words_of):
    for large_print in (False, True):
        assert all("Saltmere is invented" in sheet for sheet in words_of(care_plan_pdf(
            make_plan(large_print=large_print), demo=True)))  # fmt: skip
    assert "Saltmere is invented" in words_of(adjustment_letter_pdf(make_letter(), demo=True))[0]
    assert "invented" not in words_of(adjustment_letter_pdf(make_letter()))[0]


def test_the_same_content_gives_the_same_bytes(make_letter, make_plan):
    assert adjustment_letter_pdf(make_letter()) == adjustment_letter_pdf(make_letter())
    assert care_plan_pdf(make_plan()) == care_plan_pdf(make_plan())


def test_letters_set_at_the_same_time_do_not_mix(make_letter):
    letters = [make_letter(reference=f"REF-{number}") for number in range(24)]
    alone = [adjustment_letter_pdf(letter) for letter in letters]
    with ThreadPoolExecutor(6) as pool:
        assert list(pool.map(adjustment_letter_pdf, letters)) == alone


# ---- What is typed is printed, never obeyed


@pytest.mark.parametrize("typed", MARKUP)
def test_markup_typed_into_a_letter_prints_as_it_was_typed(typed, make_letter, words_of):
    letter = make_letter(
        worker=StaffIdentity(f"Charlie {typed}", "204417"),
        measures=(Measure(f"Measure {typed}"),),
        recipient=Recipient(f"Hannah {typed}", "Ward manager", (f"Road {typed}",)),
        signed_by=f"Alice {typed}",
    )
    [sheet] = words_of(adjustment_letter_pdf(letter))
    for before in ("Charlie", "Measure", "Hannah", "Road", "Alice"):
        assert f"{before} {typed}" in sheet


@pytest.mark.parametrize("typed", MARKUP)
@pytest.mark.parametrize("large_print", [False, True])
def test_markup_typed_into_a_plan_prints_as_it_was_typed(typed, large_print, make_plan, words_of):
    section = PlanSection(f"Heading {typed}", (PlanLine(f"Line {typed}", f"By {typed}"),))
    plan = make_plan(sections=(section,), red_flags=(f"Flag {typed}",), large_print=large_print)
    told = " ".join(words_of(care_plan_pdf(plan)))
    for before in ("Heading", "Line", "By", "Flag"):
        assert f"{before} {typed}" in told


@pytest.mark.parametrize(
    "name", ["Łukasz Żółć", "Ayşe Güneş-Öztürk", "Åse Ødegård", "Ελένη Παππά", "Олена Ґудзь"]
)
def test_a_name_prints_in_its_own_letters(name, make_letter, words_of):
    [sheet] = words_of(adjustment_letter_pdf(make_letter(worker=StaffIdentity(name, "204417"))))
    assert f"{name}, staff number" in sheet


def test_a_letter_without_a_shape_is_refused_without_telling_whose_it_is(make_letter):
    with pytest.raises(NoShapeForCharacter) as refusal:
        adjustment_letter_pdf(make_letter(worker=StaffIdentity("李 Charlie", "204417")))
    assert "李" not in str(refusal.value)
    assert refusal.value.__cause__ is None
    assert refusal.value.__suppress_context__


# ---- The manager's letter


def test_the_letter_says_what_when_and_whom_to_call(make_letter, words_of):
    [sheet] = words_of(adjustment_letter_pdf(make_letter()))
    for said in (
        "No dishwashing, instrument washing or cleaning tasks.",
        "1 December 2026",
        "12 January 2027",
        "5 January 2027",
        "01632 960 114",
        "occupational.health@saltmere.example",
        "This letter holds no health information, by design.",
        "Without the person’s consent we can’t tell you why",
        "In confidence",
    ):
        assert said in sheet


@pytest.mark.parametrize("large_print", [False, True])
def test_letter_and_plan_are_headed_by_the_organisation_where_it_is_named(
    large_print, make_letter, make_plan, words_of, read_pdf
):
    contact = Contact("Occupational health", "4000", "oh@saltmere.example", "Saltmere Trust")
    letter = adjustment_letter_pdf(make_letter(contact=contact))
    assert words_of(letter)[0].startswith("Saltmere Trust Occupational health Hannah Okonkwo")
    plan = care_plan_pdf(make_plan(contact=contact, large_print=large_print))
    assert words_of(plan)[0].startswith("Occupational health, Saltmere Trust Your plan")
    for pdf in (letter, plan):
        assert read_pdf(pdf).metadata.author == "Occupational health, Saltmere Trust"


def test_a_letter_without_an_end_says_that_it_lasts_until_the_next_letter(make_letter, words_of):
    [sheet] = words_of(adjustment_letter_pdf(make_letter(end_on=None)))
    assert "from the first day until we write to you again" in sheet
    assert "None" not in sheet


def test_nothing_in_the_whole_letter_is_on_the_warning_list(make_letter, words_of):
    measures = [Measure(line.says) for line in load().lines_about("adjustment.measure")]
    for first in range(0, len(measures), MOST_MEASURES):
        some = tuple(measures[first : first + MOST_MEASURES])
        [sheet] = words_of(adjustment_letter_pdf(make_letter(measures=some)))
        assert clinical_words_in(sheet) == ()


def test_the_date_of_birth_is_nowhere_in_the_letter_file(make_letter, read_pdf):
    pdf = adjustment_letter_pdf(make_letter())
    assert b"1984" not in pdf
    assert "born" not in read_pdf(pdf).pages[0].extract_text().casefold()


def test_the_longest_realistic_letter_is_still_one_page(make_letter, read_pdf):
    # Eight measures of two lines each, a name over two lines, a full address and a long service name.
    measure = (
        "Tasks that need gloves for more than 15 minutes at a time are shared among the team on every shift."
    )
    letter = make_letter(
        worker=StaffIdentity(LONG_NAME, "204417"),
        recipient=Recipient(
            "Wilhelmina Okonkwo-Fitzgerald", "Matron for acute medicine", ("One", "Two", "Three", "Four")
        ),
        area="Acute Medical Unit and Same Day Emergency Care, Harbour Building",
        measures=(Measure(measure),) * MOST_MEASURES,
        contact=Contact(
            "Occupational Health and Wellbeing, Saltmere Hospitals",
            "01632 960 114, extension 40021",
            "occupational.health@saltmere.example",
        ),
        signed_by=LONG_NAME,
        signed_position="Specialist community public health nurse",
    )
    assert len(read_pdf(adjustment_letter_pdf(letter)).pages) == 1


def test_a_letter_that_would_need_a_second_page_is_refused(make_letter):
    wordy = Measure(" ".join(["Tasks"] * 40))
    with pytest.raises(LetterTooLong, match="does not fit on one page"):
        adjustment_letter_pdf(make_letter(measures=(wordy,) * MOST_MEASURES))


def test_an_address_too_tall_for_the_window_is_refused(make_letter):
    recipient = Recipient(LONG_NAME, "Matron", ("One", "Two", "Three", "Four"))
    with pytest.raises(AddressTooLong, match="take too many lines"):
        adjustment_letter_pdf(make_letter(recipient=recipient))


# ---- The worker's plan


@pytest.mark.parametrize("large_print", [False, True])
def test_the_plan_prints_every_line_every_source_and_every_red_flag(large_print, make_plan, words_of):
    plan = make_plan(large_print=large_print)
    told = " ".join(words_of(care_plan_pdf(plan)))
    for section in plan.sections:
        for line in section.lines:
            assert line.text in told
            assert line.source_label in told
    for said in (
        *plan.red_flags,
        "dition 2026.1",
        "16 December 2026",
    ):
        assert said in told


@pytest.mark.parametrize("large_print", [False, True])
def test_the_red_flags_stand_on_the_first_page(large_print, make_plan, words_of):
    first = words_of(care_plan_pdf(make_plan(large_print=large_print)))[0]
    assert "When not to wait" in first
    assert "In an emergency, don’t wait for us." in first
    assert all(flag in first for flag in make_plan().red_flags)


def test_large_print_names_each_source_once_with_the_numbers_of_its_lines(make_plan, words_of):
    sections = (
        PlanSection("A", (PlanLine("One.", "First source"), PlanLine("Two.", "Second source"))),
        PlanSection("B", (PlanLine("Three.", "First source"),)),
    )
    told = " ".join(words_of(care_plan_pdf(make_plan(sections=sections, large_print=True))))
    assert "1, 3 First source" in told
    assert "2 Second source" in told
    assert told.count("First source") == 1


def test_a_plan_without_a_next_look_says_that_no_day_is_set(make_plan, words_of):
    for large_print in (False, True):
        plan = make_plan(next_look_on=None, large_print=large_print)
        assert "no day set yet" in words_of(care_plan_pdf(plan))[0]
