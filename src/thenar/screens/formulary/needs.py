"""What may workers need of products, and which of it must a site hold whoever works there?"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from thenar.allergy.allergies import Allergies
from thenar.allergy.formulary_terms import Need
from thenar.allergy.product import Category, GloveFacts
from thenar.records.queries.judged import WorkerGroup

VIRUCIDAL, STERILE = "virucidal", "sterile"
ANY_SIZE = ", any size"
SPECIAL = frozenset({VIRUCIDAL, STERILE})  # whoever holds such a product may hold it for that


@dataclass(frozen=True, slots=True)
class NeedKind:
    """A need as the form offers it. `entries` are the rules behind it; `everyone` and `held` begin ticked.

    A need `by_size` is asked for in each worker's glove size.
    """

    id: str
    label: str
    says: str
    category: Category
    features: frozenset[str] = frozenset()
    by_size: bool = False
    entries: tuple[str, ...] = ()
    everyone: bool = False
    held: bool = False


KINDS = (
    NeedKind(
        "soap",
        "soap",
        "Some acts need soap and water whatever the rub: soap can't be given up.",
        Category.SOAP,
        entries=("hand-cleansing.with.visibly-soiled", "obligations.with.contaminated"),
        everyone=True,
        held=True,
    ),
    NeedKind(
        "rub",
        "hand rub",
        "Wherever no rule asks for soap. Virucidal ones serve too if you ask for them below.",
        Category.RUB,
        entries=("hand-cleansing.with.routine",),
        everyone=True,
        held=True,
    ),
    NeedKind(
        "virucidal-rub",
        "virucidal hand rub",
        "Where your policy asks for a rub that kills viruses too, by its maker’s account.",
        Category.RUB,
        features=frozenset({VIRUCIDAL}),
        entries=("hand-cleansing.with.norovirus",),
    ),
    NeedKind("cream", "cream", "For skin care at work.", Category.CREAM, everyone=True),
    NeedKind(
        "examination-glove",
        "examination gloves",
        "Sizes are not looked at. Sterile ones serve too if you ask for them below.",
        Category.GLOVE,
        entries=("gloves.with.fluid-expected",),
        everyone=True,
        held=True,
    ),
    NeedKind(
        "sterile-glove",
        "sterile gloves",
        "In the size each worker wears, as far as it is known.",
        Category.GLOVE,
        features=frozenset({STERILE}),
        by_size=True,
        entries=("gloves.act.surgery",),
    ),
    NeedKind("wipe", "wipes", "Wipes that bare hands meet.", Category.WIPE),
    NeedKind("disinfectant", "surface disinfectant", "What hands may meet of it.", Category.DISINFECTANT),
)
BY_ID = {kind.id: kind for kind in KINDS}


def needs_of(
    everyone: Collection[str], held: Collection[str], sizes: Sequence[str], groups: Sequence[WorkerGroup]
) -> tuple[Need, ...]:
    """The needs of a search.

    Parameters
    ----------
    everyone
        Kinds of which each worker must have one they may use.
    held
        Kinds that must be in stock even if nobody needs them.
    sizes
        Sizes of sterile gloves to hold, besides those of the workers.
    groups
        The workers, by glove size where that matters.
    """
    needs: list[Need] = []
    for kind in KINDS:
        if kind.id in everyone or kind.id in held:
            asked = _of_each_size(kind, sizes, groups) if kind.by_size else (_need(kind),)
            needs += (_asked_of(need, kind.id in everyone, kind.id in held) for need in asked)
    return tuple(needs)


def _asked_of(need: Need, everyone: bool, held: bool) -> Need:
    return replace(need, groups=need.groups if everyone else frozenset(), obligation=held)


def _need(kind: NeedKind) -> Need:
    return Need(kind.label, kind.category, kind.features)


def _of_each_size(kind: NeedKind, sizes: Sequence[str], groups: Sequence[WorkerGroup]) -> Iterable[Need]:
    """One need for each size; those whose size nobody knows need one of any size."""
    wearing: dict[str, set[str]] = {size_word(size): set() for size in sizes}
    for group in groups:
        wearing.setdefault(size_word(group.glove_size), set()).add(group.pattern)
    unknown = wearing.pop("", None)
    for size in sorted(wearing, key=_by_number):
        yield replace(
            _need(kind),
            name=f"{kind.label}, size {size}",
            features=kind.features | {size_feature(size)},
            groups=frozenset(wearing[size]),
        )
    if unknown is not None or not wearing:
        yield replace(_need(kind), name=f"{kind.label}{ANY_SIZE}", groups=frozenset(unknown or ()))


def regardless_of_size(groups: Iterable[WorkerGroup]) -> tuple[WorkerGroup, ...]:
    """The same workers, grouped by their allergies alone."""
    joined: dict[Allergies, WorkerGroup] = {}
    for group in groups:
        name = group.pattern.removesuffix(f", size {group.glove_size}")
        before = joined.get(group.allergies)
        joined[group.allergies] = WorkerGroup(
            pattern=name,
            allergies=group.allergies,
            glove_size="",
            workers=group.workers + (before.workers if before else 0),
            members=(*(before.members if before else ()), *group.members),
        )
    return tuple(joined.values())


def features_of(glove: GloveFacts | None, virucidal: bool | None) -> frozenset[str]:
    """What a product has that a need may ask for. What nobody knows, it has not."""
    found = {VIRUCIDAL} if virucidal else set()
    if glove is not None:
        found |= {STERILE} if glove.sterile else set()
        found |= {size_feature(size) for size in glove.sizes}
    return frozenset(found)


def size_feature(size: str) -> str:
    """A size as a feature of gloves."""
    return f"size {size_word(size)}"


def size_word(size: str) -> str:
    """A glove size in one spelling, however it was written.

    Examples
    --------
    >>> size_word(" 7,50"), size_word("8.0"), size_word("m"), size_word("10")
    ('7.5', '8', 'M', '10')
    """
    word = " ".join(size.split()).upper().replace(",", ".")
    return word.rstrip("0").rstrip(".") if "." in word else word


def _by_number(size: str) -> tuple[bool, float, str]:
    figures = size.replace(".", "", 1)
    return (False, float(size), "") if figures.isdecimal() else (True, 0.0, size)
