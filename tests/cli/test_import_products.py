"""`thenar import products`: told first, then all or nothing; whom a change concerns is raised."""

from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest
from click.testing import CliRunner, Result

from tests.conftest import NOW, TODAY, House
from tests.exchange.workbooks import sheet, workbook
from tests.records.shelves import raised, sensitise
from thenar.cli import main
from thenar.errors import BadInput
from thenar.exchange.products_import import dry_run, take_over
from thenar.knowledge import Book
from thenar.records.models import AuditRow, Product, ProductDeclaration, ProductPrice, Stock

HEAD = "code,name,kind of product,kind of list,ingredients,cost a worker,areas\n"
SOAP = 'S1,A soap,soap,full ingredient list,"Aqua, Glycerin",3.50,Ward 1\n'
RUB = "R1,A rub,rub,nothing declared,,,\n"
CHANGED = SOAP.replace("Glycerin", "Methylisothiazolinone")


@pytest.fixture(autouse=True)
def _database_of_the_tests() -> Iterator[None]:
    """The check of the database closes its connection, which a test's open transaction would not survive."""
    with mock.patch("thenar.cli.imports.refuse_old_database"):
        yield


@pytest.fixture
def thenar(house: House, tmp_path: Path) -> Callable[..., Result]:
    def run(content: str | bytes, *options: str, by: str = "alice") -> Result:
        file = tmp_path / "products.csv"
        file.write_bytes(content.encode() if isinstance(content, str) else content)
        return CliRunner().invoke(main, ["import", "products", str(file), "--by", by, *options])

    return run


def nothing_changed() -> bool:
    return not Product.objects.exists() and not AuditRow.objects.exists()


def test_products_are_told_and_taken_over(thenar, house: House) -> None:
    done = thenar(HEAD + SOAP + RUB)
    assert done.exit_code == 0, done.output
    assert "products.csv: UTF-8, cells divided by commas." in done.stdout
    assert "        2 are new" in done.stdout
    assert "        1 come to an area" in done.stdout
    assert "New: S1" in done.stdout
    assert "Taken over: 2 products changed." in done.stdout
    soap = Product.objects.get(code="S1")
    assert (soap.name, soap.category, soap.by) == ("A soap", "soap", house.alice)
    assert soap.declarations.get().text == "Aqua, Glycerin"
    assert (str(soap.prices.get().per_worker_year), soap.stock.get().area) == ("3.50", house.ward_1)
    assert Product.objects.get(code="R1").declarations.get().list_kind == "nothing declared"


def test_a_workbook_is_taken_over_too(thenar) -> None:
    rows = [HEAD.strip().split(","), ["S1", "A soap", "soap", "full ingredient list", "Aqua, Glycerin"]]
    done = thenar(workbook(sheet(rows)))
    assert done.exit_code == 0, done.output
    assert "products.csv: workbook, sheet “Products”." in done.stdout
    assert ProductDeclaration.objects.get().text == "Aqua, Glycerin"


def test_a_dry_run_tells_the_same_and_changes_nothing(thenar) -> None:
    done = thenar(HEAD + SOAP, "--dry-run")
    assert done.exit_code == 0
    assert "        1 are new" in done.stdout
    assert "Dry run: nothing was changed." in done.stdout
    assert nothing_changed()


def test_the_same_list_again_changes_nothing(thenar) -> None:
    thenar(HEAD + SOAP + RUB)
    noted = AuditRow.objects.count()
    done = thenar(HEAD + SOAP + RUB)
    assert done.exit_code == 0
    assert "        2 stay as they are" in done.stdout
    assert "Taken over: 0 products changed." in done.stdout
    assert AuditRow.objects.count() == noted


def test_only_what_is_different_is_written_and_concerns_are_raised(thenar, house: House) -> None:
    sensitise(house, house.wanda)
    thenar(HEAD + SOAP + RUB)
    assert raised() == set()
    done = thenar(HEAD + CHANGED.replace("3.50", "") + RUB)
    assert "        1 declare something else" in done.stdout
    assert "Declares something else: S1" in done.stdout
    assert raised() == {("Wanda", "S1", "Ward 1", "declaration", "avoid")}
    assert (ProductDeclaration.objects.count(), ProductPrice.objects.count(), Stock.objects.count()) == (
        3,
        1,
        1,
    )
    assert "Wanda" not in done.output


def test_an_area_that_the_list_leaves_out_is_told_and_stays(thenar) -> None:
    thenar(HEAD + SOAP)
    done = thenar(HEAD + SOAP.replace("Ward 1", "Ward 2"))
    assert "Stays in Ward 1, which the list leaves out: S1" in done.stdout
    assert set(Stock.objects.values_list("area__name", "until_on")) == {("Ward 1", None), ("Ward 2", None)}


def test_empty_cells_leave_a_product_as_it_is(thenar) -> None:
    thenar(HEAD + SOAP)
    done = thenar("code,name,kind of product,virucidal\nS1,A soap,soap,no\n")
    assert done.exit_code == 0, done.output
    newest = ProductDeclaration.objects.latest("pk")
    assert (newest.text, newest.virucidal) == ("Aqua, Glycerin", False)
    assert newest.from_on >= TODAY


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (
            "S2,A soap,soap,,Aqua,,\n",
            "'kind of list': There are ingredients, and the kind of list is not said.",
        ),
        ("S2,A soap,soap,,,,\n", "'ingredients': Nothing says what the product declares."),
        (
            "S2,A soap,soap,full ingredient list,,,\n",
            "'ingredients': No ingredient can be read from the text.",
        ),
        (
            "S2,A soap,soap,full ingredient list,?!,,\n",
            "'ingredients': No ingredient can be read from the text.",
        ),
        ("S2,A soap,soap,accelerator-free claim,,,\n", "“accelerator-free claim” is said of gloves"),
        (
            f"{'S' * 41},A soap,soap,nothing declared,,,\n",
            "'code': The code is empty, has over 40 characters",
        ),
        ("S1,Another,rub,nothing declared,,,\n", "'code': The same code stands on line 2."),
        (
            "S2,A soap,soap,nothing declared,,,Ward 9\n",
            "'areas': No area of one of these names is known here.",
        ),
        ("S2,A soap,soap,=1+1,,,\n", "'kind of list': The cell begins like a formula."),
    ],
)
@pytest.mark.parametrize("options", [(), ("--dry-run",)])
def test_one_bad_row_keeps_the_whole_list_out(thenar, row: str, says: str, options) -> None:
    done = thenar(HEAD + SOAP + row, *options)
    assert done.exit_code == 2
    assert f"Line 3, column {says}" in done.stdout or f"column 'ingredients': {says}" in done.stdout
    assert done.stderr.startswith("The list has ")
    assert nothing_changed()


def test_a_code_that_is_another_kind_of_product_here_is_asked_about(thenar) -> None:
    thenar(HEAD + SOAP)
    done = thenar(HEAD + "S1,A gel,rub,,,,\n")
    assert done.exit_code == 2
    assert "column 'kind of product': The product with this code is a soap here." in done.stdout
    assert "column 'name': The product with this code has another name here" in done.stdout


def test_whoever_takes_a_list_over_is_held_to_its_problems(house: House, book: Book) -> None:
    raw = (HEAD + SOAP + "S2,A soap,soup,,,,\n").encode()
    run = dry_run(raw=raw, name="products.csv", by=house.alice, now=NOW, book=book)
    with pytest.raises(BadInput):
        take_over(run=run, by=house.alice, now=NOW, book=book)
    assert nothing_changed()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_someone_who_may_not_write_products_leaves_with_3(thenar, who: str) -> None:
    done = thenar(HEAD + SOAP, by=who)
    assert (done.exit_code, done.stdout) == (3, "")
    assert nothing_changed()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", HEAD.encode() + b"\x00"])
def test_a_file_that_is_no_table_leaves_with_2(thenar, content: bytes) -> None:
    done = thenar(content)
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 3
    assert nothing_changed()
