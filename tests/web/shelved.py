"""Ward 1's shelf as Wanda meets it, and one product of Ward 2; she reacts to methylisothiazolinone."""

from dataclasses import dataclass

from tests.conftest import House
from tests.records.shelves import MILD, WITH_MIT, add, declare, sensitise, stock
from thenar.allergy.product import GloveFacts
from thenar.knowledge import Book
from thenar.records.models import Product, ProductDeclaration


@dataclass(frozen=True)
class Shelf:
    """Soaps of Ward 1 to avoid and not declared, a mild soap of Ward 2, and two gloves of Ward 1."""

    house: House
    bad_soap: Product
    bare_soap: Product
    mild_soap: Product
    rub: Product
    glove: Product
    declared: ProductDeclaration


def shelf(house: House, book: Book) -> Shelf:
    """Put it up through the product's own actions."""
    bad = add(house, "S1", name="Heron Wash")
    bare = add(house, "S2", name="Curlew Wash")
    mild = add(house, "S3", name="Plover Wash")
    rub = add(house, "R1", "rub", name="Dunlin Rub")
    glove = add(house, "G1", "glove", name="Knot Examination")
    declared = declare(house, book, bad, WITH_MIT)
    declare(house, book, mild, MILD)
    declare(house, book, rub, "Alcohol, Aqua, Glycerin")
    declare(
        house,
        book,
        glove,
        "Zinc diethyldithiocarbamate",
        list_kind="glove chemicals declared",
        glove=GloveFacts("nitrile", sterile=False, coloured=False, powdered=False),
    )
    for product in (bad, bare, rub, glove):
        stock(house, book, product, house.ward_1)
    stock(house, book, mild, house.ward_2)
    sensitise(house, house.wanda)
    return Shelf(house, bad, bare, mild, rub, glove, declared)
