"""A cursor over tokens, which undoes what led nowhere, and the efforts it can read."""

from dataclasses import dataclass
from typing import Final

from programs.engine.shorthand.readings import Doubt
from programs.engine.shorthand.tokens import LONGEST_NUMBER, Token

MOST_LISTED: Final = 30  # loads or sets of one line; more is asked about
RATED_RIR: Final = 5.0  # "5 or more" is kept as 5


@dataclass(slots=True)
class Cursor:
    """A cursor over tokens. ``save`` and ``restore`` undo a reading that led nowhere, doubts included."""

    text: str
    tokens: list[Token]
    unit: str
    rep_unit: str
    load_entry: str | None
    at: int = 0
    doubts: list[Doubt] | None = None

    def kind(self, ahead: int = 0) -> str:
        i = self.at + ahead
        return self.tokens[i].kind if 0 <= i < len(self.tokens) else ""

    def token(self, ahead: int = 0) -> Token:
        return self.tokens[self.at + ahead]

    def spaced(self, ahead: int = 0) -> bool:
        i = self.at + ahead
        return i < len(self.tokens) and self.tokens[i].spaced

    def take(self, *kinds: str) -> bool:
        if self.kind() in kinds:
            self.at += 1
            return True
        return False

    def save(self) -> tuple[int, int]:
        return self.at, len(self.doubts or ())

    def restore(self, mark: tuple[int, int]) -> None:
        self.at = mark[0]
        if self.doubts:
            del self.doubts[mark[1] :]

    def doubt(self, code: str, text: str, *readings: str, **params: str | int | float) -> None:
        if self.doubts is None:
            self.doubts = []
        if not any(one.code == code and one.text == text for one in self.doubts):
            self.doubts.append(Doubt(code, text, tuple(dict.fromkeys(readings)), params))

    def span(self, start: int) -> str:
        """The written text from token ``start`` up to the cursor."""
        if start >= self.at:
            return ""
        return self.text[self.tokens[start].start : self.tokens[self.at - 1].end]

    def begins_group(self, ahead: int = 0) -> bool:
        """True where a number is the load that begins the next group: "8, 62.5x8"."""
        if self.kind(ahead) != "RUN":
            return self.kind(ahead) in ("BW", "PIN", "HASH", "BAND")
        follow = self.kind(ahead + 1)
        if follow == "HASH":
            return not self.spaced(ahead + 1)
        return (
            follow in ("X", "UNIT", "SETS")
            or (follow in ("EACH", "TOTAL") and self.kind(ahead + 2) == "X")
            or (follow == "SLASH" and self._slashed_loads(ahead))
        )

    def _slashed_loads(self, ahead: int) -> bool:
        last = ahead + 2 * MOST_LISTED
        while ahead < last and self.kind(ahead) == "RUN" and self.kind(ahead + 1) == "SLASH":
            ahead += 2
        return self.kind(ahead) == "RUN" and self.kind(ahead + 1) in ("X", "UNIT")

    # Effort

    def efforts(self) -> list[float | None] | None:
        """Efforts as RIR: "rir 2", "(rpe 8)", "@rir 2/1/-", "2 rir"; None when none is written here."""
        mark = self.save()
        after = 2 if self.kind(1) == "RUN" else 1
        if self.kind() == "COMMA" and self.kind(after) in ("RIR", "RPE"):
            self.at += 1
        bracket = self.take("OPENING")
        self.take("AT")
        scale = self.kind()
        if scale in ("RIR", "RPE"):
            self.at += 1
            self.take("AT", "COLON")
            values = self._effort_list(scale)
        else:
            values = self._effort_list("")
            scale = self.kind()
            rated = values is not None and all(value is None or value <= 10 for value in values)
            if not rated or not self.is_rated(0):
                self.restore(mark)
                return None
            self.at += 1
        if values is None:
            self.restore(mark)
            return None
        if bracket:
            self.take("CLOSING")
        text = self.span(mark[0])
        return [None if value is None else self.effort(value, scale, text) for value in values]

    def is_rated(self, ahead: int) -> bool:
        """True where a scale stands behind its number ("2 rir") and not in front ("rir 2")."""
        return self.kind(ahead) in ("RIR", "RPE") and self.kind(ahead + 1) not in (
            "RUN",
            "MINUS",
            "COLON",
            "AT",
        )

    def _effort_list(self, scale: str) -> list[float | None] | None:
        values: list[float | None] = []
        start = self.at
        while True:
            if self.kind() == "MINUS" and self.kind(1) != "RUN":
                values.append(None)
                self.at += 1
            elif self.kind() == "RUN" and not (values and self.begins_group()):
                figures = self.token().text
                if len(figures) > LONGEST_NUMBER * 4:
                    return None
                self.at += 1
                fields = figures.split(",")
                decimal = len(fields) == 2 and fields[1] == "5"
                values += [float(figures.replace(",", "."))] if decimal else _floats(fields)
                self.take("PLUS")
            else:
                return None
            if self.kind() == "MINUS" and self.kind(1) == "RUN" and scale:
                self.at += 2
                self.doubt("effort_range", self.span(start))
                return [None]
            follows = self.kind(1) == "RUN" and not self.begins_group(1)
            slash = self.kind() == "SLASH" and (follows or self.kind(1) == "MINUS")
            comma = self.kind() == "COMMA" and follows and not self.spaced(1)
            if not (slash or comma):
                return values
            self.at += 1

    def effort(self, value: float, scale: str, text: str) -> float | None:
        """RIR of a written effort. Without a scale 0–5 is RIR and more is RPE: they do not overlap."""
        if value > 10:
            self.doubt("effort_out_of_range", text)
            return None
        if scale == "RPE" or (not scale and value > RATED_RIR):
            if value < 10 - RATED_RIR:
                self.doubt("effort_not_rated", text)
                return None
            return 10 - value
        return min(value, RATED_RIR)


def _floats(figures: list[str]) -> list[float | None]:
    return [float(figure.replace(".", "", max(0, figure.count(".") - 1))) for figure in figures]
