"""A reason in someone's own words: there, and short enough for its place."""

from thenar.errors import BadInput


def reason_given(text: str, *, most: int, of: str, why: str) -> str:
    """The reason without space around it. `of` says what it is for, `most` how many characters it may have.

    Raises
    ------
    BadInput
        There is none, or it is too long.
    """
    given = text.strip()
    if not given:
        raise BadInput(what=f"{of} has no reason.", why=why, todo="Say in a few words why.")
    if len(given) > most:
        raise BadInput(
            what=f"The reason has {len(given)} characters.",
            why=f"There is room for {most}.",
            todo="Say it in fewer words.",
        )
    return given
