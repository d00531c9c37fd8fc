"""The one shape of every error a person may see: what happened, why it matters, what to do."""


class ThenarError(Exception):
    """Something the person can understand and act on. Never carries a person's data.

    Parameters
    ----------
    what
        What happened, with the offending value.
    why
        Why it matters.
    todo
        What to do about it.

    Examples
    --------
    >>> print(ThenarError(what="The file is empty.", why="Nothing was read.", todo="Export it again."))
    The file is empty. Nothing was read. Export it again.
    """

    def __init__(self, *, what: str, why: str, todo: str) -> None:
        super().__init__(f"{what} {why} {todo}")
        self.what = what
        self.why = why
        self.todo = todo


class BadInput(ThenarError):
    """What was given can't be used as it stands."""


class NotAllowed(ThenarError):
    """The person may not do or see this."""


class Conflict(ThenarError):
    """Something else happened first, so this can't be done now."""
