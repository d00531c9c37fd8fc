"""What is a product, as far as hands are concerned?"""

from dataclasses import dataclass
from enum import StrEnum

from thenar.allergy.declared import Declaration


class Category(StrEnum):
    """What a product is for."""

    SOAP = "soap"
    RUB = "rub"
    CREAM = "cream"
    GLOVE = "glove"
    WIPE = "wipe"
    DISINFECTANT = "disinfectant"


@dataclass(frozen=True, slots=True)
class GloveFacts:
    """What a glove's data sheet says of the glove itself. None and empty mean not known.

    `material` is an id of the knowledge's glove materials.
    """

    material: str = ""
    sterile: bool | None = None
    sizes: tuple[str, ...] = ()
    coloured: bool | None = None
    powdered: bool | None = None


@dataclass(frozen=True, slots=True)
class Product:
    """A product with its declaration of the day. `id` is the site's own code."""

    id: str
    name: str
    category: Category
    declaration: Declaration
    glove: GloveFacts | None = None
    virucidal: bool | None = None
    leave_on: bool | None = None
