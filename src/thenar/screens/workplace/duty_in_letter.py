"""From a kept search for duties into the adjustment letter."""

from django.http import HttpRequest

from thenar.records.queries.cases import CaseStory
from thenar.records.queries.duties import duty_search
from thenar.screens import clock
from thenar.screens.people import person
from thenar.screens.workplace.duty_answer import words_of


def words_for_letter(ref: str, story: CaseStory, request: HttpRequest) -> dict[str, object]:
    """What a kept search of this case puts into the form of the adjustment letter; nothing for another's."""
    if not ref:
        return {}
    kept = duty_search(ref=ref, by=person(request), now=clock.now())
    if kept.case_id != story.case.pk or not kept.found:
        return {}
    return {"own_words": "\n".join(words_of(kept.words).letter)}
