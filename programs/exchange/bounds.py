"""How much a file may hold, and the refusal of one that can't be read."""

from typing import Any, Final

MOST_BYTES: Final = 32 * 1024 * 1024
MOST_ROWS: Final = 6000
MOST_COLUMNS: Final = 400
MOST_CELL: Final = 20_000  # characters
MOST_ITEMS: Final = 200  # of one list
MOST_LINE: Final = 2_000  # characters of one item of a list
MOST_PARTS: Final = 2_500_000  # of a JSON document: what its brackets and commas can make at most
DEEPEST: Final = 12
HEAD_ROWS: Final = 20  # among the first of these the header is looked for


class FileRefused(Exception):
    """Nothing of the file can be used; ``code`` and ``params`` say why (``words.REFUSED``)."""

    def __init__(self, code: str, **params: Any) -> None:
        super().__init__(code)
        self.code = code
        self.params = params


class Bad(Exception):
    """One value can't be used; ``code`` and ``params`` say why (``words.PROBLEMS``)."""

    def __init__(self, code: str, **params: Any) -> None:
        super().__init__(code)
        self.code = code
        self.params = params
