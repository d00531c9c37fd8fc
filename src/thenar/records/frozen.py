"""The fingerprint of a wording, so that what was agreed is what is sent."""

import hashlib
import json
from collections.abc import Mapping


def content_hash(content: Mapping[str, object]) -> str:
    """SHA-256 of the content as canonical JSON.

    Examples
    --------
    >>> content_hash({"b": 1, "a": 2}) == content_hash({"a": 2, "b": 1})
    True
    """
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
