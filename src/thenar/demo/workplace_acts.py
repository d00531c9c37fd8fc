"""Acts of care in a usual shift at Saltmere by role, and the units whose published rates fit. Invented."""

from dataclasses import dataclass

from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier

_CLEAR = dict[str, bool | Pathogen](
    visible_soil=False,
    after_toilet=False,
    hands_wet=False,
    contaminated=False,
    pathogen=Pathogen.NONE,
    contact_precautions=False,
    fluid_expected=False,
)


@dataclass(frozen=True, slots=True)
class Start:
    """The published rate an estimate starts from."""

    unit_type: str
    staff_group: str
    patients: float | None


NO_START = Start("", "", None)


def _act(
    kind: str, times: int, occasion: Occasion, cleansed: Cleansed, gloves: Tier, **special: bool | Pathogen
) -> CareAct:
    return CareAct(
        kind=kind,
        times=times,
        occasion=occasion,
        cleansed=cleansed,
        gloves=gloves,
        **{**_CLEAR, **special},  # type: ignore[arg-type]
    )


_BEFORE, _AFTER = Occasion.BEFORE_PATIENT, Occasion.AFTER_PATIENT
_FLUID, _NEAR, _CLEAN = Occasion.AFTER_BODY_FLUID, Occasion.AFTER_SURROUNDINGS, Occasion.BEFORE_CLEAN_TASK
_FOOD, _NOTHING = Occasion.BEFORE_FOOD_OR_MEDICINE, Occasion.NONE
_WASH, _RUB, _NOT = Cleansed.WASH, Cleansed.RUB, Cleansed.NOT
_BARE, _GLOVED, _STERILE = Tier.NONE, Tier.EXAMINATION, Tier.STERILE

_OWN_NEEDS = _act("own-needs", 2, _NOTHING, _WASH, _BARE, after_toilet=True)

# Some washes could be rubs here and some gloves come off; some acts need both. That is what the pages show.
ACTS: dict[str, tuple[CareAct, ...]] = {
    "Nurse": (
        _act("observations", 9, _BEFORE, _RUB, _BARE),
        _act("observations", 5, _AFTER, _WASH, _GLOVED),
        _act("oral-drugs", 8, _FOOD, _RUB, _BARE),
        _act("injection", 3, _CLEAN, _RUB, _GLOVED),
        _act("line-handling", 4, _CLEAN, _WASH, _GLOVED),
        _act("drawing-blood", 2, _FLUID, _RUB, _GLOVED, fluid_expected=True),
        _act("washing-dressing", 3, _AFTER, _WASH, _GLOVED, hands_wet=True),
        _act("body-fluid", 3, _FLUID, _WASH, _GLOVED, visible_soil=True, fluid_expected=True),
        _act("other", 2, _NEAR, _RUB, _BARE),
        _OWN_NEEDS,
    ),
    "Healthcare assistant": (
        _act("washing-dressing", 8, _AFTER, _WASH, _GLOVED, hands_wet=True),
        _act("moving", 6, _AFTER, _WASH, _GLOVED),
        _act("linen", 6, _NEAR, _WASH, _GLOVED),
        _act("emptying-bowls", 4, _FLUID, _WASH, _GLOVED, contaminated=True, fluid_expected=True),
        _act("trays", 5, _FOOD, _RUB, _BARE),
        _act("observations", 4, _BEFORE, _RUB, _BARE),
        _OWN_NEEDS,
    ),
    "Midwife": (
        _act("delivery", 1, _FLUID, _WASH, _STERILE, visible_soil=True, fluid_expected=True),
        _act("pelvic-examination", 3, _FLUID, _WASH, _GLOVED, fluid_expected=True),
        _act("observations", 8, _AFTER, _RUB, _BARE),
        _act("washing-dressing", 3, _AFTER, _WASH, _GLOVED, hands_wet=True),
        _OWN_NEEDS,
    ),
    "Doctor": (
        _act("observations", 10, _AFTER, _RUB, _BARE),
        _act("drawing-blood", 2, _FLUID, _RUB, _GLOVED, fluid_expected=True),
        _act("other", 3, _NEAR, _RUB, _BARE),
        _OWN_NEEDS,
    ),
    "Theatre practitioner": (
        _act("surgery", 3, _CLEAN, _WASH, _STERILE, fluid_expected=True),
        _act("instruments", 6, _FLUID, _WASH, _GLOVED, contaminated=True, fluid_expected=True),
        _act("moving", 6, _AFTER, _RUB, _GLOVED),
        _OWN_NEEDS,
    ),
    "Radiographer": (
        _act("moving", 12, _AFTER, _RUB, _BARE),
        _act("venous-line", 2, _FLUID, _RUB, _GLOVED, fluid_expected=True),
        _OWN_NEEDS,
    ),
    "Therapist": (_act("moving", 10, _AFTER, _RUB, _BARE), _OWN_NEEDS),
    "Porter": (
        _act("moving", 12, _AFTER, _RUB, _GLOVED),
        _act("waste", 2, _NEAR, _WASH, _GLOVED),
        _OWN_NEEDS,
    ),
    "Cleaner": (
        _act("disinfectants", 10, _NEAR, _WASH, _GLOVED, hands_wet=True),
        _act("waste", 5, _NEAR, _WASH, _GLOVED),
        _act("furniture", 4, _NEAR, _NOT, _GLOVED),
        _OWN_NEEDS,
    ),
    "Kitchen assistant": (
        _act("trays", 6, _FOOD, _WASH, _BARE),
        _act("disinfectants", 6, _NOTHING, _WASH, _GLOVED, hands_wet=True),
        _act("waste", 3, _NOTHING, _WASH, _BARE, visible_soil=True),
        _OWN_NEEDS,
    ),
    "Laundry worker": (
        _act("linen", 14, _NEAR, _WASH, _GLOVED, contaminated=True, fluid_expected=True),
        _OWN_NEEDS,
    ),
    "Sterile services technician": (
        _act("instruments", 12, _FLUID, _WASH, _GLOVED, contaminated=True, fluid_expected=True),
        _act("disinfectants", 4, _NOTHING, _WASH, _GLOVED, hands_wet=True),
        _OWN_NEEDS,
    ),
    "Laboratory scientist": (
        _act("body-fluid", 8, _FLUID, _WASH, _GLOVED, fluid_expected=True),
        _act("disinfectants", 2, _NOTHING, _WASH, _GLOVED),
        _OWN_NEEDS,
    ),
}

HOURS = {
    "Nurse": "8",
    "Healthcare assistant": "8",
    "Midwife": "12",
    "Doctor": "9",
    "Theatre practitioner": "10",
}


def _of_nurses_and_doctors(unit_type: str, patients: float) -> dict[str, Start]:
    return {
        "Nurse": Start(unit_type, "nurse", patients),
        "Doctor": Start(unit_type, "doctor", patients * 2),
        "Healthcare assistant": Start(unit_type, "other", patients * 2),
    }


_MEDICAL = _of_nurses_and_doctors("medical-ward", 5)
_SURGICAL = _of_nurses_and_doctors("surgical-ward", 5)
UNITS: dict[str, dict[str, Start]] = {
    "Intensive care unit": _of_nurses_and_doctors("adult-intensive-care", 1),
    "Neonatal unit": _of_nurses_and_doctors("neonatal-intensive-care", 2),
    "Emergency department": _of_nurses_and_doctors("emergency", 3),
    **dict.fromkeys(
        (
            "Acute medical unit",
            "Avocet Ward, heart",
            "Curlew Ward, stroke",
            "Heron Ward, lungs",
            "Lapwing Ward, digestion",
            "Plover Ward, older people",
        ),
        _MEDICAL,
    ),
    **dict.fromkeys(
        (
            "Dunlin Ward, bones and joints",
            "Sanderling Ward, kidneys and bladder",
            "Tern Ward, general surgery",
        ),
        _SURGICAL,
    ),
}
