"""What every reader of charts asks first: that the text is text, and of a chart's size."""

from __future__ import annotations

from coutil.errors import BadChart, BadInput
from coutil.texts import require_printed

LARGEST_TEXT = 1_000_000  # Characters; a full chart has about two thousand.


def checked_text(text: str) -> str:
    """The text without a byte order mark; raises BadChart where it is empty, binary or too large."""
    if len(text) > LARGEST_TEXT:
        raise BadChart("The file is larger than 1 MB, so it is no chart.")
    if "\0" in text or "\ufffd" in text:
        raise BadChart("The file is not text, so it is no chart.")
    try:
        require_printed(text, "chart")
    except BadInput as error:
        raise BadChart(str(error)) from None
    plain = text.removeprefix("\ufeff")
    if not plain.strip():
        raise BadChart("The file is empty.")
    return plain


def decoded(content: str | bytes) -> str:
    """The content of a file as text; raises BadChart where it is not UTF-8 or too large."""
    if isinstance(content, str):
        return checked_text(content)
    if len(content) > 4 * LARGEST_TEXT:
        raise BadChart("The file is larger than 1 MB, so it is no chart.")
    try:
        return checked_text(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise BadChart("The file is not text in UTF-8: save it again as UTF-8.") from None
