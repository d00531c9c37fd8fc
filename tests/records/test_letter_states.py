"""Every road a letter can take, walked to its end."""

from collections.abc import Iterator

from thenar.records.letter_states import ENDED, LetterState, Step, StepTaken, letter_state

HASH, MONA, NILS = "wording", 1, 2


def after(steps: tuple[Step, ...]) -> LetterState:
    return letter_state([StepTaken(step, HASH) for step in steps], content_hash=HASH, recipient_id=MONA)


def every_road(so_far: tuple[Step, ...] = ()) -> Iterator[tuple[Step, ...]]:
    """All sequences of allowed steps; a comment is taken at most once, since it changes nothing."""
    yield so_far
    for step in after(so_far).may:
        if step not in so_far:
            yield from every_road((*so_far, step))


ROADS = tuple(every_road())


def test_there_are_roads_to_release() -> None:
    assert any(Step.RELEASED in road for road in ROADS)


def test_no_road_reaches_release_without_offer_and_consent() -> None:
    for road in ROADS:
        if Step.RELEASED in road:
            before = road[: road.index(Step.RELEASED)]
            assert Step.OFFERED in before
            assert Step.CONSENTED in before
            assert {Step.SEEN, Step.SEE_DECLINED} & set(before)
            assert before.index(Step.CONTENT_AGREED) < before.index(Step.OFFERED)


def test_nothing_follows_an_end() -> None:
    for road in ROADS:
        if any(step in ENDED for step in road):
            assert after(road).may == frozenset()


def test_withdrawal_is_possible_until_the_end_on_every_road() -> None:
    for road in ROADS:
        state = after(road)
        assert state.ended or Step.WITHDRAWN in state.may


def test_consent_to_another_wording_counts_for_nothing() -> None:
    steps = [
        StepTaken(step, "older wording")
        for step in (Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    ]
    assert letter_state(steps, content_hash=HASH, recipient_id=MONA).may == {
        Step.CONTENT_AGREED,
        Step.WITHDRAWN,
    }


def test_consent_for_another_recipient_counts_for_nothing() -> None:
    road = [StepTaken(step, HASH) for step in (Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN)]
    consent = StepTaken(Step.CONSENTED, HASH, recipient_id=NILS)
    state = letter_state([*road, consent], content_hash=HASH, recipient_id=MONA)
    assert Step.RELEASED not in state.may


def test_a_comment_hands_the_turn_to_the_practitioner_until_the_next_step() -> None:
    offered = (Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN)
    assert after(offered).waits_for_worker
    commented = after((*offered, Step.COMMENTED))
    assert commented.was_commented
    assert not commented.waits_for_worker
    assert not after((*offered, Step.COMMENTED, Step.CONSENTED)).was_commented
    assert not after((*offered, Step.COMMENTED, Step.REFUSED)).was_commented


def test_a_comment_after_the_yes_does_not_hide_the_yes() -> None:
    road = (Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED, Step.COMMENTED)
    assert after(road).label == "Agreed, and commented since"
    assert Step.RELEASED in after(road).may


def test_on_every_road_a_letter_on_its_way_is_one_person_s_turn_and_an_ended_one_nobody_s() -> None:
    for road in ROADS:
        state = after(road)
        if state.ended:
            assert not state.waits_for_worker
            assert not state.was_commented
        if state.waits_for_worker:
            assert state.may & {Step.CONSENTED, Step.SEEN}
