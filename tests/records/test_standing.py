"""What became of an adjustment: the workplace has it, will have it, or never had it."""

from tests.conftest import NOW, House
from tests.web.wanda import AGREED, OFFERED, RELEASED, adjusted, in_case, letter, walk
from thenar.records.actions.letters import draft_letter
from thenar.records.letter_states import Step
from thenar.records.models import Letter
from thenar.records.queries.standing import Standing, adjustment_standings, letter_standings
from thenar.records.queries.team import team_of


def reworded(house: House, old: Letter) -> Letter:
    """The next wording of a letter, with its own adjustment, as the page makes them."""
    return letter(house, adjusted(house, old.adjustment.case), replaces=old)


def standing_of(kept: Letter) -> Standing:
    everything = Letter.objects.filter(worker=kept.worker)
    by_letter, by_adjustment = letter_standings(everything), adjustment_standings(everything)
    assert by_letter[kept.pk] == by_adjustment[kept.adjustment_id]  # one letter each
    return by_letter[kept.pk]


def test_from_draft_to_consent_it_is_on_its_way_and_once_released_in_force(house: House) -> None:
    kept = letter(house, adjusted(house, in_case(house)))
    for step in RELEASED:
        assert standing_of(kept) is Standing.ON_ITS_WAY, step
        walk(house, kept, step)
    assert standing_of(kept) is Standing.IN_FORCE


def test_a_no_and_a_withdrawal_leave_nothing_in_force(house: House) -> None:
    refused = letter(house, adjusted(house, in_case(house)))
    walk(house, refused, *OFFERED, Step.REFUSED)
    withdrawn = letter(house, adjusted(house, refused.adjustment.case))
    walk(house, withdrawn, *AGREED, Step.WITHDRAWN)
    assert (standing_of(refused), standing_of(withdrawn)) == (Standing.REFUSED, Standing.WITHDRAWN)
    assert standing_of(refused).was_not_sent
    assert not standing_of(withdrawn).stands


def test_a_released_letter_stays_in_force_until_a_later_wording_is_released(house: House) -> None:
    first = letter(house, adjusted(house, in_case(house)))
    walk(house, first, *RELEASED)
    second = reworded(house, first)
    assert (standing_of(first), standing_of(second)) == (Standing.IN_FORCE, Standing.ON_ITS_WAY)
    walk(house, second, *OFFERED, Step.REFUSED)
    assert standing_of(first) is Standing.IN_FORCE  # the manager still goes by it
    third = reworded(house, second)
    walk(house, third, *RELEASED)
    assert [standing_of(one) for one in (first, second, third)] == [
        Standing.REPLACED,
        Standing.REPLACED,
        Standing.IN_FORCE,
    ]
    shown = team_of(by=house.mona, now=NOW).adjustments
    assert [one.letter_ref for one in shown] == [third.ref]


def test_an_adjustment_with_two_letters_stands_as_the_better_placed_of_them(house: House) -> None:
    adjustment = adjusted(house, in_case(house))
    to_mona, to_nils = letter(house, adjustment), letter(house, adjustment, to=house.nils)
    walk(house, to_mona, *RELEASED)
    walk(house, to_nils, *OFFERED, Step.REFUSED)
    assert adjustment_standings(Letter.objects.all()) == {adjustment.pk: Standing.IN_FORCE}


def test_of_letters_that_all_ended_the_newest_says_what_became_of_the_adjustment(house: House) -> None:
    adjustment = adjusted(house, in_case(house))
    to_mona = letter(house, adjustment)
    walk(house, to_mona, *OFFERED, Step.REFUSED)
    again = draft_letter(
        adjustment=adjustment,
        recipient=house.mona,
        content=to_mona.content,
        by=house.alice,
        now=NOW,
        replaces=to_mona,
    )
    walk(house, again, Step.WITHDRAWN)
    assert adjustment_standings(Letter.objects.all()) == {adjustment.pk: Standing.WITHDRAWN}
