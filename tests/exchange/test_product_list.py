"""A list of products is read as it stands, and whatever can't be read is named by line and column."""

import io
import re
import zipfile
from datetime import date
from decimal import Decimal
from unittest import mock

import pytest

from tests.exchange.workbooks import MAIN, of_rows, sheet, text_cell, workbook
from thenar.allergy.declared import ListKind
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.exchange import workbook as workbook_reader
from thenar.exchange.product_list import MAX_TEXT_CHARACTERS, ProductList, read_product_list

HEAD = "code,name,kind of product,kind of list,ingredients"
AREAS = ["Ward 1", "Ward 2"]
MATERIALS = {"nitrile": "nitrile", "Nitrile rubber": "nitrile", "latex": "latex"}


def read(content: str | bytes) -> ProductList:
    raw = content.encode() if isinstance(content, str) else content
    return read_product_list(raw, name="products.csv", areas=AREAS, materials=MATERIALS)


def with_column(header: str, cell: str) -> ProductList:
    return read(f'{HEAD},{header}\nS1,A soap,soap,full ingredient list,Aqua,"{cell}"\n')


def told(listed: ProductList) -> list[str]:
    return [f"{problem.line} {problem.column}: {problem.says}" for problem in listed.problems]


def test_every_column_is_read() -> None:
    listed = read(
        "Code;Name;Category;List kind;INCI;From;Read from;Virucidal;Leave on;Material;Sterile;Sizes;Coloured;"
        "Powdered;Cost a worker;Cost of keeping;Areas;Shelf\n"
        'G1;A glove;Glove;Glove chemicals declared;"ZDEC;\nZDBC";2026-03-02;Leaflet 3;no;;nitrile RUBBER'
        ";YES;6.5|7;;n;12,50;100;ward 1 | Ward 2;B7\n"
    )
    assert listed.problems == ()
    assert listed.unused_headers == ("Shelf",)
    (row,) = listed.rows
    assert (row.code, row.name, row.category) == ("G1", "A glove", Category.GLOVE)
    assert (row.list_kind, row.text) == (ListKind.GLOVE_DECLARED, "ZDEC;\nZDBC")
    assert (row.from_on, row.read_from) == (date(2026, 3, 2), "Leaflet 3")
    assert (row.virucidal, row.leave_on, row.sterile, row.coloured, row.powdered) == (
        False,
        None,
        True,
        None,
        False,
    )
    assert (row.material, row.sizes, row.areas) == ("nitrile", ("6.5", "7"), ("Ward 1", "Ward 2"))
    assert (row.per_worker_year, row.per_year) == (Decimal("12.50"), Decimal(100))


def test_an_empty_cell_says_nothing_and_never_no() -> None:
    (row,) = read(f"{HEAD},virucidal,cost a worker\nS1,A soap,soap,,,,\n").rows
    assert (row.list_kind, row.text, row.virucidal, row.per_worker_year) == (None, "", None, None)


@pytest.mark.parametrize(
    ("header", "cell", "says"),
    [
        ("from", "31/02/2026", "31/02/2026 is not in the calendar."),
        ("from", "03/04/2026", "03/04/2026 could be two days."),
        ("from", "46083", "46083 is a number, not a date."),
        ("virucidal", "perhaps", "This is neither yes nor no."),
        ("glove material", "paper", "This is no glove material known here."),
        ("cost a worker", "3.505", "This is not an amount from 0 up."),
        ("cost a worker", "-3", "This is not an amount from 0 up."),
        ("cost of keeping", "£3", "This is not an amount from 0 up."),
        ("areas", "Ward 1; Ward 9", "No area of one of these names is known here."),
        ("read from", "=HYPERLINK(1)", "The cell begins like a formula."),
        ("read from", "@SUM(A1)", "The cell begins like a formula."),
        ("read from", "#REF!", "The cell holds an error of the spreadsheet."),
        ("read from", "a\u200bb", "The cell holds a character that can't be seen (U+200B)."),
        ("read from", "x" * 401, "The cell has 401 characters; at most 400 are read."),
    ],
)
def test_what_cannot_be_read_is_named_by_line_and_column(header: str, cell: str, says: str) -> None:
    assert told(with_column(header, cell)) == [f"2 {header}: {says}"]


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        (",A soap,soap,,", "code", "The cell for the code is empty."),
        ("S1,,soap,,", "name", "The cell for the name is empty."),
        ("S1,=A1,soap,,", "name", "The cell begins like a formula."),
        ("S1,A soap,,,", "kind of product", "The cell for the kind of product is empty."),
        ("S1,A soap,soup,,", "kind of product", "This is no kind of product known here."),
        ("S1,A soap,soap,most,Aqua", "kind of list", "This is no kind of list known here."),
        ('S1,A soap,soap,,"=Aqua"', "ingredients", "The cell begins like a formula."),
        ("S1,A soap,soap,,#NAME?", "ingredients", "The cell holds an error of the spreadsheet."),
        (
            "S1,A soap,soap,,Aqua\x07",
            "ingredients",
            "The cell holds a character that can't be seen (U+0007).",
        ),
    ],
)
def test_a_row_that_is_no_product_is_named(row: str, column: str, says: str) -> None:
    listed = read(f"{HEAD}\n{row}\n")
    assert told(listed) == [f"2 {column}: {says}"]
    assert all(problem.serious for problem in listed.problems)


def test_a_label_keeps_what_reading_it_passes_over() -> None:
    (row,) = read(f"{HEAD}\nS1,A soap,soap,,Methyl\u00adisothia\u200bzolinone [+/- CI 77891]\n").rows
    assert row.text == "Methyl\u00adisothia\u200bzolinone [+/- CI 77891]"


def test_two_rows_with_one_code_are_named_and_the_first_is_kept() -> None:
    listed = read(f"{HEAD}\nS1,A soap,soap,,\nS2,A rub,rub,,\ns1,Another,soap,,\n")
    assert told(listed) == ["4 code: The same code stands on line 2."]
    assert [row.name for row in listed.rows] == ["A soap", "A rub"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("code,name\nS1,A soap\n", "No column is headed 'kind of product'."),
        (f"{HEAD},inci\nS1,A soap,soap,,,\n", "Two columns name the ingredients."),
        (HEAD + "\n", "No product is listed below the headers."),
    ],
)
def test_a_list_without_its_columns_or_rows_is_told_so(content: str, says: str) -> None:
    listed = read(content)
    assert [problem.says for problem in listed.problems] == [says]
    assert listed.rows == ()


def test_a_text_of_ten_megabytes_is_refused_in_words_that_fit() -> None:
    listed = read(f'{HEAD}\nS1,A soap,soap,,"{"Aqua, " * 1_700_000}"\nS2,A rub,rub,,\n')
    assert told(listed) == [
        "2 : The row has 10,200,018 characters, more than any label; nothing below was read."
    ]
    listed = read(f'{HEAD}\nS1,A soap,soap,,"{"x" * (MAX_TEXT_CHARACTERS + 1)}"\n')
    assert told(listed) == ["2 ingredients: The cell has 100,001 characters; at most 100,000 are read."]


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"\x89PNG\r\n", HEAD.encode() + b"\n\x00"])
def test_what_is_no_table_is_refused(content: bytes) -> None:
    with pytest.raises(BadInput):
        read(content)


# ---- Workbooks


def test_a_workbook_gives_what_the_same_rows_as_text_give() -> None:
    rows = [
        HEAD.split(","),
        ["S1", "A soap & more", "soap", "full ingredient list", "Aqua,\nGlycerin"],
        [],
        ["S2", "A rub", "rub", "", ""],
    ]
    listed = read(workbook(sheet(rows)))
    assert listed.read_as == "workbook, sheet “Products”"  # the first sheet is hidden
    assert listed.problems == ()
    assert [(row.line, row.code, row.name, row.text) for row in listed.rows] == [
        (2, "S1", "A soap & more", "Aqua,\nGlycerin"),
        (4, "S2", "A rub", ""),
    ]


def test_numbers_shared_texts_and_truths_are_read_as_they_look() -> None:
    cells = "".join(text_cell(f"{letter}1", head) for letter, head in zip("ABCDE", _HEADERS, strict=True))
    row = (
        '<c r="A2"><v>12345</v></c><c r="B2" t="s"><v>0</v></c><c r="C2" t="s"><v>1</v></c>'
        '<c r="D2"><v>3.5000000000000004</v></c><c r="E2" t="b"><v>1</v></c>'
    )
    shared = f"""<sst xmlns="{MAIN}">
    <si><r><t>A </t></r><r><t>soap</t></r><rPh sb="0" eb="1"><t>no</t></rPh></si>
    <si><t>soap</t></si></sst>"""
    raw = workbook(of_rows(f"<row>{cells}</row><row>{row}</row>"), {"xl/sharedStrings.xml": shared})
    (read_row,) = read(raw).rows
    assert (read_row.code, read_row.name, read_row.category) == ("12345", "A soap", Category.SOAP)
    assert (read_row.per_worker_year, read_row.virucidal) == (Decimal("3.5"), True)


SHARING = '<row><c><f t="shared" si="0"/></c></row>'
_HEADERS = ("code", "name", "kind of product", "cost a worker", "virucidal")


def test_a_cell_with_a_formula_or_an_error_is_refused_where_it_stands() -> None:
    good = sheet([HEAD.split(","), ["S1", "A soap", "soap", "", "Aqua"]])
    formula = good.replace("<is><t>Aqua</t></is>", "<f>A1</f><v>Aqua</v>")
    error = good.replace('t="inlineStr"><is><t>Aqua</t></is>', 't="e"><v>#REF!</v>')
    assert told(read(workbook(formula))) == ["2 ingredients: The cell holds a formula."]
    assert told(read(workbook(error))) == ["2 ingredients: The cell holds an error of the spreadsheet."]


def test_a_formula_in_a_cell_that_is_needed_is_one_fault_not_two() -> None:
    good = sheet([HEAD.split(","), ["S1", "A soap", "soap", "", "Aqua"]])
    formula = good.replace("<is><t>A soap</t></is>", "<f>A1</f><v>A soap</v>")
    assert told(read(workbook(formula))) == ["2 name: The cell holds a formula."]


def test_a_formula_under_no_header_is_named_by_the_letter_of_its_column() -> None:
    good = sheet([HEAD.split(","), ["S1", "A soap", "soap", "", "Aqua", "stray"]])
    formula = good.replace("<is><t>stray</t></is>", "<f>A1</f><v>stray</v>")
    assert told(read(workbook(formula))) == ["2 F: The cell holds a formula."]


def test_a_workbook_that_unpacks_beyond_measure_is_refused_before_it_is_unpacked() -> None:
    raw = workbook(sheet([HEAD.split(",")]), {"xl/media/picture": "x" * 61_000_000})
    assert len(raw) < 100_000
    with (
        mock.patch.object(workbook_reader, "load_workbook", side_effect=AssertionError("unpacked")),
        pytest.raises(BadInput, match="unpacks to 61 MB"),
    ):
        read(raw)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("<row/>" * 1_600_000, "far more cells"),
        # 2,000 cells share a formula of 20,000 characters: 40 million to spell out
        (f'<row><c><f t="shared" si="0">{"A1+" * 6_667}A1</f></c></row>' + SHARING * 2_000, "long formulas"),
        ('<row r="999999999999"><c r="A1"><v>1</v></c></row>', "more than 1,000,000 rows"),
    ],
)
def test_a_small_workbook_that_would_keep_the_machine_busy_is_refused(rows: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        read(workbook(of_rows(rows)))


def test_rows_that_a_sheet_leaves_out_of_its_own_size_are_read() -> None:
    whole = sheet([HEAD.split(","), ["S1", "A soap", "soap", "", "Aqua"]])
    short = whole.replace("<sheetData>", '<dimension ref="A1:B1"/><sheetData>')
    assert [row.text for row in read(workbook(short)).rows] == ["Aqua"]


def test_a_long_article_number_keeps_its_figures_and_a_line_break_is_one() -> None:
    rows = [HEAD.split(","), ["S1", "A soap", "soap", "full ingredient list", "Aqua,_x000D_\nGlycerin"]]
    numbered = sheet(rows).replace(text_cell("A2", "S1"), '<c r="A2"><v>4006381333931</v></c>')
    (row,) = read(workbook(numbered)).rows
    assert row.code == "4006381333931"
    assert row.text == "Aqua,\nGlycerin"


def test_a_locked_workbook_is_told_as_such() -> None:
    raw = bytearray(workbook(sheet([HEAD.split(",")])))
    for place in (found.start() for found in re.finditer(rb"PK\x01\x02", bytes(raw))):
        raw[place + 8] |= 1  # general purpose flag, bit 0: encrypted (APPNOTE.TXT 4.4.4)
    with pytest.raises(BadInput, match="locked by a password"):
        read(bytes(raw))


def test_a_workbook_that_lies_about_its_size_gives_no_more_than_it_said() -> None:
    raw = workbook(of_rows("<row/>" * 100_000))
    size = zipfile.ZipFile(io.BytesIO(raw)).getinfo("xl/worksheets/sheet2.xml").file_size
    lying = raw.replace(size.to_bytes(4, "little"), (1_000).to_bytes(4, "little"))
    assert lying != raw
    with pytest.raises(BadInput, match="damaged"):
        read(lying)


def test_entities_are_never_resolved() -> None:
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    raw = workbook(bomb + sheet([HEAD.split(",")]).replace("ingredients", "&b;"))
    with pytest.raises(BadInput, match="forbidden"):
        read(raw)


def test_what_is_packed_and_no_workbook_or_damaged_is_refused() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("letter.txt", "Aqua")
    with pytest.raises(BadInput, match="no workbook"):
        read(made.getvalue())
    whole = workbook(sheet([HEAD.split(",")]))
    for length in (4, 40, len(whole) // 2, len(whole) - 1):
        with pytest.raises(BadInput):
            read(whole[:length])


def test_a_sheet_wider_than_any_list_is_refused() -> None:
    with pytest.raises(BadInput, match="more than 200 columns"):
        read(workbook(of_rows(f'<row r="1">{text_cell("XFD1", "code")}</row>')))
