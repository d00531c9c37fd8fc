"""The warning list finds what could tell a manager why, and lets the shipped measures pass."""

import unicodedata
from collections import Counter

import pytest

from thenar.documents.clinical_words import clinical_words_in, clinical_words_in_name, word_list
from thenar.knowledge import KnownAs, load


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("No wet work because of her eczema.", ("eczema",)),
        ("CONTACT DERMATITIS, both hands", ("DERMATITIS", "hands")),
        ("Patch-test next week", ("Patch-test",)),
        ("patch  tests are booked", ("patch  tests",)),
        ("Avoid latex and thiurams", ("latex", "thiurams")),
        ("while on prednisolone", ("prednisolone",)),
        ("eczéma", ("eczema",)),
        ("ec\u00adzema", ("eczema",)),
        ("ecze\u200bma", ("eczema",)),
        ("Itchy. Itchy!", ("Itchy",)),
        ("allergic to nickel", ("allergic", "nickel")),
        ("Kein Nassbereich, Hautekzem", ("Hautekzem",)),
        ("wegen Kontaktdermatitis und Latexallergie", ("Kontaktdermatitis", "Latexallergie")),
        ("rissige, gerötete Hände", ("rissige", "gerotete", "Hande")),
        ("rissige, geroetete Haende", ("rissige", "geroetete", "Haende")),
        ("bis der Hautausschlag abgeheilt ist", ("Hautausschlag", "abgeheilt")),
        ("war beim Hautarzt, nimmt Kortison", ("Hautarzt", "Kortison")),
        ("eczéma de contact, démangeaisons aux mains", ("eczema", "demangeaisons", "aux mains")),
        ("dermite et crevasses des doigts", ("dermite", "crevasses", "doigts")),
        ("sous traitement, peau gercée", ("sous traitement", "peau")),
    ],
)
def test_a_word_that_could_tell_why_is_found(text, found):
    assert clinical_words_in(text) == found


@pytest.mark.parametrize(
    "text",
    [
        "Handover and handwritten records only.",  # not the body
        "No drug rounds and no wound dressings this month.",  # tasks of a ward
        "Works in the outpatient department under the infection control rules.",
        "Scarborough ward, Painter's Lane",  # words that only begin alike
        # German and French: tasks of a ward, and words that only look alike
        "Händehygiene und Händedesinfektion wie üblich; keine Einsätze auf der Infektionsstation.",
        "Wundversorgung und Schmerztherapie übernehmen Kollegen; Krankenpflege im Krankenhaus bleibt.",
        "Das ist ausschlaggebend für den Handel und die Handhabung.",
        "Lavage des mains comme d'habitude ; soins de plaies et traitement des déchets par d'autres.",
        "En haut, au service des maladies infectieuses, dans l'enceinte de l'hôpital, par la main.",
        "Maintenance of the mains, in the main building; Mrs Hautmann stands in.",
        "",
    ],
)
def test_words_of_everyday_tasks_raise_no_alarm(text):
    assert clinical_words_in(text) == ()


@pytest.mark.parametrize(
    "name",
    ["Saltmere hand cream 1", "Skin wipe 4", "Plain ointment 3", "Urea cream", "Handcreme, Hautschutz"],
)
def test_what_a_product_is_for_tells_nothing_in_its_name(name):
    assert clinical_words_in(name)
    assert clinical_words_in_name(name) == ()


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("Cream for eczema", ("eczema",)),
        ("Allergy-tested hand rub", ("Allergy",)),
        ("Latex-free hand glove", ("Latex",)),
        ("Fragrance-free cream", ("Fragrance-free",)),
        ("Handekzemsalbe", ("Handekzemsalbe",)),
        ("Sore hands balm", ("Sore",)),
    ],
)
def test_a_product_s_name_that_could_tell_why_is_found(name, found):
    assert clinical_words_in_name(name) == found


def without_accents(text: str) -> str:
    return "".join(part for part in unicodedata.normalize("NFKD", text) if not unicodedata.combining(part))


def test_every_word_of_the_list_is_found_alone_and_in_capitals():
    for group in word_list().group:
        for word in group.words:
            plain = word.strip("*")
            bare = without_accents(plain)
            assert clinical_words_in(plain) == (bare,), (group.name, word)
            capitals = without_accents(plain.replace("ß", "ẞ").upper())
            assert clinical_words_in(f"({capitals})") == (capitals,), (group.name, word)


def test_an_asterisk_stands_for_any_ending_and_no_asterisk_for_none():
    assert clinical_words_in("eczematous") == ("eczematous",)
    assert clinical_words_in("nailed") == ()


def test_an_asterisk_in_front_stands_for_any_beginning():
    assert clinical_words_in("Handekzeme") == ("Handekzeme",)
    assert clinical_words_in("Wundrhagaden") == ("Wundrhagaden",)


def test_no_word_stands_twice_and_the_list_says_how_it_is_known():
    counts = Counter(word for group in word_list().group for word in group.words)
    assert [word for word, count in counts.items() if count > 1] == []
    assert word_list().known_as == "common practice"
    assert word_list().reviewed.due > word_list().reviewed.on


def test_the_shipped_measures_tell_nothing():
    measures = load().lines_about("adjustment.measure")
    assert len(measures) >= 12
    for measure in measures:
        assert clinical_words_in(measure.says) == (), measure.id
        assert len(measure.says) <= 110, measure.id


def test_a_measure_with_a_figure_of_ours_says_that_it_is_our_choice():
    for measure in load().lines_about("adjustment.measure"):
        figure = any(word in measure.says for word in ("15 minutes", "five minutes", "one hour"))
        assert (measure.known_as is KnownAs.OUR_CHOICE) == figure, measure.id
        assert bool(measure.why_in_use) == figure, measure.id
