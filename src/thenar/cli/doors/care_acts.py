"""The acts of a shift, as a door is given them."""

from dataclasses import fields
from enum import StrEnum
from typing import Annotated, Any

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Schema
from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier, kinds_of_act
from thenar.knowledge import Book


class YesNo(StrEnum):
    """An answer. Left out or `not_known`, it is held to have asked for the more."""

    YES = "yes"
    NO = "no"
    NOT_KNOWN = "not_known"


@checked(frozen=True, slots=True, kw_only=True, config=ConfigDict(extra="forbid", strict=True))
class CareActGiven:
    """An act with one occasion for cleaning hands. What is left out never lowers the floor."""

    kind: str
    times: Annotated[int, Field(ge=1, description="how often in the shift")] = 1
    occasion: Occasion | None = None
    visible_soil: YesNo = YesNo.NOT_KNOWN
    after_toilet: YesNo = YesNo.NOT_KNOWN
    hands_wet: YesNo = YesNo.NOT_KNOWN
    contaminated: YesNo = YesNo.NOT_KNOWN
    pathogen: Pathogen | None = None
    contact_precautions: YesNo = YesNo.NOT_KNOWN
    fluid_expected: YesNo = YesNo.NOT_KNOWN
    cleansed: Cleansed | None = None
    gloves: Tier | None = None

    def act(self) -> CareAct:
        """The act as the computation takes it."""
        told = {field.name: getattr(self, field.name) for field in fields(self)}
        answers = {name: _ANSWERS.get(given, given) for name, given in told.items() if name != "kind"}
        return CareAct(kind=self.kind, **answers)


_ANSWERS: dict[Any, bool | None] = {YesNo.YES: True, YesNo.NO: False, YesNo.NOT_KNOWN: None}


def explain_kinds(schema: Schema, book: Book) -> Schema:
    """The schema, with every kind of act that a rule names."""
    properties = schema["$defs"]["CareActGiven"]["properties"]
    properties["kind"] = {**properties["kind"], "enum": list(kinds_of_act(book))}
    return schema
