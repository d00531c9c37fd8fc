"""A worker's skin check, filled in through its pages: wet, weeping, cracked hands; nothing worse."""

from playwright.sync_api import Page

ANSWERS = (
    ("none",),
    ("none",),
    ("none",),
    ("weeping",),
    ("no",),
    ("none",),
    ("itch", "cracks"),
    ("no",),
    ("no",),
    ("weeks",),
    ("work_affected",),
    ("patients",),
)


def answer_every_question(page: Page) -> None:
    """From the check's first page to its answers, ready to send."""
    page.get_by_role("link", name="Begin").click()
    for options in ANSWERS:
        for option in options:
            page.locator(f"#answer-{option}").check()
        page.get_by_role("button", name="Continue").click()
