"""What can a product show that an allergy may rule out?

A sign is anything a product can show: an allergen on its label, an umbrella name, a published finding on its
kind, a gap in its list, its glove material. A verdict is the signs of a product met with those of an allergy.
"""

from typing import NewType

from thenar.allergy.declared import ListKind

Sign = NewType("Sign", str)

UNREAD = Sign("unread")
COLOURED = Sign("glove.coloured")
NO_MATERIAL = ""
COLOURANTS = "glove_colourant"


def allergen_sign(id_: str) -> Sign:
    """The label names this allergen."""
    return Sign(f"allergen.{id_}")


def umbrella_sign(entry: str) -> Sign:
    """The label bears this umbrella name."""
    return Sign(entry)


def finding_sign(entry: str, *, declared: bool) -> Sign:
    """The product is of the kind a published finding is about; `declared`: with its glove chemicals named."""
    return Sign(f"{entry}{'/declared' if declared else ''}")


def material_sign(id_: str) -> Sign:
    """A glove of this material, or of one not known."""
    return Sign(f"material.{id_}")


def list_sign(kind: ListKind) -> Sign:
    """A list of this kind, on anything but a glove whose chemicals are declared."""
    return Sign(f"list.{kind.name}")


def glove_sign(material: str, *, declared: bool) -> Sign:
    """A glove of this material whose chemicals are declared, or are not."""
    return Sign(f"glove.{'declared' if declared else 'open'}.{material}")
