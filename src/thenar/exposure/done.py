"""What was done in a shift beside what was required: what may be lightened, and what was missed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from thenar.exposure.care_acts import CareAct, Cleansed, Tier, refuse_unusable_acts
from thenar.exposure.obligations import Needs, needs_of, rank_of
from thenar.knowledge import Book


@dataclass(frozen=True, slots=True)
class Done:
    """What was done beside what was required, in acts. `not_known` counts acts where it was not recorded."""

    washes: int
    rubs: int
    washes_not_required: int
    soap_missed: int
    cleansings_missed: int
    cleansing_not_known: int
    pairs: int
    sterile_pairs: int
    pairs_not_indicated: int
    gloves_missed: int
    gloves_not_known: int


def compare_done(acts: Sequence[CareAct], book: Book, on: date) -> Done:
    """What was done in a shift beside what was required: what may be lightened and what was missed.

    Parameters
    ----------
    acts, book, on
        As for `obligations`.

    Notes
    -----
    For the load of an area. Never a measure of a person's compliance.

    Raises
    ------
    NothingLogged, UnknownAct, UnusableAnswer
        The log can't be read.

    Examples
    --------
    >>> from thenar.exposure.care_acts import Occasion, Pathogen
    >>> from thenar.knowledge import load
    >>> clear = dict(visible_soil=False, after_toilet=False, hands_wet=False, contaminated=False,
    ...              pathogen=Pathogen.NONE, contact_precautions=False, fluid_expected=False)
    >>> act = CareAct("observations", Occasion.AFTER_PATIENT, **clear, cleansed=Cleansed.WASH,
    ...               gloves=Tier.EXAMINATION, times=5)
    >>> done = compare_done([act], load(), date(2026, 11, 25))
    >>> done.washes_not_required, done.pairs_not_indicated
    (5, 5)
    """
    refuse_unusable_acts(acts, book)
    paired = [(act, needs_of(act, book, on)) for act in acts]
    return Done(
        washes=sum(act.times for act in acts if _washed(act)),
        rubs=sum(act.times for act in acts if act.cleansed in (Cleansed.RUB, Cleansed.RUB_THEN_WASH)),
        washes_not_required=sum(act.times for act, need in paired if _washed(act) and not need.method.washes),
        soap_missed=sum(
            act.times for act, need in paired if act.cleansed and need.method.washes and not _washed(act)
        ),
        cleansings_missed=sum(act.times * _cleansings_missed(act, need) for act, need in paired),
        cleansing_not_known=sum(act.times for act in acts if act.cleansed is None),
        pairs=sum(act.times for act in acts if act.gloves not in (None, Tier.NONE)),
        sterile_pairs=sum(act.times for act in acts if act.gloves is Tier.STERILE),
        pairs_not_indicated=sum(
            act.times
            for act, need in paired
            if need.gloves is Tier.NONE and act.gloves not in (None, Tier.NONE)
        ),
        gloves_missed=sum(
            act.times for act, need in paired if act.gloves and rank_of(act.gloves) < rank_of(need.gloves)
        ),
        gloves_not_known=sum(act.times for act in acts if act.gloves is None),
    )


def _washed(act: CareAct) -> bool:
    return act.cleansed in (Cleansed.WASH, Cleansed.RUB_THEN_WASH)


def _cleansings_missed(act: CareAct, need: Needs) -> int:
    if act.cleansed is None:
        return 0
    done = {Cleansed.NOT: 0, Cleansed.RUB_THEN_WASH: 2}.get(act.cleansed, 1)
    return max(need.method.cleansings - done, 0)
